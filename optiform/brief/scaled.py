"""A brief's own limits on firmness, on the scale that a maker's readings fit: one firmness wherever it is asked for."""

from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.goal import Highest, Lowest
from optiform.ingredients.formula import Formula
from optiform.properties.base import Property
from optiform.properties.firmness import ASSUMED, Exponents
from optiform.properties.tangent_planes import firmness

NAME = "firmness at "


def on_scale(brief: Brief, known: Exponents) -> Brief:
    """The brief with its limits on firmness, and its goal if that is one, by these exponents.

    Without a formula of today, and with what is assumed, it stays as it is.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.properties.firmness import CORNERS, Scale
        >>> from optiform.reading.paths import DEMO
        >>> limited = read_brief(DEMO / "brief.toml").with_limit("firmness at 35 degC", high=60)
        >>> steep = on_scale(limited, Exponents(Scale(3.5), CORNERS, ASSUMED.rests_on))
        >>> [round(each.limits[-1].property.of(each.reference), 1) for each in (limited, steep)]
        [22.2, 12.2]
    """
    today = brief.reference
    if today is None or known is ASSUMED or not asks_firmness(brief):
        return brief
    limits = tuple(replace(limit, property=_scaled(limit.property, today, known)) for limit in brief.limits)
    goal = brief.goal
    if isinstance(goal, Lowest | Highest):
        goal = replace(goal, wanted=_scaled(goal.wanted, today, known))
    return replace(brief, limits=limits, goal=goal)


def asks_firmness(brief: Brief) -> bool:
    """Whether a limit of the brief, or its goal, is a firmness.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> brief = read_brief(DEMO / "brief.toml")
        >>> asks_firmness(brief), asks_firmness(brief.with_goal(lowest="firmness at 20 degC"))
        (False, True)
    """
    asked = (brief.goal.wanted, *(limit.property for limit in brief.limits))
    return any(wanted is not None and wanted.name.startswith(NAME) for wanted in asked)


def _scaled(wanted: Property, today: Formula, known: Exponents) -> Property:
    if not wanted.name.startswith(NAME):
        return wanted
    return firmness(today, float(wanted.name.removeprefix(NAME).split()[0]), known)
