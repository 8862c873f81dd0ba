"""A solved program that stays alive in the solver: targets, costs and bounds move, and it starts from its last basis.

A warm start may end in a wrong optimum, so every answer is proven from the numbers as they stand; where the proof
fails the solver starts again from nothing, and if that proof fails too there is no answer.

Holds one HiGHS object; not to be shared between threads or sessions.
"""

from dataclasses import replace
from functools import cached_property

import highspy
import numpy as np
from numpy.typing import NDArray

from optiform.program.arrays import handed, point, verdict
from optiform.program.certificate import (
    TOLERANCE,
    Arrays,
    NotCertified,
    certify_infeasible,
    certify_optimal,
)
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.solver import farkas_weights, solve
from optiform.program.tolerances import SHARP, USUAL
from optiform.reading.frozen import frozen

_BASIC = int(highspy.HighsBasisStatus.kBasic)
_UPPER = int(highspy.HighsBasisStatus.kUpper)

ROUNDED = 1e-6  # relative: nearer to fitting than that, what fits is a matter of rounding, and the longer way decides


@frozen
class Now:
    """The numbers of a live program as they stand. Meets `certificate.Arrays`."""

    matrix: Vector
    rhs: Vector
    at_least: NDArray[np.bool_]
    at_most: NDArray[np.bool_]
    cost: Vector
    low: Vector
    high: Vector


@frozen
class Optimum:
    """A proven optimum: the point, the row duals, the objective, and what nothing is below."""

    x: Vector
    y: Vector
    value: float
    bound: float

    @staticmethod
    def proven(program: Arrays, x: Vector, y: Vector) -> "Optimum | None":
        """What is claimed to be one, if its proof holds."""
        proof, value = certify_optimal(program, x, y), float(program.cost @ x)
        return Optimum(x, y, value, value - proof.gap * (1 + abs(value))) if proof.holds else None


@frozen
class Basis:
    """A simplex basis over columns and row activities: M z = 0 with M = [A, -I] and z = (x, A x).

    Attributes:
        matrix: M, shape (rows, columns + rows).
        basic: the basic variables, shape (rows,).
        at_high: which nonbasic variables stand at their upper bound, shape (columns + rows,).
        low, high, cost: of z, shape (columns + rows,).
    """

    matrix: Vector
    basic: NDArray[np.intp]
    at_high: NDArray[np.bool_]
    low: Vector
    high: Vector
    cost: Vector

    @cached_property
    def inverse(self) -> Vector:
        """Inverse of the basic columns of M. Shape (rows, rows)."""
        return inverse_of(self.matrix, self.basic)

    @cached_property
    def places(self) -> dict[int, int]:
        """The place among the basic variables of each of them."""
        return {variable: place for place, variable in enumerate(self.basic.tolist())}

    @cached_property
    def stands_high(self) -> NDArray[np.bool_]:
        """Which variables stand at their upper bound, if only as they have no lower one. Shape (columns + rows,)."""
        return self.at_high | ~np.isfinite(self.low)

    @cached_property
    def free(self) -> NDArray[np.bool_]:
        """Which nonbasic variables have room to move. Shape (columns + rows,)."""
        free: NDArray[np.bool_] = self.low < self.high
        free[self.basic] = False
        return free

    @cached_property
    def z(self) -> Vector:
        """The point: nonbasic variables at their bounds, basic ones as M z = 0 asks."""
        z = np.where(self.stands_high, self.high, self.low)
        z[self.basic] = 0.0
        z[self.basic] = -self.inverse @ (self.matrix @ z)
        return z

    @cached_property
    def of_basic(self) -> tuple[Vector, Vector, Vector, Vector]:
        """The bounds, the values and the costs of the basic variables. Shapes (rows,)."""
        return self.low[self.basic], self.high[self.basic], self.z[self.basic], self.cost[self.basic]

    @cached_property
    def objective(self) -> float:
        """What its point costs."""
        return float(self.cost @ self.z)

    @cached_property
    def duals(self) -> Vector:
        """What a unit of each row costs. Shape (rows,)."""
        duals: Vector = self.cost[self.basic] @ self.inverse
        return duals

    @cached_property
    def reduced(self) -> Vector:
        """Reduced costs of all variables, 0 for basic ones. Shape (columns + rows,)."""
        reduced: Vector = self.cost - self.duals @ self.matrix
        reduced[self.basic] = 0.0
        return reduced

    @property
    def optimal(self) -> bool:
        """Whether its point is within all bounds and no reduced cost has the wrong sign, but for rounding."""
        rows = len(self.matrix)
        if len(self.basic) != rows:
            return False
        try:
            z, reduced = self.z, self.reduced
        except np.linalg.LinAlgError:
            return False
        wrong = np.where(self.free, np.where(self.stands_high, reduced, -reduced), 0.0)
        size = 1 + np.abs(z)
        size[-rows:] += np.abs(self.matrix[:, :-rows]) @ np.abs(z[:-rows])
        outside = np.maximum(self.low - z, z - self.high) / size
        return bool(outside.max() <= TOLERANCE and wrong.max() <= TOLERANCE * (1 + np.abs(self.cost).max()))


def inverse_of(matrix: Vector, basic: NDArray[np.intp]) -> Vector:
    """Inverse of the basic columns of M = [A, -I]. Shape (rows, rows).

    A row that does not bind has its own activity in the basis and follows from the others. So only the rows that bind
    are inverted, which are few: a brief of hundreds of candidates and limits has a formula of some twenty lines.

    Raises:
        numpy.linalg.LinAlgError: when it has none.
    """
    rows, columns = len(matrix), matrix.shape[1] - len(matrix)
    slack = basic >= columns
    own, used = np.flatnonzero(slack), np.flatnonzero(~slack)
    loose, binds = basic[own] - columns, np.ones(rows, dtype=bool)
    binds[loose] = False
    tight = np.flatnonzero(binds)
    among = matrix[:, basic[used]]
    core = np.linalg.inv(among[tight])
    inverse = np.zeros((rows, rows))
    inverse[used[:, None], tight] = core
    inverse[own[:, None], tight] = among[loose] @ core
    inverse[own, loose] = -1.0
    return inverse


def first_claim(highs: highspy.Highs, program: Program) -> tuple[Vector, Vector] | None:
    """Point and row duals that HiGHS calls optimal, unproven; None where it says anything else."""
    highs.run()
    return point(highs, program) if verdict(highs) else None


def infeasible_ray(highs: highspy.Highs) -> Vector | None:
    """The row weights by which HiGHS claims, unproven, that nothing fits; None where it has none."""
    _, has_ray, ray = highs.getDualRay()  # type: ignore[attr-defined]
    return np.array(ray) if has_ray else None


def _started(program: Program) -> tuple[highspy.Highs, Optimum | None]:
    """HiGHS with the program in it, at an optimum that is proven, and that optimum.

    Where its own is not proven, there is none yet: the longer way of solver.py tells that there is a point.

    Raises:
        NoPoint: when it has no feasible point.
    """
    highs = handed(program)
    sharpen(highs, SHARP)
    claimed_first = first_claim(highs, program)
    optimum = None if claimed_first is None else Optimum.proven(program, *claimed_first)
    if optimum is not None:
        return highs, optimum
    ray = infeasible_ray(highs) if claimed_first is None else None
    if ray is not None and certify_infeasible(program, ray, ROUNDED).holds:
        raise NoPoint("no feasible point", ray)
    if not solve(program).feasible:
        raise NoPoint("no feasible point")
    highs.setOptionValue("presolve", "choose")  # another way to the basis that the next solve starts from
    highs.clearSolver()
    highs.run()
    return highs, None


def sharpen(highs: highspy.Highs, tolerance: float) -> None:
    """Set what a solver takes for rounding, in rows, bounds and reduced costs."""
    highs.setOptionValue("primal_feasibility_tolerance", tolerance)
    highs.setOptionValue("dual_feasibility_tolerance", tolerance)


class Live:
    """A program in the solver. Every change can be undone by the opposite change; `solve` starts warm."""

    def __init__(self, program: Program) -> None:
        """Solve `program` once from scratch.

        Raises:
            NoPoint: when it has no feasible point.
        """
        self.program = program
        self.highs, self.optimum = _started(program)
        self.width = len(program.columns)
        self._matrix = np.zeros((len(program.rows), self.width + len(program.rows)))
        self._matrix[:, : self.width] = program.matrix
        np.fill_diagonal(self._matrix[:, self.width :], -1.0)
        self._low = np.concatenate([program.low, np.where(program.at_least, program.rhs, -np.inf)])
        self._high = np.concatenate([program.high, np.where(program.at_most, program.rhs, np.inf)])
        self._cost = program.cost
        self._columns = np.arange(self.width, dtype=np.int32)
        self.ray: Vector | None = None  # row weights that proved last that nothing fits

    def move(self, row: int, change: float) -> None:
        """Set the target of a row's demand to its first value plus `change`."""
        moved = self.program.rows[row].moved(change)
        if moved.group is not None:
            self._matrix[row, : self.width] = moved.coefficients
            for j in np.flatnonzero(moved.group):
                self.highs.changeCoeff(row, int(j), float(moved.coefficients[j]))
        place = self.width + row
        self._low[place] = moved.rhs if self.program.at_least[row] else -np.inf
        self._high[place] = moved.rhs if self.program.at_most[row] else np.inf
        self.highs.changeRowBounds(row, float(self._low[place]), float(self._high[place]))

    def force(self, column: int, least: float) -> None:
        """Set the lower bound of a column to its first value plus `least`."""
        self._low[column] = self.program.low[column] + least
        self.highs.changeColBounds(column, float(self._low[column]), float(self._high[column]))

    def enclose(self, low: Vector, high: Vector) -> None:
        """Set the bounds of all columns. Shapes (columns,)."""
        self._low[: self.width], self._high[: self.width] = low, high
        self.highs.changeColsBounds(self.width, self._columns, low, high)

    def recost(self, cost: Vector) -> None:
        """Set the costs of all columns. Shape (columns,)."""
        self._cost = cost
        self.highs.changeColsCost(self.width, self._columns, cost)

    def repriced(self, column: int, change: float) -> Optimum | None:
        """The optimum where the cost of one column has changed, which is as the program has it again after this."""
        cost = self.program.cost.copy()
        cost[column] += change
        self.recost(cost)
        try:
            self.solve()
            return self.optimum
        finally:
            self.recost(self.program.cost)

    def sharpen(self, tolerance: float) -> None:
        """Set what the solver takes for rounding, in rows, bounds and reduced costs."""
        sharpen(self.highs, tolerance)

    def solve(self) -> bool:
        """Solve from the last basis; whether there is an optimum. Either way it is proven.

        Raises:
            NotCertified: when what the solver says does not stand up to recomputation, from nothing either.
        """
        self.optimum = self._attempt()
        return self.optimum is not None

    def _attempt(self) -> Optimum | None:
        now = self.now()
        for tolerance in (None, SHARP, USUAL):  # as it stands, then from nothing, then as for a program so far unseen
            if tolerance is not None:
                self.highs.clearSolver()
                self.sharpen(tolerance)
            feasible = self._run()
            optimum = Optimum.proven(now, *self._claimed(now)) if feasible else None
            if optimum is not None:
                self.sharpen(SHARP)
                return optimum
            if feasible is False and self._empty(now):
                self.sharpen(SHARP)
                return None
        self.sharpen(SHARP)
        raise NotCertified("what the solver says of a program that moved does not check")

    def _run(self) -> bool | None:
        self.highs.run()
        return verdict(self.highs)

    def _claimed(self, now: Now) -> tuple[Vector, Vector]:
        solution = self.highs.getSolution()
        x, y = np.array(solution.col_value), np.array(solution.row_dual)
        if len(x) != self.width or len(y) != len(now.rhs):
            return np.full(self.width, np.nan), np.zeros(len(now.rhs))
        return np.clip(x, now.low, now.high), y

    def _empty(self, now: Now) -> bool:
        """Whether it is proven that nothing fits: by the solver's ray, or else by the least breach."""
        self.ray = infeasible_ray(self.highs)
        if self.ray is not None and certify_infeasible(now, self.ray).holds:
            return True
        self.ray = farkas_weights(self._current())
        return self.ray is not None and certify_infeasible(now, self.ray).holds

    def now(self) -> Now:
        """The numbers as they stand."""
        low, high = self._low[self.width :], self._high[self.width :]
        return Now(
            matrix=self._matrix[:, : self.width],
            rhs=np.where(self.program.at_least, low, high),
            at_least=self.program.at_least,
            at_most=self.program.at_most,
            cost=self._cost,
            low=self._low[: self.width],
            high=self._high[: self.width],
        )

    def _current(self) -> Program:
        now = self.now()
        rows = [
            replace(row, coefficients=a, rhs=float(b))
            for row, a, b in zip(self.program.rows, now.matrix, now.rhs, strict=True)
        ]
        return replace(self.program, cost=now.cost, low=now.low, high=now.high, rows=tuple(rows))

    def solution(self) -> tuple[Vector, Vector]:
        """The point, clipped to its bounds, and the row duals of the last solve, which proved it.

        Raises:
            NotCertified: when there is none.
        """
        if self.optimum is None:
            raise NotCertified("there is no optimum to read")
        return self.optimum.x, self.optimum.y

    def basis(self) -> Basis:
        """The basis of the last solve, proven optimal; where it is not, that of a solve from nothing.

        Raises:
            NotCertified: when that is not optimal either.
        """
        basis = self.claimed_basis()
        if basis.optimal:
            return basis
        self.highs.clearSolver()
        if not self.solve():
            raise NotCertified("there is no basis to read")
        basis = self.claimed_basis()
        if not basis.optimal:
            raise NotCertified("the solver's basis does not check")
        return basis

    def claimed_basis(self) -> Basis:
        """The basis of the last solve as the solver says it, unproven."""
        basis = self.highs.getBasis()
        statuses = np.array([status.value for status in (*basis.col_status, *basis.row_status)])
        basic = np.flatnonzero(statuses == _BASIC)
        at_high = statuses == _UPPER
        cost = np.concatenate([self._cost, np.zeros(len(self.program.rows))])
        return Basis(self._matrix.copy(), basic, at_high, self._low.copy(), self._high.copy(), cost)
