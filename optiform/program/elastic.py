"""The least total breach: what is asked of a program when nothing satisfies it.

Every chosen row and bound may give way at a price per unit; the frame and the law may not. Always feasible as long as
the firm part is, so its duals are a Farkas proof for the firm program and its point is the nearest miss.
"""

from collections.abc import Mapping

import numpy as np

from optiform.program.linear import Program, Vector, softened
from optiform.program.solver import SolverName, solve_near
from optiform.reading.frozen import frozen


@frozen
class Breach:
    """The outcome: total priced breach, the point, and the breach of each row in its own unit."""

    total: float
    x: Vector
    y: Vector
    rows: dict[int, float]
    feasible: bool


def least_breach(program: Program, prices: Mapping[int, float], solver: SolverName = "highs") -> Breach:
    """Minimise the priced breach of the rows in `prices` (row index: price per unit of breach)."""
    width = len(program.columns)
    elastic, gives = softened(program, prices)
    solution = solve_near(elastic, solver)
    if not solution.feasible:
        return Breach(np.inf, solution.x[:width], solution.y, {}, False)
    breached = dict.fromkeys(prices, 0.0)
    for (i, _), size in zip(gives, solution.x[width:], strict=True):
        breached[i] += float(size)
    return Breach(solution.value, solution.x[:width], solution.y, breached, True)
