"""Limits that a formula could miss because figures are ranges, and what being sure of them costs, in words."""

from collections.abc import Sequence

from optiform.brief.goal import Goal
from optiform.design.answer import Unsure
from optiform.program.build import Demand
from optiform.telling.goal import better, unit_of_goal
from optiform.telling.measured import rounded
from optiform.telling.parts import number


def could_be_missed(unsure: Unsure, most: int | None = None) -> str:
    """Which limits, each with how far off it could be, the farthest off first.

    Args:
        unsure: of the answer.
        most: how many are named; all of them if None.
    """
    told = [
        f"Could be missed, as {why}: {_named(missed, most)}."
        for why, missed in (("figures are ranges", unsure.limits), ("firmness is only estimated", unsure.unguarded))
        if missed
    ]
    return " ".join([*told, *(["A trial tells."] if unsure.unguarded else [])])


def _named(missed: Sequence[tuple[Demand, float]], most: int | None) -> str:
    farthest = sorted(missed, key=lambda one: -_off(*one))
    named = ", ".join(
        f"{demand.name} ({number(rounded(worst, demand.basis))}, not {number(demand.target)})"
        for demand, worst in farthest[:most]
    )
    left = 0 if most is None else len(missed) - most
    return f"{named}{f' and {left} more' if left > 0 else ''}"


def _off(demand: Demand, worst: float) -> float:
    """How far a limit could be missed, relative to its target."""
    return abs(worst - demand.target) / (abs(demand.target) or 1.0)


def price_of_sureness(unsure: Unsure, goal: Goal) -> str:
    """What it would cost to be sure of these limits, or that no formula is; nothing of what cannot be guarded."""
    if not unsure.limits:
        return ""
    them = "all but firmness" if unsure.unguarded else "it" if len(unsure.limits) == 1 else "them"
    if not unsure.decided:
        return f"What it would cost to be sure of {them} is not decided."
    none = "No formula near this one is sure" if unsure.at_most else "No formula is sure"
    if unsure.price is None:
        return f"{none} of {them}, not even if only one figure in each is wrong."
    most = "at most " if unsure.at_most else ""
    price = f"{most}{0.0 if unsure.price < 1e-9 else unsure.price:.3g} {unit_of_goal(goal)}".rstrip()
    cost = f"cost {price} more" if better(goal) == "cheaper" else f"make the goal worse by {price}"
    if unsure.budget is None:
        return f"To be sure of {them} would {cost}."
    return f"{none} of {them} with every figure at its worse end. To be sure with any one figure wrong would {cost}."
