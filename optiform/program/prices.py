"""What a limit costs, and how far that price holds: read off the basis, exactly.

Let the target of one limit grow by d. Its row becomes (a - d g) x = b + d h, with h = 0 for a ratio and g = 0 for an
amount in the whole. As long as the same basis is optimal, with w the change of the point per unit of right-hand side,

    s = d / (1 - d g w),   x = x0 + s (g x0 + h) w,   reduced costs = d0 + s y q,   q = g - g_B B^-1 N,

all linear in s, so the end of the basis is an ordinary ratio test in s, and d = s / (1 + s g w). For an amount in the
whole g w = 0 and s = d. (Sherman and Morrison 1950 on the basis matrix; parametric programming as in Chvatal, Linear
Programming, 1983, chapter 10.)

Where several limits meet in one point, loosening one and tightening it have different prices. Each side is found by
moving the target a little: where the answer's own basis holds there too, one factorisation prices all such limits; else
the solver finds the basis that does.
"""

from collections.abc import Callable, Sequence
from functools import cached_property
from math import isinf

import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import NotCertified, certify_infeasible, signed
from optiform.program.linear import NoPoint, Program, Row, Sense, Vector
from optiform.program.live import Basis, Live, Now, Optimum
from optiform.program.tolerances import NUDGE, SAME_LINE, SHARP, TINY, USUAL
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen

BETTER = 1e-8  # relative: what another formula must gain to count; rounding is well below
ROUNDS = 30  # of Dinkelbach; three or four are usual


@frozen
class Segment:
    """The optimum along one limit's target while one basis lasts.

    Everything is counted from `origin`, a change of the target from its first value; `start` and `end` are changes
    from the first value as well. `x` is the point at the origin, `w` and `bend` the quantities of the module's text.
    """

    origin: float
    start: float
    end: float
    objective: float
    slope: float
    x: Vector
    step: Vector
    bend: float

    def objective_at(self, change: float) -> float:
        """The objective where the target has moved by `change`; exact for changes from start to end."""
        return self.objective + self.slope * self._s(change)

    def point_at(self, change: float) -> Vector:
        """The point where the target has moved by `change`. Shape (columns,)."""
        return self.x + self._s(change) * self.step

    def price_at(self, change: float) -> float:
        """Change of the objective per unit of target."""
        return self.slope / (1 - (change - self.origin) * self.bend) ** 2

    def seen_from(self, change: float) -> "Segment":
        """The same segment counted from another change on it.

        With s' and the bend b' = b / (1 - o b) counted from o, s = s(o) + s' / (1 - o b)^2.
        """
        s, slope, step, bend = self._s(change), self.slope, self.step, self.bend
        if bend:
            shrunk = 1 - (change - self.origin) * bend
            slope, step, bend = slope / shrunk**2, step / shrunk**2, bend / shrunk
        value, x = self.objective + self.slope * s, self.x + s * self.step
        return Segment(change, self.start, self.end, value, slope, x, step, bend)

    def _s(self, change: float) -> float:
        d = change - self.origin
        return d / (1 - d * self.bend)


def follow(basis: Basis, program: Program, row: int, origin: float) -> Segment:
    """The segment on which a basis, found at the change `origin`, stays optimal while the row's target moves."""
    width = len(program.columns)
    if not (basis.basic == width + row).any():
        return follow_all(basis, program, [row], origin)[0]
    low, high = _loose(basis, program, row)  # such a limit does not bind here: nothing moves with it
    x = basis.z[:width]
    return Segment(origin, origin + low, origin + high, basis.objective, 0.0, x, np.zeros(width), 0.0)


def follow_all(basis: Basis, program: Program, rows: Sequence[int], origin: float) -> list[Segment]:
    """The segments of rows that are not basic, as `follow` has them, all from one factorisation."""
    width, numbers = len(program.columns), np.array(rows, dtype=np.intp)
    groups, turns = np.zeros((len(rows), len(basis.z))), np.zeros((len(rows), len(basis.z)))
    for place, row in enumerate(rows):
        if (group := program.rows[row].group) is not None:
            groups[place, :width] = group
            turns[place] = groups[place] - (groups[place, basis.basic] @ basis.inverse) @ basis.matrix
    w = np.zeros_like(groups)
    w[:, basis.basic] = basis.inverse.T[numbers]
    sizes, bends = groups @ basis.z + [program.rows[row].per_target for row in rows], (groups * w).sum(axis=1)
    duals = w @ basis.cost
    lows, highs = _reach(basis, w * sizes[:, None], duals[:, None] * turns, width + numbers)
    steps, slopes, objective, x = (w * sizes[:, None])[:, :width], duals * sizes, basis.objective, basis.z[:width]
    segments = []
    for low, high, slope, step, bend in zip(lows, highs, slopes.tolist(), steps, bends.tolist(), strict=True):
        ends = origin + _change(float(low), bend), origin + _change(float(high), bend)
        segments.append(Segment(origin, *ends, objective, slope, x, step, bend))
    return segments


def _change(s: float, bend: float) -> float:
    if isinf(s):
        return float(s if abs(bend) <= TINY or s * bend < 0 else 1 / bend)
    return s / (1 + s * bend) if 1 + s * bend > 1e-9 else float(np.copysign(np.inf, s))  # the group g x has run out


def _reach(basis: Basis, steps: Vector, turns: Vector, own: NDArray[np.intp]) -> tuple[Vector, Vector]:
    """How far s can go down and up before a variable leaves its bounds or a reduced cost its sign, for each row.

    A basic variable that stands at its bound, or beyond it by rounding, cannot go further that way at all.
    """
    basic, free, ways = basis.basic, np.flatnonzero(basis.free), np.where(basis.stands_high, -1.0, 1.0)
    rates, gains = steps[:, basic], np.where(free == own[:, None], 0.0, turns[:, free] * ways[free])
    below, above = basis.z[basic] - basis.low[basic], basis.high[basic] - basis.z[basic]
    rooms = np.maximum(np.concatenate([below, above, basis.reduced[free] * ways[free]]), 0.0)
    speeds = np.hstack([-rates, rates, -gains])
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = rooms / speeds
    up, down = np.where(speeds > TINY, ends, np.inf), np.where(speeds < -TINY, ends, -np.inf)
    return down.max(axis=1, initial=-np.inf), up.min(axis=1, initial=np.inf)


def _loose(basis: Basis, program: Program, row: int) -> tuple[float, float]:
    """For a limit that does not bind: it may move until it meets the point."""
    moved = program.rows[row]
    x = basis.z[: len(program.columns)]
    size = moved.per_target + (0.0 if moved.group is None else float(moved.group @ x))
    slack = float(basis.matrix[row, : len(x)] @ x) - (basis.low if program.at_least[row] else basis.high)[len(x) + row]
    room = slack / size if size > 0 else np.inf
    return (-np.inf, max(0.0, room)) if moved.sense is Sense.AT_LEAST else (min(0.0, room), np.inf)


def least_beside(basis: Basis, program: Program, row: int, change: float) -> float:
    """What nothing costs less than where the target of a row has moved by `change`; infinite where nothing fits.

    One step of a dual simplex method (Lemke 1954) from a basis that is optimal without the move. A basic variable that
    is beyond its bound there leaves, by its row of the inverse, moved by the formula of Sherman and Morrison. The duals
    go along that row until a reduced cost runs out, and prove what they come to; where none does, nothing fits.

    Args:
        basis: that of the program as it stands.
        program: without whole columns.
        row: number of the row that moves.
        change: of its target.

    Returns:
        In the objective's unit; minus infinity where this does not tell.
    """
    width, moved = len(program.columns), program.rows[row].moved(change)
    low, high, z, costs = basis.of_basic
    own, w, stretch, bent = basis.places.get(width + row), basis.inverse[:, row], 1.0, 0.0
    if moved.group is not None:
        along = np.concatenate([moved.group, np.zeros(len(low))])[basis.basic] @ basis.inverse
        stretch, bent = 1 - change * float(along[row]), float(moved.group @ basis.z[:width])
    if stretch <= TINY:
        return -np.inf
    z = z + change / stretch * (bent + (moved.per_target if own is None else 0.0)) * w
    if own is not None:
        z[own] -= change * moved.per_target  # its bounds move instead
    outside = np.maximum(low - z, z - high)
    worst = int(outside.argmax())
    if outside[worst] <= SHARP:
        return -np.inf
    side = -1.0 if z[worst] < low[worst] else 1.0
    y, towards, reduced = basis.duals, side * basis.inverse[worst], basis.reduced
    leaner: Vector | float = 0.0
    if moved.group is not None:
        leaner = change * moved.group  # by which the row's coefficients shrink
        shifted = change / stretch * along
        y, towards = y + float(costs @ w) * shifted, towards + side * w[worst] * shifted
        reduced = np.concatenate([program.cost - y @ program.matrix + y[row] * leaner, y])
    step = _step(basis, reduced, np.concatenate([towards @ program.matrix - towards[row] * leaner, -towards]))
    if not step < np.inf:
        now = numbers_beside(program, row, moved)
        return np.inf if certify_infeasible(now, towards).holds else -np.inf
    proof = signed(program, y + step * towards)
    reduced = program.cost - proof @ program.matrix + proof[row] * leaner
    fixed = float(proof @ program.rhs) + float(proof[row]) * (moved.rhs - program.rows[row].rhs)
    return fixed + float(np.minimum(reduced * program.low, reduced * program.high).sum())


def _step(basis: Basis, reduced: Vector, loses: Vector) -> float:
    """How far the duals can go before a reduced cost of a nonbasic variable runs out; infinite if none does."""
    speed = np.where(basis.stands_high, -loses, loses)
    able = (speed > TINY) & basis.free
    if not able.any():
        return np.inf
    return float((np.abs(reduced[able]) / speed[able]).min(initial=np.inf))


def numbers_beside(program: Program, row: int, moved: Row) -> Now:
    """The program's numbers with another row in place of one."""
    matrix, rhs = program.matrix, program.rhs.copy()
    rhs[row] = moved.rhs
    if moved.group is not None:
        matrix = matrix.copy()
        matrix[row] = moved.coefficients
    return Now(matrix, rhs, program.at_least, program.at_most, program.cost, program.low, program.high)


def _holds_beside(basis: Basis, column: int) -> bool:
    """Whether a basis stays feasible where a nonbasic column is forced up by a nudge."""
    if column in basis.basic:
        return False
    z = basis.z[basis.basic] - NUDGE * (basis.inverse @ basis.matrix[:, column])
    return bool(np.all(z >= basis.low[basis.basic]) and np.all(z <= basis.high[basis.basic]))


def gained(without: float) -> float:
    """What another formula must cost less than, to be cheaper than one that costs `without` by more than rounding.

    Example:
        >>> gained(4.0) < 4.0
        True
    """
    return without - BETTER * (1 + abs(without))


def greatest_price(
    start: float, without: float, paying: Callable[[float], tuple[float, float] | None], words: str
) -> float:
    """The greatest price of something at which a formula with it costs what the best without it does.

    Dinkelbach (1967): as long as some formula with it is cheaper than the best without, the price at which that formula
    would cost the same is the next one.

    Args:
        start: a price known to be no greater than the answer.
        without: the best objective without it.
        paying: cost and share of the best formula where it has a price; None where that is known to be no gain.
        words: what it is.

    Raises:
        Unsettled: when no end is reached.

    Example:
        A formula with half of it costs 1 besides, the best without it 4:

        >>> greatest_price(0.0, 4.0, lambda price: (1 + price / 2, 0.5), "it")
        6.0
    """
    price, below = start, gained(without)
    for _ in range(ROUNDS):
        cost, share = paying(price) or (without, 0.0)
        if cost >= below or share <= 0 or (without - cost) / share <= SAME_LINE * (1 + abs(price)):
            return price
        price += (without - cost) / share
    raise Unsettled(f"the price at which {words} enters was not found")


class Pricer:
    """Prices of the limits of a solved program, and of candidates it does not use."""

    def __init__(self, program: Program) -> None:
        """Solve `program` once and keep it alive.

        Raises:
            NotCertified: when the program that was solved has no feasible point here: two solvers do not agree.
        """
        self.program = program
        try:
            self._live = Live(program)
        except NoPoint:
            raise NotCertified("one solver has a formula where the other, of finer rounding, has none") from None

    def looser(self, row: int) -> Segment:
        """The segment on the side where the row asks for less. Targets count from the row's own.

        Raises:
            NotCertified: when the solver finds nothing there, though a program that asks for less cannot be harder.
        """
        try:
            segment = self._beside(row, -self._towards(row))
        except NotCertified:
            segment = None
        if segment is None:  # the point keeps another limit only within rounding: allow that much here too
            self._live.sharpen(USUAL)
            segment = self._solved_at(row, self._nudge(row, -self._towards(row)))
            self._live.sharpen(SHARP)
        if segment is None:
            raise NotCertified(f"no price for {self.program.rows[row].words}: nothing found where it asks for less")
        return segment

    def tighter(self, row: int) -> Segment | None:
        """The segment on the side where the row asks for more; None when it cannot ask for more."""
        return self._beside(row, self._towards(row))

    def at(self, row: int, change: float) -> Segment | None:
        """The segment where the row's target has moved by `change`; None when nothing fits there."""
        own = self._own(row)
        if own is not None and own.start < change < own.end:
            return own.seen_from(change)
        if self._basis is not None and least_beside(self._basis, self.program, row, change) == np.inf:
            return None
        return self._solved_at(row, change)

    def _solved_at(self, row: int, change: float) -> Segment | None:
        """The same as the solver has it."""
        self._live.move(row, change)
        segment = follow(self._live.basis(), self.program, row, change) if self._live.solve() else None
        self._live.move(row, 0.0)
        return segment

    def entry_price(self, column: int, now: float) -> float:
        """The greatest price at which an unused column would still pay; 0 where it would at none.

        What the first hundred-thousandth of it costs when forced in is where to begin. It is right unless fewer can be
        used, or the first of them do more than the rest: that comes out by solving at that price.

        Args:
            column: its number.
            now: what a unit of it costs in the program as it stands.

        Raises:
            Unsettled: when no end is reached.
            NotCertified: when a proof does not check.
        """
        reduced = float(self.program.cost[column] - self.program.matrix[:, column] @ self._today.y)

        def paying(price: float) -> tuple[float, float] | None:
            if reduced + price - now >= 0:  # what proves today's answer proves it at that price too
                return None
            optimum = self._live.repriced(column, price - now)
            return None if optimum is None else (optimum.value, float(optimum.x[column]))

        start = max(0.0, now - self._forced(column))
        return greatest_price(start, self._today.value, paying, self.program.columns[column])

    @cached_property
    def _today(self) -> Optimum:
        """The optimum of the program as it stands."""
        self._live.solve()
        if self._live.optimum is None:
            raise NotCertified("what fits within rounding only has no price")
        return self._live.optimum

    def _forced(self, column: int) -> float:
        """Extra objective per unit of an unused column where a little is forced in; infinite if that does not fit."""
        if self._basis is not None and _holds_beside(self._basis, column):
            return float(self._basis.reduced[column])
        self._live.force(column, NUDGE)
        slope = float(self._live.basis().reduced[column]) if self._live.solve() else np.inf
        self._live.force(column, 0.0)
        return slope

    @cached_property
    def _basis(self) -> Basis | None:
        """The answer's own basis, proven optimal; None where it is not."""
        try:
            return self._live.basis()
        except NotCertified:
            return None

    def _own(self, row: int) -> Segment | None:
        """The segment of the answer's own basis along a row's target; from 0 to 0 where several limits meet."""
        if self._basis is None:
            return None
        if row not in self._along:
            self._along[row] = follow(self._basis, self.program, row, 0.0)
        return self._along[row]

    @cached_property
    def _along(self) -> dict[int, Segment]:
        """These segments: at first those of all rows that hold the basis where it is, from one factorisation."""
        assert self._basis is not None
        free = np.flatnonzero(self._basis.free) - len(self.program.columns)
        rows = free[free >= 0].tolist()
        return dict(zip(rows, follow_all(self._basis, self.program, rows, 0.0), strict=True))

    def _towards(self, row: int) -> float:
        return -1.0 if self.program.rows[row].sense is Sense.AT_MOST else 1.0

    def _beside(self, row: int, side: float) -> Segment | None:
        return self.at(row, self._nudge(row, side))

    def _nudge(self, row: int, side: float) -> float:
        return side * NUDGE * (1 + abs(self.program.rows[row].target))
