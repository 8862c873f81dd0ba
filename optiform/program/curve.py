"""The exact trade-off curve: the best objective as the target of one demand runs from a start to an end.

The walk from basis to basis (walk.py) goes from the looser end of the range to the tighter one, so that it ends at the
very target beyond which nothing fits. Nothing is sampled: between two break points an amount gives a straight line and
a ratio a quotient of two.
"""

from bisect import bisect_left, bisect_right
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from optiform.program.certificate import NotCertified, certify_optimal
from optiform.program.linear import NoPoint, Program, Row, Sense, Vector
from optiform.program.prices import Segment, numbers_beside
from optiform.program.solver import SolverFailed, solve
from optiform.program.tolerances import LEAST_GROUP, SAME_LINE, TINY
from optiform.program.walk import Piece, Walk
from optiform.reading.faults import Absent, Unsettled
from optiform.reading.frozen import frozen


@frozen
class Break:
    """A target at which the curve bends or ends: the objective and a best point there.

    For a ratio the best point may jump at a break; `x` is then the one on its lower side.
    """

    target: float
    objective: float
    x: Vector


@frozen
class Curve:
    """The best objective against the target of one demand, exact.

    One place is not: where a ratio's group runs out and formulas without it take over, the objective jumps, and the
    far side is taken to begin at the jump though it is proven only from just beyond (tolerances.NUDGE of the target).

    Attributes:
        row: number of the demand's row in the program.
        first: the target that the program's row has; segments count from it.
        asked: the targets between which the curve was asked for.
        pieces: in rising order of targets and without gaps; none if nothing fits anywhere.
    """

    row: int
    first: float
    asked: tuple[float, float]
    pieces: tuple[Piece, ...]

    @property
    def fits(self) -> tuple[float, float] | None:
        """The least and the greatest target asked for at which something fits; None where nothing does."""
        return (self.pieces[0].start, self.pieces[-1].end) if self.pieces else None

    @cached_property
    def points(self) -> tuple[Break, ...]:
        """Both ends, and every target between them where the price or the way the point moves is another one."""
        if not self.pieces:
            return ()
        bends = [one for one, other in pairwise(self.pieces) if not self._alike(one, other)]
        first, last = self.pieces[0], self.pieces[-1]
        ends = [(one, one.end) for one in (*bends, last) if one.end > first.start]
        return tuple(self._break(piece, target) for piece, target in [(first, first.start), *ends])

    def objective_at(self, target: float) -> float:
        """The best objective at a target.

        Raises:
            Absent: where nothing fits, or outside what was asked for.
        """
        return self._piece(target).segment.objective_at(target - self.first)

    def point_at(self, target: float) -> Vector:
        """A best point at a target. Shape (columns,).

        Raises:
            Absent: where nothing fits, or outside what was asked for.
        """
        return self._piece(target).segment.point_at(target - self.first)

    def price_at(self, target: float) -> float:
        """Change of the objective per unit of target, at a break that of its upper side.

        Raises:
            Absent: where nothing fits, or outside what was asked for.
        """
        return self._piece(target).segment.price_at(target - self.first)

    @cached_property
    def prices(self) -> tuple[tuple[float, float], ...]:
        """Between each two neighbouring points the price just after the one and just before the other."""
        prices = []
        for one, other in pairwise(point.target for point in self.points):
            after = self.pieces[bisect_right(self._starts, one) - 1].segment
            before = self.pieces[bisect_left([piece.end for piece in self.pieces], other)].segment
            prices.append((after.price_at(one - self.first), before.price_at(other - self.first)))
        return tuple(prices)

    @cached_property
    def _starts(self) -> list[float]:
        return [piece.start for piece in self.pieces]

    def _piece(self, target: float) -> Piece:
        if self.fits is None or not self.fits[0] <= target <= self.fits[1]:
            raise Absent.on_curve(target, self.fits)
        here = bisect_right(self._starts, target) - 1
        # Where a group runs out the objective jumps, and the target itself still belongs to the cheaper side.
        meeting = [piece for piece in self.pieces[max(0, here - 1) : here + 1] if piece.end >= target]
        return min(reversed(meeting), key=lambda piece: round(piece.segment.objective_at(target - self.first), 12))

    def _break(self, piece: Piece, target: float) -> Break:
        change = target - self.first
        return Break(target, piece.segment.objective_at(change), piece.segment.point_at(change))

    def _alike(self, one: Piece, other: Piece) -> bool:
        """Whether two neighbours are one and the same line, on two bases."""
        change = one.end - self.first
        a, b = (_motion(piece.segment, change) for piece in (one, other))
        return bool(np.abs(a - b).max() <= SAME_LINE * (1 + np.abs(a).max()))


def _motion(segment: Segment, change: float) -> Vector:
    """Everything that settles a segment, seen from one place: price, bend, point, and its speed."""
    stretch = 1 - (change - segment.origin) * segment.bend
    slopes = np.array([segment.slope / stretch**2, segment.bend / stretch])
    return np.concatenate([slopes, segment.point_at(change), segment.step / stretch**2])


def trade_off(program: Program, row: int, start: float, end: float) -> Curve:
    """The optimum of the program as the target of one row runs from `start` to `end` (targets, not changes).

    Args:
        program: a minimisation; its own target for the row counts for nothing here.
        row: number of the row. A row with `=` asks for exactly the target.
        start: the lowest target.
        end: the highest target.

    Raises:
        ValueError: when the range is not one.
        Unsettled: when an `=` row is over a group that may be empty.
        SolverFailed: when no verdict can be had on a corner.
    """
    if not (np.isfinite([start, end]).all() and start <= end):
        raise ValueError(f"no range of targets: {start:g} to {end:g}")
    asked = program.rows[row]
    if asked.sense is Sense.EQUAL:
        inside = _inside(program, row, start, end)
        down = _walked(program, row, inside, start) if inside is not None else []
        pieces = [*reversed(down), *(_walked(program, row, inside, end) if inside is not None else [])]
    elif asked.sense is Sense.AT_LEAST:
        pieces = _walked(program, row, start, end)
    else:
        pieces = _walked(program, row, end, start)[::-1]
    wide = [piece for piece in pieces if piece.start < piece.end]
    return Curve(row, asked.target, (start, end), tuple(wide or pieces[:1]))


def residual(program: Program, curve: Curve) -> float:
    """The worst residual of the proofs at both ends of every piece, which prove the curve in between as well.

    Raises:
        NotCertified: when one of them does not hold.
    """
    worst = 0.0
    for piece in curve.pieces:
        for change, y in zip((piece.segment.start, piece.segment.end), piece.duals, strict=True):
            now = numbers_beside(program, curve.row, program.rows[curve.row].moved(change))
            proof = certify_optimal(now, piece.segment.point_at(change), y)
            if not proof.holds:
                raise NotCertified(f"the trade-off curve does not check at {curve.first + change:g}: {proof}")
            worst = max(worst, proof.worst)
    return worst


def per_group(program: Program, group: Vector, row: int) -> Program:
    """The program of the ratio  cost x / group x : its columns are x / (group x), and last 1 / (group x).

    Charnes and Cooper (1962): with y = x / (group x) and t = 1 / (group x), a x >= b becomes a y - b t >= 0, and
    group y = 1. The rows keep their demands; a target that moved a right-hand side now moves the coefficient of t.
    x = y / t keeps its bounds by rows. A group below 0.1 % of the whole is out of reach.

    Args:
        program: with the ratio's numerator as its cost.
        group: the ratio's denominator. Shape (columns,).
        row: number of the row whose target is to move.

    Raises:
        ValueError: when nothing fits whatever the row asks.
    """
    width = len(program.columns)
    others = program.with_rows([other for i, other in enumerate(program.rows) if i != row])
    smallest = solve(others.with_cost(group))
    if not smallest.feasible:
        raise NoPoint("no feasible point")
    rows = [_homogeneous(row) for row in program.rows]
    for j in np.flatnonzero((program.high < 1) | (program.low > 0)):
        single = np.zeros(width + 1)
        single[j] = 1.0
        for bound, sense in ((program.low[j], Sense.AT_LEAST), (program.high[j], Sense.AT_MOST)):
            rows.append(Row(f"bound of {program.columns[j]}", single - bound * np.eye(width + 1)[-1], sense, 0.0))
    rows.append(Row("size of the group", np.append(group, 0.0), Sense.EQUAL, 1.0))
    none, most = np.zeros(width + 1), np.full(width + 1, 1 / max(smallest.value / 2, LEAST_GROUP))
    return Program((*program.columns, "1 / group"), np.append(program.cost, 0.0), none, most, tuple(rows))


def _homogeneous(row: Row) -> Row:
    group = np.append(np.zeros(len(row.coefficients)) if row.group is None else row.group, row.per_target)
    coefficients = np.append(row.coefficients, -row.rhs)
    return replace(row, coefficients=coefficients, rhs=0.0, per_target=0.0, group=group if group.any() else None)


def _inside(program: Program, row: int, start: float, end: float) -> float | None:
    """A target in the range that an `=` row can keep, as far from both edges as possible; None if there is none."""
    asked = program.rows[row]
    others = program.with_rows([other for i, other in enumerate(program.rows) if i != row])
    group = np.zeros(len(program.columns)) if asked.group is None else asked.group
    amount = asked.coefficients + asked.target * group
    least, most = (_extreme(others, sign, amount, group, asked.per_target) for sign in (1.0, -1.0))
    if least is None or most is None:
        return None
    low, high = max(start, least), min(end, most)
    return (low + high) / 2 if low <= high + SAME_LINE * (1 + abs(low)) else None


def _extreme(others: Program, sign: float, amount: Vector, group: Vector, whole: float) -> float | None:
    """The least (sign 1) or greatest (-1) value of  amount x / (group x + whole), by Dinkelbach (1967)."""
    best: float | None = None
    for _ in range(50):
        solution = solve(others.with_cost(sign * (amount - (best or 0.0) * group)))
        if not solution.feasible:
            return None
        size = float(group @ solution.x) + whole
        if size <= TINY:
            raise Unsettled("a ratio over what may be nothing cannot be asked for exactly: ask for some of it")
        value = float(amount @ solution.x) / size
        if best is not None and sign * (best - value) <= 1e-12 * (1 + abs(best)):
            break
        best = value
    return best


def _walked(program: Program, row: int, first: float, last: float) -> list[Piece]:
    """The pieces from one target to another, in the order of the walk; none where nothing fits at the first."""
    target = program.rows[row].target
    try:
        walk = Walk(program, row, first - target, last - target)
    except NoPoint:
        return []
    except np.linalg.LinAlgError:
        raise SolverFailed(f"the solver's basis for {program.rows[row].words} has no inverse") from None
    return list(walk.pieces())
