"""Why the best formula is the best: what each limit costs it, and at what price a candidate it leaves out would pay.

Both hold over every way to keep the brief's limits, not only the way the answer keeps them (program/branches.py).
"""

from collections.abc import Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import Binding, Entry
from optiform.program.branches import Branches
from optiform.program.build import Demand, requirements
from optiform.program.certificate import NotCertified
from optiform.program.pieces import joined, same_limit
from optiform.program.prices import Pricer, Segment
from optiform.program.search import Found
from optiform.program.tolerances import HAIR, SAME_LINE, UNUSED
from optiform.properties.base import Vector
from optiform.reading.faults import Unsettled
from optiform.reading.units import one_of

FREE = 1e-9  # objective per unit below which a limit costs nothing
GAIN = 1e-10  # relative: what another way must gain a hair beside the target; above the rounding of a sharp solve
SAME_PRICE = 1e-7  # relative
MOST_STRETCHES = 20  # bases in a row at the same price; two or three are many
FAR = 1e3  # times its size: a target that nobody sets, where a price without an end is looked at


class Why:
    """One answer, looked at from every side."""

    def __init__(self, brief: Brief, asked: Sequence[Demand], found: Found) -> None:
        """Solve the answer's program once more, each limit of several pieces made one row.

        Args:
            brief: what was wanted.
            asked: the demands of the way the answer keeps.
            found: the answer.
        """
        self._brief, self._asked, self._found = brief, asked, found
        self._program = joined(found.program, asked)
        self._pricer = Pricer(self._program)
        needed = requirements(brief)
        frame = found.program.with_rows([row for row in found.program.rows if row.key is None])
        self._branches = Branches(frame, needed, found.x) if needed.choices else None
        self._straight = not any(demand.bends for demand in needed.demands)  # else they hold near the answer only

    def bindings(self) -> Iterator[Binding]:
        """The limits that bind and cost something, each once; without any whose price rounding leaves unproven."""
        goal = self._brief.goal.wanted
        for number, demand in self._tight():
            try:
                looser, tighter, whole = self._sides(number, demand)
            except NotCertified:
                continue
            price = abs(looser.price_at(0.0)) / self._found.scale
            if price <= FREE:
                continue
            start, end, ends_whole = self._valid(number, demand, looser, tighter)
            yield Binding(
                demand=demand,
                price=price,
                price_unit=f"{goal.unit if goal else '% moved'} per {one_of(demand.unit)}",
                valid_from=start,
                valid_to=end,
                tighter=abs(tighter.price_at(0.0)) / self._found.scale if tighter else None,
                whole=whole and ends_whole and self._straight,
            )

    def entries(self, best: Vector) -> Iterator[Entry]:
        """Unused candidates; with cost as the goal also the price at which the first gram of each would pay."""
        goal = self._brief.goal
        by_cost = goal.wanted is not None and goal.wanted.name == "cost" and goal.direction == "lowest"
        for j in np.flatnonzero(best <= UNUSED):
            item = self._brief.mix.ingredients[j]
            price = item.value("price")
            if price is None or not by_cost:
                yield Entry(item.name, price.figure if price else None, None)
            else:
                below, whole = self._below(int(j), price.figure)
                yield Entry(item.name, price.figure, below if below > 0 else None, whole)

    def _below(self, column: int, price: float) -> tuple[float, bool]:
        """The price at which a candidate enters, 0 if none; and whether every way was looked at."""
        try:
            extra = self._pricer.entering(column)
        except NotCertified:  # rounding decides whether it can be used at all
            return 0.0, False
        own = 0.0 if extra is None else max(0.0, price - extra)
        if self._branches is None:
            return own, self._straight
        without = float(self._found.program.cost @ self._found.point)
        try:
            return self._branches.worth(column, price, without, own), self._straight
        except Unsettled:
            return own, False

    def _tight(self) -> Iterator[tuple[int, Demand]]:
        """The row and the demand of each limit that binds at the answer."""
        found = self._found
        reached = found.program.matrix @ found.point
        binds = np.abs(reached - found.program.rhs) <= 1e-6 * (1 + np.abs(found.program.rhs))
        keys = [row.key for row, tight in zip(found.program.rows, binds, strict=True) if tight and row.key is not None]
        tight = [self._asked[key] for key in keys]
        for number, row in enumerate(self._program.rows):
            demand = None if row.key is None else self._asked[row.key]
            if demand is not None and any(same_limit(demand, other) for other in tight):
                yield number, demand

    def _sides(self, number: int, demand: Demand) -> tuple[Segment, Segment | None, bool]:
        """The segments where the limit asks for less and for more, and whether every way was looked at."""
        looser = self._pricer.looser(number)
        try:
            tighter = self._pricer.tighter(number)
        except NotCertified:  # rounding decides whether it can be tighter at all
            return looser, None, False
        if self._branches is None:
            return looser, tighter, True
        change = looser.origin
        try:
            before, after = looser.objective_at(change), tighter.objective_at(-change) if tighter else np.inf
            looser = self._branches.beside(demand, change, _less(before)) or looser
            tighter = self._branches.beside(demand, -change, _less(after)) or tighter
        except Unsettled:
            return looser, tighter, False
        return looser, tighter, True

    def _valid(
        self, number: int, demand: Demand, looser: Segment, tighter: Segment | None
    ) -> tuple[float | None, float | None, bool]:
        """The targets between which the price holds: the looser side, and the tighter one where the price is the same.

        Also whether every way was looked at.
        """
        low, high, whole = *self._ends(demand, looser), True
        here = looser.price_at(0.0)
        alike = tighter is not None and abs(tighter.price_at(0.0) - here) <= SAME_PRICE * (1 + abs(here))
        ends = [(looser, low if looser.origin < 0 else high)]
        if tighter is not None and alike:
            ends.append((tighter, max(self._ends(demand, tighter), key=lambda end: end * tighter.origin)))
        changes = [0.0]
        for segment, end in ends:
            try:
                changes.append(self._reach(number, demand, segment, end))
            except Unsettled:
                changes.append(end)
                whole = False
        start, last = demand.target + min(changes), demand.target + max(changes)
        return _shown(max(0.0, start) if demand.target >= 0 else start), _shown(last), whole

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
        if self._branches is None:
            return end
        far = FAR * (1 + abs(demand.target))
        looked = end if abs(end) <= far else float(np.copysign(far, end))
        reached = self._branches.reach(demand, segment, looked)
        return end if reached == looked else reached

    def _further(self, number: int, demand: Demand, segment: Segment, end: float) -> float | None:
        """The end of what goes on at the same price beyond an end; None where nothing does."""
        change = end + float(np.copysign(HAIR * (1 + abs(demand.target)), end))
        if not np.isfinite(change) or demand.target + change < 0 <= demand.target:
            return None
        branches = self._branches
        try:
            beyond = branches.beside(demand, change, np.inf) if branches else self._pricer.at(number, change)
        except NotCertified:  # so near to where nothing fits that rounding decides: the price is told up to here
            return None
        if beyond is None or not _alike(beyond, segment, change):
            return None
        low, high = self._ends(demand, beyond)
        further = low if end < 0 else high
        return further if abs(further) > abs(end) else None


def _alike(one: Segment, other: Segment, change: float) -> bool:
    """Whether two segments are one line at a change."""
    value, price = one.objective_at(change), one.price_at(change)
    close = abs(value - other.objective_at(change)) <= SAME_LINE * (1 + abs(value))
    return close and abs(price - other.price_at(change)) <= SAME_PRICE * (1 + abs(price))


def _less(value: float) -> float:
    return value - GAIN * (1 + abs(value)) if np.isfinite(value) else value


def _shown(target: float) -> float | None:
    if not np.isfinite(target):
        return None
    return 0.0 if abs(target) < 1e-9 else target
