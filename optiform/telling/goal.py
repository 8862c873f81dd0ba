"""A goal in words: what a better formula would be, and in what it is counted."""

from math import ceil

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


def gap_of_usual(goal: Goal, gap: float, far: float) -> str:
    """By how much another formula could be nearer to what is usual at most, for a maker: of how far this one is off.

    Args:
        goal: of the brief.
        gap: by how much, in steps from usual.
        far: how far from usual the formula is, in the same steps.

    Returns:
        Whole percents, rounded up; empty for another goal, and where that says nothing.

    Example:
        >>> gap_of_usual(NearestUsual("lotion"), 0.041, 5.6), gap_of_usual(NearestUsual("lotion"), 0.4, 0.3)
        ('1 %', '')
    """
    return f"{ceil(100 * gap / far)} %" if isinstance(goal, NearestUsual) and gap < far else ""


def unit_of_goal(goal: Goal) -> str:
    """In what the goal is counted, a share with what it is of."""
    if isinstance(goal, NearestUsual):
        return goal.unit
    return "% of the jar" if goal.wanted is None else measured.of_what(goal.wanted.unit, goal.wanted.basis)
