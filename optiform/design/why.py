"""Why the best formula is the best: what each limit costs it, and at what price a candidate it leaves out would pay.

Both hold over every way to keep the brief's limits, not only the way the answer keeps them (program/sensitivity.py).
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.design.answer import Binding, Entry
from optiform.program.build import OWN_KINDS, Demand
from optiform.program.certificate import NotCertified
from optiform.program.pieces import joined, limit_of
from optiform.program.prices import Pricer, Segment
from optiform.program.search import BestFormula
from optiform.program.sensitivity import Sensitivity
from optiform.program.tolerances import NUDGE, SAME_LINE, UNUSED
from optiform.program.usual import requirements
from optiform.properties.base import Vector
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.units import one_of

FREE = 1e-9  # objective per unit below which a limit costs nothing
GAIN = 1e-10  # relative: what another way must gain just beside the target; above the rounding of a sharp solve
SAME_PRICE = 1e-7  # relative
NO_PRICE = 1e-12  # objective per unit that is rounding
MOST_STRETCHES = 20  # bases in a row at the same price; two or three are many
FAR = 1e3  # times its size: a target that nobody sets, where a price without an end is looked at


@frozen
class _Sides:
    """The segments where a limit asks for less and for more; None where it cannot ask for more, if that is `proven`.

    `eased_whole`, `whole`: every way was looked at for the looser one, and for both.
    """

    looser: Segment
    tighter: Segment | None
    proven: bool = True
    eased_whole: bool = True
    whole: bool = True


class Why:
    """One answer, looked at from every side."""

    def __init__(self, brief: Brief, asked: Sequence[Demand], solution: BestFormula) -> None:
        """Solve the answer's program once more, each limit of several pieces made one row.

        Args:
            brief: what was wanted.
            asked: the demands of the way the answer keeps.
            solution: the answer.
        """
        self._brief, self._asked, self._found = brief, asked, solution
        self._program = joined(solution.program, asked)
        self._pricer = Pricer(self._program)
        needed = requirements(brief)
        frame = solution.program.with_rows([row for row in solution.program.rows if row.key is None])
        self._sensitivity = Sensitivity(frame, needed, solution.x) if needed.disjunctions else None
        self._straight = not any(demand.bends for demand in needed.demands)  # else they hold near the answer only

    def bindings(self, ranged: bool = True) -> Iterator[Binding]:
        """The limits that bind and cost something, each once; without those that `unpriced` names.

        Not `ranged`: without the targets between which each price holds.
        """
        for number, demand in self._tight:
            sides = self._priced.get(number)
            if sides is not None and self._price(sides.looser) > FREE:
                yield self._binding(number, demand, sides, ranged)

    def savings(self) -> Iterator[Binding]:
        """The brief's own limits that bind and cost something, with easing alone looked into: all that wishes need."""
        for number, demand in self._tight:
            if demand.kind not in OWN_KINDS:
                continue
            with suppress(NotCertified):
                looser, whole = self._looser(number, demand)
                if self._price(looser) > FREE:
                    yield self._binding(number, demand, _Sides(looser, None, False, whole, False))

    def _price(self, segment: Segment) -> float:
        """What one unit of a limit is worth where a segment begins, in the goal's unit."""
        return abs(segment.price_at(0.0)) / self._found.scale

    def _binding(self, number: int, demand: Demand, sides: "_Sides", ranged: bool = True) -> Binding:
        goal, tighter = self._brief.goal.wanted, sides.tighter
        changes, eased_whole, ends_whole = self._held(number, demand, sides) if ranged else ((), True, True)
        return Binding(
            demand=demand,
            price=self._price(sides.looser),
            price_unit=f"{goal.unit if goal else '% moved'} per {one_of(demand.unit)}",
            valid_from=_target(demand, min(changes)) if changes else None,
            valid_to=_target(demand, max(changes)) if changes else None,
            tighter=self._price(tighter) if tighter else None,
            whole=sides.whole and ends_whole and self._straight,
            tighter_proven=sides.proven,
            eased_whole=sides.eased_whole and eased_whole and self._straight,
        )

    def unpriced(self) -> tuple[Demand, ...]:
        """The limits that bind, of which rounding leaves unproven what one unit looser would gain, if anything."""
        return tuple(demand for number, demand in self._tight if number not in self._priced)

    @cached_property
    def _priced(self) -> "dict[int, _Sides]":
        """What lies on both sides of each limit that binds, by its row; without those of which it is not proven."""
        priced: dict[int, _Sides] = {}
        for number, demand in self._tight:
            with suppress(NotCertified):
                priced[number] = self._sides(number, demand)
        return priced

    def entries(self, best: Vector) -> Iterator[Entry]:
        """Unused candidates; with cost as the goal also the price at which the first gram of each would pay."""
        yield from (self.entry(int(j)) for j in np.flatnonzero(best <= UNUSED))

    def entry(self, column: int) -> Entry:
        """One unused candidate, likewise."""
        goal, item = self._brief.goal, self._brief.mix.ingredients[column]
        by_cost = isinstance(goal, Lowest) and goal.wanted.name == "cost"
        price = item.price_in(self._brief.currency)
        if price is None or not by_cost:
            return Entry(item.name, price.figure if price else None, None)
        below, whole = self._below(column, price.figure)
        return Entry(item.name, price.figure, below if below > 0 else None, whole)

    def _below(self, column: int, price: float) -> tuple[float, bool]:
        """The price at which a candidate enters, 0 if none; and whether every way was looked at."""
        try:
            own = self._pricer.entry_price(column, price)
        except (NotCertified, Unsettled):  # rounding decides whether it can be used at all
            return 0.0, False
        if self._sensitivity is None:
            return own, self._straight
        without = float(self._found.program.cost @ self._found.point)
        try:
            return self._sensitivity.entry_price(column, price, without, own), self._straight
        except Unsettled:
            return own, False

    @cached_property
    def _tight(self) -> tuple[tuple[int, Demand], ...]:
        """The row and the demand of each limit that binds at the answer."""
        solution = self._found
        reached = solution.program.matrix @ solution.point
        binds = np.abs(reached - solution.program.rhs) <= 1e-6 * (1 + np.abs(solution.program.rhs))
        keys = [
            row.key for row, tight in zip(solution.program.rows, binds, strict=True) if tight and row.key is not None
        ]
        tight = {limit_of(self._asked[key]) for key in keys}
        demands = (
            (number, self._asked[row.key]) for number, row in enumerate(self._program.rows) if row.key is not None
        )
        return tuple((number, demand) for number, demand in demands if limit_of(demand) in tight)

    def _sides(self, number: int, demand: Demand) -> "_Sides":
        """What lies where the limit asks for less and for more."""
        looser, eased_whole = self._looser(number, demand)
        try:
            tighter = self._pricer.tighter(number)
        except NotCertified:  # rounding decides whether it can be tighter at all
            return _Sides(looser, None, False, eased_whole, False)
        if self._sensitivity is None:
            return _Sides(looser, tighter)
        change = -looser.origin
        try:
            after = tighter.objective_at(change) if tighter else np.inf
            tighter = self._sensitivity.beside(demand, change, _less(after)) or tighter
        except Unsettled:
            return _Sides(looser, tighter, tighter is not None, eased_whole, False)
        except NotCertified:
            return _Sides(looser, None, False, eased_whole, False)
        return _Sides(looser, tighter, True, eased_whole, eased_whole)

    def _looser(self, number: int, demand: Demand) -> tuple[Segment, bool]:
        """What lies where the limit asks for less, and whether every way was looked at."""
        own = self._pricer.looser(number)
        if self._sensitivity is None:
            return own, True
        try:
            return self._sensitivity.beside(demand, own.origin, _less(own.objective_at(own.origin))) or own, True
        except Unsettled:
            return own, False

    def _held(self, number: int, demand: Demand, sides: "_Sides") -> tuple[tuple[float, ...], bool, bool]:
        """The changes between which the price holds: the looser side, and the tighter one where the price is the same.

        Also whether every way was looked at for the looser side, and for both.
        """
        looser, tighter = sides.looser, sides.tighter
        eased, eased_whole = self._end(number, demand, looser)
        if tighter is None or not _same_price(looser.price_at(0.0), tighter.price_at(0.0)):
            return (0.0, eased), eased_whole, eased_whole
        tightened, whole = self._end(number, demand, tighter)
        return (0.0, eased, tightened), eased_whole, eased_whole and whole

    def _end(self, number: int, demand: Demand, segment: Segment) -> tuple[float, bool]:
        """The change up to which the price of a segment holds, away from the target, and whether that is known."""
        end = max(self._ends(demand, segment), key=lambda end: end * segment.origin)
        try:
            return self._reach(number, demand, segment, end), True
        except Unsettled:
            return end, False

    def _ends(self, demand: Demand, segment: Segment) -> tuple[float, float]:
        """The changes between which a segment's basis lasts; for a target of at least 0 none that takes it below."""
        return (max(segment.start, -demand.target) if demand.target >= 0 else segment.start), segment.end

    def _reach(self, number: int, demand: Demand, segment: Segment, end: float) -> float:
        """How far towards an end a price holds: past it while another basis or way goes on at the same price."""
        if end * segment.origin <= 0:
            return 0.0
        for _ in range(MOST_STRETCHES):
            reached = self._overtaken(demand, segment, end)
            further = self._further(number, demand, segment, end) if reached == end else None
            if further is None:
                return reached
            end = further
        return end

    def _overtaken(self, demand: Demand, segment: Segment, end: float) -> float:
        """Where on the way to an end a formula of another way is better; the end itself if none is."""
        if self._sensitivity is None:
            return end
        far = FAR * (1 + abs(demand.target))
        looked = end if abs(end) <= far else float(np.copysign(far, end))
        reached = self._sensitivity.reach(demand, segment, looked)
        return end if reached == looked else reached

    def _further(self, number: int, demand: Demand, segment: Segment, end: float) -> float | None:
        """The end of what goes on at the same price beyond an end; None where nothing does."""
        change = end + float(np.copysign(NUDGE * (1 + abs(demand.target)), end))
        if not np.isfinite(change) or demand.target + change < 0 <= demand.target:
            return None
        value = segment.objective_at(change)  # what is above is no longer alike, and need not be looked for
        beyond = self._beyond(number, demand, change, value + 2 * SAME_LINE * (1 + abs(value)))
        if beyond is None or not _alike(beyond, segment, change):
            return None
        low, high = self._ends(demand, beyond)
        further = low if end < 0 else high
        if abs(further) <= abs(end):
            return None
        # What fits just beyond may fit within rounding only.
        return further if np.isinf(further) or self._beyond(number, demand, (end + further) / 2) else None

    def _beyond(self, number: int, demand: Demand, change: float, below: float = np.inf) -> Segment | None:
        """The best where the target has moved by `change`; None where nothing fits, or rounding decides whether.

        With a branching also None where nothing is below `below`.
        """
        try:
            if self._sensitivity is None:
                return self._pricer.at(number, change)
            return self._sensitivity.beside(demand, change, below)
        except NotCertified:
            return None


def _alike(one: Segment, other: Segment, change: float) -> bool:
    """Whether two segments are one line at a change."""
    value, price = one.objective_at(change), one.price_at(change)
    close = abs(value - other.objective_at(change)) <= SAME_LINE * (1 + abs(value))
    return close and _same_price(price, other.price_at(change))


def _same_price(one: float, other: float) -> bool:
    """Whether two prices are one, whatever the size of the unit they are for."""
    return abs(one - other) <= SAME_PRICE * abs(one) + NO_PRICE


def _less(value: float) -> float:
    return value - GAIN * (1 + abs(value)) if np.isfinite(value) else value


def _target(demand: Demand, change: float) -> float | None:
    """A limit's target after a change, 0 at least where it is not below; None where it has no end."""
    moved = demand.target + change
    target = max(0.0, moved) if demand.target >= 0 else moved
    if not np.isfinite(target):
        return None
    return 0.0 if abs(target) < 1e-9 else target
