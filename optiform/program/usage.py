"""Used or not, in whole steps: what a fraction alone cannot say, as extra whole columns.

    least_j u_j <= x_j <= high_j u_j,   u_j 0 or 1,   sum u_j <= K,   u_a + u_b <= 1
    x_j = r_j k_j / N,                  k_j whole,    sum r_j k_j = N

u_j says that line j is used; k_j counts the steps of the scale, each r_j of the smallest step, N of which make the
batch. The extra columns stand behind the program's own, so a point's first columns keep their meaning.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import NotCertified, certify_optimal
from optiform.program.integer import WholeSolution, solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import SolverName, solve
from optiform.program.tolerances import UNUSED
from optiform.reading.frozen import frozen

SAFE = 1e-7  # relative: what a line must lose beyond this before it is left out for good


def ceilings(program: Program) -> Vector:
    """The most each column can be by its bound and by any single at-most row of coefficients without a minus sign.

    Small ceilings make a branch and bound quick; no feasible point is lost. Shape (columns,).
    """
    high = program.high.copy()
    for row in program.rows:
        if row.sense is not Sense.AT_LEAST and (row.coefficients >= 0).all() and (program.low >= 0).all():
            inside = row.coefficients > 0
            high[inside] = np.minimum(high[inside], max(row.rhs, 0.0) / row.coefficients[inside])
    return np.maximum(high, program.low)


def used_or_not(
    program: Program, least: Mapping[int, float], most: int | None = None, apart: Iterable[tuple[int, int]] = ()
) -> Program:
    """The program with a used-or-not column for each column in `least`.

    Args:
        program: columns in `least` have a lower bound of 0.
        least: column to the least fraction it has if it is used at all; 0 for no such least.
        most: how many of these columns may be used.
        apart: pairs of these columns that may not be used together.
    """
    first, high = len(program.columns), ceilings(program)
    own = {j: first + place for place, j in enumerate(least)}
    zeros, ones = np.zeros(len(own)), np.ones(len(own))
    wide = program.widened([f"{program.columns[j]} is used" for j in own], zeros, zeros, ones, whole=True)
    width, rows = len(wide.columns), []
    for j, u in own.items():
        name = program.columns[j]
        rows.append(Row.of(f"{name} only where used", width, {j: 1.0, u: -float(high[j])}, Sense.AT_MOST))
        if least[j] > 0:
            words = f"{name} at least {100 * least[j]:.6g} % where used"
            rows.append(Row.of(words, width, {j: 1.0, u: -least[j]}, Sense.AT_LEAST))
    for a, b in apart:
        words = f"{program.columns[a]} and {program.columns[b]} not together"
        rows.append(Row.of(words, width, {own[a]: 1.0, own[b]: 1.0}, Sense.AT_MOST, 1.0))
    if most is not None:
        words = f"at most {most} ingredients"
        rows.append(Row.of(words, width, dict.fromkeys(own.values(), 1.0), Sense.AT_MOST, float(most)))
    return wide.with_rows([*wide.rows, *rows])


def fewest(
    program: Program, least: Mapping[int, float], apart: Iterable[tuple[int, int]] = (), solver: SolverName = "highs"
) -> tuple[int, Vector] | None:
    """How many of the columns in `least` have to be used at least, with a point that uses no more of them.

    None where nothing fits. See `used_or_not`.
    """
    counted = used_or_not(program, least, None, apart)
    first = len(program.columns)
    cost = np.concatenate([np.zeros(first), np.ones(len(counted.columns) - first)])
    best = solve_whole(counted.with_cost(cost), solver)
    return None if best is None else (round(best.value), best.x[:first])


def in_steps(program: Program, steps: Mapping[int, int], total: int) -> Program:
    """The program with columns j in `steps` that come in whole multiples of steps[j] / total, and sum to one exactly.

    Args:
        program: its columns in `steps` are all that share out the whole; others are helpers.
        steps: column to the size of its step, in smallest steps.
        total: smallest steps in the whole.
    """
    first = len(program.columns)
    sizes = np.array(list(steps.values()), dtype=float)
    most = np.floor(ceilings(program)[list(steps)] * total / sizes + SAFE)
    names = [f"steps of {program.columns[j]}" for j in steps]
    wide = program.widened(names, np.zeros(len(steps)), np.zeros(len(steps)), most, whole=True)
    width = len(wide.columns)
    rows = [
        Row.of(f"{program.columns[j]} in whole steps", width, {j: float(total), first + k: -float(size)}, Sense.EQUAL)
        for k, (j, size) in enumerate(steps.items())
    ]
    shares = {first + place: float(size) for place, size in enumerate(steps.values())}
    balance = Row.of("the steps sum to the batch", width, shares, Sense.EQUAL, float(total))
    return wide.with_rows([*wide.rows, *rows, balance])


@frozen
class Opened:
    """The best whole point over all columns, and the columns that had to be looked at to know it.

    Attributes:
        solution: its bound holds for every column, also for those left out.
        among: shape (choices,), true for each column that was open in the last search.
    """

    solution: WholeSolution
    among: NDArray[np.bool_]


def solve_opening(
    program: Program, whole: Program, smallest: Vector, also: Iterable[int] = (), solver: SolverName = "highs"
) -> Opened | None:
    """The best point of `whole`, with as few of the first columns open as a proof allows; None if there is none.

    First only the columns that the linear program uses. Its reduced cost d_j then says that a point with x_j at least
    s_j costs at least  v0 + d_j s_j:  a column for which that is above the value found is left out for good, the rest
    are opened and the search is done again (reduced-cost fixing; Dantzig, Fulkerson and Johnson 1954).

    Args:
        program: the linear program, with a feasible point.
        whole: the same with whole columns behind its own.
        smallest: s_j, the smallest fraction other than 0 of the first columns. Shape (choices,).
        also: columns to open at once whether used or not.
        solver: which branch and bound.

    Raises:
        NotCertified: when a claim of the solver does not stand up to recomputation.
    """
    count = len(smallest)
    relaxed = solve(program, solver)
    if not relaxed.feasible:
        return None
    if not certify_optimal(program, relaxed.x, relaxed.y).holds:
        raise NotCertified("the linear program under the whole one does not check")
    among = relaxed.x[:count] > UNUSED
    among[list(also)] = True
    best = solve_whole(_closed(whole, among), solver)
    could_pay = np.ones(count, dtype=bool)
    if best is not None:
        reduced = (program.cost - program.matrix.T @ relaxed.y)[:count]
        room = best.value - relaxed.value + SAFE * (1 + abs(best.value))
        could_pay = reduced * smallest <= room
    if not (could_pay & ~among).any():
        return None if best is None else Opened(best, among)
    among |= could_pay
    better = solve_whole(_closed(whole, among), solver)
    return None if better is None else Opened(better, among)


def _closed(whole: Program, among: NDArray[np.bool_]) -> Program:
    high = whole.high.copy()
    high[: len(among)] = np.where(among, high[: len(among)], whole.low[: len(among)])
    return replace(whole, high=high)


def least_miss(program: Program, prices: Mapping[int, float], solver: SolverName = "highs") -> Vector | None:
    """The point with the least priced breach of the rows in `prices`, whole columns whole; None if the rest clash.

    The counterpart of elastic.py for programs with whole columns: no proof of infeasibility comes with it.

    Args:
        program: with whole columns.
        prices: row number to the price of one unit of breach in that row.
        solver: which branch and bound.
    """
    width = len(program.columns)
    gives = [(i, side) for i in prices for side in program.rows[i].gives]
    cost = np.array([prices[i] for i, _ in gives])
    names = [f"breach {place}" for place in range(len(gives))]
    ceiling = program.worst_breaches[[i for i, _ in gives]]
    wide = replace(program, cost=np.zeros(width)).widened(names, cost, np.zeros(len(gives)), ceiling)
    rows = list(wide.rows)
    for place, (i, side) in enumerate(gives):
        coefficients = rows[i].coefficients.copy()
        coefficients[width + place] = side
        rows[i] = replace(rows[i], coefficients=coefficients)
    best = solve_whole(wide.with_rows(rows), solver)
    return None if best is None else best.x[:width]
