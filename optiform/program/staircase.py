"""What the last jars cost: the least money for every number of jars, from the most that can be made to none.

The program of purchase.py with a column r_p more for each product, the jars of the plan that are not made:

    sum_{o of i} pack_o n_o + sum_p use_ip r_p >= lacking_i      for every ingredient i,      0 <= r_p <= jars_p, whole

The least money as a function of sum_p r_p falls in steps. They are found in turn, each by two programs with whole
columns (the epsilon-constraint method; Haimes, Lasdon and Wismer, IEEE Transactions on Systems, Man, and Cybernetics 1,
1971): the fewest jars left out that save at least `CENT` on the step before, then the least money with no more left
out. Between two steps nothing is saved, however the jars are chosen.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from optiform.program.certificate import NotCertified
from optiform.program.integer import WholeSolution, solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.purchase import GRAMS, MG, Shopping, choose, program_of
from optiform.program.solver import SolverName
from optiform.reading.frozen import frozen

CENT = 0.005  # money: less is no step


@frozen
class Stair:
    """The jars left out of each product, the packs to buy for the rest, and what they cost, the least there is."""

    left_out: tuple[int, ...]
    counts: tuple[int, ...]
    money: float


def staircase(
    shopping: Shopping, uses: Sequence[Sequence[float]], jars: Sequence[int], solver: SolverName = "highs"
) -> Iterator[Stair]:
    """Each step, from the most jars to the fewest: the last one costs nothing.

    Args:
        shopping: what is lacking for all jars; what is left over counts nothing.
        uses: kg of each ingredient in a jar of each product. Shape (ingredients, products).
        jars: of each product.
        solver: HiGHS, or CBC as the second opinion.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when an answer does not stand up to recomputation.
    """
    program = _program(replace(shopping, worth=(0.0,) * len(shopping.worth)), np.array(uses), jars)
    money = program.cost
    count = np.where(np.arange(len(money)) < len(money) - len(jars), 0.0, 1.0)
    before = math.inf
    while before >= CENT:
        cheaper = (
            [] if math.isinf(before) else [Row("cheaper than the step before", money, Sense.AT_MOST, before - CENT)]
        )
        fewest = _best(program.with_cost(count).with_rows([*program.rows, *cheaper]), solver)
        held = Row("no more jars left out", count, Sense.AT_MOST, round(fewest.value))
        least = _best(program.with_rows([*program.rows, held]), solver)
        stair = _checked(shopping, np.array(uses), len(jars), least, solver)
        yield stair
        before = stair.money


def _best(program: Program, solver: SolverName) -> WholeSolution:
    best = solve_whole(program, solver)
    if best is None:
        raise NotCertified("a plan without any jar needs nothing, and the solver found no way to make none")
    return best


def _program(shopping: Shopping, uses: Vector, jars: Sequence[int]) -> Program:
    """That of purchase.py, with the jars left out as its last columns."""
    base = program_of(shopping)
    width, more = len(base.columns), len(jars)
    lacking = [i for i, kg in enumerate(shopping.lacking) if kg > 0]
    rows = [row.widened(more) for row in base.rows]
    for row, i in enumerate(lacking):  # the first rows of that program, in this order
        coefficients = rows[row].coefficients.copy()
        coefficients[width:] = GRAMS * uses[i]
        rows[row] = replace(rows[row], coefficients=coefficients)
    return Program(
        (*base.columns, *(f"jars of product {p} left out" for p in range(more))),
        np.concatenate([base.cost, np.zeros(more)]),
        np.zeros(width + more),
        np.concatenate([base.high, np.array(jars, dtype=float)]),
        tuple(rows),
        frozenset(range(width + more)),
    )


def _checked(shopping: Shopping, uses: Vector, products: int, best: WholeSolution, solver: SolverName) -> Stair:
    """The packs for the jars that are left, chosen anew: as few as there can be, at the same money."""
    left_out = tuple(round(jar) for jar in best.x[-products:])
    lacking = np.array(shopping.lacking) - uses @ np.array(left_out)
    rest = tuple(float(kg) if kg > MG / 2 else 0.0 for kg in lacking)
    chosen = choose(replace(shopping, lacking=rest, worth=(0.0,) * len(rest)), solver)
    if chosen is None or abs(chosen.money - best.value) > CENT / 2:
        raise NotCertified(f"{best.value:.4f} for the packs, which chosen anew cost {chosen and chosen.money}")
    return Stair(left_out, chosen.counts, chosen.money)
