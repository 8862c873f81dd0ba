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
class Turning:
    """What moves with the targets of ratios.

    Attributes:
        rows: the limit of each row over a group, shape (ratios,).
        line: that of the region, and behind it what times the position is the amount of each of these groups.
        felt: what the room of all checks loses by such a row, shape (checks, ratios).
        tight: which of these rows bind, shape (binding,); the rest has an entry for each of those.
        point: what a unit of z does to all that `line` tells, shape (binding, checks + 1 + columns + ratios).
        duals: of the rows that bind, shape (binding,).
        signs, turns: what reduced costs and duals are at the start, each with the sign that makes it right where it is
            above 0, shape (signs,), and what the ratios that bind add to them, shape (binding, signs).
    """

    rows: Places
    line: Vector
    felt: Vector
    tight: Places
    point: Vector
    duals: Vector
    signs: Vector
    turns: Vector

    def turn(self, seen: Vector, moved: Vector) -> tuple[Vector, Vector] | None:
        """What `line` tells, and `signs`, where some of the ratios that bind have moved; None where nothing is there.

        Args:
            seen: what `line` tells where none of them has.
            moved: by how much each that binds has, not all by 0. Shape (binding,).
        """
        of = moved.nonzero()[0]
        if len(of) == 1:  # almost always
            return self._turn_one(seen, int(of[0]), float(moved[of[0]]))
        moved, rows, own = moved[of], self.tight[of] - len(self.rows), self.duals[of]
        inner = self.point[np.ix_(of, rows)].T
        try:
            inverse = np.linalg.inv(np.eye(len(moved)) - moved[:, None] * inner)
        except np.linalg.LinAlgError:
            return None
        z, duals = inverse @ (moved * seen[rows]), (own @ inverse) * moved
        off = np.abs(duals - moved * (own + duals @ inner)).max()
        if not off <= SHARP * (1 + np.abs(duals).max()):
            return None
        return seen + z @ self.point[of], self.signs + duals @ self.turns[of]

    def _turn_one(self, seen: Vector, k: int, moved: float) -> tuple[Vector, Vector] | None:
        row, own = int(self.tight[k]) - len(self.rows), float(self.duals[k])
        inner = float(self.point[k, row])
        left = 1 - moved * inner
        if abs(left) <= TINY:
            return None
        dual = own * moved / left
        if abs(dual - moved * (own + dual * inner)) > SHARP * (1 + abs(dual)):
            return None
        return seen + moved * float(seen[row]) / left * self.point[k], self.signs + dual * self.turns[k]


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
        change: Vector = place[turning.rows]
        moved, seen = change[turning.tight], turning.line @ place
        if np.count_nonzero(moved):
            turned = turning.turn(seen, moved)
            if turned is None or np.minimum.reduce(turned[1], initial=0.0) < self._wrong:
                return None
            seen = turned[0]
        elif not self.stands:
            return None
        told = len(self.line)
        seen[: self.checks] -= turning.felt @ (change * seen[told:])
        return seen[:told] if np.minimum.reduce(seen[: self.own]) >= -SHARP else None

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
        """None for what is no basis.

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
        inverse = np.asarray(np.linalg.inv(rows.matrix[np.ix_(tight, used)]), dtype=np.float64)
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
        return Turning(
            rows=rows.limits,
            line=np.concatenate([line, rows.groups @ self.point]),
            felt=np.concatenate([np.zeros((2 * len(used), len(rows.ratios))), felt]),
            tight=binding,
            point=np.concatenate(
                [speed[used], -speed[used], goes, (self.program.cost @ speed)[None], speed, rows.groups @ speed]
            ).T.copy(),
            duals=self.duals[rows.ratios[binding]],
            signs=signs,
            turns=turns,
        )

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
