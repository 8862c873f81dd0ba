"""What a limit costs, and how far that price holds: read off the basis, exactly.

The optimum as a function of one right-hand side is convex and piecewise linear. At the answer its slope towards a
looser limit is the price of the limit: what one unit less of it would save. Where several limits meet in one point
the slope towards a tighter limit differs. Both are found by moving the right-hand side by a hair, letting the solver
find the basis that holds there, and following that basis to its end with plain linear algebra.
Textbook parametric programming, for instance Chvatal, Linear Programming (1983), chapter 10.
"""

from dataclasses import dataclass

import highspy
import numpy as np

from optiform.program.linear import Program, Sense, Vector
from optiform.program.solver import solve

HAIR = 1e-5  # of the size of the right-hand side: far above rounding, far below anything that can be weighed
_BASIC = highspy.HighsBasisStatus.kBasic
_UPPER = highspy.HighsBasisStatus.kUpper


@dataclass(frozen=True)
class Segment:
    """One straight piece of the optimum against a right-hand side.

    Attributes:
        slope: change of the objective per unit of right-hand side.
        start, end: the interval it holds on.
        x, direction: the point at the answer's right-hand side and its change per unit, shape (columns,).
    """

    slope: float
    start: float
    end: float
    x: Vector
    direction: Vector


@dataclass(frozen=True)
class _Basis:
    """A simplex basis over columns and row activities: M z = 0 with M = [A, -I] and z = (x, A x)."""

    matrix: Vector
    basic: Vector
    low: Vector
    high: Vector
    z: Vector

    def direction(self, variable: int) -> Vector:
        """Change of z per unit of a nonbasic variable, the other nonbasic ones held. Shape (columns + rows,)."""
        change = np.zeros(len(self.z))
        change[variable] = 1.0
        change[self.basic] = np.linalg.solve(self.matrix[:, self.basic], -self.matrix[:, variable])
        return change

    def reach(self, change: Vector) -> tuple[float, float]:
        """How far one can go down and up along `change` before a basic variable meets its bound."""
        moving = self.basic[np.abs(change[self.basic]) > 1e-11]
        rate, z = change[moving], self.z[moving]
        to_low, to_high = (self.low[moving] - z) / rate, (self.high[moving] - z) / rate
        up = np.where(rate > 0, to_high, to_low)
        down = np.where(rate > 0, to_low, to_high)
        return float(min(0.0, down.max(initial=-np.inf))), float(max(0.0, up.min(initial=np.inf)))


class Pricer:
    """Prices of the limits of a solved program. Holds a live solver; not to be shared between threads."""

    def __init__(self, program: Program) -> None:
        """Solve `program` once and keep the solver warm.

        Raises:
            ValueError: when the program has no feasible point.
        """
        self.program = program
        solved = solve(program)
        if not solved.feasible:
            raise ValueError("no feasible point")
        self._highs: highspy.Highs = solved.model.problem.solverModel
        width = len(program.columns)
        self._matrix = np.hstack([program.matrix, -np.eye(len(program.rows))])
        self._low = np.concatenate([program.low, np.where(program.at_least, program.rhs, -np.inf)])
        self._high = np.concatenate([program.high, np.where(program.at_most, program.rhs, np.inf)])
        self._cost = np.concatenate([program.cost, np.zeros(len(program.rows))])
        self._width = width

    def looser(self, row: int) -> Segment:
        """The piece on the side where the row asks for less."""
        return self._beside(row, -1.0 if self.program.rows[row].sense is not Sense.AT_MOST else 1.0)

    def tighter(self, row: int) -> Segment | None:
        """The piece on the side where the row asks for more; None when it cannot ask for more."""
        return self._try(row, 1.0 if self.program.rows[row].sense is not Sense.AT_MOST else -1.0)

    def entering(self, column: int) -> float | None:
        """Extra objective per unit of an unused column, for the first unit forced in; None if it cannot be used."""
        low, high = float(self.program.low[column]), float(self.program.high[column])
        self._highs.changeColBounds(column, low + HAIR, high)
        self._highs.run()
        solved = self._highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        slope = float(self._highs.getSolution().col_dual[column]) if solved else None
        self._highs.changeColBounds(column, low, high)
        return slope

    def _beside(self, row: int, step: float) -> Segment:
        found = self._try(row, step)
        assert found is not None, "asking for less cannot make a feasible program infeasible"
        return found

    def _try(self, row: int, step: float) -> Segment | None:
        rhs = self.program.rows[row].rhs
        moved = rhs + step * HAIR * (1 + abs(rhs))
        variable = self._width + row
        low, high = self._low.copy(), self._high.copy()
        low[variable] = moved if np.isfinite(low[variable]) else low[variable]
        high[variable] = moved if np.isfinite(high[variable]) else high[variable]
        self._bound(row, low[variable], high[variable])
        self._highs.run()
        solved = self._highs.getModelStatus() == highspy.HighsModelStatus.kOptimal
        segment = self._segment(variable, low, high, rhs, moved) if solved else None
        self._bound(row, self._low[variable], self._high[variable])
        return segment

    def _bound(self, row: int, low: float, high: float) -> None:
        self._highs.changeRowBounds(row, max(low, -highspy.kHighsInf), min(high, highspy.kHighsInf))

    def _segment(self, variable: int, low: Vector, high: Vector, rhs: float, moved: float) -> Segment:
        basis = self._basis(low, high)
        if variable in basis.basic:  # the row has come loose: it costs nothing on this side
            span = (-np.inf, rhs) if moved < rhs else (rhs, np.inf)
            return Segment(0.0, *span, basis.z[: self._width], np.zeros(self._width))
        change = basis.direction(variable)
        down, up = basis.reach(change)
        at_rhs = basis.z + (rhs - moved) * change
        return Segment(
            slope=float(self._cost @ change),
            start=moved + down,
            end=moved + up,
            x=at_rhs[: self._width],
            direction=change[: self._width],
        )

    def _basis(self, low: Vector, high: Vector) -> _Basis:
        basis = self._highs.getBasis()
        statuses = [*basis.col_status, *basis.row_status]
        basic = np.array([j for j, status in enumerate(statuses) if status == _BASIC], dtype=int)
        at_high = np.array([status == _UPPER for status in statuses])
        z = np.where(at_high | ~np.isfinite(low), high, low)
        z[basic] = 0.0
        z[basic] = np.linalg.solve(self._matrix[:, basic], -self._matrix @ z)
        return _Basis(self._matrix, basic, low, high, z)
