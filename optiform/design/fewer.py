"""At most so many ingredients: which they are, so that the formula of these alone is the best of all.

A whole program with a used-or-not column for every candidate finds them (program/usage.py), with a switch for each way
of what can be kept in several (program/disjunctive.py). With its other candidates closed the brief is then an ordinary
one, and its answer as good as the program's. A goal that is a ratio is taken as it counts at the last answer until it
stays (Dinkelbach 1967, which asks nothing of what formulas there are).
"""

from collections.abc import Callable, Hashable
from dataclasses import replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.around import only
from optiform.design.facts import Fact, NotAmongBest
from optiform.program.build import Requirements
from optiform.program.disjunctive import with_ways
from optiform.program.integer import solve_whole
from optiform.program.linear import Program, Vector
from optiform.program.objective import Objective
from optiform.program.search import straight_goal
from optiform.program.solver import SolverName
from optiform.program.tolerances import UNUSED
from optiform.program.usage import fewest, used_or_not
from optiform.reading.faults import Unsettled

ROUNDS = 30
SAME = 1e-9  # relative: a goal that moved no further is at rest


def closed_to_most(brief: Brief, needed: Requirements, most: int, solver: SolverName) -> Brief | None:
    """The brief with only the candidates of its best formula of at most so many; None where no formula is so short.

    Raises:
        Unsettled: where a limit or the goal bends: what is best of all choices is then not known.
    """
    return closed_to_best(brief, needed, lambda program, _: program, solver, NotAmongBest(most), most)


def closed_to_best(
    brief: Brief,
    needed: Requirements,
    cut: Callable[[Program, int], Program],
    solver: SolverName,
    reason: Hashable = Fact.NOT_IN_OPTION,
    most: int | None = None,
) -> Brief | None:
    """The brief with only the candidates of its best formula of those that a cut leaves; None where it leaves none.

    Args:
        brief: what is wanted.
        needed: what is asked.
        cut: adds rows to a program whose last columns, as many as it is told, say which candidates are used.
        solver: which branch and bound.
        reason: why the other candidates are left out.
        most: at most so many candidates.

    Raises:
        Unsettled: where a limit or the goal bends: what is best of all choices is then not known.
    """
    if not straight_goal(brief) or any(demand.bends for demand in needed.demands):
        which = f"which {most} ingredients are" if most else "which other ingredients are next"
        raise Unsettled(f"{which} best, with something in the brief that bends")
    count = len(brief.mix.ingredients)
    x, before = np.zeros(count), np.inf
    for _ in range(ROUNDS):
        whole = cut(used_or_not(_program(brief, needed, x), dict.fromkeys(range(count), 0.0), most), count)
        best = solve_whole(whole, solver)
        if best is None:
            return None
        x = best.x[:count]
        value = brief.goal.sign * (brief.goal.value_at(brief.mix, x) or 0.0)
        if abs(value - before) <= SAME * (1 + abs(value)):
            break
        before = value
    taken = {item.name for item, share in zip(brief.mix.ingredients, x, strict=True) if share > UNUSED}
    others = [item.name for item in brief.mix.ingredients if item.name not in taken]
    left_out = tuple((name, reason) for name in others)
    return replace(only(brief, frozenset(taken)), left_out=(*brief.left_out, *left_out))


def fewest_of(brief: Brief, needed: Requirements, solver: SolverName) -> int | None:
    """The least number of ingredients that keeps what is straight; None where nothing does."""
    count = len(brief.mix.ingredients)
    program = _program(brief, needed, np.zeros(count))
    least = fewest(program, dict.fromkeys(range(count), 0.0), (), solver)
    return None if least is None else least[0]


def _program(brief: Brief, needed: Requirements, x: Vector) -> Program:
    return with_ways(Objective.of(brief).base(x), needed, x)
