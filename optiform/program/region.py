"""Where one basis stays optimal as the targets of limits move: its critical region, in numbers ready to be read off.

While only amounts move, the right-hand sides move in step with the targets, the basis stays what it is, and its point
and every row's room are straight in the targets: one product of a matrix with the position tells them all, and the
basis is optimal there exactly where none of them is below 0 (Gal and Nedoma 1972, Multiparametric linear programming,
Management Science 18:406). Its duals do not move, and prove what the objective is.

A limit on a ratio moves coefficients, and with them the basis itself: what follows from that is in turning.py.

A region that holds is a proof of its own, wherever the targets stand. Its point meets the rows that bind and its duals
leave no reduced cost on the columns that it uses, by the inverse of these columns in these rows, which is multiplied
out once (`_Laid.out`) and changed by a formula after that. Every other row and every end of a column is a check of the
point, every other reduced cost and every dual has its sign tested, and what the duals prove that nothing costs less
than is told by a row of its own, which the point's cost must meet.

What a node leaves open is held in one of its ways, which is a row like any other: an answer that keeps none of them
fails the same test.
"""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.tolerances import SHARP, TINY
from optiform.program.turning import Turning, least
from optiform.reading.frozen import frozen

NEAR = 1e-9  # relative: how near to its bound an objective is
SIGNS = {Sense.AT_LEAST: 1.0, Sense.AT_MOST: -1.0, Sense.EQUAL: 0.0}
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
        seen: Vector = self.line.dot(place)  # which takes half of what `@` takes of so few numbers
        return seen if least(seen[: self.checks]) >= -SHARP else None

    def turned(self, place: Vector) -> Vector | None:
        """The same where ratios may have moved too, without what is held; None where the basis does not hold."""
        turning = self.turning
        change: Vector = place[turning.rows]
        turned = turning.turn(turning.line.dot(place), change[turning.tight].tolist())
        if turned is None:
            return None
        value, told = turned.item(self.checks), len(self.line)
        if not abs(value - turned.item(-1)) <= NEAR * (1 + abs(value)):
            return None
        seen = turned[:told]
        seen[: self.checks] -= turning.felt.dot(change * turned[told:-1])
        return seen if least(seen[: self.own]) >= -SHARP else None

    def held(self, seen: Vector) -> bool:
        """Whether what the node leaves open is kept in the ways that this region holds."""
        return self.own == self.checks or least(seen[self.own : self.checks]) >= -SHARP

    def answer(self, seen: Vector) -> Answer:
        """The answer that was read off."""
        return Answer(seen.item(self.checks), seen[self.checks + 1 :].clip(self.low, self.high), self.basis)


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
    rows = _Rows.of(program, moving, limits, ways)
    try:
        laid = _Laid.out(program, rows, basis)
    except np.linalg.LinAlgError:
        return None
    return None if laid is None else laid.region(basis)


@frozen
class _Rows:
    """The rows of a program, and behind them those that are held.

    Attributes:
        own: how many are the program's.
        matrix: their coefficients, where they start. Shape (rows, columns).
        right: what they ask, over the limits and a 1. Shape (rows, limits + 1).
        ratios: which of them are over a group that moves, `limits` the limit of each. Shapes (ratios,).
        groups: of each of these. Shape (ratios, columns).
        signs: 1 for at least, -1 for at most, 0 for exactly. Shape (rows,).
    """

    own: int
    matrix: Vector
    right: Vector
    ratios: Places
    limits: Places
    groups: Vector
    signs: Vector

    @staticmethod
    def of(program: Program, moving: Sequence[int], limits: int, ways: Sequence[tuple[Row, int]]) -> "_Rows":
        width, rows = len(program.columns), (*program.rows, *(row for row, _ in ways))
        numbers = np.array([*moving, *(limit for _, limit in ways)], dtype=np.intp)
        moves = np.flatnonzero(numbers >= 0)
        right = np.zeros((len(rows), limits + 1))
        right[:, -1] = [row.rhs for row in rows]
        right[moves, numbers[moves]] = [rows[i].per_target for i in moves]
        ratios = np.array([i for i in moves if rows[i].group is not None], dtype=np.intp)
        return _Rows(
            own=len(program.rows),
            matrix=np.concatenate([program.matrix, *(_wide(row.coefficients, width) for row, _ in ways)]),
            right=right,
            ratios=ratios,
            limits=numbers[ratios],
            groups=np.concatenate([np.zeros((0, width)), *(_wide(rows[i].group, width) for i in ratios)]),
            signs=np.array([SIGNS[row.sense] for row in rows]),
        )


@frozen
class _Laid:
    """A basis laid out over the rows: which columns it uses, which rows bind, and what follows from that.

    Attributes:
        used, tight: numbers of these columns and rows; `high` of the columns that stand at their top.
        inverse: of the coefficients of these columns in these rows.
        point: over the limits and a 1. Shape (columns, limits + 1).
    """

    program: Program
    rows: _Rows
    used: Places
    tight: Places
    high: list[int]
    inverse: Vector
    point: Vector

    @staticmethod
    def out(program: Program, rows: _Rows, basis: Known) -> "_Laid | None":
        """None for what is no basis, or too near to none: what follows from its inverse is not tested again.

        Raises:
            numpy.linalg.LinAlgError: when it has no inverse.
        """
        width, basic, high = len(program.columns), np.array(basis.basic, dtype=np.intp), list(basis.at_high)
        used, bind = basic[basic < width], np.ones(rows.own, dtype=bool)
        bind[basic[basic >= width] - width] = False
        tight = np.flatnonzero(bind)
        if len(used) != len(tight):
            return None
        point = np.zeros((width, rows.right.shape[1]))
        point[:, -1] = program.low
        point[high, -1] = program.high[high]
        point[used] = 0.0
        core = rows.matrix[np.ix_(tight, used)]
        inverse, one = np.asarray(np.linalg.inv(core), dtype=np.float64), np.eye(len(used))
        if not max(np.abs(core @ inverse - one).max(), np.abs(inverse @ core - one).max()) <= SHARP:
            return None
        point[used] = inverse @ (rows.right[tight] - rows.matrix[tight] @ point)
        return _Laid(program, rows, used, tight, high, inverse, point)

    @cached_property
    def binding(self) -> Places:
        """Which of the ratios bind."""
        return np.flatnonzero(np.isin(self.rows.ratios, self.tight))

    @cached_property
    def speed(self) -> Vector:
        """What a unit of each ratio that binds does to the point. Shape (columns, binding)."""
        speed = np.zeros((len(self.point), len(self.binding)))
        speed[self.used] = self.inverse[:, np.searchsorted(self.tight, self.rows.ratios[self.binding])]
        return speed

    @cached_property
    def duals(self) -> Vector:
        """Of the program's rows."""
        duals = np.zeros(self.rows.own)
        duals[self.tight] = self.program.cost[self.used] @ self.inverse
        return duals

    @cached_property
    def checked(self) -> tuple[Places, Vector, int]:
        """The rows that are checked, each with its sign, and how many of these are the program's own.

        What binds may be off to neither side. A way is kept to the last digit: one test does for both.
        """
        signs = self.rows.signs.copy()
        signs[self.tight] = 0.0
        least, most = np.flatnonzero(signs >= 0), np.flatnonzero(signs <= 0)
        order, side = np.concatenate([least, most]), np.repeat([1.0, -1.0], [len(least), len(most)])
        side[order >= self.rows.own] *= SHARP / TINY
        first = np.argsort(order >= self.rows.own, kind="stable")
        return order[first], side[first], int((order < self.rows.own).sum())

    def region(self, basis: Known) -> Region:
        """The region."""
        program, rows, used = self.program, self.rows, self.used
        order, side, own = self.checked
        room = side[:, None] * (rows.matrix @ self.point - rows.right)[order]
        ends = np.concatenate([self.point[used], -self.point[used]])
        ends[:, -1] += np.concatenate([-program.low[used], program.high[used]])
        line = np.concatenate([ends, room, (program.cost @ self.point)[None], self.point])
        checks = len(ends) + len(order)
        turning = self._turning(line)
        return Region(basis, len(ends) + own, checks, line, self.duals, program.low, program.high, turning)

    def _turning(self, line: Vector) -> Turning:
        """What moves where ratios do, beside what the region tells."""
        rows, speed, used, binding = self.rows, self.speed, self.used, self.binding
        order, side, _ = self.checked
        goes = side[:, None] * (rows.matrix @ speed)[order]
        felt = side[:, None] * (order[:, None] == rows.ratios)
        signs, turns = self._reduced()
        groups, duals = rows.groups @ speed, self.duals[rows.ratios[binding]]
        return Turning(
            rows=rows.limits,
            line=np.concatenate([line, rows.groups @ self.point, self._proved()[None]]),
            felt=np.concatenate([np.zeros((2 * len(used), len(rows.ratios))), felt]),
            tight=binding,
            point=np.concatenate(
                [speed[used], -speed[used], goes, (self.program.cost @ speed)[None], speed, groups, duals[None]]
            ).T.copy(),
            duals=duals,
            signs=signs,
            turns=turns,
        )

    def _proved(self) -> Vector:
        """What times a position is what the duals prove. Shape (limits + 1,)."""
        proved: Vector = self.duals @ self.rows.right[: self.rows.own]
        at_end = np.delete(np.arange(len(self.point)), self.used)
        reduced = self.program.cost - self.duals @ self.program.matrix
        proved[-1] += reduced[at_end] @ self.point[at_end, -1]
        return proved

    def _reduced(self) -> tuple[Vector, Vector]:
        """`signs` and `turns`, of the columns that are not used and of the rows that bind."""
        program, rows, tight = self.program, self.rows, self.tight
        free = program.low < program.high
        free[self.used] = False
        side = np.ones(len(free))
        side[self.high] = -1.0
        groups = rows.groups[self.binding]
        follows = groups[:, self.used] @ self.inverse
        reduced = program.cost - self.duals @ program.matrix
        signs = np.concatenate([(side * reduced)[free], (rows.signs[: rows.own] * self.duals)[tight]])
        turned = (side * (groups - follows @ rows.matrix[tight]))[:, free]
        return signs, np.concatenate([turned, rows.signs[tight] * follows], axis=1)


def _wide(vector: Vector | None, width: int) -> Vector:
    """A row of a matrix, over the helper columns too."""
    assert vector is not None
    return np.append(vector, np.zeros(width - len(vector)))[None]
