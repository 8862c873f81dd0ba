"""Where one basis stays optimal as the targets of limits move: its critical region, in numbers ready to be read off.

While only amounts move, the right-hand sides move in step with the targets, the basis stays what it is, and its point
and every row's room are straight in the targets: one product of a matrix with the position tells them all, and the
basis is optimal there exactly where none of them is below 0 (Gal and Nedoma 1972, Multiparametric linear programming,
Management Science 18:406). Its duals do not move, and prove what the objective is.

A limit on a ratio moves coefficients: a row that binds becomes  (a - d g) x >= 0, which changes the basis by one row.
With S the columns of the inverse that belong to such rows, the point moves by S z where (I - D G S) z = D G x, as many
equations as ratios bind and have moved; the duals likewise (Sherman and Morrison 1950, Annals of Mathematical
Statistics 21:124; Woodbury).

What a node leaves open is held in one of its ways, which is a row like any other: an answer that keeps none of them
fails the same test.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.tolerances import SHARP, TINY
from optiform.reading.frozen import frozen

Places = NDArray[np.intp]


@frozen
class Known:
    """A basis: numbers of its variables, columns before rows, and of the nonbasic columns that stand at their top."""

    basic: tuple[int, ...]
    at_high: tuple[int, ...]


@frozen
class Answer:
    """The best at a position: the objective, the point, and the basis it came from."""

    value: float
    x: Vector
    basis: Known


@frozen
class Turning:
    """What moves with the targets of ratios.

    Attributes:
        rows: the limit of each row over a group, shape (ratios,); `groups` times the position is its group's amount.
        felt: what the room of all checks loses by such a row, shape (checks, ratios).
        tight: which of these rows bind, shape (binding,); the rest has an entry for each of those.
        point: what a unit of z does to checks, value and columns, shape (checks + 1 + columns, binding).
        grows: what it does to the groups, shape (ratios, binding).
        duals: of the rows that bind, shape (binding,).
        signs, turns: what reduced costs and duals are at the start, each with the sign that makes it right where it is
            above 0, shape (signs,), and what the ratios that bind add to them, shape (binding, signs).
    """

    rows: Places
    groups: Vector
    felt: Vector
    tight: Places
    point: Vector
    grows: Vector
    duals: Vector
    signs: Vector
    turns: Vector


@frozen
class Region:
    """A basis over the positions of all limits; a position has a 1 behind it, so that what does not move is a column.

    Attributes:
        basis: whose region it is.
        checks: how many rows of `line` may not be below 0: columns, rows, and from `own` on the ways that are held.
        line: times a position: the checks, the objective, and the point. Shape (checks + 1 + columns, limits + 1).
        y: the duals where no ratio has moved. Shape (rows,).
        low, high: of the columns.
        turning: what moves where ratios do.
    """

    basis: Known
    own: int
    checks: int
    line: Vector
    y: Vector
    low: Vector
    high: Vector
    turning: Turning

    def at(self, place: Vector) -> Vector | None:
        """The checks, the objective and the point where only amounts have moved; None where the basis does not hold."""
        seen: Vector = self.line @ place
        return seen if np.minimum.reduce(seen[: self.checks]) >= -SHARP else None

    def turned(self, place: Vector) -> Vector | None:
        """The same where ratios may have moved too, without what is held; None where the basis does not hold."""
        turning = self.turning
        change = place[turning.rows]
        seen, groups, signs = self.line @ place, turning.groups @ place, turning.signs
        moved = change[turning.tight]
        if len(of := np.flatnonzero(moved)):
            rows, moved = turning.tight[of], moved[of]
            inner, own = turning.grows[rows][:, of], turning.duals[of]
            inverse = _inverse(moved, inner)
            if inverse is None:
                return None
            z, duals = inverse @ (moved * groups[rows]), (own @ inverse) * moved
            if not np.abs(duals - moved * (own + duals @ inner)).max() <= SHARP * (1 + np.abs(duals).max()):
                return None
            signs = signs + duals @ turning.turns[of]
            if np.minimum.reduce(signs, initial=0.0) < self._wrong:
                return None
            seen, groups = seen + turning.point[:, of] @ z, groups + turning.grows[:, of] @ z
        elif not self.stands:
            return None
        seen[: self.checks] -= turning.felt @ (change * groups)
        return seen if np.minimum.reduce(seen[: self.own]) >= -SHARP else None

    @cached_property
    def stands(self) -> bool:
        """Whether its duals are right where no ratio has moved."""
        return bool(self.turning.signs.min(initial=0.0) >= self._wrong)

    @cached_property
    def _wrong(self) -> float:
        """A reduced cost that is below 0 by rounding only."""
        return -SHARP * (1 + float(np.abs(self.turning.signs).max(initial=0.0)))

    def held(self, seen: Vector) -> bool:
        """Whether what the node leaves open is kept in the ways that this region holds."""
        return bool(seen[self.own : self.checks].min(initial=0.0) >= -SHARP)

    def answer(self, seen: Vector) -> Answer:
        """The answer that was read off."""
        x = np.minimum(np.maximum(seen[self.checks + 1 :], self.low), self.high)
        return Answer(float(seen[self.checks]), x, self.basis)


def region_of(
    program: Program, moving: Sequence[int], limits: int, basis: Known, ways: Sequence[tuple[Row, int]]
) -> Region | None:
    """The region of a basis; None where it has none at the targets where they start.

    Args:
        program: with the targets where they start.
        moving: for each row the number of the limit whose target it has, -1 for none.
        limits: how many there are.
        basis: over the program's columns and rows.
        ways: rows that are held besides, each with the number of its limit.
    """
    width, count = len(program.columns), len(program.rows)
    rows, numbers = (
        (*program.rows, *(row for row, _ in ways)),
        np.array([*moving, *(k for _, k in ways)], dtype=np.intp),
    )
    matrix = np.concatenate([program.matrix, *(_wide(row.coefficients, width) for row, _ in ways)])
    right = np.zeros((len(rows), limits + 1))
    right[:, -1] = [row.rhs for row in rows]
    moves = np.flatnonzero(numbers >= 0)
    right[moves, numbers[moves]] = [rows[i].per_target for i in moves]

    basic = np.array(basis.basic, dtype=np.intp)
    used, bind = basic[basic < width], np.ones(count, dtype=bool)
    bind[basic[basic >= width] - width] = False
    tight = np.flatnonzero(bind)
    if len(used) != len(tight):
        return None
    point = np.zeros((width, limits + 1))
    point[:, -1] = program.low
    point[list(basis.at_high), -1] = program.high[list(basis.at_high)]
    point[used] = 0.0
    try:
        inverse = np.linalg.inv(matrix[np.ix_(tight, used)])
    except np.linalg.LinAlgError:
        return None
    point[used] = inverse @ (right[tight] - matrix[tight] @ point)
    ratios = np.array([i for i in moves if rows[i].group is not None], dtype=np.intp)
    groups = np.concatenate([np.zeros((0, width)), *(_wide(rows[i].group, width) for i in ratios)])
    binding = np.flatnonzero(np.isin(ratios, tight))
    speed = np.zeros((width, len(binding)))
    speed[used] = inverse[:, np.searchsorted(tight, ratios[binding])]

    least = np.array([row.sense is not Sense.AT_MOST for row in rows])
    most = np.array([row.sense is not Sense.AT_LEAST for row in rows])
    least[tight] = most[tight] = True  # what binds may be off to neither side
    ends = np.flatnonzero(least[:count]), np.flatnonzero(most[:count])
    held = [np.flatnonzero(which[count:]) + count for which in (least, most)]
    order = np.concatenate([*ends, *held])
    sign = np.concatenate(
        [np.full(len(part), side) for part, side in zip((*ends, *held), (1.0, -1.0, 1.0, -1.0), strict=True)]
    )
    sign[len(ends[0]) + len(ends[1]) :] *= SHARP / TINY  # a way is kept to the last digit: one test does for both
    room = sign[:, None] * (matrix @ point - right)[order]
    bounds = np.concatenate([point[used], -point[used]])
    bounds[:, -1] += np.concatenate([-program.low[used], program.high[used]])
    line = np.concatenate([bounds, room, (program.cost @ point)[None], point])
    goes = np.concatenate(
        [speed[used], -speed[used], sign[:, None] * (matrix @ speed)[order], (program.cost @ speed)[None], speed]
    )
    felt = np.concatenate([np.zeros((2 * len(used), len(ratios))), sign[:, None] * (order[:, None] == ratios)])

    y = np.zeros(count)
    y[tight] = program.cost[used] @ inverse
    free = program.low < program.high
    free[used] = False
    side = np.ones(width)
    side[list(basis.at_high)] = -1.0
    proper = np.array(
        [0.0 if row.sense is Sense.EQUAL else 1.0 if row.sense is Sense.AT_LEAST else -1.0 for row in program.rows]
    )
    signs = np.concatenate([(side * (program.cost - y @ program.matrix))[free], (proper * y)[tight]])
    follows = groups[binding][:, used] @ inverse
    turns = np.concatenate(
        [(side * (groups[binding] - follows @ matrix[tight]))[:, free], proper[tight] * follows], axis=1
    )
    turning = Turning(
        numbers[ratios], groups @ point, felt, binding, goes, groups @ speed, y[ratios[binding]], signs, turns
    )
    own = 2 * len(used) + len(ends[0]) + len(ends[1])
    return Region(
        basis, own, 2 * len(used) + len(order), np.ascontiguousarray(line), y, program.low, program.high, turning
    )


def _inverse(moved: Vector, inner: Vector) -> Vector | None:
    """That of I - D G S; None where it has none."""
    if len(moved) == 1:  # almost always
        left = 1 - moved[0] * inner
        return 1 / left if abs(left[0, 0]) > TINY else None
    try:
        return np.linalg.inv(np.eye(len(moved)) - moved[:, None] * inner)
    except np.linalg.LinAlgError:
        return None


def _wide(vector: Vector | None, width: int) -> Vector:
    """A row of a matrix, over the helper columns too."""
    assert vector is not None
    return np.append(vector, np.zeros(width - len(vector)))[None]
