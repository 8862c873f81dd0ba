"""All formulas that are exactly as good: the optimal face.

Every optimum satisfies complementary slackness with any one optimal set of duals, so fixing the columns whose reduced
cost is not zero and the rows whose dual is not zero leaves exactly the optima. Two weighings of that face, with fixed
arbitrary weights, tell whether it is a single point; the first also names one optimum independent of the solver.
"""

from dataclasses import replace
from zlib import crc32

import numpy as np

from optiform.program.certificate import certify_optimal
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import SolverName, solve

ZERO = 1e-7
APART = 1e-5  # mass fraction: 0.001 % of the whole


def optimal_pair(program: Program, x: Vector, y: Vector, solver: SolverName = "highs") -> tuple[Vector, Vector | None]:
    """One optimum that any solver agrees on, and another one as far as the weights reach, if there is any.

    What counts as no reduced cost is taken by the dearest candidate first. Where prices lie so far apart that this
    lets in what is not as good, it is taken by the cost of the formula; and if that does not prove either, x stays.
    """
    weights = np.array([1 + crc32(name.encode()) / 2**32 for name in program.columns])  # the same in any order
    for scale in (1 + float(np.abs(program.cost).max()), 1 + abs(float(program.cost @ x))):
        face = _face(program, y, scale)
        first = solve(face.with_cost(weights), solver)
        last = first.model.recosted(-weights).solve(solver)
        if not (first.feasible and last.feasible):  # thinner than the solver's tolerance: a single point
            return x, None
        if certify_optimal(program, first.x, y).holds:
            apart = np.abs(first.x - last.x).max() > APART
            return first.x, last.x if apart and certify_optimal(program, last.x, y).holds else None
    return x, None


def _face(program: Program, y: Vector, scale: float) -> Program:
    reduced = program.cost - program.matrix.T @ y
    fixed = np.abs(reduced) > ZERO * scale
    at = np.where(reduced > 0, program.low, program.high)
    held = [_held(row, float(dual)) for row, dual in zip(program.rows, y, strict=True)]
    low, high = np.where(fixed, at, program.low), np.where(fixed, at, program.high)
    return replace(program, low=low, high=high, rows=tuple(held))


def _held(row: Row, dual: float) -> Row:
    return replace(row, sense=Sense.EQUAL) if abs(dual) > ZERO else row
