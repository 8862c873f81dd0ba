"""From a brief to rows: every limit, line range and law as demands that keep the brief's words."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property, lru_cache
from itertools import chain
from typing import Literal

import numpy as np

from optiform.brief.brief import Brief, Limit
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.reachable import open_branches, rules_of, weights
from optiform.program.tolerances import LEAST_GROUP
from optiform.properties.base import Bent, Mix, Piecewise, Property, Ratio, Side, Terms, of_what
from optiform.properties.bent import Case, Cases, Edge
from optiform.reading.frozen import frozen
from optiform.reading.rounded import target
from optiform.reading.values import Bound, Comparable
from optiform.rules.certificates import certificate_class, certificate_terms
from optiform.rules.forms import Either
from optiform.rules.law import applying

Kind = Literal["limit", "line", "advice", "law", "certificate", "model", "rule", "usual"]
#: Kinds of demand that a maker may move, unlike law, certificate, advice, rule and model; what is usual gives way.
OWN_KINDS = ("limit", "line")


@frozen
class Demand(Comparable):
    """One side of one limit: value >= target or value <= target.

    Attributes:
        name: the property, ingredient or constituent that is limited.
        target: in `unit`.
        terms: gives p and g of the value near a point (see properties.base).
        bends: whether the terms change from point to point.
        reason: for a law or advice, where it comes from.
        floor: no formula has less, whatever the terms say; at least that much asks nothing.
        bent: how the terms change, where that is known.
        basis: what a percentage is of.
    """

    name: str
    unit: str
    side: Side
    target: float
    kind: Kind
    terms: Callable[[Vector], Terms]
    bends: bool = False
    reason: str = ""
    floor: float = -np.inf
    bent: Cases | None = field(default=None, repr=False, compare=False)
    basis: str = "whole"

    @cached_property
    def words(self) -> str:
        """The demand as a person would say it, a percentage with what it is of."""
        end = f"{target(self.side, self.target)} {of_what(self.unit, self.basis)}"
        most = f"at {'least' if self.side == 'low' else 'most'} {end}"
        words = self.name if self.kind == "rule" else f"{self.name} {most}".rstrip()  # a rule's says how much already
        told = self.reason if self.reason.startswith(words) else f"{words} ({self.reason})"  # it may say all of it
        return told if self.reason else words

    def row(self, at: Vector, key: int, extra: int = 0) -> Row:
        """The linear row near `at`, and wider: p x >= target where g is the whole, else (p - target g) x >= 0."""
        if self.bends:
            return self._row(self.terms(at), key).widened(extra)
        if (row := self._rows.get((extra, key))) is None:
            any_key = self._rows.get((extra, None))
            row = replace(any_key, key=key) if any_key else self._row(self.terms(at), key).widened(extra)
            self._rows[extra, None] = self._rows[extra, key] = row
        return row

    @cached_property
    def _rows(self) -> dict[tuple[int, int | None], Row]:
        """The rows where it does not bend, which a search asks for often; threads share them, so none iterates here."""
        return {}

    def _row(self, terms: Terms, key: int) -> Row:
        sense = Sense.AT_LEAST if self.side == "low" else Sense.AT_MOST
        whole = terms.whole
        coefficients = terms.numerator if whole else terms.numerator - self.target * terms.denominator
        scale = self._scale(terms)
        return Row(
            words=self.words,
            coefficients=coefficients / scale,
            sense=sense,
            rhs=self.target / scale if whole else 0.0,
            key=key,
            target=self.target,
            per_target=1 / scale if whole else 0.0,
            group=None if whole else terms.denominator / scale,
        )

    def _scale(self, terms: Terms) -> float:
        """A power of two that brings a row of very large or very small numbers near the others, else 1.

        It looks at the property's numbers, not at the target, so that moving a target does not change it.
        """
        largest = float(np.abs(terms.numerator).max(initial=0.0))
        return 1.0 if largest == 0 or 1e-2 <= largest <= 1e3 else 2.0 ** round(np.log2(largest / 100))

    def value(self, x: Vector) -> float | None:
        """The true value at x, None where the group is empty (the demand then asks nothing)."""
        terms = self.terms(x)
        return terms.at(x[: len(terms.numerator)])

    def met(self, x: Vector, tolerance: float = 1e-6) -> bool:
        """Whether the true value at x keeps the target."""
        return self.miss(x) <= tolerance

    def miss(self, x: Vector) -> float:
        """By how much the true value at x misses the target, relative to its size; below 0 where it has room."""
        value = self.value(x)
        if value is None:
            return -np.inf
        short = self.target - value if self.side == "low" else value - self.target
        return short / (1 + abs(self.target))

    def held(self, at: Vector) -> "Demand":
        """The same demand with the terms that hold near `at` taken for good."""
        return replace(self, terms=constant(self.terms(at)), bends=False) if self.bends else self

    def moved(self, target: float) -> "Demand":
        """The same demand with another target."""
        return replace(self, target=target)


#: Demands that hold together: one branch of a disjunction.
Branch = tuple[Demand, ...]
#: The place of a limit to the number of the branch that is taken of it.
Chosen = Mapping[int, int]


@frozen
class Requirements:
    """Everything the brief, its ingredients, its markets and its certificates ask for.

    Attributes:
        limits: for each side of each limit of the brief its branches, any one of which does. Almost always
            there is one; a property that is the smallest of several straight ones is at most U when any of them is.
        rest: what lines, law and certificates ask.
    """

    limits: tuple[tuple[Branch, ...], ...]
    rest: Branch

    @property
    def disjunctions(self) -> tuple[int, ...]:
        """The places in `limits` of those with more than one branch."""
        return tuple(place for place, branches in enumerate(self.limits) if len(branches) > 1)

    @property
    def demands(self) -> Branch:
        """All demands of all branches."""
        return (*(demand for branches in self.limits for branch in branches for demand in branch), *self.rest)

    def branch(self, chosen: Chosen) -> Branch:
        """The demands, the brief's own first, with these branches chosen. Other disjunctions ask nothing."""
        taken = (
            branches[chosen.get(i, 0)] for i, branches in enumerate(self.limits) if len(branches) == 1 or i in chosen
        )
        return (*chain.from_iterable(taken), *self.rest)

    def chosen(self, x: Vector) -> dict[int, int]:
        """For each disjunction the branch that x keeps with most room, or misses least."""
        return {
            place: int(np.argmin([_miss(branch, x) for branch in self.limits[place]])) for place in self.disjunctions
        }

    def near(self, x: Vector) -> Branch:
        """The demands with each disjunction settled as x settles it."""
        return self.branch(self.chosen(x))

    def kept_by(self, x: Vector) -> bool:
        """Whether x keeps everything, in whatever way. What is straight is looked at first: it bounds what bends."""
        return all(demand.met(x) for demand in sorted(self.near(x), key=lambda demand: demand.bends))

    def without_broken(self, x: Vector, kinds: Sequence[str] | None = None) -> "Requirements":
        """Without what x breaks already, of these kinds or of all: that cannot judge a small change of x.

        A limit that can be kept in several ways goes only if x keeps it in none of them.
        """

        def stands(demand: Demand) -> bool:
            return (kinds is not None and demand.kind not in kinds) or demand.met(x)

        def left(branches: tuple[Branch, ...]) -> tuple[Branch, ...]:
            whole = tuple(branch for branch in branches if all(map(stands, branch)))
            return branches if len(branches) > 1 and whole else (tuple(filter(stands, branches[0])),)

        return Requirements(tuple(map(left, self.limits)), tuple(filter(stands, self.rest)))

    def settled(self, kind: Kind, x: Vector) -> "Requirements":
        """The same with choices of one kind of demand settled as x settles them."""
        near = {i: k for i, k in self.chosen(x).items() if any(d.kind == kind for d in self.limits[i][k])}
        return replace(self, limits=tuple((b[near[i]],) if i in near else b for i, b in enumerate(self.limits)))

    def missed(self, place: int, x: Vector) -> float:
        """By how much x misses a limit, kept in the best way; see `Demand.miss`."""
        return min(_miss(branch, x) for branch in self.limits[place])

    def each(self, change: Callable[[Demand], Demand | None]) -> "Requirements":
        """The same with every demand changed, and without those that become nothing."""
        limits = (tuple(_changed(branch, change) for branch in branches) for branches in self.limits)
        return Requirements(
            tuple(((),) if () in branches else branches for branches in limits), _changed(self.rest, change)
        )


def _miss(branch: Branch, x: Vector) -> float:
    return max((demand.miss(x) for demand in branch), default=-np.inf)


def _changed(branch: Branch, change: Callable[[Demand], Demand | None]) -> Branch:
    return tuple(changed for demand in branch if (changed := change(demand)) is not None)


@lru_cache(maxsize=128)
def firm_requirements(brief: Brief, rules: tuple[Either, ...] | None = None) -> Requirements:
    """What a brief asks for, and what rules ask of its formulas besides; what is usual is in usual.py.

    Args:
        brief: what is wanted.
        rules: those to keep; None for the rules of chemistry.
    """
    limits = (
        tuple(alternatives(brief, limit.property, side, target))
        for limit in brief.limits
        for side, target in _sides(limit)
    )
    rest = (*_lines(brief), *_laws(brief), *_certificates(brief), *_meaning(brief))
    return Requirements((*limits, *kept_rules(brief, rules_of(brief) if rules is None else rules)), rest)


def _meaning(brief: Brief) -> Iterator[Demand]:
    """What a goal that is a mean asks besides: some of its group. Over nothing, every formula would be as good.

    Of one that bends: that it applies, and that its model holds.
    """
    wanted = brief.goal.wanted
    if wanted is None:
        return
    if isinstance(wanted, Ratio):
        yield from _some_of(wanted, wanted.everywhere(brief.mix))
    elif isinstance(wanted, Bent):
        if bent := _cases(wanted, brief.mix):
            reason = f"so that {wanted.name} has a meaning"
            yield from (replace(edge_of(edge), reason=reason) for edge in (*bent.needs(), *there(bent.cases[-1])))
        yield from within(wanted, brief.mix)


def _cases(wanted: Bent, mix: Mix) -> Cases | None:
    return wanted.cases(mix) if wanted.cases else None


def there(case: Case) -> Iterator[Edge]:
    """What must be there in a case: at least so much that nobody notices less."""
    for words, group in case.there:
        yield Edge(words, 100 * group, "low", 100 * LEAST_GROUP)


def edge_of(edge: Edge) -> Demand:
    """A condition of a case as a demand."""
    terms = Terms.exact(edge.amount)
    return Demand(edge.words, "%", edge.side, edge.target, "model", constant(terms))


def within(wanted: Bent, mix: Mix) -> Iterator[Demand]:
    """What must hold for the property's model to hold."""
    reason = f"the model of {wanted.name} holds no further"
    for name, terms, most in wanted.holds(mix) if wanted.holds else ():
        yield Demand(name, "%", "high", most, "model", constant(terms), reason=reason)


def _sides(limit: Limit) -> Iterator[tuple[Side, float]]:
    if limit.low is not None:
        yield "low", limit.low
    if limit.high is not None:
        yield "high", limit.high


def alternatives(brief: Brief, wanted: Property, side: Side, target: float) -> list[Branch]:
    """The branches of one side of a limit: each a set of demands that together suffice."""
    mix = brief.mix
    if isinstance(wanted, Piecewise):
        return _pieces(wanted, wanted.pieces(mix), side, target)
    if isinstance(wanted, Ratio):
        fixed = wanted.everywhere(mix)
        return [(limited(wanted, side, target, constant(fixed)), *_there(wanted, side, fixed))]
    asked = replace(limited(wanted, side, target, near(wanted, mix), bends=True), bent=_cases(wanted, mix))
    pieces = wanted.pieces(mix) if wanted.pieces and side == "high" else (asked.terms,)
    return [(*(replace(asked, terms=piece) for piece in pieces), *within(wanted, mix))]


def limited(of: Property, side: Side, target: float, terms: Callable[[Vector], Terms], bends: bool = False) -> Demand:
    """One side of a limit on a property, by these terms of it."""
    return Demand(of.name, of.unit, side, target, "limit", terms, bends=bends, basis=of.basis)


def near(wanted: Property, mix: Mix) -> Callable[[Vector], Terms]:
    """A property's terms near any point."""
    return Bound(_terms, (wanted, mix))


def _terms(x: Vector, wanted: Property, mix: Mix) -> Terms:
    return wanted.terms(mix, x)


def _there(wanted: Property, side: Side, terms: Terms) -> Iterator[Demand]:
    """What a least value of a mean asks besides: some of its group. Over nothing, nothing would be asked."""
    if side == "low":
        yield from _some_of(wanted, terms)


def _some_of(wanted: Property, terms: Terms) -> Iterator[Demand]:
    if not terms.whole:
        group, reason = Terms.exact(100 * terms.denominator), f"so that {wanted.name} has a meaning"
        yield Demand(wanted.basis, "%", "low", 100 * LEAST_GROUP, "model", constant(group), reason=reason)


def _pieces(wanted: Piecewise, pieces: Sequence[Terms], side: Side, target: float) -> list[Branch]:
    """All pieces at once, or any one of them. Pieces that are zero whatever the formula are settled here."""
    asked = [limited(wanted, side, target, constant(piece)) for piece in pieces]
    nothing, kept = [not p.numerator.any() for p in pieces], (target <= 0 if side == "low" else target >= 0)
    if any(nothing) and wanted.join == "max":
        asked = [replace(demand, floor=0.0) for demand in asked]
    if (wanted.join == "max") == (side == "high"):
        return [tuple(demand for demand, zero in zip(asked, nothing, strict=True) if not (zero and kept))]
    if any(nothing) and kept:
        return [()]
    return [(demand,) for demand, zero in zip(asked, nothing, strict=True) if not zero] or [(asked[0],)]


def kept_rules(brief: Brief, rules: Sequence[Either]) -> Iterator[tuple[Branch, ...]]:
    """Of each rule that the brief's lines leave open, the branches it can be kept by."""
    for either, branches in open_branches(brief, rules):
        yield tuple(
            tuple(
                Demand(bound.words, "%", bound.side, 100 * bound.target, "rule",
                       constant(Terms.exact(100 * weights(bound, brief.mix))), reason=either.rule.title)
                for bound in branch
            )
            for branch in branches
        )  # fmt: skip


def _lines(brief: Brief) -> Iterator[Demand]:
    for j, (item, wanted) in enumerate(zip(brief.mix.ingredients, brief.ranges, strict=True)):
        terms = constant(Terms.exact(100.0 * (np.arange(len(brief.ranges)) == j)))
        kind: Kind = "advice" if wanted.source == "advice" else "line"
        reason = "usual maximum of the catalogue; the brief may set its own" if kind == "advice" else ""
        if wanted.low > 0:
            yield Demand(item.name, "%", "low", 100 * wanted.low, kind, terms, reason=reason)
        if wanted.high < 1 and wanted.source != "usual":
            yield Demand(item.name, "%", "high", 100 * wanted.high, kind, terms, reason=reason)


def _laws(brief: Brief) -> Iterator[Demand]:
    for rule in applying(brief.scope, brief.mix.ingredients, wary=True):
        if rule.hard:
            terms = rule.terms(brief.mix, wary=True)
            reason = "; ".join(filter(None, (f"{rule.market}, {rule.reference}", rule.assumed(brief.mix))))
            yield Demand(rule.group, "%", "high", rule.reach, "law", constant(terms), reason=reason)


def _certificates(brief: Brief) -> Iterator[Demand]:
    terms = certificate_terms(brief.mix, brief.scope)
    if terms.numerator.any():
        name = f"fragrance, of the maximum its certificate gives for class {certificate_class(brief.scope)}"
        yield Demand(name, "%", "high", 100.0, "certificate", constant(terms))


def constant(terms: Terms) -> Callable[[Vector], Terms]:
    """Terms that are the same at any point."""
    return Bound(_always, (terms,))


def _always(_: Vector, terms: Terms) -> Terms:
    return terms


def frame(brief: Brief, cost: Vector) -> Program:
    """The program without demands: fractions between 0 and 1 that sum to one."""
    count = len(brief.mix.ingredients)
    extra = len(cost) - count
    balance = Row("everything sums to 100 %", np.concatenate([np.ones(count), np.zeros(extra)]), Sense.EQUAL, 1.0)
    names = tuple(item.name for item in brief.mix.ingredients) + tuple(f"helper {k}" for k in range(extra))
    return Program(names, cost, np.zeros(count + extra), np.ones(count + extra), (balance,))


def program_at(base: Program, asked: Sequence[Demand], at: Vector, bent: bool = True) -> Program:
    """The frame's rows and the demands' rows near the fractions `at`; without `bent`, only those that hold anywhere.

    A row's key is the place of its demand in `asked`. Helper columns enter no demand.
    """
    extra = len(base.columns) - len(at)
    kept = [(key, demand) for key, demand in enumerate(asked) if bent or not demand.bends]
    return base.with_rows([*base.rows, *(demand.row(at, key, extra) for key, demand in kept)])
