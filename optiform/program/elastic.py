"""The least total breach: what is asked of a program when nothing satisfies it.

Every chosen row and bound may give way at a price per unit; the frame and the law may not. Always feasible as long as
the firm part is, so its duals are a Farkas proof for the firm program and its point is the nearest miss.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optiform.program.linear import Program, Vector
from optiform.program.solver import Solution, SolverName, solve


@dataclass(frozen=True)
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
    gives = [(i, side) for i in prices for side in program.rows[i].gives]
    extra = np.zeros((len(program.rows), len(gives)))
    for k, (i, side) in enumerate(gives):
        extra[i, k] = side
    rows = tuple(
        replace(row, coefficients=np.concatenate([row.coefficients, extra[i]])) for i, row in enumerate(program.rows)
    )
    # Keeps the program bounded. Twice what is possible, so that no ceiling is met and enters the proof.
    ceilings = np.array([2 * program.worst_breach(i) for i, _ in gives])
    elastic = Program(
        columns=(*program.columns, *(f"breach {k}" for k in range(len(gives)))),
        cost=np.concatenate([np.zeros(width), [prices[i] for i, _ in gives]]),
        low=np.concatenate([program.low, np.zeros(len(gives))]),
        high=np.concatenate([program.high, ceilings]),
        rows=rows,
    )
    found: Solution = solve(elastic, solver)
    if not found.feasible:
        return Breach(np.inf, found.x[:width], found.y, {}, False)
    breached = dict.fromkeys(prices, 0.0)
    for (i, _), size in zip(gives, found.x[width:], strict=True):
        breached[i] += float(size)
    return Breach(found.value, found.x[:width], found.y, breached, True)
