"""What a brief reaches for and what it limits: `[goal]` and `[limits]`, each property with its ends."""

import re

from optiform.brief.background import Background, formula_at
from optiform.brief.goal import TOWARDS, Goal, Nearest, NearestUsual
from optiform.brief.limits import Limit, no_value
from optiform.ingredients.formula import Formula
from optiform.properties.base import Property
from optiform.properties.phases import in_base
from optiform.properties.registry import find_property
from optiform.reading import keys
from optiform.reading.cells import Cells
from optiform.reading.plausible import note_share
from optiform.reading.units import parse_quantity
from optiform.rules.usual import usual_ranges

LIMITS = 100  # of one brief
ENDS: keys.Keys = {"low": keys.number(), "high": keys.number()}
GOAL: keys.Keys = {
    "lowest": keys.one_of("property"),
    "highest": keys.one_of("property"),
    "nearest": keys.text('"reference", "usual", or a formula file'),
}
NO_GOAL = Nearest(Formula("", ()))  # stands in for a faulty one, and needs no figure
_OF_BASE = re.compile(r"\s+of (?:the )?base\s*$")


def goal_of(background: Background) -> Goal:
    """What the brief reaches for.

    Where it does not say: with limits the lowest cost; without, today's formula, which stands until something else is
    wished, or where there is none what is usual in its kind.
    """
    cells = background.cells
    if "goal" not in cells and not cells.table.get("limits"):
        if "reference" in cells:
            return Nearest(background.reference or Formula("", ()))
        if background.kind and background.usual:
            return NearestUsual(background.kind)
    goal = cells.table.get("goal", {"lowest": "cost"})
    words = 'one of: lowest = a property, highest = a property, nearest = a formula file or "usual"'
    if isinstance(goal, dict) and not set(goal) <= set(GOAL):
        cells.within("goal", GOAL)
        return NO_GOAL
    if not isinstance(goal, dict) or len(goal) != 1:
        told = "[goal]: write only one of lowest, highest and nearest." if isinstance(goal, dict) and goal else ""
        cells.fault("[goal]", goal, words, told)
        return NO_GOAL
    ((direction, name),) = goal.items()
    if direction == "nearest" and name == "usual":
        if not background.kind:
            cells.fault("[goal] nearest", "usual", "a key kind, which says what is usual")
        return NearestUsual(background.kind)
    if direction == "nearest":
        return Nearest(_target(background, cells.within("goal")) or Formula("", ()))
    wanted = _property(background, "[goal]", str(name))
    return TOWARDS[direction](wanted) if wanted else NO_GOAL


def _target(background: Background, goal: Cells) -> Formula | None:
    if goal.table["nearest"] != "reference":
        return formula_at(background.path, goal, "nearest", background.catalogue)
    if "reference" not in background.cells:
        goal.fault("nearest", "reference", "a key reference that names a formula file")
    return background.reference


def limits_of(background: Background) -> tuple[Limit, ...]:
    """What the brief limits, in its order."""
    limits = background.cells.within("limits", expected="a table of properties")
    if len(limits.table) > LIMITS:
        limits.fault("", f"{len(limits.table)} limits", f"at most {LIMITS}")
        return ()
    return tuple(limit for name in limits.table if (limit := _limit(background, limits, name)))


def _limit(background: Background, limits: Cells, name: str) -> Limit | None:
    wanted = _property(background, limits.place(name), name)
    if wanted is None:
        return None
    ends = ends_of(limits, name)
    ends.only(ENDS)
    if not set(ends.table) & set(ENDS):
        if not ends.table:
            ends.fault("", ends.table, "low, high or both")
        return None
    of_base = [asks_of_base(end) for end in ends.table.values()]
    if any(of_base):
        if not all(of_base):
            ends.fault("", ends.table, "low and high both of base, or neither")
        based = _in_base(ends, wanted)
        if based is None:
            return None
        wanted = based
    low, high = read_ends(ends, wanted.unit, _usual(background.kind, wanted.name))
    if low is not None and high is not None and low > high:
        ends.fault("", f"low {low:g} and high {high:g}", "low not above high")
    if expected := no_value(wanted, low, high):
        ends.fault("", ends.table, expected)
    return Limit(wanted, low, high)


def _property(background: Background, place: str, name: str) -> Property | None:
    items = background.catalogue.ingredients.values()
    try:
        return find_property(name, background.currency, items, background.reference)
    except ValueError as error:
        told = f"{place}: {name} is an ingredient: write its amount under [lines]."
        background.cells.fault(place, name, str(error), told if background.catalogue.called(name) else "")
        return None


def _in_base(ends: Cells, wanted: Property) -> Property | None:
    """The same amount per 100 of the base, where it is not of the base already."""
    if wanted.basis == "base":
        return wanted
    try:
        return in_base(wanted)
    except ValueError as error:
        ends.fault("", ends.table, f"of base only {error}")
        return None


def _usual(kind: str, name: str) -> tuple[float, float] | None:
    """The usual range of a property in a kind of product; None where the tables have none."""
    return next(((row.low, row.high) for row in usual_ranges(kind) if row.property == name), None)


# -- ends, of limits and of lines --------------------------------------------------------------------------------------


def ends_of(cells: Cells, name: str) -> Cells:
    """The ends that stand under a name; a single amount is both."""
    ends = cells.table[name]
    return Cells(ends if isinstance(ends, dict) else {"low": ends, "high": ends}, cells.inspection, cells.place(name))


def asks_of_base(end: object) -> bool:
    """Whether an amount is one of the base.

    Example:
        >>> asks_of_base("5 % of base"), asks_of_base("5 %"), asks_of_base(5)
        (True, False, False)
    """
    return isinstance(end, str) and bool(_OF_BASE.search(end))


def read_ends(ends: Cells, unit: str, usual: tuple[float, float] | None) -> tuple[float | None, float | None]:
    """The low and the high end, in `unit`; None for one that is not there, or that cannot be read, which is noted.

    Where both are the same amount it is read, and told, once. An end in % that may have been meant as a fraction is
    noted, unless it is as little as is `usual` there.
    """
    low, high = map(ends.table.get, ENDS)
    if low is not None and low is high:
        end = _end(ends, "", low, unit, usual)
        return end, end
    return _end(ends, "low", low, unit, usual), _end(ends, "high", high, unit, usual)


def _end(ends: Cells, side: str, end: object, unit: str, usual: tuple[float, float] | None) -> float | None:
    if end is None:
        return None
    try:
        value = parse_quantity(_OF_BASE.sub("", end) if isinstance(end, str) else end, unit)
    except ValueError as error:
        ends.fault(side, end, str(error))
        return None
    if unit == "%":
        note_share(ends.inspection.file, ends.place(side), end, value, usual)
    return value
