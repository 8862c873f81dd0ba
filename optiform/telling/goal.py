"""A goal in words: what a better formula would be, and in what it is counted."""

from optiform.brief.goal import Goal, Lowest, NearestUsual
from optiform.telling import measured
from optiform.telling.parts import Level, Sentence


def better(goal: Goal) -> str:
    """What a better formula would be, by the goal."""
    if goal.formula is not None:
        return f"nearer to {goal.formula.name}"
    if isinstance(goal, NearestUsual):
        return "nearer to what is usual"
    if goal.wanted is not None and goal.wanted.name == "cost":
        return "cheaper" if isinstance(goal, Lowest) else "dearer"
    return f"{'lower' if isinstance(goal, Lowest) else 'higher'} in {goal.wanted.name}" if goal.wanted else "better"


def steps_from_usual(goal: Goal) -> tuple[Sentence, ...]:
    """What a step is in which a formula is counted as near to what is usual; nothing for another goal."""
    words = "One step from usual is as far as from a usual value to the end of its usual range; all are added up."
    return (Sentence(words, Level.NOTE),) if isinstance(goal, NearestUsual) else ()


def unit_of_goal(goal: Goal) -> str:
    """In what the goal is counted, a share with what it is of."""
    if isinstance(goal, NearestUsual):
        return goal.unit
    return "% of the jar" if goal.wanted is None else measured.of_what(goal.wanted.unit, goal.wanted.basis)
