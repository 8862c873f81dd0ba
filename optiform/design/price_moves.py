"""What if prices move: how often each formula stays the cheapest, and what keeping one costs."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design, formula_of
from optiform.design.facts import TakenNear
from optiform.ingredients.formula import Formula
from optiform.program.build import Branch
from optiform.program.parametric import lowest
from optiform.program.scenarios import Scenarios, best_under
from optiform.program.search import BestFormula, search
from optiform.program.solver import SolverName
from optiform.program.usual import refuse_most, requirements
from optiform.properties.base import Vector
from optiform.reading.answer import Answer
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress

COLUMN = "price spread"
SHOWN = 5
RARE = 0.01  # a formula that is the best less often is not shown


@frozen
class PriceModel:
    """How prices are drawn: typical price x exp(s z + t w), z for each ingredient and w one for all, standard normal.

    The typical price is the median; the mean lies above it by the factor exp((s^2 + t^2) / 2).

    Attributes:
        spreads: s of each candidate, shape (candidates,).
        shared: t, the part of the spread that moves all prices together.
        seed: of the random numbers; the same seed gives the same prices.
    """

    spreads: Vector
    shared: float
    seed: int

    def draw(self, prices: Vector, scenarios: int) -> Vector:
        """Prices in each scenario, shape (scenarios, candidates)."""
        rng = np.random.default_rng(self.seed)
        together = self.shared * rng.standard_normal((scenarios, 1))
        drawn: Vector = prices * np.exp(self.spreads * rng.standard_normal((scenarios, len(prices))) + together)
        return drawn


@frozen
class UnderPrices:
    """A formula under all the drawn prices. Costs and regrets in the brief's currency per kg.

    Attributes:
        share: in what share of the scenarios it is the cheapest.
        typical: its cost at typical prices.
        regret: mean of its cost less the cost of the cheapest formula of the scenario.
        regret_95: the regret that 95 % of the scenarios stay below.
        cost_band: its cost in the middle 90 % of the scenarios.
    """

    formula: Formula
    share: float
    typical: float
    regret: float
    regret_95: float
    cost_band: tuple[float, float]


@frozen
class PriceUncertainty(Answer):
    """Today's answer and its rivals when prices move.

    Attributes:
        spreads: the least and the most that a price varies by itself, lognormal: standard deviations of its logarithm.
        shared: that of what moves all prices together.
        chosen: the cheapest formula at typical prices.
        rivals: the formulas that are most often the cheapest, most frequent first; the chosen one among them.
        least_regret: of all formulas that are the cheapest in some scenario or at mean prices, the one with the least
            mean regret. No formula at all has less: mean regret is linear in the formula, so the cheapest one at the
            mean of the drawn prices has the least.
        best_band: cost in the middle 90 % of the scenarios when the formula is chosen anew each time.
        distinct: how many formulas are the cheapest in some scenario.
        solved, gap: scenarios the solver was run for, and the worst proven gap of any scenario, relative.
        notes: what the answer leaves out.
    """

    brief: Brief
    seed: int
    scenarios: int
    chosen: UnderPrices
    rivals: tuple[UnderPrices, ...]
    least_regret: UnderPrices
    best_band: tuple[float, float]
    distinct: int
    solved: int
    gap: float
    notes: tuple[TakenNear, ...] = ()
    spreads: tuple[float, float] = (0.0, 0.0)
    shared: float = 0.0


def price_uncertainty(
    brief: Brief,
    spread: float,
    scenarios: int = 10_000,
    seed: int = 1,
    shared: float = 0.0,
    progress: Progress | None = None,
    solver: SolverName = "highs",
) -> PriceUncertainty | NoFormula:
    """How the cheapest formula holds up when prices move.

    Args:
        brief: one whose goal is the lowest cost.
        spread: standard deviation of the logarithm of each price (0.1: about 10 %). An ingredient with an own column
            `price spread (%)` has that instead.
        scenarios: how many price lists to draw.
        seed: of the random numbers.
        shared: as `spread`, for what moves all prices together.
        progress: called with scenarios done and in all.
        solver: for the answer at typical prices.

    Raises:
        BadInput: when the goal is not the lowest cost, or a number makes no sense.
        Unsettled: when another case of the brief has limits that bend and do not come to rest.
        NotCertified: when a solver's claim does not stand up to recomputation.
    """
    if not isinstance(brief.goal, Lowest) or brief.goal.wanted.name != "cost":
        raise BadInput([Fault(brief.title, "[goal]", brief.goal.words, "lowest cost: only then do prices matter")])
    if not (scenarios >= 1 and spread >= 0 and shared >= 0):
        read = f"{scenarios} scenarios, spreads {spread:g} and {shared:g}"
        raise BadInput([Fault(brief.title, "prices", read, "at least one scenario, and spreads of zero or more")])
    refuse_most(brief)
    answer = design(brief, solver)
    if isinstance(answer, NoFormula):
        return answer
    brief = answer.brief
    model = PriceModel(_spreads(brief, spread), shared, seed)
    prices = answer.program.cost
    costs = model.draw(prices, scenarios)
    with_mean = np.vstack([costs, costs.mean(axis=0)])
    return _told(answer, model, costs, _cheapest(brief, answer, with_mean, progress, solver))


def _spreads(brief: Brief, spread: float) -> Vector:
    own = [item.value(COLUMN) for item in brief.mix.ingredients]
    return np.array([spread if value is None else value.figure / 100 for value in own])


def _cheapest(
    brief: Brief, answer: Designed, costs: Vector, progress: Progress | None, solver: SolverName
) -> Scenarios:
    """The cheapest formula under each price list, over every branch: at other prices it may be of another."""
    needed = requirements(brief)

    def solve(branch: Branch) -> Scenarios | None:
        formula = search(brief, branch, solver)
        return best_under(formula.program, costs, progress) if isinstance(formula, BestFormula) else None

    swept = lowest(needed, solve) if needed.disjunctions else best_under(answer.program, costs, progress)
    return swept or best_under(answer.program, costs, progress)


def _told(answer: Designed, model: PriceModel, costs: Vector, scenarios: Scenarios) -> PriceUncertainty:
    chosen = answer.brief.mix.vector(answer.report.formula)
    best, which = scenarios.objectives[:-1], scenarios.which[:-1]
    shares = np.bincount(which, minlength=len(scenarios.points)) / len(which)
    table = _Table(answer, costs, best)
    same = np.flatnonzero(np.abs(scenarios.points - chosen).max(axis=1) <= 1e-6)
    order = [int(j) for j in np.argsort(-shares, kind="stable")[:SHOWN] if shares[j] >= RARE]
    least = int(np.argmin(scenarios.points @ costs.mean(axis=0)))
    return PriceUncertainty(
        brief=answer.brief,
        seed=model.seed,
        scenarios=len(costs),
        chosen=replace(table.rival(chosen, float(shares[same].sum()), "answer"), formula=answer.report.formula),
        rivals=tuple(
            table.rival(scenarios.points[j], float(shares[j]), "answer" if j in same else f"rival {k}")
            for k, j in enumerate(order, 1)
        ),
        least_regret=table.rival(scenarios.points[least], float(shares[least]), "least regret"),
        best_band=_band(best),
        distinct=int((shares > 0).sum()),
        solved=scenarios.solved,
        gap=scenarios.gap,
        notes=tuple(_notes(answer.brief)),
        spreads=(float(model.spreads.min()), float(model.spreads.max())),
        shared=model.shared,
    )


@frozen
class _Table:
    """The scenarios, and the cost of the cheapest formula in each."""

    answer: Designed
    costs: Vector
    best: Vector

    def rival(self, x: Vector, share: float, name: str) -> UnderPrices:
        spent = self.costs @ x
        regret = np.maximum(spent - self.best, 0.0)
        return UnderPrices(
            formula=formula_of(self.answer.brief, x, name),
            share=share,
            typical=float(self.answer.program.cost @ x),
            regret=float(regret.mean()),
            regret_95=float(np.quantile(regret, 0.95)),
            cost_band=_band(spent),
        )


def _band(values: Vector) -> tuple[float, float]:
    low, high = np.quantile(values, [0.05, 0.95])
    return float(low), float(high)


def _notes(brief: Brief) -> Sequence[TakenNear]:
    bending = dict.fromkeys(demand.name for demand in requirements(brief).demands if demand.bends)
    return (TakenNear(tuple(bending)),) if bending else ()
