"""How much of one ingredient does what another does, from equivalents.csv: emulsifying, thickening, preserving.

A row says how much of an ingredient stands for one part of its measure's yardstick (emulsifying wax, xanthan gum, ...).
What has no row is not known to stand in for anything: silence is no permission.
"""

from collections.abc import Mapping
from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped

HOLDS_GRAINS = "holds grains"


@frozen
class Equivalent:
    """One row of equivalents.csv.

    Attributes:
        measure: what is counted: `emulsifying`, `thickening`, ...
        like: what a replacement has to have in common with what it replaces, in words; empty for nothing.
        low, dose, high: parts of it that do what one part of the yardstick does.
        changes: what a maker will notice.
    """

    measure: str
    like: str
    low: float
    dose: float
    high: float
    source: str
    evidence: Evidence
    changes: str

    @property
    def strength(self) -> float:
        """What one part of it does, in parts of the yardstick."""
        return 1 / self.dose

    def stands_for(self, other: "Equivalent", grains: bool) -> bool:
        """Whether it can do what the other does; `grains`: there are some in the product that have to be held up.

        Example:
            >>> known = equivalents("thickening")
            >>> cellulose, xanthan = known["hydroxyethylcellulose"], known["xanthan gum"]
            >>> cellulose.stands_for(xanthan, grains=True), cellulose.stands_for(xanthan, grains=False)
            (False, True)
        """
        return self.like == other.like or not other.like or (other.like == HOLDS_GRAINS and not grains)


@cache
def equivalents(measure: str) -> Mapping[str, Equivalent]:
    """What is known for one measure, by ingredient.

    Example:
        >>> equivalents("hardening")["candelilla wax"].dose  # half of it does what beeswax does
        0.5
        >>> equivalents("no such measure")
        {}

    Source: makers on candelilla wax in place of beeswax (X-S53): 0.45 to 0.55 of it.
    """
    return {row["ingredient"]: _row(row) for row in shipped("equivalents") if row["measure"] == measure}


def _row(row: Mapping[str, str]) -> Equivalent:
    dose = float(row["typical"])
    return Equivalent(
        measure=row["measure"],
        like=row["like"],
        low=float(row["low"] or dose),
        dose=dose,
        high=float(row["high"] or dose),
        source=row["source"],
        evidence=Evidence(row["evidence"]),
        changes=row["changes"],
    )
