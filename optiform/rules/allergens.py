"""Fragrance allergens that a label has to name, and how much of each an ingredient brings.

Two things bring an allergen: a constituent that is a member of its entry (lavender oil, benzyl alcohol), and the
supplier's list of a fragrance or essential oil, kept in the maker's own table under `allergen NAME (%)`.
"""

import datetime
from collections.abc import Callable
from functools import cache

from optiform.ingredients.allergen_columns import COLUMN, members
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.markets import country


@frozen
class Allergen:
    """An entry of allergens.csv: what a label names, the members that count towards it, and from which content.

    Attributes:
        members: in lower case, the label name among them.
        era: `first` (named before Regulation (EU) 2023/1545), `long` (added by it) or `prohibited`.
        start: first day for new products, where the tables know one.
        thresholds: % of the product by use; the name is due above it. Empty for what is prohibited.
    """

    name: str
    members: tuple[str, ...]
    era: str
    start: datetime.date | None
    thresholds: dict[str, float]
    group: bool
    reference: str
    source: str
    evidence: Evidence
    note: str

    def listed(self, market: str, date: datetime.date) -> bool:
        """Whether this market asks a new product of this date to name it.

        The GB list is the one from before Regulation (EU) 2023/1545; for the US no rule is known.
        """
        if self.era == "prohibited" or country(market) == "US":
            return False
        return self.era == "first" or (market == "EU" and self.start is not None and date >= self.start)

    def content(self, item: Ingredient, end: Callable[[Value], float]) -> float:
        """% of an ingredient that is this allergen, at one end of each range.

        Where both its constituents and its supplier's list tell of the allergen, the larger figure counts: it is the
        same substance told twice.
        """
        declared = sum(end(part.share) for part in item.constituents if part.inci.casefold() in self.members)
        return max(declared, sum(map(end, self.listed_shares(item))))

    def listed_shares(self, item: Ingredient) -> list[Value]:
        """The shares that the supplier's list of an ingredient gives for this allergen and its members, %."""
        return [value for member in self.members if (value := item.value(COLUMN + member))]


def lists_allergens(item: Ingredient) -> bool:
    """Whether the maker has entered a supplier's allergen list for it.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> any(map(lists_allergens, read_catalogue().ingredients.values()))  # lists come from suppliers alone
        False

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return any(name.startswith(COLUMN) for name, _ in item.values)


@cache
def allergens() -> tuple[Allergen, ...]:
    """Every entry of allergens.csv.

    Example:
        >>> next(entry for entry in allergens() if entry.name == "Linalool").thresholds
        {'leave-on': 0.001, 'rinse-off': 0.01}

    Source: Regulation (EC) 1223/2009, Annex III/84 (R-COSING): above 0.001 % in leave-on and 0.01 % in rinse-off
        products.
    """
    return tuple(map(_allergen, shipped("allergens")))


def _allergen(row: dict[str, str]) -> Allergen:
    return Allergen(
        name=row["name"],
        members=members(row),
        era=row["list"],
        start=datetime.date.fromisoformat(row["from"]) if row["from"] else None,
        thresholds={use: float(row[use]) for use in ("leave-on", "rinse-off") if row[use]},
        group=row["group"] == "yes",
        reference=row["reference"],
        source=row["source"],
        evidence=Evidence(row["evidence"]),
        note=row["note"],
    )
