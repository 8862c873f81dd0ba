"""From a brief to the best formula that meets it, why it is that one, and the proof.

`best` finds the formula, `explained` says why; a page shows the first while the second is being worked out.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import Designed, Impossible
from optiform.design.conflicts import impossible
from optiform.design.unsure import unsure
from optiform.design.why import Why
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES
from optiform.program.build import Demand, requirements
from optiform.program.certificate import Certificate, NotCertified, certify_optimal
from optiform.program.search import Found
from optiform.program.solver import SolverName, solve
from optiform.program.ties import optimal_pair
from optiform.program.tolerances import UNUSED
from optiform.program.ways import best_formula
from optiform.properties.base import Vector
from optiform.properties.solubility import OutOfRange
from optiform.reading.faults import Unsettled
from optiform.reading.values import Comparable
from optiform.review.measures import setting_of
from optiform.review.report import report

PRINTED = 1e-5  # relative: what rounding may make of a goal between the program and the printed formula


@dataclass(frozen=True, eq=False, repr=False)
class Best(Comparable):
    """The best formula for a brief and its proof, as in `Designed`; `asked` and `found` are what it rests on.

    `value` is the goal's, read off the formula as it is printed.
    """

    brief: Brief
    formula: Formula
    tie: Formula | None
    certificate: Certificate
    x: Vector
    asked: Sequence[Demand]
    found: Found
    value: float


def design(brief: Brief, solver: SolverName = "highs") -> Designed | Impossible:
    """The best formula for a brief and why it is that one, or why there is none.

    Raises:
        NotCertified: when the solver's claim does not stand up to recomputation: an error, not an answer.
    """
    found = best(brief, solver)
    return found if isinstance(found, Impossible) else explained(found)


def best(brief: Brief, solver: SolverName = "highs") -> Best | Impossible:
    """The best formula for a brief, or why there is none.

    Raises:
        NotCertified: as in `design`.
    """
    needed = requirements(brief)
    try:
        sought = best_formula(brief, needed, solver)
    except Unsettled as unsettled:
        return Impossible(brief, (), (), None, str(unsettled), decided=False)
    if sought.best is not None:
        return _best(brief, *sought.best, solver)
    if sought.restless:
        return Impossible(brief, (), (), None, sought.restless, decided=False)
    return impossible(brief, needed, sought.ends, solver)


def _best(brief: Brief, asked: Sequence[Demand], found: Found, solver: SolverName) -> Best | Impossible:
    x, other = _agreed(found, asked, solver)
    certificate = certify_optimal(found.program, _point(found, x), found.y)
    if not certificate.holds:
        x, other, certificate = found.x, None, found.certificate
    tie = formula_of(brief, other, "as good") if other is not None else None
    formula = formula_of(brief, x, "answer")
    value = reached(brief, formula)
    if value is None:
        reason = f"{brief.goal.words} has no value for the formula that was found; ask for some of what it is a mean of"
        return Impossible(brief, (), (), None, reason, decided=False)
    if abs(value - found.value) > PRINTED * (1 + abs(value)):
        raise NotCertified(f"{brief.goal.words}: {found.value:g} in the program, {value:g} in the formula as printed")
    return Best(brief, formula, tie, certificate, x, asked, found, value)


def reached(brief: Brief, formula: Formula) -> float | None:
    """What a formula reaches of the brief's goal, in the goal's unit; None where the goal has no value there."""
    try:
        return brief.goal.value_at(brief.mix, brief.mix.vector(formula))
    except OutOfRange:
        return None


def explained(answer: Best) -> Designed:
    """The best formula looked at from every side: what holds it there and at what price, and what would come in."""
    brief, found, needed = answer.brief, answer.found, requirements(answer.brief)
    why = Why(brief, answer.asked, found)
    return Designed(
        brief=brief,
        report=report(answer.formula, setting_of(brief)),
        objective=answer.value,
        program=found.program,
        binding=tuple(why.bindings()) if found.scale > 0 else (),
        entries=tuple(why.entries(answer.x)),
        tie=answer.tie,
        certificate=answer.certificate,
        local=found.local,
        unsure=unsure(brief, needed.near(answer.x), found, answer.x, bool(needed.choices)),
        gap=found.gap,
        unpriced=why.unpriced() if found.scale > 0 else (),
    )


def formula_of(brief: Brief, x: Vector, name: str) -> Formula:
    """The lines in use, phase by phase and largest first, rescaled over rounding so that they sum to one."""
    mix = brief.mix
    used = sorted(np.flatnonzero(x > UNUSED), key=lambda j: (PHASES.index(mix.phases[j]), -x[j]))
    total = float(x[used].sum())
    return Formula(name, tuple(Line(mix.ingredients[j], float(x[j]) / total, mix.phases[j]) for j in used))


def _agreed(found: Found, asked: Sequence[Demand], solver: SolverName) -> tuple[Vector, Vector | None]:
    """The optimum every solver agrees on, and another as good if there is one; both keep limits that bend."""
    count = len(found.x)
    first, other = optimal_pair(found.program, found.point, found.y, solver)
    best, rival = first[:count], other[:count] if other is not None else None
    bending = [demand for demand in asked if demand.bends]
    if bending and not all(demand.met(best) for demand in bending):
        best = found.x
    if rival is not None and not all(demand.met(rival) for demand in bending):
        rival = None
    if rival is not None and np.abs(rival - best).max() <= 1e-5:
        rival = None
    return best, rival


def _point(found: Found, best: Vector) -> Vector:
    """The full point of the program: the fractions, and the helper columns that belong to them."""
    helpers = len(found.point) - len(best)
    if not helpers:
        return best
    fixed = found.program.with_bounds(
        np.concatenate([best, found.program.low[len(best) :]]), np.concatenate([best, found.program.high[len(best) :]])
    )
    try:
        solved = solve(fixed)
    except NotCertified:
        return found.point
    return solved.x if solved.feasible else found.point
