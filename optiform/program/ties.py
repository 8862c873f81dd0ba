"""All formulas that are exactly as good: the optimal face.

Every optimum satisfies complementary slackness with any one optimal set of duals, so fixing the columns whose reduced
cost is not zero and the rows whose dual is not zero leaves exactly the optima. Mostly the rows that are held leave one
point only, by their rank. Else two weighings of that face, with fixed arbitrary weights, tell whether it is a single
point; the first also names one optimum independent of the solver.
"""

from dataclasses import replace
from zlib import crc32

import numpy as np

from optiform.program.certificate import NotCertified, certify_optimal
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import SolverName, solve_near
from optiform.program.tolerances import SAME_POINT

ZERO = 1e-7
PREFERRED = 100.0  # what a unit of preference weighs against the arbitrary weights
APART = 1e-5  # mass fraction: 0.001 % of the whole
CLEAR = 1e-3  # singular value: what leaves one point only, however the rows are rounded


def optimal_pair(
    program: Program, x: Vector, y: Vector, solver: SolverName = "highs", preferred: Vector | None = None
) -> tuple[Vector, Vector | None]:
    """One optimum that any solver agrees on, and another one as far as the weights reach, if there is any.

    What counts as no reduced cost is taken by the dearest candidate first. Where prices lie so far apart that this
    lets in what is not as good, it is taken by the cost of the formula; and if that does not prove either, x stays.
    Of the optima the first has the least of what the first columns weigh in `preferred`.
    """
    weights = np.array([1 + crc32(name.encode()) / 2**32 for name in program.columns])  # the same in any order
    if preferred is not None:
        weights[: len(preferred)] += PREFERRED * preferred
    for scale in (1 + float(np.abs(program.cost).max()), 1 + abs(float(program.cost @ x))):
        face = _face(program, x, y, scale)
        only = _only_point(face)
        if only is not None and certify_optimal(program, only, y).holds:
            return only, None
        first, last = solve_near(face.with_cost(weights), solver), solve_near(face.with_cost(-weights), solver)
        if not (first.feasible and last.feasible):
            raise NotCertified("the answer does not lie on its own optimal face")
        if certify_optimal(program, first.x, y).holds:
            apart = np.abs(first.x - last.x).max() > APART
            return first.x, last.x if apart and certify_optimal(program, last.x, y).holds else None
    return x, None


def _only_point(face: Program) -> Vector | None:
    """The point of a face of which its fixed columns and its equations leave one only; None where they may not."""
    free = face.high - face.low > SAME_POINT
    held = face.at_least & face.at_most
    rows, x = face.matrix[held], np.where(free, 0.0, face.low)
    x[free], _, rank, singular = np.linalg.lstsq(rows[:, free], face.rhs[held] - rows @ x, rcond=None)
    one = rank == np.count_nonzero(free) and singular.min(initial=np.inf) > CLEAR
    return np.clip(x, face.low, face.high) if one else None


def _face(program: Program, x: Vector, y: Vector, scale: float) -> Program:
    """The optimal face, widened by as much as x itself is off it in rounding, so that it always has a point."""
    reduced = program.cost - program.matrix.T @ y
    fixed = np.abs(reduced) > ZERO * scale
    at = np.where(reduced > 0, program.low, program.high)
    reached = program.matrix @ x
    held = [_held(row, float(dual), float(at)) for row, dual, at in zip(program.rows, y, reached, strict=True)]
    low, high = np.where(fixed, np.minimum(at, x), program.low), np.where(fixed, np.maximum(at, x), program.high)
    return replace(program, low=low, high=high, rows=tuple(held))


def _held(row: Row, dual: float, reached: float) -> Row:
    if abs(dual) > ZERO or row.sense is Sense.EQUAL:
        return replace(row, sense=Sense.EQUAL, rhs=reached)
    return replace(row, rhs=max(row.rhs, reached) if row.sense is Sense.AT_MOST else min(row.rhs, reached))
