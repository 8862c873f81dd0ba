"""Rounding to the scale is no breach: what the scale alone can do to a value leaves a limit kept.

That holds for the brief's own limits and for what is usual. Law, certificates, maximum uses and the doses of
preservatives have no such room: they are rounded inward, so that they are kept to the figure.
"""

import numpy as np

from optiform.ingredients.ingredient import DOSED, Ingredient
from optiform.properties.base import Mix, Property, Vector
from optiform.rules.law import counting

MOST = 0.02  #: of a limit's value: a scale too coarse for a batch is a breach all the same
INWARD = "preservative"  #: a share of what is bought as this has no room


def rounding(wanted: Property, mix: Mix, x: Vector, half: float) -> float:
    """How far off a value can be where every line is off by half a step of the scale, in the property's unit.

    The sum over the lines in use of what half a step more, or less, of that line does to the value; the whole is
    then brought back to one. Every line counts: each of them is rounded.

    Args:
        wanted: the property.
        mix: the lines.
        x: their mass fractions, shape (lines,).
        half: half a step, as a mass fraction of the batch; 0 where no scale is known.

    Example: a step of 1 g in 1 kg, and 80 % of water phase.
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> from optiform.properties.phases import phase_share
        >>> items = tuple(read_catalogue().ingredients[name] for name in ("water", "sweet almond oil"))
        >>> mix, x = Mix(items, ("water phase", "oil phase")), np.array([0.8, 0.2])
        >>> round(rounding(phase_share("water phase"), mix, x, 0.0005), 3)
        0.05
    """
    value = wanted.at(mix, x).at(x)
    if value is None or half == 0 or INWARD in wanted.name:
        return 0.0
    lines = [int(j) for j in np.flatnonzero(x > 0)]
    return sum((max(_moved(wanted, mix, x, value, j, step) for step in (half, -half)) for j in lines), 0.0)


def _moved(wanted: Property, mix: Mix, x: Vector, value: float, j: int, step: float) -> float:
    """By how much a value changes where line j changes by a step."""
    y = x.copy()
    y[j] = max(0.0, y[j] + step)
    y /= y.sum()
    then = wanted.at(mix, y).at(y)
    return 0.0 if then is None else abs(then - value)


def allowed(limit: float, off: float) -> float:
    """How far beyond a limit a value may lie that rounding puts `off` so much.

    Example:
        >>> allowed(20.0, 0.05), allowed(20.0, 3.0), allowed(0.0, 3.0)
        (0.05, 0.4, 0.0)
    """
    return min(off, MOST * abs(limit))


def capped(item: Ingredient) -> bool:
    """Whether an ingredient is dosed, or the law of any market or its maker gives it a most: no figure is rounded up.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> [capped(read_catalogue().ingredients[name]) for name in ("salicylic acid", "fragrance oil", "water")]
        [True, True, False]
    """
    if item.functions[0] in DOSED or item.value("maximum use") is not None:
        return True
    return any(rule.hard and rule.content(item) > 0 for rule in counting([item]))


def apart(value: float, *limits: float | None, digits: int = 4) -> str:
    """A value in as many digits as show that it is none of the limits it misses.

    Example:
        >>> apart(4.99993, 5.0, 8.0), apart(4.5, 5.0, 8.0)
        ('4.9999', '4.5')
    """
    ends = {f"{end:g}" for end in limits if end is not None}
    written = (f"{value:.{count}g}" for count in range(digits, 17))
    return next((words for words in written if words not in ends), f"{value:g}")
