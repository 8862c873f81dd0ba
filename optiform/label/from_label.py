"""What a list of ingredients gives away: for each declared name the range it can have, not one answer.

A declaration names constituents in descending order of mass as long as they are above 1 %; those at or below 1 % follow
in any order, and colourants may stand last whatever their amount. With k names above the 1 % line, x in %,

    x_1 >= x_2 >= ... >= x_k >= 1,   x_j <= 1 after the line,   sum x = 100,   and every cap: law, usual maximum, own.

Where the line stands is not on the label: without it, k runs over every place that leaves a composition. Order and the
line are 21 CFR 701.3(f) in the US (not exceeding 1 % may float) and Regulation (EC) 1223/2009, Article 19(1)(g), in the
EU and GB (below 1 % may float); the two differ at exactly 1 % only, which ranges with their ends include either way.
Colourants last: both, from memory, check before relying on it.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Literal

import numpy as np

from optiform.ingredients.names import resolve
from optiform.label.caps import advice, canonical, hard_rules, is_colourant, laws, single, stated, strictest
from optiform.label.centre import belief, toward
from optiform.label.facts import (
    CentreOf,
    ColoursLast,
    DeclaredForbidden,
    LabelNote,
    LooksLike,
    Marker,
    OpenLine,
    UsualLeftAside,
)
from optiform.label.list_text import inspect_names
from optiform.label.prior import prior
from optiform.program.build import Demand
from optiform.program.certificate import Certificate, NotCertified, certify_optimal
from optiform.program.conflict import Conflict, explain
from optiform.program.linear import NoPoint, Program, Row, Sense, Vector
from optiform.program.live import Live
from optiform.program.search import Infeasible
from optiform.reading.answer import Answer
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.rules.law import Scope, rules
from optiform.rules.usual import kinds

LINE = 1.0  # %

Place = Literal["in order", "either side of the line", "at most 1 %", "colourant"]


@frozen
class ConstituentRange:
    """What a declared constituent can have, in % of the whole. `caps` are what limits it beside its place."""

    inci: str
    low: float
    high: float
    centre: float
    place: Place
    caps: tuple[str, ...] = ()


@frozen
class LabelRanges(Answer):
    """The ranges of a declaration.

    Attributes:
        ranges: in the order of the label; each end is reached by some composition, both ends of two names not at once.
        first_below: which name (1 for the first) may be the first at or below 1 %; one where it was stated.
        centre_for: the one of these that the centre belongs to, the likeliest where the line is open. The centre is
            the mean of what is likely there by what is usual and by the place in the list (label/centre.py), within
            the strictest legal limits there are, whatever the markets of the scope.
        residual: the worst residual of the proofs of all ends.
        notes: what a reader must know.
    """

    scope: Scope
    ranges: tuple[ConstituentRange, ...]
    first_below: tuple[int, ...]
    centre_for: int
    residual: float
    notes: tuple[LabelNote, ...]


@frozen
class NoComposition(Answer):
    """No composition has this declaration: what cannot hold together, and the proof."""

    scope: Scope
    conflict: tuple[str, ...]
    certificate: Certificate
    notes: tuple[LabelNote, ...]


# -- the demands -------------------------------------------------------------------------------------------------------


@frozen
class _Label:
    """The names, how many of them stand in order (the rest are the colourants at the end), and their caps."""

    names: tuple[str, ...]
    ordered: int
    caps: tuple[Demand, ...]

    @property
    def marker(self) -> tuple[int, Demand] | None:
        """The first name in order that by a cap cannot have more than 1 %, and that cap."""
        for j in range(self.ordered):
            for demand in self.caps:
                counted = demand.terms(np.zeros(0)).numerator[j]
                if counted > 0 and 100 * demand.target / counted <= LINE:
                    return j, demand
        return None

    @property
    def places(self) -> Sequence[int]:
        """How many names may stand above the line: as far as the marker. Beyond, all would have 1 % exactly."""
        return range((self.ordered if self.marker is None else self.marker[0] + 1) + 1)

    def program(self, above: int) -> tuple[Program, tuple[Demand, ...]]:
        """The compositions with so many names above the line: fractions of the whole, and the demands in its rows."""
        count = len(self.names)
        balance = Row("everything sums to 100 %", np.ones(count), Sense.EQUAL, 1.0)
        order = [_order(self.names, i) for i, _ in pairwise(range(above))]
        asked = (*_sides(self, above), *self.caps)
        rows = (balance, *order, *(demand.row(np.zeros(count), key) for key, demand in enumerate(asked)))
        return Program(self.names, np.zeros(count), np.zeros(count), np.ones(count), rows), asked


def _order(names: Sequence[str], i: int) -> Row:
    coefficients = np.zeros(len(names))
    coefficients[[i, i + 1]] = 1.0, -1.0
    return Row(f"at least as much {names[i]} as {names[i + 1]}", coefficients, Sense.AT_LEAST, 0.0)


def _sides(label: _Label, above: int) -> Iterator[Demand]:
    if above:
        yield single(label.names, above - 1, "low", LINE, "model", "stands above the 1 % line")
    for j in range(above, label.ordered):
        yield single(label.names, j, "high", LINE, "model", "stands below the 1 % line")


# -- the ranges --------------------------------------------------------------------------------------------------------


@frozen
class _Extent:
    """The ends of every name with the line in one place; fractions. `inside` is the mean of the points found."""

    low: Vector
    high: Vector
    inside: Vector
    residual: float


def from_label(
    declaration: Sequence[str],
    scope: Scope,
    one_percent_from: int | None = None,
    caps: Mapping[str, float] | None = None,
    may_contain: Sequence[str] = (),
    kind: str = "",
    among: Sequence[str] = (),
) -> LabelRanges | NoComposition:
    """The range of each declared constituent.

    Args:
        declaration: INCI names in the order of the label; any name may stand there.
        scope: use, area, markets and date, for the legal limits on constituents.
        one_percent_from: which name (1 for the first) is the first at or below 1 %, where that is known; one more
            than there are names if none is.
        caps: the most some names can have, %.
        may_contain: colours of shades, any of which may be there in any amount or not at all.
        kind: of product, by which the centre goes; where it is empty the one that the list fits best. No range changes.
        among: the kinds that it can be, where use or area is known; empty for all.

    Raises:
        BadInput: with every fault of the arguments.
        NotCertified: when an end does not stand up to recomputation.
    """
    names = (*declaration, *may_contain)
    inspection = Inspection("label")
    inspect_names(names, inspection)
    ordered = len(declaration) - _tail(declaration)
    if one_percent_from is not None and not 1 <= one_percent_from <= ordered + 1:
        inspection.fault("1 % line", one_percent_from, f"a number from 1 to {ordered + 1}")
        inspection.finish()
    firm = (*stated(names, caps or {}), *laws(names, scope))
    notes: list[LabelNote] = [*_unnamed(names), *_forbidden(names, scope), *_loose(names, ordered)]
    for usual in (tuple(advice(names)), ()):
        label = _Label(names, ordered, (*firm, *usual))
        places = label.places if one_percent_from is None else [one_percent_from - 1]
        extents = {above: extent for above in places if (extent := _extent(label.program(above)[0]))}
        if extents:
            return _told(label, scope, extents, one_percent_from is None, notes, _Kinds(kind, tuple(among)))
        if usual:
            notes.append(UsualLeftAside())
    conflict = _clash(label, places)
    return NoComposition(scope, tuple(demand.words for demand in conflict.demands), conflict.certificate, tuple(notes))


def _tail(names: Sequence[str]) -> int:
    """How many colourants stand at the end; they may stand there whatever their amount."""
    tail = 0
    while tail < len(names) - 1 and is_colourant(names[-1 - tail]):
        tail += 1
    return tail


def _extent(program: Program) -> _Extent | None:
    """Both ends of every column, each proven; None if nothing fits."""
    try:
        live = Live(program)
    except NoPoint:
        return None
    points, residual = [], 0.0
    for cost in (*np.eye(live.width), *-np.eye(live.width)):
        live.recost(cost)
        if not live.solve():
            raise NotCertified("an end of a range was not found")
        basis = live.basis()
        x, y = basis.z[: live.width], basis.cost[basis.basic] @ basis.inverse
        proof = certify_optimal(program.with_cost(cost), x, y)
        if not proof.holds:
            raise NotCertified(f"an end of a range does not check: {proof}")
        residual = max(residual, proof.worst)
        points.append(np.clip(x, 0.0, 1.0))
    ends = np.array(points)
    own = np.arange(live.width)
    return _Extent(ends[own, own], ends[live.width + own, own], ends.mean(axis=0), residual)


def _clash(label: _Label, places: Sequence[int]) -> Conflict:
    """Why nothing fits, with the line where the least is asked: in the middle of the places it could have."""
    program, asked = label.program(places[len(places) // 2])
    return explain(Infeasible(program, np.zeros(len(label.names))), asked)


# -- the kind of product ----------------------------------------------------------------------------------------------


@frozen
class _Kinds:
    """The kind of product that is stated, else those that it can be."""

    stated: str
    among: tuple[str, ...]

    def best(self, label: _Label, low: Vector, high: Vector) -> str:
        """The kind that a declaration fits best; empty where no name tells one."""
        if self.stated:
            return self.stated
        priors = {of: prior(label.names, of, label.ordered, at_most=True) for of in self.among or kinds()}
        if not any(known.parts for known in priors.values()):
            return ""
        least, best = np.inf, next(iter(priors))
        for of, known in priors.items():
            misfit = belief(known, label.ordered, low, high, least).misfit
            if misfit < least:
                least, best = misfit, of
        return best


# -- what is told ------------------------------------------------------------------------------------------------------


def _told(
    label: _Label,
    scope: Scope,
    extents: Mapping[int, _Extent],
    open_line: bool,
    notes: list[LabelNote],
    choice: _Kinds,
) -> LabelRanges:
    places = sorted(extents)
    centre_for, centre, of = _centre(label, scope, extents, choice)
    low = np.min([extent.low for extent in extents.values()], axis=0)
    high = np.max([extent.high for extent in extents.values()], axis=0)
    ranges = tuple(
        ConstituentRange(
            inci=name,
            low=_percent(low[j]),
            high=_percent(high[j]),
            centre=_percent(centre[j]),
            place=_place(label, places, j),
            caps=tuple(demand.words for demand in label.caps if demand.terms(np.zeros(0)).numerator[j] > 0),
        )
        for j, name in enumerate(label.names)
    )
    if not choice.stated:
        notes.append(CentreOf(of))
    if open_line:
        notes.extend(_line(label, places))
    residual = max(extent.residual for extent in extents.values())
    return LabelRanges(scope, ranges, tuple(place + 1 for place in places), centre_for + 1, residual, tuple(notes))


def _centre(label: _Label, scope: Scope, extents: Mapping[int, _Extent], choice: _Kinds) -> tuple[int, Vector, str]:
    """The mean of what is likely, how many names stand above the line in it, and the kind it is of; fractions."""
    most = strictest(label.names, scope)
    lawful = [above for above, x in extents.items() if (100 * x.low <= most + 1e-9).all()]
    places = sorted(lawful or extents)
    low, high = (
        reach(100 * np.array([getattr(extents[above], end) for above in places]), axis=0)
        for end, reach in (("low", np.min), ("high", np.max))
    )
    high = np.minimum(high, most) if lawful else high
    of = choice.best(label, low, high)
    known = prior(label.names, of, label.ordered)
    above = belief(known, label.ordered, low, high).above
    chances = -np.diff([1.0, *above[: label.ordered], 0.0])  # of so many names above the line
    best = max(places, key=lambda above: chances[above])
    ends = _within(most, best, 100 * extents[best].high) if lawful else 100 * extents[best].high
    centre = belief(known, label.ordered, 100 * extents[best].low, ends).mean / 100
    return best, toward(extents[best].inside, centre, label.program(best)[0]), of


def _within(most: Vector, above: int, high: Vector) -> Vector:
    """The ends of ranges brought down to the strictest law, in the label's order; as they are where none fits."""
    ends: Vector = np.minimum(high, most)
    ends[:above] = np.minimum.accumulate(ends[:above])
    return ends if ends.sum() >= 100 else high


def _percent(fraction: float) -> float:
    return round(100 * float(fraction), 9)


def _place(label: _Label, places: Sequence[int], j: int) -> Place:
    if j >= label.ordered:
        return "colourant"
    if j < places[0]:
        return "in order"
    return "either side of the line" if j < places[-1] else "at most 1 %"


def _line(label: _Label, places: Sequence[int]) -> Iterator[Marker | OpenLine]:
    if label.marker:
        j, demand = label.marker
        yield Marker(label.names[j], demand.words)
    yield OpenLine(*(label.names[place - 1] if place else "" for place in (places[0], places[-1])))


def _unnamed(names: Sequence[str]) -> Iterator[LooksLike]:
    """Names that may be one with a legal limit and are not taken for it: that limit is not counted."""
    limited = {name for rule in rules() if rule.hard for name in rule.factors}
    for name in names:
        near = [] if resolve(name).certain else [other for other in resolve(name).near if other in limited]
        if near:
            yield LooksLike(name, near[0])


def _loose(names: Sequence[str], ordered: int) -> Iterator[ColoursLast]:
    if names[ordered:]:
        yield ColoursLast(tuple(names[ordered:]))


def _forbidden(names: Sequence[str], scope: Scope) -> Iterator[DeclaredForbidden]:
    for rule in hard_rules(scope):
        if not rule.limit:
            for name in names:
                if canonical(name) in rule.factors:
                    yield DeclaredForbidden(name, rule.market, rule.reference)
