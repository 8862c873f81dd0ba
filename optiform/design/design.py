"""From a brief to the best formula that meets it, why it is that one, and the proof.

`best` finds the formula, `explained` says why; a page shows the first while the second is being worked out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import field, replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import NearestUsual
from optiform.brief.towards import towards_usual
from optiform.brief.usual import grain_of
from optiform.design.answer import Binding, Designed, Look, NoFormula, Reasons
from optiform.design.doses import dosed
from optiform.design.facts import Fact, NoValue, TooFew
from optiform.design.missing_parts import wanting
from optiform.design.unsure import unsure
from optiform.design.why import Why
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES
from optiform.program.build import Demand, Requirements, firm_requirements
from optiform.program.certificate import Certificate, NotCertified, certify_optimal
from optiform.program.optimum import Cover, Outcome, best_formula
from optiform.program.search import BestFormula, Infeasible
from optiform.program.solver import SolverName, solve
from optiform.program.ties import optimal_pair
from optiform.program.tolerances import UNUSED
from optiform.program.usual import Eased, Usual, eased_at, missed_ways, requirements, usual_of, with_doses
from optiform.properties.base import Vector
from optiform.properties.solubility import OutOfRange
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.reading.values import Bound, Comparable
from optiform.review.measures import setting_of
from optiform.review.report import report

PRINTED = 1e-5  # relative: what rounding may make of a goal between the program and the printed formula


@frozen
class Best(Comparable):
    """The best formula for a brief and its proof, as in `Designed`; `asked` and `solution` are what it rests on.

    `value` is the goal's, read off the formula as it is printed. `gave`: as in `Designed`. `cover`: what the search
    ended with.
    """

    brief: Brief
    formula: Formula
    tie: Formula | None
    certificate: Certificate
    x: Vector
    asked: Sequence[Demand]
    solution: BestFormula
    value: float
    gave: tuple[Eased, ...] = ()
    cover: Cover | None = field(default=None, repr=False, compare=False)


def design(brief: Brief, solver: SolverName = "highs", look: Look = "whole") -> Designed | NoFormula:
    """The best formula for a brief and why it is that one, or why there is none; `look` as in `explained`.

    What another solver than HiGHS says is priced at once, by HiGHS: where they do not agree there is no answer.

    Raises:
        NotCertified: when the solver's claim does not stand up to recomputation: an error, not an answer.
    """
    answer = best(brief, solver)
    if isinstance(answer, NoFormula):
        return answer
    return explained(answer, look) if solver == "highs" else explained(answer, look).settled()


def best(brief: Brief, solver: SolverName = "highs", why: bool = True) -> Best | NoFormula:
    """The best formula for a brief, or why there is none; no line of it is below its least dose, where that can be.

    One that is nearest to usual is a first trial: of few lines in round figures, where there are such. What clashes
    where there is none takes most of the time then: not `why`, and it is only known that there is none.

    Raises:
        NotCertified: as in `design`.
    """
    answer = unrounded(brief, solver, why)
    if isinstance(answer, NoFormula):
        return answer
    if isinstance(brief.goal, NearestUsual):
        answer = _in_round_figures(answer, solver)
    return replace(answer, gave=(*answer.gave, *missed_ways(answer.brief, answer.x)))


def _in_round_figures(answer: Best, solver: SolverName) -> Best:
    """The first trial; the gap of its `solution` is how much nearer the formula is that need not be round."""
    from optiform.design.first_trial import A_NOTE, first_trial, noted

    x = first_trial(answer.brief, answer.x, answer.gave, solver)
    if x is None:
        return answer
    formula = formula_of(answer.brief, x, "answer")
    while rules := noted(answer.brief, formula):
        asked = replace(answer.brief, doses=(*answer.brief.doses, *rules))
        again = first_trial(asked, answer.x, answer.gave, solver)
        if again is None:
            break
        trial = formula_of(asked, again, "answer")
        before, after = reached(asked, formula), reached(asked, trial)
        if before is None or after is None or after - before > A_NOTE:
            break
        answer, x, formula = replace(answer, brief=asked), again, trial
    value = reached(answer.brief, formula)
    if value is None:
        return answer
    gap = max(0.0, value - answer.value) + (answer.solution.gap or 0.0)
    solution = replace(answer.solution, gap=gap)
    gave = tuple(replace(end, reached=end.demand.value(x) or end.reached) for end in answer.gave)
    return replace(answer, formula=formula, tie=None, x=x, value=value, solution=solution, gave=gave)


def unrounded(brief: Brief, solver: SolverName = "highs", why: bool = True) -> Best | NoFormula:
    """As `best`, nearest to usual to the last digit.

    Raises:
        NotCertified: as in `design`.
    """
    return dosed(brief, lambda asked, before: best_fractions(asked, solver, before, why), _formulas, _no_more_gave)


def _formulas(answer: Best | NoFormula) -> tuple[Formula, ...]:
    return () if isinstance(answer, NoFormula) else (answer.formula,)


def _no_more_gave(answer: Best | NoFormula, before: Best | NoFormula) -> bool:
    """Whether doses leave what is usual as it was."""
    gave, gave_before = ({end.demand.words for end in x.gave} for x in (answer, before) if isinstance(x, Best))
    return gave <= gave_before


def best_fractions(
    brief: Brief, solver: SolverName = "highs", before: Best | NoFormula | None = None, why: bool = True
) -> Best | NoFormula:
    """As `best`, of fractions of any size: a line may be too little to weigh, and none is round.

    `before`: the answer to the same brief with fewer doses asked, from which the search goes on; where there is no
    answer with more of them, what clashes is not looked for.

    Raises:
        NotCertified: as in `design`.
    """
    if brief.most_ingredients is not None:
        return _of_few(replace(brief, most_ingredients=None), brief.most_ingredients, solver, why)
    if parts := wanting(brief):
        return NoFormula(brief, (), (), None, lacking=parts)
    needed, usual = requirements(brief), usual_of(brief)
    try:
        outcome = best_formula(brief, needed, solver, before=before.cover if isinstance(before, Best) else None)
        if outcome.best is None and usual.demands:
            needed, usual, outcome = _eased(brief, usual, solver)
    except Unsettled as unsettled:
        return NoFormula(brief, (), (), None, str(unsettled), decided=False)
    if outcome.best is not None:
        answer = _best(brief, *outcome.best, solver)
        return replace(answer, gave=usual.gave, cover=outcome.cover) if isinstance(answer, Best) else answer
    if outcome.undecided:
        return NoFormula(brief, (), (), None, outcome.undecided, decided=False)
    if not why or before is not None:  # where doses do not fit, the answer without them stands
        proven = all(end.proven for _, end in outcome.infeasible)
        return NoFormula(brief, (), (), None, "" if proven else Fact.NOT_PROVEN)
    from optiform.design.conflicts import impossible  # what most briefs do not ask is not loaded

    return impossible(brief, needed, outcome.infeasible, solver)


def _of_few(brief: Brief, most: int, solver: SolverName, why: bool) -> Best | NoFormula:
    """The best formula of at most so many ingredients, or why there is none."""
    from optiform.design.fewer import closed_to_most, fewest_of

    free = best(brief, solver, why)
    if isinstance(free, NoFormula) or len(free.formula.lines) <= most:
        return free
    try:
        for needed in (requirements(brief), firm_requirements(brief)):
            closed = closed_to_most(brief, needed, most, solver)
            if closed is not None:  # that no more come in is the maker's word, and what then gives is told
                return best(
                    replace(closed, usual=tuple(replace(limit, needed=False) for limit in closed.usual)), solver
                )
        least = fewest_of(brief, firm_requirements(brief), solver)
    except Unsettled as unsettled:
        return NoFormula(brief, (), (), None, str(unsettled), decided=False)
    assert least is not None  # the formula at hand is one
    return NoFormula(brief, (), (), None, TooFew(most, least))


def _eased(
    brief: Brief, usual: Usual, solver: SolverName
) -> tuple[Requirements, Usual, Outcome[BestFormula, Infeasible]]:  # fmt: skip
    """The search where doses or limits that bend leave no room for what is usual, of which the straight ones alone did.

    What is usual gives beside the doses, or as far as the best formula without it needs.
    """
    if isinstance(brief.goal, NearestUsual):
        needed, eased = with_doses(brief)
        outcome = best_formula(brief, needed, solver)
        if outcome.best is not None:
            return needed, eased, outcome
    firm = firm_requirements(brief)
    outcome = best_formula(brief, firm, solver)
    if outcome.best is None:
        return firm, Usual(()), outcome
    eased = eased_at(usual.demands, outcome.best[1].x)
    needed = replace(firm, rest=(*firm.rest, *eased.demands))
    within = best_formula(brief, needed, solver)
    return (needed, eased, within) if within.best is not None else (firm, eased, outcome)


def _best(brief: Brief, asked: Sequence[Demand], solution: BestFormula, solver: SolverName) -> Best | NoFormula:
    x, other = _agreed(solution, asked, solver, _preferred(brief))
    certificate = certify_optimal(solution.program, _point(solution, x), solution.y)
    if not certificate.holds:
        x, other, certificate = solution.x, None, solution.certificate
    tie = formula_of(brief, other, "as good") if other is not None else None
    formula = formula_of(brief, x, "answer")
    value = reached(brief, formula)
    if value is None:
        return NoFormula(brief, (), (), None, NoValue(brief.goal.words), decided=False)
    if abs(value - solution.value) > PRINTED * (1 + abs(value)):
        raise NotCertified(
            f"{brief.goal.words}: {solution.value:g} in the program, {value:g} in the formula as printed"
        )
    return Best(brief, formula, tie, certificate, x, asked, solution, value)


def reached(brief: Brief, formula: Formula) -> float | None:
    """What a formula reaches of the brief's goal, in the goal's unit; None where the goal has no value there."""
    try:
        return brief.goal.value_at(brief.mix, brief.mix.vector(formula))
    except OutOfRange:
        return None


def explained(answer: Best, look: Look = "whole") -> Designed:
    """The best formula looked at from every side: what holds it there and at what price, and what would come in.

    That takes longer than all the rest, so it is worked out where it is looked at; `look` says how much of it. The
    formula, its proof and its report are at hand.
    """
    brief, solution = answer.brief, answer.solution
    priced = not isinstance(brief.goal, NearestUsual)
    return Designed(
        brief=brief,
        report=report(answer.formula, setting_of(brief)),
        objective=answer.value,
        program=solution.program,
        tie=answer.tie,
        certificate=answer.certificate,
        local=solution.local,
        gap=solution.gap,
        gave=answer.gave,
        look=look if priced else "whole",
        why=Bound(_reasons, (answer, look)) if priced else Bound(Reasons),
    )


def _reasons(answer: Best, look: Look) -> Reasons:
    """Why an answer is the best. One that is nearest to usual has none: half ranges are no money."""
    brief, solution, needed = answer.brief, answer.solution, requirements(answer.brief)
    why, several = Why(brief, answer.asked, solution), bool(needed.disjunctions)
    return Reasons(
        binding=tuple(_bindings(why, look)) if solution.scale > 0 else (),
        entries=tuple(why.entries(answer.x)) if look == "whole" else (),
        unsure=unsure(brief, needed.near(answer.x), solution, answer.x, several, priced=look != "savings"),
        unpriced=why.unpriced() if solution.scale > 0 and look != "savings" else (),
    )


def _bindings(why: Why, look: Look) -> Iterator[Binding]:
    return why.savings() if look == "savings" else why.bindings(ranged=look == "whole")


def formula_of(brief: Brief, x: Vector, name: str) -> Formula:
    """The lines in use, phase by phase and largest first, rescaled over rounding so that they sum to one."""
    mix = brief.mix
    names = [item.name for item in mix.ingredients]
    used = np.flatnonzero(x > UNUSED).tolist()
    used.sort(key=lambda j: (PHASES.index(mix.phases[j]), *largest_first(float(x[j]), names[j])))
    total = float(x[used].sum())
    return Formula(name, tuple(Line(mix.ingredients[j], float(x[j]) / total, mix.phases[j]) for j in used))


def _preferred(brief: Brief) -> Vector | None:
    """Between formulas that are as good: what makers of the kind take, then the cheaper; nothing is filled up with.

    None where what is usual does not hold, and for the goal that says it itself.
    """
    if not brief.usual or isinstance(brief.goal, NearestUsual):
        return None
    grain = grain_of(brief.kind, brief.mix, brief.ranges, brief.limits, brief.reference)
    return towards_usual(brief.kind, grain, brief.mix, brief.scope, brief.currency).ranked(brief.mix)


def _agreed(
    solution: BestFormula, asked: Sequence[Demand], solver: SolverName, preferred: Vector | None
) -> tuple[Vector, Vector | None]:  # fmt: skip
    """The optimum every solver agrees on, and another as good if there is one; both keep limits that bend."""
    count = len(solution.x)
    first, other = optimal_pair(solution.program, solution.point, solution.y, solver, preferred)
    best, rival = first[:count], other[:count] if other is not None else None
    bending = [demand for demand in asked if demand.bends]
    if bending and not all(demand.met(best) for demand in bending):
        best = solution.x
    if rival is not None and not all(demand.met(rival) for demand in bending):
        rival = None
    if rival is not None and np.abs(rival - best).max() <= 1e-5:
        rival = None
    return best, rival


def _point(solution: BestFormula, best: Vector) -> Vector:
    """The full point of the program: the fractions, and the helper columns that belong to them."""
    helpers = len(solution.point) - len(best)
    if not helpers:
        return best
    fixed = solution.program.with_bounds(
        np.concatenate([best, solution.program.low[len(best) :]]),
        np.concatenate([best, solution.program.high[len(best) :]]),
    )
    try:
        solved = solve(fixed)
    except NotCertified:
        return solution.point
    return solved.x if solved.feasible else solution.point
