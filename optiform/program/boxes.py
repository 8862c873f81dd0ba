"""Limits on a property that bends, as a disjunction: its cases, then ever smaller boxes of the ratios it depends on.

See `properties/bent.py` for the lines between which the property lies in a box. A limit on it becomes a straight row in
each box, kept by every formula of the box that keeps the limit; the same lines the other way round give a row that is
enough to keep it. As a box is halved the two draw together, and the bound with them.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import cast

import numpy as np

from optiform.program.build import Branch, Demand, Requirements, constant, edge_of, there
from optiform.program.linear import Vector
from optiform.program.many_pieces import any_of
from optiform.program.tree import Disjunction, Node, Settled
from optiform.properties.base import Side, Terms
from optiform.properties.bent import Case, Cases, Quantity
from optiform.properties.curve import Interval
from optiform.reading.frozen import frozen

NARROW = 1e-9  # of the whole reach: a box no wider than this in any direction is not split any further
MARGIN = 0.1  # of an interval: no split nearer to an end than this
WIDE = 0.3  # the same for shares, of the logarithm: they may lie anywhere from a thousandth to a thousand
RATIO = 1000.0  # of the ends of a share, where the lower one is nothing
WIDER = 2.0  # times the lower end of a share without an upper one: no split nearer
EDGE = 1e-3  # of an interval: no split nearer to an end than this, not at the best answer either
ENOUGH = 0.5  # of a miss: what a cut must take away of it to be worth another program
ROUNDING = 1e-8  # relative miss that is rounding: a hundredth of what a limit that bends is checked to


@frozen
class Bends:
    """What is asked of one property that bends: in any of its cases."""

    demands: Branch
    within: Branch
    settled: bool = False
    continuous: bool = True
    case: object = None

    @property
    def words(self) -> str:
        """The limits."""
        return "; ".join(demand.words for demand in self.demands)

    @property
    def bent(self) -> Cases:
        """How the property bends."""
        return cast(Cases, self.demands[0].bent)

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Without end: where it applies is settled before how."""
        return np.inf

    def relaxation(self) -> Branch:
        """Nothing yet: there are cases in which the property does not apply."""
        return ()

    def restriction(self, x: Vector, part: float | None = None) -> Branch:
        """As the case does that x is nearest to; see `Box.restriction`."""
        return self.case_at(x).restriction(x, part)

    def miss(self, x: Vector) -> float:
        """The worst of the limits; out of every case that, and where the model does not reach as good as everything."""
        box = self.case_at(x)
        outside = _astray(box.edges, x) - ROUNDING
        if box.settled:
            return outside
        return np.inf if _astray(self.within, x) > ROUNDING else max(outside, box.miss(x))

    def split(self, x: Vector, best: Vector | None = None) -> Sequence[Disjunction]:  # noqa: ARG002
        """The cases."""
        return self._boxes

    @cached_property
    def _boxes(self) -> "list[Box]":
        """Each case, as a box of all that the property's quantities can be."""
        return [Box.whole(self, case) for case in self.bent.cases]

    def case_at(self, x: Vector) -> "Box":
        """The case that x is in, or nearest to."""
        return min(self._boxes, key=lambda box: max(0.0, _astray(box.edges, x)))


@frozen
class Box:
    """One case of a property, with each of its quantities between two numbers.

    Attributes:
        of: the limits.
        case: the case, and where it holds as demands, `edges`.
        spans: runs parallel to the case's quantities; `ends` are the demands that hold each.
        touching: the arguments of the curves near which the bounds are taken, each a cut.
    """

    of: Bends
    case: Case
    edges: Branch
    spans: tuple[Interval, ...]
    ends: tuple[Branch, ...]
    touching: tuple[tuple[float, ...], ...] = ()
    continuous: bool = True

    @staticmethod
    def whole(of: Bends, case: Case) -> "Box":
        """The box that leaves nothing of a case out."""
        edges = tuple(edge_of(edge) for edge in (*case.edges, *there(case)))
        spans = tuple(quantity.reach for quantity in case.quantities)
        return Box(of, case, edges, spans, ((),) * len(spans))

    @property
    def settled(self) -> bool:
        """Whether the property does not apply here."""
        return not self.case.applies

    @property
    def words(self) -> str:
        """The limits."""
        return self.of.words

    def relaxation(self) -> Branch:
        """Where the box is, and what its bounds make of the limits."""
        return self._relaxation

    @cached_property
    def _relaxation(self) -> Branch:
        if self.settled:
            return self._place
        rows = (row for demand in self.of.demands for at in self._near for row in self._rows(demand, at, outer=True))
        return (*self._place, *rows)

    def restriction(self, x: Vector, part: float | None = None) -> Branch:
        """The same in a smaller box around x, with bounds that are enough, and the means held where x has them.

        Or at a `part` of their spans.
        """
        if self.settled:
            return self._relaxation
        smaller = self
        for place, span in enumerate(self._around(x, part)):
            smaller = smaller._with(place, span) if span != self.spans[place] else smaller
        at = self.case.arguments(x) or self.case.lowest(self.spans)
        rows = (row for demand in self.of.demands for row in smaller._rows(demand, at, outer=False))
        return (*smaller._place, *rows)

    def miss(self, x: Vector) -> float:
        """The worst of the limits, beyond rounding."""
        return max((over / (1 + abs(demand.target)) for demand, over in self._over(x)), default=-np.inf) - ROUNDING

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:
        """What keeping the limits would cost, at these prices of one unit of each."""
        return sum(max(over, 0.0) * prices.get(demand.words, 0.0) for demand, over in self._over(x))

    def _over(self, x: Vector) -> list[tuple[Demand, float]]:
        """By how much x is over each limit, in its unit; below 0 where it has room."""
        z, bent = self.case.value(x), self.of.bent
        if z is None:
            return [(demand, np.inf) for demand in self.of.demands]
        sides = {"low": -1.0, "high": 1.0}
        return [(d, sides[d.side] * (z - bent.inner(d.target)) / bent.slope(d.target)) for d in self.of.demands]

    def split(self, x: Vector, best: Vector | None = None) -> Sequence[Disjunction]:
        """The box with bounds taken near x too, if that cuts x off; else in two, where the bounds are furthest off.

        At the best answer so far where it lies inside: bounds are right at the ends of their spans, so that none of the
        boxes that meet there is better than it but for what lies away from it.
        """
        at = self.case.arguments(x)
        nearer = self if at is None else replace(self, touching=(*self.touching, at))
        over = [(demand, miss) for demand, miss in self._over(x) if miss > 0]
        if at is not None and any(self._gain(demand, at, x) > ENOUGH * miss for demand, miss in over):
            return [nearer]
        sides = {demand.side == "high" for demand, _ in over}
        splits = [split for lower in sides or {True, False} for split in self.case.splits(self.spans, x, lower)]
        for _, place, number in sorted(splits, key=lambda split: -split[0]):
            low, high = self.spans[place]
            if high - low > NARROW * (1 + abs(low)):
                cut = self._at_best(place, best) or _inside(number, (low, high), self.case.quantities[place])
                return [self._with(place, (low, cut)), self._with(place, (cut, high))]
        return ()

    def _at_best(self, place: int, best: Vector | None) -> float | None:
        """The value of a quantity at the best answer so far, if that is well inside its span; else None."""
        number = None if best is None else self.case.quantities[place].at(best)
        low, high = self.spans[place]
        return number if number is not None and low + _edge(low, high) < number < high - _edge(low, high) else None

    def _gain(self, demand: Demand, at: tuple[float, ...], x: Vector) -> float:
        """By how much more bounds near `at` cut x off than those that are there, which x keeps but for rounding."""
        return self._cut(demand, at, x) - max(0.0, *(self._cut(demand, other, x) for other in self._near))

    @property
    def _near(self) -> tuple[tuple[float, ...], ...]:
        """The arguments of the curves near which bounds are there."""
        return self.touching or (self.case.lowest(self.spans),)

    def _cut(self, demand: Demand, at: tuple[float, ...], x: Vector) -> float:
        """By how much the bounds near `at` cut x off, in the limit's unit."""
        return max(row.miss(x) for row in self._rows(demand, at, outer=True)) * (1 + abs(demand.target))

    def _with(self, place: int, span: Interval) -> "Box":
        ends = tuple(_ends(self.case.quantities[place], span))
        spans = (*self.spans[:place], span, *self.spans[place + 1 :])
        return replace(self, spans=spans, ends=(*self.ends[:place], ends, *self.ends[place + 1 :]))

    def _around(self, x: Vector, held: float | None) -> tuple[Interval, ...]:
        """Ratios within a quarter of their span around x; means held as x has them or elsewhere; shares as they are."""
        spans: list[Interval] = []
        for part in self.case.parts:
            span, quantity = self.spans[len(spans)], self.case.quantities[len(spans)]
            spans.append(span if part.straight else _near(span, quantity.at(x), 0.25))
            for _ in part.means:
                span, quantity = self.spans[len(spans)], self.case.quantities[len(spans)]
                at = quantity.at(x) if held is None else span[0] + held * (span[1] - span[0])
                spans += [_near(span, at, 0.0), self.spans[len(spans) + 1]]
        return tuple(spans)

    def case_of(self) -> Branch:
        """The limits themselves, where the case holds, with tangents to it."""
        limits = () if self.settled else tuple(replace(demand, terms=self._tangent) for demand in self.of.demands)
        return (*self.edges, *(self.of.within if limits else ()), *limits)

    def _tangent(self, x: Vector) -> Terms:
        """Terms of the property near x; nothing where it does not apply."""
        tangent = self.of.bent.tangent(self.case, x)
        if tangent is None:
            return Terms.exact(np.zeros(len(x)), np.zeros(len(x)))
        value, slope = tangent
        return Terms.exact(slope + (value - slope @ x))  # fractions sum to one

    # -- rows ---------------------------------------------------------------------------------------------------------

    @property
    def _place(self) -> Branch:
        """Where the box is: the case, and the ends that are narrower than the whole reach."""
        narrowed = (demand for ends in self.ends for demand in ends)
        return (*self.edges, *narrowed, *(self.of.within if self.case.applies else ()))

    def _rows(self, demand: Demand, at: Sequence[float], outer: bool) -> Iterator[Demand]:
        """A limit with z taken by bounds in this box, as ratios in the property's unit: all kept by what keeps it.

        Not `outer`: enough to keep it.

        At the target t, z <= inner(t) is t + (z - inner(t)) / inner'(t) <= t.
        """
        group, bent = self.case.group, self.of.bent
        z, slope = bent.inner(demand.target), bent.slope(demand.target)
        for bound in self.case.bounds(self.spans, (demand.side == "high") == outer, at):
            numerator = (bound - z * group) / slope + demand.target * group
            scale = 2.0 ** round(np.log2(100 / max(float(np.abs(numerator).max()), 1e-9)))
            yield replace(demand, terms=constant(Terms.exact(scale * numerator, scale * group)), bends=False)


def root_of(needed: Requirements, boxes: bool) -> Node:
    """All limits of a brief as disjunctions, in its order; with `boxes`, what bends in a known way is one of cases."""
    parts: dict[object, Disjunction] = {}
    for place, branches in enumerate(needed.limits):
        bends = (
            [demand for demand in branches[0] if demand.bends and demand.bent] if boxes and len(branches) == 1 else []
        )
        if len(branches) > 1:
            parts[place] = any_of(branches)
        elif bends:
            within = tuple(demand for demand in branches[0] if demand not in bends)
            both = parts.get(bends[0].name)
            parts[bends[0].name] = Bends((*both.demands, *bends) if isinstance(both, Bends) else tuple(bends), within)
        else:
            parts[place] = Settled(branches[0])
    return tuple(parts.values())


def as_asked(node: Node, x: Vector) -> Branch | None:
    """The demands of a node with every limit that bends as it stands in the brief; None where nothing in it bends.

    What is open is settled as x settles it.
    """
    parts = [part.case_at(x) if isinstance(part, Bends) else part for part in node]
    if not any(isinstance(part, Box) and not part.settled for part in parts):
        return None
    held = [part.case_of() if isinstance(part, Box) else part.restriction(x) for part in parts]
    return tuple(demand for branch in held for demand in branch)


def _astray(branch: Branch, x: Vector) -> float:
    return max((demand.miss(x) for demand in branch), default=-np.inf)


def _inside(number: float, span: Interval, quantity: Quantity) -> float:
    """Where to split a span: at a number, but not near an end; at the last knot where all beyond it is level."""
    low, high = span
    last = min([*(knot for knot in quantity.knots[-1:] if low < knot), high])
    if np.isinf(last):
        return max(number, WIDER * low)
    if number >= last < high:
        return last
    if np.isinf(quantity.reach[1]):
        least = max(low, last / RATIO)
        room = float((last / least) ** WIDE)
        return min(max(number, least * room), last / room)
    room = MARGIN * (last - low)
    return min(max(number, low + room), last - room)


def _edge(low: float, high: float) -> float:
    """What is too near to an end to split there."""
    return EDGE * ((high - low) if np.isfinite(high) else low)


def _near(span: Interval, at: float | None, part: float) -> Interval:
    """What of a span lies within this part of it around `at`."""
    if at is None:
        return span
    at, room = min(max(at, span[0]), span[1]), part * (span[1] - span[0])
    return max(span[0], at - room), min(span[1], at + room)


def _ends(quantity: Quantity, span: Interval) -> Iterator[Demand]:
    terms = Terms.exact(quantity.numerator, quantity.group)
    for side, end, widest in zip(("low", "high"), span, quantity.reach, strict=True):
        if end != widest:
            yield Demand(quantity.words, "", cast(Side, side), end, "model", constant(terms))
