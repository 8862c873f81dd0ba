"""A formula that keeps its limits although the figures of the ingredients are only known within ranges."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from contextlib import suppress
from functools import partial

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design, formula_of
from optiform.design.doses import dosed
from optiform.design.facts import NoneGuarded, TypicalOnly
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.program.build import Branch, Demand
from optiform.program.certificate import Certificate, NotCertified
from optiform.program.chance import Chance, Lots, halves
from optiform.program.conflict import explain
from optiform.program.linear import Program, Row, Vector
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch, searched
from optiform.program.robust import Against, doubts, guarded, protected, worst_value
from optiform.program.search import BestFormula, Infeasible
from optiform.program.solver import SolverName
from optiform.program.ties import optimal_pair
from optiform.program.usual import refuse_most, requirements
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.review.answer import Formulated, Report
from optiform.review.measures import setting_of
from optiform.review.report import report

LEAST_SHARE = 0.05  #: of what protection costs: a limit, or an exact figure, that has less of it is not named
MOST_EXACT = 3  #: ingredients of which it is looked up what exact figures would be worth
CHANCE_KEPT = 1e-5  #: relative: a limit is kept with its chance where it is missed by less


@frozen
class AtWorst:
    """One limit at the protected answer: its value with typical figures, and with figures at their worse end.

    `before` is the worst value of the unprotected answer. None where a value does not apply.
    """

    demand: Demand
    value: float | None
    worst: float | None
    before: float | None

    @property
    def broken_before(self) -> bool:
        """Whether the unprotected answer can miss the limit."""
        if self.before is None:
            return False
        slack = 1e-6 * (1 + abs(self.demand.target))
        return (
            self.before < self.demand.target - slack
            if self.demand.side == "low"
            else (self.before > self.demand.target + slack)
        )


@frozen
class Doubt:
    """What a limit asks of a formula so that it holds with its chance, and whose figures ask it.

    Attributes:
        demand: the limit.
        share: of what all limits cost at the answer, as a fraction: its price there times how far it keeps away.
        away: how far the typical value keeps away from the limit, in its unit.
        ingredient: whose lots make most of that, and `part` of their variance, as a fraction.
        evidence: how its figure is known.
    """

    demand: Demand
    share: float
    away: float
    ingredient: str
    part: float
    evidence: Evidence | None


@frozen
class Exact:
    """What the protection would cost, in the goal's unit, if all lots of an ingredient had its typical figures."""

    ingredient: str
    price: float


@frozen
class Protected(Formulated):
    """The best formula that keeps its limits although figures are wrong, and what that costs.

    Attributes:
        budget: how many figures of one limit may be at their worse end at once; None for all of them. Or the chance
            with which limits hold.
        objective: the goal's value, in its unit.
        price: what the protection costs against the unprotected answer, in the goal's unit. Below 0 only where
            something bends: the unprotected answer is then the best near itself, not of all.
        limits: every limit whose figures are in doubt.
        doubts: with a chance, the limits that what it costs is for, the dearest first.
        exact: with a chance, the ingredients whose exact figures would make it cheaper, the most so first.
        program: the linear program at rest.
        notes: limits that are kept only with typical figures. A figure without a range counts as exact.
    """

    brief: Brief
    budget: int | Chance | None
    report: Report
    objective: float
    price: float
    unprotected: Designed
    limits: tuple[AtWorst, ...]
    doubts: tuple[Doubt, ...]
    exact: tuple[Exact, ...]
    program: Program
    certificate: Certificate
    notes: tuple[TypicalOnly, ...] = ()


def protect(brief: Brief, budget: int | Chance | None = None, solver: SolverName = "highs") -> Protected | NoFormula:
    """The best formula whose limits hold for all figures in their ranges, or for any `budget` wrong ones per limit.

    Or, with a chance, whose limits hold in so many lots. Where nothing fits, the conflict lists the protected limits
    that clash; repairs are not given for them.

    Raises:
        BadInput: for a budget below 0.
        NotCertified: when the solver's claim does not stand up to recomputation, or a limit misses its chance.
    """
    if isinstance(budget, int) and budget < 0:
        raise BadInput([Fault(brief.title, "budget", str(budget), "a budget of zero or more figures")])
    return dosed(brief, lambda asked, _: _protect(asked, budget, solver), _formulas)


def _formulas(answer: Protected | NoFormula) -> tuple[Formula, ...]:
    return () if isinstance(answer, NoFormula) else (answer.report.formula,)


def _protect(brief: Brief, budget: int | Chance | None, solver: SolverName) -> Protected | NoFormula:
    refuse_most(brief)
    answer = design(brief, solver)
    if isinstance(answer, NoFormula):
        return answer
    brief = answer.brief
    try:
        against = Lots.of(budget, brief.mix) if isinstance(budget, Chance) else budget
        outcome = best_branch(requirements(brief), lambda branch: _searched(brief, branch, against, solver))
    except Unsettled as unsettled:
        return NoFormula(brief, (), (), None, str(unsettled), decided=False)
    if outcome.best is not None:
        return _told(answer, *outcome.best, against, solver)
    if outcome.undecided:
        return NoFormula(brief, (), (), None, outcome.undecided, decided=False)
    return _clash(brief, *outcome.infeasible[0], against, solver)


def _searched(
    brief: Brief, branch: Branch, budget: Against, solver: SolverName
) -> SolvedNode[BestFormula] | InfeasibleNode[Infeasible]:
    """A node with everything that is settled in it protected: what is open still is once its branch is an answer."""
    return searched(brief, branch, solver, lambda program, at: protected(program, branch, at, budget))


def _told(
    answer: Designed, asked: Sequence[Demand], solution: BestFormula, budget: Against, solver: SolverName
) -> Protected:
    brief = answer.brief
    before = brief.mix.vector(answer.report.formula)
    best = optimal_pair(solution.program, solution.point, solution.y, solver)[0][: len(solution.x)]
    held = all(demand.met(best) for demand in asked if demand.bends) and not _missed(asked, best, budget)
    x = best if held else solution.x
    if missed := _missed(asked, x, budget):
        raise NotCertified(f"not kept with the chance that was asked for: {missed}")
    priced = _doubts(brief, asked, solution, budget) if isinstance(budget, Lots) else ()
    return Protected(
        brief=brief,
        budget=budget.chance if isinstance(budget, Lots) else budget,
        report=report(formula_of(brief, x, "protected answer"), setting_of(brief)),
        objective=solution.value,
        price=brief.goal.sign * (solution.value - answer.objective),
        unprotected=answer,
        limits=tuple(_at_worst(asked, x, before, budget)),
        doubts=priced,
        exact=_exact(answer, priced, (before, x), budget, solver) if isinstance(budget, Lots) else (),
        program=solution.program,
        certificate=solution.certificate,
        notes=tuple(_notes(asked, x)),
    )


def _doubts(brief: Brief, asked: Sequence[Demand], solution: BestFormula, lots: Lots) -> tuple[Doubt, ...]:
    """What each limit costs at the answer, to first order: the price of its cuts times how far they keep it away."""
    prices: dict[int, float] = defaultdict(float)
    rows: dict[int, Row] = {}
    for row, price in zip(solution.program.rows, solution.y, strict=True):
        if row.key is not None and halves(asked[row.key], solution.x)[0].any():
            rows.setdefault(row.key, row)  # the limit itself stands before its cuts
            prices[row.key] += abs(float(price))
    costs = {k: prices[k] * abs(float(row.coefficients @ solution.point) - row.rhs) for k, row in rows.items()}
    total = sum(costs.values())
    dearest = sorted((k for k in costs if total > 0 and costs[k] >= LEAST_SHARE * total), key=lambda k: -costs[k])
    return tuple(_doubt(brief, asked[k], solution.x, lots, costs[k] / total) for k in dearest)


def _doubt(brief: Brief, demand: Demand, x: Vector, lots: Lots, share: float) -> Doubt:
    squares = (lots.parts @ (halves(demand, x)[0] * x)) ** 2
    most = int(np.argmax(squares))
    line = int(np.argmax(lots.parts[most] * x))
    value = demand.value(x)
    away = 0.0 if value is None else abs(value - demand.target)
    name, evidence = brief.mix.ingredients[line].name, demand.terms(x).evidence[line]
    return Doubt(demand, share, away, name, float(squares[most] / squares.sum()), evidence)


def _exact(
    answer: Designed, priced: Sequence[Doubt], points: Sequence[Vector], lots: Lots, solver: SolverName
) -> tuple[Exact, ...]:
    """Solved anew for each of those that make most of the doubt, before the protection or with it."""
    brief, sides = answer.brief, [(halves(doubt.demand, x)[0], x) for doubt in priced for x in points]
    squares = np.array([(lots.parts @ (half * x)) ** 2 for half, x in sides]).reshape(-1, len(lots.parts))
    parts = (squares / np.maximum(squares.sum(axis=1, keepdims=True), 1e-300)).sum(axis=0)
    prices = {}
    for k in [k for k in np.argsort(-parts)[:MOST_EXACT].tolist() if parts[k] > 0 and len(lots.parts) > 1]:
        rest = Lots(lots.chance, np.delete(lots.parts, k, axis=0))
        with suppress(Unsettled):
            outcome = best_branch(requirements(brief), partial(_searched, brief, budget=rest, solver=solver))
            if outcome.best is not None:
                name = brief.mix.ingredients[int(np.argmax(lots.parts[k]))].name
                prices[name] = brief.goal.sign * (outcome.best[1].value - answer.objective)
    return tuple(Exact(name, price) for name, price in sorted(prices.items(), key=lambda pair: pair[1]))


def _notes(asked: Sequence[Demand], x: Vector) -> Iterator[TypicalOnly]:
    """Limits that bend and whose model tells no range: nothing of them could be protected."""
    names = dict.fromkeys(demand.name for demand in asked if demand.bends and not doubts(demand, x).any())
    if names:
        yield TypicalOnly(tuple(names))


def _missed(asked: Sequence[Demand], x: Vector, budget: Against) -> str:
    """Limits that x does not keep with their chance, in words: a cone is proven by what it is at the answer."""
    points = _at_worst(asked, x, x, budget) if isinstance(budget, Lots) else ()
    return "; ".join(f"{point.demand.words}, {point.worst:.6g}" for point in points if _short(point) > CHANCE_KEPT)


def _short(point: AtWorst) -> float:
    """By how much a limit is missed, relative; not above 0 where it is kept or has no value."""
    if point.worst is None:
        return 0.0
    sign = 1.0 if point.demand.side == "low" else -1.0
    return sign * (point.demand.target - point.worst) / (1 + abs(point.demand.target))


def _at_worst(asked: Sequence[Demand], x: Vector, before: Vector, budget: Against) -> Iterator[AtWorst]:
    doubtful = [demand for demand in asked if doubts(demand, x).any()]
    for demand in doubtful:
        worst, then = (worst_value(demand, at, budget, len(doubtful)) for at in (x, before))
        yield AtWorst(demand, demand.value(x), worst, then)


def _clash(
    brief: Brief, asked: Sequence[Demand], nothing: Infeasible, budget: Against, solver: SolverName
) -> NoFormula:
    conflict = explain(nothing, asked, solver)
    clash = tuple(
        guarded(demand, budget) if doubts(demand, nothing.at).any() else demand for demand in conflict.demands
    )
    lots = budget.chance if isinstance(budget, Lots) else budget
    return NoFormula(brief, clash, (), conflict.certificate, NoneGuarded(lots))
