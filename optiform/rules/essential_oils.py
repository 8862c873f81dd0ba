"""Which allergens an essential oil usually holds: what to ask its supplier about, never what its label says."""

from collections.abc import Iterator

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.allergens import Allergen, allergens, lists_allergens
from optiform.rules.law import Scope


@frozen
class Typical:
    """How much of an allergen an oil usually holds, % of the oil."""

    allergen: str
    low: float
    high: float
    evidence: Evidence
    source: str


def typical_allergens(item: Ingredient) -> tuple[Typical, ...]:
    """What an oil whose supplier's list is not known usually holds, the most first; nothing where the list is known.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> orange = read_catalogue().ingredients["sweet orange essential oil"]
        >>> [(row.allergen, row.low, row.high) for row in typical_allergens(orange)][:1]
        [('Limonene', 92.0, 97.0)]

    Source: Ph. Eur. 6.2, sweet orange oil, as quoted (E-EP-ORANGE): limonene 92 to 97 %.
    """
    if lists_allergens(item):
        return ()
    names = {part.inci for part in item.constituents if part.share.figure >= 50}
    rows = (
        Typical(row["allergen"], float(row["low"]), float(row["high"]), Evidence(row["evidence"]), row["source"])
        for row in shipped("essential_oils")
        if row["of"] in names
    )
    return tuple(sorted(rows, key=lambda row: -row.high))


def perhaps_due(item: Ingredient, percent: float, scope: Scope) -> Iterator[Typical]:
    """Of an oil at so many % of a product: the allergens that some market may want named, by the upper end.

    Example:
        >>> import datetime
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> orange = read_catalogue().ingredients["sweet orange essential oil"]
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 26))
        >>> [[(row.allergen, row.high) for row in perhaps_due(orange, at, scope)] for at in (0.0103, 0.0104)]
        [[], [('Limonene', 97.0)]]

    Source: Ph. Eur. 6.2, sweet orange oil, as quoted (E-EP-ORANGE): limonene up to 97 %; of the product 0.01 % is
        named.
    """
    entries = {entry.name: entry for entry in allergens()}
    for row in typical_allergens(item):
        if row.high * percent / 100 > _threshold(entries[row.allergen], scope):
            yield row


def _threshold(entry: Allergen, scope: Scope) -> float:
    """The least % of a product from which a market of the scope wants the name; infinite where none does."""
    listed = any(entry.listed(market, scope.date) for market in scope.markets)
    return entry.thresholds.get(scope.use, float("inf")) if listed else float("inf")
