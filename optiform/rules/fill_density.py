"""What a mL of a finished product weighs with the air it holds, by kind, from fill_densities.csv."""

from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped


@frozen
class FillDensity:
    """One row of fill_densities.csv: a state of a kind (whipped, stirred, pressed) and what it weighs, g/mL."""

    kind: str
    state: str
    low: float
    typical: float
    high: float
    evidence: Evidence


@cache
def fill_densities(kind: str) -> tuple[FillDensity, ...]:
    """The states that a kind is filled in; none for a kind of which nothing is known.

    Example:
        >>> [(row.state, row.typical) for row in fill_densities("body butter")], fill_densities("no such kind")
        ([('whipped', 0.65)], ())

    Source: none: custom of the trade.
    """
    return tuple(
        FillDensity(
            row["kind"], row["state"], float(row["low"]), float(row["typical"]), float(row["high"]),
            Evidence(row["evidence"]),
        )
        for row in shipped("fill_densities")
        if row["kind"] == kind
    )  # fmt: skip
