"""What else is nearly as good as the best: how far each candidate can move, and formulas unlike each other."""

from collections.abc import Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.design import design, formula_of
from optiform.design.doses import too_little
from optiform.design.facts import Fact
from optiform.ingredients.formula import Formula
from optiform.program.build import Branch, program_at
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.parametric import lowest
from optiform.program.solver import solve
from optiform.program.spread import Spread, apart, distances, ranges
from optiform.program.usual import refuse_most, requirements
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen

MOST_OPTIONS = 5


@frozen
class Leeway:
    """The least and the most of one candidate among all formulas that are good enough, and what the best has, in %."""

    ingredient: str
    low: float
    best: float
    high: float


@frozen
class Option:
    """A formula that is good enough: the goal's value, and the percentage points that change hands.

    `from_best` counts against the best formula, `nearest` against the nearest of the options before it.
    """

    formula: Formula
    value: float
    from_best: float
    nearest: float


@frozen
class Alternatives(Ranked[Option]):
    """Everything nearly as good as the best.

    Attributes:
        value: the best value of the goal; `unit` its unit.
        percent: how much worse counts as good enough, and `slack` the same in the goal's unit.
        leeway: one row per candidate, in the brief's order.
        options: the best first, then each as unlike those before it as the extreme formulas allow.
        residual: the worst residual of the proofs of all ranges.
    """

    brief: Brief
    value: float
    unit: str
    percent: float
    slack: float
    leeway: tuple[Leeway, ...]
    options: tuple[Option, ...]
    residual: float
    notes: tuple[Fact, ...]

    def ranked(self) -> tuple[Option, ...]:
        """The best first, then what is unlike those before."""
        return self.options


def alternatives(brief: Brief, percent: float) -> Alternatives | NoFormula:
    """How far every candidate can move, and up to five unlike formulas, while the goal stays within `percent` of best.

    Args:
        brief: its goal may be any.
        percent: of the best value; for a formula nearest to another, percentage points more that change hands.

    Raises:
        BadInput: when `percent` is below 0 or no number.
        NotCertified: when a proof does not check.
    """
    if not (np.isfinite(percent) and percent >= 0):
        raise BadInput([Fault(brief.title, "within", f"{percent:g}", "a share of the best value in %, at least 0")])
    refuse_most(brief)
    answer = design(brief)
    if isinstance(answer, NoFormula):
        return answer
    brief, count = answer.brief, len(brief.mix.ingredients)
    best = brief.mix.vector(answer.report.formula)
    slack = percent if brief.goal.formula else percent / 100 * abs(answer.objective)
    needed = requirements(brief)
    program, optimum, room = _good_enough(brief, answer.program, best, answer.objective, slack)
    frame = program.with_rows([row for row in program.rows if row.key is None])

    def solve_branch(branch: Branch) -> Spread | None:
        try:
            return ranges(program_at(frame, [demand.held(best) for demand in branch], best), optimum, room, count)
        except (NoPoint, ValueError):  # nothing of this branch is that good
            return None

    spread = lowest(needed, solve_branch, lambda x: x[:count]) if needed.disjunctions else None
    spread = spread or ranges(program, optimum, room, count)
    pool = [best, *(x[:count] for x in spread.points)]
    bent = [demand for demand in needed.demands if demand.bends]
    kept = [x for x in pool if all(demand.met(x) for demand in bent) and not _too_little(brief, x)] or [best]
    bends = bool(bent) or bool(brief.goal.wanted and brief.goal.wanted.bends)
    return Alternatives(
        brief=brief,
        value=answer.objective,
        unit=brief.goal.unit,
        percent=percent,
        slack=slack,
        leeway=tuple(_leeway(brief, spread, best)),
        options=tuple(_options(brief, kept)),
        residual=spread.residual,
        notes=(Fact.HELD_AS_BEST,) if bends else (),
    )


def _too_little(brief: Brief, x: Vector) -> bool:
    """Whether a line is below its least dose: no maker would weigh that option."""
    return any(True for _ in too_little(brief, [formula_of(brief, x, "")]))


def _good_enough(
    brief: Brief, program: Program, best: Vector, value: float, slack: float
) -> tuple[Program, float, float]:
    """The program with the goal as its cost, the best cost, and the slack.

    For a ratio v = p x / g x the cost is (p - (v + slack) g) x, at most 0 where the ratio is at most v + slack.
    """
    if brief.goal.wanted is None:
        return program, solve(program).value, slack
    sign = brief.goal.sign
    terms = brief.goal.wanted.terms(brief.mix, best)
    return program.with_cost(sign * terms.numerator - (sign * value + slack) * terms.denominator), 0.0, 0.0


def _leeway(brief: Brief, spread: Spread, best: Vector) -> Iterator[Leeway]:
    for item, low, share, high in zip(brief.mix.ingredients, spread.low, best, spread.high, strict=True):
        yield Leeway(item.name, 100 * float(min(low, share)), 100 * float(share), 100 * float(max(high, share)))


def _options(brief: Brief, pool: Sequence[Vector]) -> Iterator[Option]:
    chosen = apart(pool, MOST_OPTIONS)
    for number, index in enumerate(chosen):
        before = np.array([pool[other] for other in chosen[:number]] or [pool[index]])
        away = distances(before, pool[index])
        name = f"option {number + 1}" if number else "best"
        yield Option(
            formula_of(brief, pool[index], name), _value(brief, pool[index]), float(away[0]), float(away.min())
        )


def _value(brief: Brief, x: Vector) -> float:
    value = brief.goal.value_at(brief.mix, x)
    return float("nan") if value is None else value
