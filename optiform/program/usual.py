"""What is usual as demands: hard where the brief can be met with them, else eased by the least sum of breaches.

A usual range gives way before anything else does. Where not all of them hold together with what the brief asks, the
least sum of relative breaches is found first, over every way to keep what several ways keep: a linear program per way
in which only the usual demands may give. Those that gave then hold at the value they reached, the others as they are.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.brief.goal import NearestUsual
from optiform.brief.usual import UsualLimit, unusual_lines, where_known
from optiform.program.boxes import root_of
from optiform.program.build import (
    Branch,
    Demand,
    Requirements,
    alternatives,
    constant,
    firm_requirements,
    frame,
    program_at,
)  # fmt: skip
from optiform.program.elastic import least_breach
from optiform.program.linear import Row
from optiform.program.reachable import undosed
from optiform.program.tree import Effort, InfeasibleNode, SolvedNode, Tree
from optiform.properties.base import Piecewise, Side, Terms, Vector
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.units import with_article
from optiform.rules.forms import Either
from optiform.rules.law import applying

GAVE = 1e-6  # relative: what is no breach
MARGIN = 1e-7  # relative: an eased end is put this far beyond what was reached, so that rounding cannot undo it
MOST_NODES = 300
LEAST = 0.001  # mass fraction: the least size by which a breach of a line is counted


@frozen
class Eased:
    """A usual end that could not be kept, and what was reached instead, in its unit."""

    demand: Demand
    reached: float


@frozen
class Usual:
    """The usual demands of a brief, eased where they must be. `gave` names those."""

    demands: Branch
    gave: tuple[Eased, ...] = ()


@lru_cache(maxsize=128)
def requirements(brief: Brief, rules: tuple[Either, ...] | None = None) -> Requirements:
    """What a brief and rules ask for, and what is usual where it holds beside that.

    Raises:
        BadInput: the brief asks for at most so many ingredients, which is no demand on fractions (design/fewer.py).
    """
    refuse_most(brief)
    known = () if rules is None else (rules,)  # as other callers ask, so that what is cached is found again
    firm, usual = firm_requirements(undosed(brief), *known), usual_of(brief, *known)
    return replace(firm, limits=(*firm.limits, *used_or_none(brief)), rest=(*firm.rest, *usual.demands))


def refuse_most(brief: Brief) -> None:
    """Refuse a brief that asks for at most so many ingredients, in what looks at all candidates together.

    The best formula of few ingredients is the best of those alone: what lies around it would be told of them only.

    Raises:
        BadInput: it does.
    """
    if brief.most_ingredients is not None:
        words = "only design, weigh, explore --unlike and check look at it. Take it out of the brief for this."
        place, read = "most_ingredients", str(brief.most_ingredients)
        raise BadInput([Fault(brief.title, place, read, "no such key here", f"{place}: {words}")])


@lru_cache(maxsize=128)
def usual_of(brief: Brief, rules: tuple[Either, ...] | None = None) -> Usual:
    """The usual demands that hold beside what a brief and rules ask; none where nothing meets those by themselves.

    Limits that bend are not looked at here, nor doses.
    """
    plain = undosed(brief)
    if plain is not brief:
        return usual_of(plain) if rules is None else usual_of(plain, rules)
    return eased_near(brief, nearest_point(brief, rules))


def nearest_point(
    brief: Brief, rules: tuple[Either, ...] | None = None, nodes: int = MOST_NODES
) -> Vector | None:  # fmt: skip
    """The mass fractions with the least sum of breaches of what is usual; None where nothing meets what is firm.

    Args:
        brief: what is wanted.
        rules: those to keep; None for the rules of chemistry.
        nodes: the most that are looked at; with few the sum may not be the least.
    """
    priced = tuple(_priced(brief))
    firm = firm_requirements(brief) if rules is None else firm_requirements(brief, rules)
    return least_breaches(brief, firm, priced, nodes) if priced else None


def eased_near(brief: Brief, x: Vector | None) -> Usual:
    """What is usual, eased as far as these mass fractions need it; nothing where there are none."""
    return Usual(()) if x is None else eased_at([demand for demand, _ in _priced(brief)], x)


def with_doses(brief: Brief) -> tuple[Requirements, Usual]:
    """As `requirements`, with what is usual eased beside doses too, of which there is none or enough.

    It takes longer, and is needed only where what `usual_of` eased leaves no room for such doses.
    """
    firm = firm_requirements(undosed(brief))
    firm = replace(firm, limits=(*firm.limits, *used_or_none(brief)))
    usual = usual_beside(brief, firm)
    return replace(firm, rest=(*firm.rest, *usual.demands)), usual


def usual_beside(brief: Brief, firm: Requirements) -> Usual:
    """The usual demands that hold beside what is firm, eased by the least sum; none where nothing meets that.

    Limits that bend are not looked at here.
    """
    priced = tuple(_priced(brief))
    return eased_near(brief, least_breaches(brief, firm, priced)) if priced else Usual(())


def used_or_none(brief: Brief) -> Iterator[tuple[Branch, ...]]:
    """Usual doses that hold only where any is used, each as two branches: none at all, or at least so much.

    All of them for the goal that is nearest to usual: a first trial has no line too small to do anything. Else those
    that the brief names in `doses`; so do usual ranges that can be kept in several ways.
    """
    count, least_of = len(brief.mix.ingredients), least_doses(brief)
    for place, item in enumerate(brief.mix.ingredients):
        if item.name in brief.doses and least_of[place] > 0:
            terms = Terms.exact(100 * np.eye(count)[place])
            yield _either(item.name, "%", terms, 100 * least_of[place], brief.kind)
    for limit in brief.usual:
        if limit.property.name in brief.doses:
            yield from _any_way(brief, limit)
    if not isinstance(brief.goal, NearestUsual):
        return
    for place, least in unusual_lines(brief.kind, brief.mix, brief.ranges):
        name, terms = brief.mix.ingredients[place].name, Terms.exact(100 * np.eye(count)[place])
        yield _either(name, "%", terms, 100 * least, brief.kind)
    for limit in brief.usual:
        if limit.if_used and limit.low is not None:
            terms = limit.property.everywhere(brief.mix)
            if terms.whole and terms.numerator.any():
                none, some = _either(limit.property.name, limit.property.unit, terms, limit.low, brief.kind)
                yield _of(none, limit.property.basis), _of(some, limit.property.basis)


def _any_way(brief: Brief, limit: UsualLimit) -> Iterator[tuple[Branch, ...]]:
    """Each end of a usual range as the branches that keep it."""
    for side, target in _ends(limit):
        branches = alternatives(brief, limit.property, side, target)
        yield tuple(
            tuple(replace(demand, kind="usual", reason=_reason(brief.kind)) for demand in branch) for branch in branches
        )


def _either(name: str, unit: str, terms: Terms, least: float, kind: str) -> tuple[Branch, ...]:
    none = Demand(name, unit, "high", 0.0, "usual", constant(terms), reason=_reason(kind))
    return (none,), (replace(none, side="low", target=least),)


def _of(branch: Branch, basis: str) -> Branch:
    """The branch with what its percentages are of."""
    return tuple(replace(demand, basis=basis) for demand in branch)


def _reason(kind: str) -> str:
    return f"usual in {with_article(kind)}" if kind else "usual"


def _priced(brief: Brief) -> Iterator[tuple[Demand, float]]:
    """Each usual demand, with what a unit of its row's breach counts."""
    for limit in brief.usual:
        for side, target in _ends(limit):
            for demand in _straight(brief, limit, side, target):
                yield demand, 1 / (limit.size * limit.over)
    for j, span in enumerate(brief.ranges):
        if span.source == "usual":
            single = np.zeros(len(brief.ranges))
            single[j] = 100.0
            name, reason = brief.mix.ingredients[j].name, _reason(brief.kind)
            demand = Demand(name, "%", "high", 100 * span.high, "usual", constant(Terms.exact(single)), reason=reason)
            yield demand, 1 / (100 * max(span.high / 2, LEAST))
    yield from _advised(brief)


def _advised(brief: Brief) -> Iterator[tuple[Demand, float]]:
    """What a panel advises, which check warns of: no law, so it gives way as what is usual does."""
    for rule in applying(brief.scope, brief.mix.ingredients, wary=True):
        if rule.kind == "guidance" and rule.limit:
            terms, reason = constant(rule.terms(brief.mix, wary=True)), f"{rule.market}, {rule.reference}"
            demand = Demand(rule.group, "%", "high", rule.limit, "usual", terms, reason=reason)
            yield demand, 1 / max(rule.limit / 2, 100 * LEAST)


def missed_ways(brief: Brief, x: Vector) -> Iterator[Eased]:
    """The ends of usual ranges that can be kept in several ways and are kept in none at these mass fractions."""
    for limit in (limit for limit in brief.usual if isinstance(limit.property, Piecewise)):
        value = limit.property.at(brief.mix, x).at(x)
        if value is None or not limit.misses(value):
            continue
        for side, target in _ends(limit):
            ways = alternatives(brief, limit.property, side, target)
            nearest = min((demand for way in ways for demand in way), key=lambda demand: demand.miss(x))
            if len(ways) > 1 and nearest.miss(x) > GAVE:
                yield Eased(replace(nearest, kind="usual", reason=_reason(brief.kind)), value)


def _ends(limit: UsualLimit) -> Iterator[tuple[Side, float]]:
    if limit.low is not None and not limit.if_used:
        yield "low", limit.low
    if limit.high is not None:
        yield "high", limit.high


def _straight(brief: Brief, limit: UsualLimit, side: Side, target: float) -> Iterator[Demand]:
    """The demands that keep one end; none where it could be kept in several ways, or nothing brings any of it."""
    branches = alternatives(brief, limit.property, side, target)
    if len(branches) > 1:
        return
    for demand in branches[0]:
        if demand.kind == "limit" and not demand.bends:
            terms = where_known(demand.terms(np.zeros(len(brief.ranges))))
            if terms.numerator.any() or side == "high":
                yield replace(demand, kind="usual", terms=constant(terms), reason=_reason(brief.kind))


def least_breaches(
    brief: Brief, firm: Requirements, priced: Sequence[tuple[Demand, float]], nodes: int = MOST_NODES
) -> Vector | None:
    """The mass fractions with the least sum of breaches of these demands, each at its price; None where nothing meets
    what is firm.

    Args:
        brief: for its candidates.
        firm: what is kept in any case; what bends of it is not looked at.
        priced: straight demands, each with what a unit of its breach counts.
        nodes: as in `nearest_point`.
    """
    none = np.zeros(len(brief.ranges))
    base, usual = frame(brief, none), [demand for demand, _ in priced]
    sizes = [price * _divided(demand.row(none, 0), demand) for demand, price in priced]

    def solved(branch: Branch) -> SolvedNode[Vector] | InfeasibleNode[None]:
        program = program_at(base, (*(demand for demand in branch if not demand.bends), *usual), none)
        breach = least_breach(program, dict(enumerate(sizes, len(program.rows) - len(priced))))
        return SolvedNode(breach.x, breach.x, breach.total, breach.total) if breach.feasible else InfeasibleNode(None)

    tree: Tree[Vector, None] = Tree(firm.rest, solved, Effort(nodes=nodes))
    tree.search(root_of(firm, boxes=False))
    return None if tree.incumbent is None else tree.incumbent[2].x


def _divided(row: Row, demand: Demand) -> float:
    """What the row of a straight demand was divided by to bring it near the others."""
    terms = demand.terms(np.zeros(len(row.coefficients)))
    plain = terms.numerator if terms.whole else terms.numerator - demand.target * terms.denominator
    largest = int(np.argmax(np.abs(plain)))
    return float(plain[largest] / row.coefficients[largest]) if row.coefficients[largest] else 1.0


def eased_at(demands: Sequence[Demand], x: Vector) -> Usual:
    """The demands, those that x breaks put where x keeps them."""
    kept, gave = [], []
    for demand in demands:
        value = demand.value(x)
        if value is None or demand.miss(x) <= GAVE:
            kept.append(demand)
            continue
        margin = MARGIN * (1 + abs(value))
        gave.append(Eased(demand, value))
        kept.append(demand.moved(value + margin if demand.side == "high" else value - margin))
    return Usual(tuple(kept), tuple(gave))
