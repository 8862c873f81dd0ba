"""From fractions to what the scale can show: whole steps that sum to the batch and still keep every limit."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Nearest, NearestUsual
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.facts import Fact, LeastDose, UsualGave
from optiform.design.scale import Scale, batch_grams, scale_of
from optiform.design.steps import Miss, Proof, Unweighable, Weighed, Weighing
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES
from optiform.program.build import OWN_KINDS, Branch, Demand, Requirements, firm_requirements
from optiform.program.linear import Program, Vector
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch, bound_of
from optiform.program.search import BestFormula, search
from optiform.program.solver import SolverName
from optiform.program.tolerances import UNUSED
from optiform.program.tree import SATISFIED
from optiform.program.usage import Opened, fewest, in_steps, least_miss, solve_opening, used_or_not
from optiform.program.usual import eased_at, requirements, usual_of
from optiform.properties.cost import cost
from optiform.reading.faults import Inspection, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.review.measures import setting_of
from optiform.review.report import report

ROUNDS = 20  # for limits that bend and goals that are ratios
AT_REST = 1e-9  # relative


@frozen
class _Wishes:
    """What is asked beside the brief, candidates by number. Lines in `own` are open from the start."""

    most: int | None
    least: dict[int, float]
    apart: tuple[tuple[int, int], ...]
    own: tuple[int, ...] = ()


@frozen
class _Task:
    """What every step of the search needs: the unrounded answer, the formula drift is counted from, and the wishes."""

    brief: Brief
    best: Designed
    rounded: Formula
    wishes: _Wishes
    scale: Scale
    solver: SolverName

    def whole(self, program: Program) -> Program:
        """The program with steps, and with used-or-not columns where they are asked for."""
        stepped, wishes = in_steps(program, self.scale.sizes, self.scale.total), self.wishes
        return used_or_not(stepped, wishes.least, wishes.most, wishes.apart) if wishes.least else stepped

    @property
    def smallest(self) -> Vector:
        """The smallest fraction of each candidate that is used at all."""
        return np.array(
            [max(size / self.scale.total, self.wishes.least.get(j, 0.0)) for j, size in self.scale.sizes.items()]
        )

    def steps(self, point: Vector, whole: Program) -> Vector:
        """How many of its own steps each candidate has: the whole columns of `in_steps` come first."""
        first = min(whole.whole)
        return np.round(point[first : first + len(self.scale.sizes)])


def weigh(
    brief: Brief,
    most_ingredients: int | None = None,
    least_dose: float | None = None,
    apart: Sequence[tuple[str, str]] = (),
    step: float | None = None,
    fine_step: float | None = None,
    solver: SolverName = "highs",
) -> Weighed | Unweighable | NoFormula:
    """The best formula for a brief that the scale can show.

    Args:
        brief: what is asked; its batch and scale are taken.
        most_ingredients: how many lines there may be.
        least_dose: mass fraction that a line has if it is used at all. A line with a least amount of its own in the
            brief keeps that.
        apart: pairs of candidates that may not be used together.
        step: what the scale shows, g; the brief's scale if not given.
        fine_step: what a second, fine scale shows, g. Lines below 100 steps of the first one go on it; together they
            make a whole number of its steps, as the large lines do.
        solver: HiGHS, or CBC as the second opinion.

    Raises:
        BadInput: with every name, step or number that cannot be used.
        NotCertified: when a claim of the solver does not stand up to recomputation.
    """
    if brief.most_ingredients is not None:
        most_ingredients = min(brief.most_ingredients, most_ingredients or brief.most_ingredients)
        brief = replace(brief, most_ingredients=None)
    names = [item.name for item in brief.mix.ingredients]
    coarse = brief.step if step is None else step
    _inspect(brief, names, most_ingredients, least_dose, apart, coarse, fine_step)
    least = {j: 0.0 if own.low > 0 else least_dose or 0.0 for j, own in enumerate(brief.ranges)}
    pairs = tuple((names.index(a), names.index(b)) for a, b in apart)
    wishes = _Wishes(most_ingredients, least if most_ingredients is not None or least_dose or pairs else {}, pairs)
    best = design(brief, solver)
    if isinstance(best, NoFormula):
        return best
    brief, rounded = best.brief, best.report.formula
    scale = scale_of(brief, coarse, fine_step, rounded)
    scale = replace(scale, notes=(*scale.notes, *_least_note(brief, least_dose)))
    return _best(_Task(brief, best, rounded, wishes, scale, solver))


def _least_note(brief: Brief, least: float | None) -> Iterator[LeastDose]:
    """A minimum can cost more than rounding does, so it is named."""
    if least:
        yield LeastDose(100 * least, 1000 * brief.batch * least, own=any(x.low > 0 for x in brief.ranges))


def round_formula(
    brief: Brief,
    formula: Formula,
    step: float | None = None,
    fine_step: float | None = None,
    solver: SolverName = "highs",
) -> Weighed | Unweighable | NoFormula:
    """The formula that the scale can show, keeps the brief's limits and is nearest to a given one.

    Nearest: the least percentage points change hands. The goal of the brief is set aside; a line that the given
    formula has and the brief has no candidate for is given up. The other arguments are those of `weigh`.

    Raises:
        BadInput: with every step that cannot be used.
        NotCertified: when a claim of the solver does not stand up to recomputation.
    """
    brief = replace(brief, goal=Nearest(formula), most_ingredients=None)
    names = [item.name for item in brief.mix.ingredients]
    coarse = brief.step if step is None else step
    _inspect(brief, names, None, None, (), coarse, fine_step)
    best = design(brief, solver)
    if isinstance(best, NoFormula):
        return best
    own = tuple(j for j, name in enumerate(names) if formula.fraction(name) > UNUSED)
    wishes, scale = _Wishes(None, {}, (), own), scale_of(brief, coarse, fine_step, formula)
    return _best(_Task(brief, best, formula, wishes, scale, solver))


# -- the scale ---------------------------------------------------------------------------------------------------------


def _inspect(
    brief: Brief,
    names: Sequence[str],
    most: int | None,
    least: float | None,
    apart: Sequence[tuple[str, str]],
    step: float,
    fine: float | None,
) -> None:
    inspection = Inspection(brief.title)
    for name in dict.fromkeys(name for pair in apart for name in pair if name not in names):
        inspection.fault("apart", name, f"a candidate of the brief; near: {'; '.join(brief.catalogue.near(name))}")
    for a, b in apart:
        if a == b:
            inspection.fault("apart", a, "two different candidates")
    if most is not None and most < 1:
        inspection.fault("most ingredients", most, "1 or more")
    if least is not None and not 0 < least <= 1:
        inspection.fault("least dose", least, "a mass fraction above 0 and up to 1")
    if not step > 0:
        inspection.fault("scale", step, "a step above 0 g")
    elif Fraction(str(step)) > batch_grams(brief):
        inspection.fault("scale", f"{step:g} g", f"a step that the batch of {float(batch_grams(brief)):g} g is made of")
    if fine is not None and not (0 < fine < step and (Fraction(str(step)) / Fraction(str(fine))).denominator == 1):
        inspection.fault("fine scale", f"{fine:g} g", f"a step that goes into {step:g} g a whole number of times")
    inspection.finish()


# -- the search --------------------------------------------------------------------------------------------------------


def _best(task: _Task) -> Weighed | Unweighable:
    """The best in whole steps; what is usual gives way to them, and is told."""
    answer, usual = _within(task, requirements(task.brief)), usual_of(task.brief).demands
    if isinstance(answer, Weighed):
        return answer
    free = _within(task, firm_requirements(task.brief)) if usual else answer
    if isinstance(free, Unweighable):
        return replace(answer, fewest=_fewest(task)) if answer.decided else answer
    gave = eased_at(usual, task.brief.mix.vector(free.report.formula)).gave
    return replace(free, notes=(*free.notes, UsualGave(tuple(gave))))


def _within(task: _Task, needed: Requirements) -> Weighed | Unweighable:
    ceiling = np.inf

    def solve_node(branch: Branch) -> SolvedNode[Weighed] | InfeasibleNode[Unweighable]:
        nonlocal ceiling
        node = _node(task, branch, ceiling)
        if isinstance(node, SolvedNode) and all(
            needed.missed(place, node.x) <= SATISFIED for place in needed.disjunctions
        ):
            ceiling = min(ceiling, node.value)  # the tree takes it for an answer
        return node

    try:
        outcome = best_branch(needed, solve_node, any_way=True)
    except Unsettled as unsettled:
        return Unweighable(task.brief, str(unsettled), notes=task.scale.notes, decided=False)
    if outcome.best is not None:
        return outcome.best[1]
    if outcome.undecided:
        return Unweighable(task.brief, outcome.undecided, notes=task.scale.notes, decided=False)
    return outcome.infeasible[0][1]


def _fewest(task: _Task) -> int | None:
    """The least number of ingredients that keeps every limit in any way, where their number was asked about."""
    needed = firm_requirements(task.brief)
    if task.wishes.most is None or any(demand.bends for demand in needed.demands):
        return None
    try:
        outcome = best_branch(needed, lambda branch: _counted(task, branch), any_way=True)
    except Unsettled:
        return None
    return None if outcome.best is None or outcome.undecided else outcome.best[1]


def _counted(task: _Task, branch: Branch) -> SolvedNode[int] | InfeasibleNode[str]:
    """The least number of ingredients that keeps these demands."""
    solution, nothing = search(task.brief, branch, task.solver), InfeasibleNode("nothing fits")
    if not isinstance(solution, BestFormula):
        return nothing
    counted = fewest(solution.program, task.wishes.least, task.wishes.apart, task.solver)
    if counted is None:
        return nothing
    number, x = counted
    return SolvedNode(number, x[: len(solution.x)], float(number), float(number))


def _node(task: _Task, branch: Branch, ceiling: float) -> SolvedNode[Weighed] | InfeasibleNode[Unweighable]:
    weighed = _case(task, branch, ceiling)
    if isinstance(weighed, Unweighable):
        return InfeasibleNode(weighed)
    sign = task.brief.goal.sign
    x = task.brief.mix.vector(weighed.report.formula)
    bends = any(demand.bends for demand in branch)
    return SolvedNode(weighed, x, sign * weighed.proof.value, -np.inf if bends else sign * weighed.proof.bound)


def _case(task: _Task, asked: Sequence[Demand], ceiling: float) -> Weighed | Unweighable:
    """The best weighable formula for one way to read the brief: again and again where terms or the goal move.

    Where no formula of that way reaches `ceiling`, weighable or not, none is looked for.
    """
    solution = search(task.brief, asked, task.solver)
    if not isinstance(solution, BestFormula):
        return Unweighable(task.brief, Fact.WAY_EMPTY, notes=task.scale.notes)
    if bound_of(task.brief, solution) >= ceiling:
        return Unweighable(task.brief, Fact.WAY_NO_WORSE, notes=task.scale.notes)
    program = task.scale.applied(solution.program)
    for _ in range(ROUNDS):
        whole = task.whole(program)
        opened = solve_opening(program, whole, task.smallest, task.wishes.own, task.solver)
        if opened is None:
            return _missed(task, asked, program)
        steps = task.steps(opened.solution.x, whole)
        x = task.scale.fractions(steps)
        if task.brief.goal.wanted and task.brief.goal.wanted.terms(task.brief.mix, x).at(x) is None:
            raise Unsettled(f"{task.brief.goal.words} is a mean over something that the steps let go to nothing")
        moved = _aimed(task.brief, program, x)
        at_rest = abs(float((moved.cost - program.cost)[: len(x)] @ x)) <= AT_REST * (1 + abs(opened.solution.value))
        if at_rest and all(demand.met(x) for demand in asked):
            return _weighed(task, asked, steps, opened)
        program = _bent(moved, asked, x)
    words = "; ".join(demand.words for demand in asked if demand.bends) or task.brief.goal.words
    raise Unsettled(f"the steps did not come to rest on: {words}")


def _aimed(brief: Brief, program: Program, x: Vector) -> Program:
    """The program with the goal as it counts at x: for a ratio, the next step of Dinkelbach (1967)."""
    wanted = brief.goal.wanted
    if wanted is None:
        return program
    terms = wanted.terms(brief.mix, x)
    ratio = 0.0 if terms.whole else terms.at(x) or 0.0
    sign = brief.goal.sign
    return program.with_cost(sign * (terms.numerator - ratio * terms.denominator))


def _bent(program: Program, asked: Sequence[Demand], x: Vector) -> Program:
    """The program with the rows of limits that bend as they hold at x."""
    extra = len(program.columns) - len(x)
    rows = [
        asked[row.key].row(x, row.key).widened(extra) if row.key is not None and asked[row.key].bends else row
        for row in program.rows
    ]
    return program.with_rows(rows)


# -- what is told ------------------------------------------------------------------------------------------------------


def _weighed(task: _Task, asked: Sequence[Demand], steps: Vector, opened: Opened) -> Weighed:
    brief, x = task.brief, task.scale.fractions(steps)
    formula, money = _formula(brief, x), cost(brief.currency)
    near = (Fact.NEAR_GRAMS,) if any(demand.bends for demand in asked) else ()
    return Weighed(
        brief=brief,
        lines=_lines(task, steps),
        batch=task.scale.total * task.scale.unit,
        report=report(formula, setting_of(brief)),
        rounded=task.rounded,
        unit=brief.goal.unit,
        proof=_proof(brief, x, opened),
        unrounded=task.best.objective,
        cost=money.of(formula),
        cost_unrounded=money.of(task.rounded),
        notes=(*task.scale.notes, *near),
    )


def _proof(brief: Brief, x: Vector, opened: Opened) -> Proof:
    solution, goal = opened.solution, brief.goal
    if isinstance(goal, Nearest | NearestUsual):
        value, size = goal.value_at(brief.mix, x), 1.0
    else:
        terms = goal.wanted.terms(brief.mix, x)
        value, size = terms.at(x) or 0.0, float(terms.denominator @ x)
    sign = brief.goal.sign
    ahead = (solution.value - solution.bound) / size  # for a ratio: at the size of its group here
    bound = value - sign * ahead
    return Proof(value, bound, abs(ahead) / (1 + abs(value)), solution.certificate, int(opened.among.sum()))


def _formula(brief: Brief, x: Vector) -> Formula:
    mix, used = brief.mix, np.flatnonzero(x > 0).tolist()
    used.sort(key=lambda j: (PHASES.index(mix.phases[j]), *largest_first(float(x[j]), mix.ingredients[j].name)))
    return Formula("weighed", tuple(Line(mix.ingredients[j], float(x[j]), mix.phases[j]) for j in used))


def _lines(task: _Task, steps: Vector) -> tuple[Weighing, ...]:
    """What to weigh, phase by phase and heaviest first."""
    mix, scale, lines = task.brief.mix, task.scale, []
    batch = float(scale.total * scale.unit)
    for j, size in scale.sizes.items():
        before, step = task.rounded.fraction(mix.ingredients[j].name), size * scale.unit
        if steps[j] > 0 or before > UNUSED:
            drift = float(int(steps[j]) * step) - before * batch
            points = 100 * drift / batch
            lines.append(Weighing(mix.ingredients[j].name, mix.phases[j], int(steps[j]), step, drift, points))
    lines.sort(key=lambda line: (PHASES.index(line.phase), *largest_first(float(line.grams), line.ingredient)))
    return tuple(lines)


def _missed(task: _Task, asked: Sequence[Demand], program: Program) -> Unweighable:
    """Nothing fits in whole steps: the formula in whole steps that breaks the brief's own limits least."""
    own = [row for row in program.rows if row.key is not None and asked[row.key].kind in OWN_KINDS]
    firm = task.whole(program.with_rows([row for row in program.rows if all(row is not other for other in own)]))
    extra = len(firm.columns) - len(program.columns)
    whole = firm.with_rows([*firm.rows, *(row.widened(extra) for row in own)])
    prices = {len(firm.rows) + k: 1.0 / (float(np.abs(row.coefficients).max()) or 1.0) for k, row in enumerate(own)}
    point = least_miss(whole, prices, task.solver)
    if point is None:
        return Unweighable(task.brief, Fact.NO_STEPS, notes=task.scale.notes)
    steps = task.steps(point, whole)
    x = task.scale.fractions(steps)
    return Unweighable(
        brief=task.brief,
        reason=Fact.NO_GRAMS,
        misses=tuple(_misses(asked, x)),
        nearest=_lines(task, steps),
        batch=task.scale.total * task.scale.unit,
        report=report(_formula(task.brief, x), setting_of(task.brief)),
        notes=task.scale.notes,
    )


def _misses(asked: Sequence[Demand], x: Vector) -> list[Miss]:
    broken = [(demand, demand.value(x)) for demand in asked if not demand.met(x)]
    return [Miss(demand, value, abs(value - demand.target)) for demand, value in broken if value is not None]
