"""The least of an ingredient that does anything: less is on no maker's batch sheet, and is not proposed."""

from functools import lru_cache

import numpy as np

from optiform.brief.brief import Brief
from optiform.properties.base import Vector
from optiform.rules.usual import usual_use

ENOUGH = 0.01  #: mass fraction from which no line is too little, whatever is usual. Common practice, no source.


@lru_cache(maxsize=64)
def least_doses(brief: Brief) -> Vector:
    """The least mass fraction at which each candidate is proposed, where any of it is. Shape (lines,).

    What is usual at least in the brief's kind, up to `ENOUGH`, and one step of the scale; today's share where that is
    less. 0 where the maker says that there is some of it, or that there is less, and wherever nothing usual holds.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> demo = read_brief(DEMO / "brief.toml")
        >>> least = dict(zip((item.name for item in demo.mix.ingredients), least_doses(demo).tolist()))
        >>> least["polysorbate 60"], least["shea butter, refined"], least["xanthan gum"]
        (0.005, 0.01, 0.0)
    """
    holds = bool(brief.usual) or any(span.source == "usual" for span in brief.ranges)
    least = np.zeros(len(brief.ranges))
    for j, (item, span) in enumerate(zip(brief.mix.ingredients, brief.ranges, strict=True)):
        usual, today = usual_use(brief.kind, item), brief.reference.fraction(item.name) if brief.reference else 0.0
        dose = 0.0 if usual is None else min(ENOUGH, (usual.low or 0.0) / 100)
        dose = max(dose, brief.step / (1000 * brief.batch))
        if holds and span.low <= 0 and dose < span.high:
            least[j] = min(dose, today) if today > 0 else dose
    return least
