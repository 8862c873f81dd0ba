"""Names of the columns of a maker's own table: the unit that stands in one, and one that is misspelt."""

import re
from collections.abc import Collection
from functools import lru_cache

from optiform.ingredients.allergen_columns import COLUMN
from optiform.ingredients.ingredient import KNOWN_UNITS
from optiform.ingredients.statements import COLUMN as STATEMENT
from optiform.reading.faults import Inspection
from optiform.reading.near import refuse_misspelt

#: Columns of words.
WORDS = {"ingredient", "synonyms", "phase", "functions", "origin", "inci", "note", "supplier", "like", STATEMENT}
#: Begins columns of the most that a fragrance certificate allows in a class of product.
CERTIFICATE = "certificate maximum"
#: A column's name with a temperature in it.
AT_TEMPERATURE = re.compile(r"^(?P<name>.+?) at (?P<at>[-+]?\d+(?:[.,]\d+)?)\s*(?:deg|°)?\s*(?P<scale>[cf])$")
_HEADER = re.compile(r"^(?P<name>.*?)\s*(?:[(\[](?P<unit>[^)\]]*)[)\]])?$")
#: Columns of money and mass may have their unit without brackets: `price eur/kg`, `stock in kg`, `€/kg`.
_BARE = re.compile(
    r"^(?P<name>price|pack price|pack|stock) (?:in )?(?P<unit>[€£¥₹a-z]{1,3}(?:(?: ?/ ?| per )[a-z]+)?)$"
)
_PRICE_ALONE = re.compile(r"^(?:[€£¥₹]|[a-z]{3}) ?/ ?[k]?g$")
#: Columns by other words that people use for them.
_MEANT = {
    "cost": "price", "costs": "price", "unit price": "price",
    **{f"{money} per {mass}": "price" for money in ("price", "cost")
       for mass in ("kg", "g", "100 g", "lb", "pound", "oz", "ounce", "kilo", "gram")},
    "in stock": "stock", "on hand": "stock", "quantity": "stock", "inventory": "stock",
    "how much": "stock", "how many": "stock",
    "supplier's statement": STATEMENT, "suppliers statement": STATEMENT, "supplier statements": STATEMENT,
    "pack size": "pack", "package": "pack", "price per pack": "pack price", "price of pack": "pack price",
}  # fmt: skip
#: Columns of amounts by other words; a bracket behind an AMOUNT says its unit: `share (%)`.
AMOUNTS = {
    "%": "percent", "% w/w": "percent", "w/w %": "percent", "wt %": "percent", "wt%": "percent", "per cent": "percent",
    **dict.fromkeys(("g", "gr", "gm", "gram", "grammes"), "grams"), "part": "parts",
}  # fmt: skip
_AMOUNT = ("amount", "share", "weight", "quantity", "mass")
_COLUMNS = (*sorted(WORDS), "price", "pack", "pack price", *KNOWN_UNITS)


@lru_cache(maxsize=1000)
def named(header: str) -> tuple[str, str]:
    """A column's name and its unit.

    Example:
        >>> named("price (eur/kg)"), named("stock g"), named("€/kg"), named("grit")
        (('price', 'eur/kg'), ('stock', 'g'), ('price', '€/kg'), ('grit', ''))
    """
    if bare := _BARE.match(header):
        return bare["name"], bare["unit"]
    if _PRICE_ALONE.match(header):
        return "price", header
    match = _HEADER.match(header)
    return (match["name"], match["unit"] or "") if match else (header, "")


def amount(header: str) -> str:
    """A column of a formula as this program calls it: percent, parts or grams; other names as they stand.

    Example:
        >>> amount("% w/w"), amount("weight (g)"), amount("phase"), amount("amount")
        ('percent', 'grams', 'phase', 'amount')
    """
    name, unit = named(header)
    written = unit if name in _AMOUNT and unit else header
    return AMOUNTS.get(written, written if written in AMOUNTS.values() else header)


def refuse_misspelt_columns(headers: Collection[str], inspection: Inspection) -> list[str]:
    """Note every column that looks like one of the table's own: it would become a property nobody asked for.

    Returns:
        the headers of these columns.
    """
    plain = {header: _without_temperature(header) for header in headers}
    own = [name for name in plain.values() if not name.startswith((CERTIFICATE, COLUMN))]
    refused = refuse_misspelt(own, _COLUMNS, inspection, _MEANT)
    return [header for header, name in plain.items() if name in refused]


def _without_temperature(header: str) -> str:
    name = named(header)[0]
    return match["name"] if (match := AT_TEMPERATURE.match(name)) else name
