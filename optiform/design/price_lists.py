"""One formula for several price lists: as near as can be to the cheapest of each, in all of them.

    minimise t     c_s x <= (1 + t) best_s      for every price list s,      x as the brief asks

best_s is the least cost at the prices of s, each by a design of its own. Limits that can be kept in several ways are
switches in the same program (program/disjunctive.py), so its bound holds for every formula.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.changes import by_cost, priced, prices_of
from optiform.design.design import best, formula_of
from optiform.ingredients.formula import Formula
from optiform.ingredients.price_lists import PriceList
from optiform.program.build import frame
from optiform.program.certificate import NotCertified
from optiform.program.disjunctive import with_ways
from optiform.program.integer import solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import SolverName
from optiform.program.usual import refuse_most, requirements
from optiform.reading.answer import Answer
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen

ROUNDS = 8
SAME = 1e-6  # share: by how much the worst may be above its bound, which is rounding
FAR = 100.0  # times its least cost: dearer than that nothing is looked for


@frozen
class AtPrices:
    """A price list: the least cost there, and what the formula for all, and the best at today's prices, cost.

    Money per kg; `cheapest` is the formula of the least cost.
    """

    name: str
    least: float
    cheapest: Formula
    cost: float
    today: float

    @property
    def above(self) -> float:
        """By what share the formula for all is dearer than the cheapest."""
        return self.cost / self.least - 1

    @property
    def today_above(self) -> float:
        """By what share the best at today's prices is dearer than the cheapest."""
        return self.today / self.least - 1


@frozen
class ForAllPrices(Answer):
    """The formula that is nearest to the cheapest in every price list.

    Attributes:
        within: share that counts as near enough.
        worst: by what share it is dearer than the cheapest where it is furthest from it.
        bound: no formula does better than that.
    """

    brief: Brief
    formula: Formula
    lists: tuple[AtPrices, ...]
    within: float
    worst: float
    bound: float

    @property
    def near_enough(self) -> bool:
        """Whether it is within that share of the cheapest in every list."""
        return self.worst <= self.within + SAME


def for_all_prices(
    brief: Brief, lists: Sequence[PriceList], within: float = 0.02, solver: SolverName = "highs"
) -> ForAllPrices | NoFormula:
    """The formula that is furthest from no price list's cheapest, and by how much.

    Args:
        brief: one whose goal is the lowest cost.
        lists: prices; what a list does not name has today's.
        within: the share that counts as near enough.
        solver: which branch and bound.

    Raises:
        BadInput: the goal is not the lowest cost, or there is no list.
        NotCertified: when a solver's claim does not stand up to recomputation.
    """
    if not by_cost(brief):
        raise BadInput([Fault(brief.title, "[goal]", brief.goal.words, "lowest cost: only then do prices matter")])
    refuse_most(brief)
    if not lists:
        raise BadInput([Fault(brief.title, "price lists", "none", "one price list or more")])
    prices = np.array([_prices(brief, wanted) for wanted in lists])
    chosen = [best(brief, solver), *(best(priced(brief, row), solver) for row in prices)]
    none = next((answer for answer in chosen if isinstance(answer, NoFormula)), None)
    if none is not None:
        return none
    today, *cheapest = [answer.formula for answer in chosen if not isinstance(answer, NoFormula)]
    least = np.array([row @ brief.mix.vector(formula) for row, formula in zip(prices, cheapest, strict=True)])
    if not (least > 0).all():
        raise BadInput([Fault(brief.title, "price lists", "a least cost of nothing", "prices above zero")])
    try:
        x, bound = _nearest(brief, prices, least, solver)
    except Unsettled as unsettled:
        return NoFormula(brief, (), (), None, str(unsettled), decided=False)
    formula = formula_of(brief, x, "for all prices")
    costs, now = (prices @ brief.mix.vector(of) for of in (formula, today))
    worst = float((costs / least).max() - 1)
    if worst < bound - SAME:
        raise NotCertified(f"a formula {worst:.3g} above the cheapest, the bound is {bound:.3g}")
    rows = tuple(
        map(AtPrices, [x.name for x in lists], map(float, least), cheapest, map(float, costs), map(float, now))
    )
    return ForAllPrices(brief, formula, rows, within, worst, bound)


def _prices(brief: Brief, wanted: PriceList) -> Vector:
    now = zip(brief.mix.ingredients, prices_of(brief), strict=True)
    return np.array([wanted.prices.get(item.name, float(price)) for item, price in now])


def _nearest(brief: Brief, prices: Vector, least: Vector, solver: SolverName) -> tuple[Vector, float]:
    """The point that is nearest in all lists, and the bound on how near any can be.

    Raises:
        Unsettled: limits that bend do not come to rest, or no solver has a point.
    """
    needed, count = requirements(brief), len(brief.mix.ingredients)
    bends = any(demand.bends for demand in needed.demands)
    x, bound = np.zeros(count), 0.0
    for number, bent in enumerate((False, *[True] * ROUNDS) if bends else (True,)):
        solved = solve_whole(_program(with_ways(frame(brief, np.zeros(count)), needed, x, bent), prices, least), solver)
        if solved is None:
            break
        x, bound = solved.x[:count], max(0.0, solved.bound) if number == 0 else bound
        if needed.kept_by(x):
            return x, bound
    raise Unsettled("one formula for all prices, with limits that bend")


def _program(program: Program, prices: Vector, least: Vector) -> Program:
    """The program with a last column t, which is made least."""
    width, count = len(program.columns), prices.shape[1]
    wide = program.widened(["above the cheapest"], np.ones(1), np.zeros(1), np.full(1, FAR))
    rows = list(_rows(prices / least[:, None], count, width))
    return wide.with_rows([*wide.rows, *rows])


def _rows(relative: Vector, count: int, width: int) -> Iterator[Row]:
    for costs in relative:
        coefficients = np.zeros(width + 1)
        coefficients[:count], coefficients[width] = costs, -1.0
        yield Row("near the cheapest", coefficients, Sense.AT_MOST, 1.0)
