"""How much of an antioxidant is usual in the oils, from oxidation.csv, and how fast the oils of a formula oxidise."""

from collections.abc import Iterable

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.quantities import amount

USUAL_ONE = "mixed tocopherols"  #: what makers take where nothing is said. Common practice, no source.


@frozen
class Dose:
    """From how much to how much of an antioxidant is usual, % of the oil."""

    of: str
    low: float
    high: float
    evidence: Evidence


def usual_dose(names: Iterable[str]) -> Dose:
    """The usual dose of the first of these antioxidants that has one, else of the one that makers take.

    Example:
        >>> dose = usual_dose(["shea butter, refined"])
        >>> dose.of, dose.low, dose.high
        ('mixed tocopherols', 0.05, 0.2)
        >>> usual_dose(["rosemary extract"]).low
        0.15

    Source: rosemary extract at 1500 ppm against 200 ppm BHT (CH-S57): 0.15 %. The dose of tocopherols is from memory.
    """
    rows = [
        row for row in shipped("oxidation") if row["property"] == "antioxidant dose" and row["unit"] == "% of the oil"
    ]
    doses = {row["of"]: row for row in reversed(rows) if row["low"] and row["high"]}
    row = next(doses[name] for name in (*names, USUAL_ONE) if name in doses)
    return Dose(row["of"], float(row["low"]), float(row["high"]), Evidence(row["evidence"]))


def oxidising(formula: Formula) -> tuple[float, float]:
    """C18:2 and twice C18:3 of the oils, %, and how much of the whole the oils are, %.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> share, oils = oxidising(mixed({"sunflower oil": 20, "mineral oil": 20, "water": 60}))
        >>> round(share), round(oils)
        (35, 40)

    Source: none: custom of the trade.
    """
    brought = [(amount(x.ingredient, "oxidation"), amount(x.ingredient, "oil"), x.fraction) for x in formula.lines]
    index, oils = sum(a * f for a, _, f in brought), sum(o * f for _, o, f in brought)
    return (100 * index / oils if oils else 0.0), 100 * oils
