"""A solved program that stays alive in the solver: targets, costs and bounds move, and it starts from its last basis.

Holds one HiGHS object; not to be shared between threads or sessions.
"""

from dataclasses import dataclass
from functools import cached_property

import highspy
import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Program, Vector
from optiform.program.solver import solve

_BASIC = int(highspy.HighsBasisStatus.kBasic)
_UPPER = int(highspy.HighsBasisStatus.kUpper)
TINY = 1e-11
SHARP = 1e-10  # a target moved by a hair must count


@dataclass(frozen=True)
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
    def z(self) -> Vector:
        """The point: nonbasic variables at their bounds, basic ones as M z = 0 asks."""
        z = np.where(self.at_high | ~np.isfinite(self.low), self.high, self.low)
        z[self.basic] = 0.0
        z[self.basic] = -self.inverse @ (self.matrix @ z)
        return z

    @cached_property
    def reduced(self) -> Vector:
        """Reduced costs of all variables, 0 for basic ones. Shape (columns + rows,)."""
        reduced: Vector = self.cost - (self.cost[self.basic] @ self.inverse) @ self.matrix
        reduced[self.basic] = 0.0
        return reduced


def inverse_of(matrix: Vector, basic: NDArray[np.intp]) -> Vector:
    """Inverse of the basic columns of M = [A, -I]. Shape (rows, rows).

    A row that does not bind has its own activity in the basis and follows from the others. So only the rows that bind
    are inverted, which are few: a brief of hundreds of candidates and limits has a formula of some twenty lines.

    Raises:
        numpy.linalg.LinAlgError: when it has none.
    """
    rows = len(matrix)
    own = np.flatnonzero(basic >= matrix.shape[1] - rows)
    columns = np.setdiff1d(np.arange(rows), own)
    loose = basic[own] - (matrix.shape[1] - rows)
    tight = np.setdiff1d(np.arange(rows), loose)
    used = matrix[:, basic[columns]]
    core = np.linalg.inv(used[tight])
    inverse = np.zeros((rows, rows))
    inverse[np.ix_(columns, tight)] = core
    inverse[np.ix_(own, tight)] = used[loose] @ core
    inverse[own, loose] = -1.0
    return inverse


class Live:
    """A program in the solver. Every change can be undone by the opposite change; `solve` starts warm."""

    def __init__(self, program: Program) -> None:
        """Solve `program` once from scratch.

        Raises:
            ValueError: when it has no feasible point.
        """
        solved = solve(program)
        if not solved.feasible:
            raise ValueError("no feasible point")
        self.program = program
        self.highs: highspy.Highs = solved.model.problem.solverModel
        self.sharpen(SHARP)
        self.width = len(program.columns)
        self._matrix = np.hstack([program.matrix, -np.eye(len(program.rows))])
        self._low = np.concatenate([program.low, np.where(program.at_least, program.rhs, -np.inf)])
        self._high = np.concatenate([program.high, np.where(program.at_most, program.rhs, np.inf)])
        self._cost = program.cost
        self._columns = np.arange(self.width, dtype=np.int32)

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

    def recost(self, cost: Vector) -> None:
        """Set the costs of all columns. Shape (columns,)."""
        self._cost = cost
        self.highs.changeColsCost(self.width, self._columns, cost)

    def sharpen(self, tolerance: float) -> None:
        """Set what the solver takes for rounding, in rows, bounds and reduced costs."""
        self.highs.setOptionValue("primal_feasibility_tolerance", tolerance)
        self.highs.setOptionValue("dual_feasibility_tolerance", tolerance)

    def solve(self) -> bool:
        """Solve from the last basis; whether there is an optimum."""
        self.highs.run()
        return bool(self.highs.getModelStatus() == highspy.HighsModelStatus.kOptimal)

    def solution(self) -> tuple[Vector, Vector]:
        """The point, clipped to its bounds, and the row duals of the last solve, as the solver claims them."""
        found = self.highs.getSolution()
        x = np.clip(np.array(found.col_value), self._low[: self.width], self._high[: self.width])
        return x, np.array(found.row_dual)

    def basis(self) -> Basis:
        """The basis of the last solve."""
        found = self.highs.getBasis()
        statuses = np.array([int(status) for status in (*found.col_status, *found.row_status)])
        basic = np.flatnonzero(statuses == _BASIC)
        at_high = statuses == _UPPER
        cost = np.concatenate([self._cost, np.zeros(len(self.program.rows))])
        return Basis(self._matrix.copy(), basic, at_high, self._low.copy(), self._high.copy(), cost)
