"""What is usual of each declared name in a kind of product: the usual share of its part, alike for its names.

A part is what one row of usual_ranges.csv is on: the water, the grains, the oils and esters. What it is of the whole
goes in equal parts to the names that mostly come from what serves it; their order on the label says the rest.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optiform.ingredients.ingredient import Ingredient
from optiform.label.caps import carriers
from optiform.rules.usual import PARTS, grain_in, usual_ranges

Guess = tuple[float, float]  #: logarithm of a share in %, and its spread
WIDEST = 50.0  #: a usual range from nothing begins at its end divided by this
LEAST_SPREAD = 0.2  #: however narrow a usual range is, lots and makers differ
TOTALS = ("water", "grains", "humectant active", "wax as beeswax")  #: parts that are not named by what serves them


@dataclass(frozen=True)
class _Part:
    """A part of a kind: the functions that serve it, and its usual share of the whole."""

    functions: tuple[str, ...]
    whole: Guess


def by_kind(names: Sequence[str], kind: str, split: float) -> list[Guess | None]:
    """What is usual of each name in a kind of product; None for what serves none of its parts, or of no known kind.

    Args:
        names: of a declaration, in its order.
        kind: of product; empty where it is not known.
        split: spread of the logarithm about an equal share, where several names serve one part.

    Example:
        >>> known = by_kind(["Aqua", "Helianthus Annuus Seed Oil", "Glycine Soja Oil"], "lotion", 0.9)
        >>> [round(math.exp(one[0]), 1) for one in known if one]
        [72.0, 5.5, 5.5]
    """
    items = [_mainly(name) for name in names]
    parts = _parts(kind, grain_in(kind, {item: 1 / place for place, item in enumerate(items, 1) if item}))
    found = [parts.get(item.functions[0]) if item else None for item in items]
    return [_shared(part, found.count(part), split) if part else None for part in found]


def _shared(part: _Part, count: int, split: float) -> Guess:
    middle, spread = part.whole
    return middle - math.log(count), spread if count == 1 else math.hypot(spread, split)


def _mainly(name: str) -> Ingredient | None:
    """An ingredient of the catalogue that is mostly this name."""
    for item, share in carriers(name):
        if share.figure >= max(part.share.figure for part in item.constituents):
            return item
    return None


def _parts(kind: str, grain: str) -> dict[str, _Part]:
    """The parts of a kind by the functions that serve them."""
    parts: dict[str, _Part] = {}
    for row in usual_ranges(kind, grain):
        if row.typical and row.unit == "%" and (functions := _served(row.property)):
            for function in functions:
                parts.setdefault(function, _Part(functions, usual_share(row.low, row.high, row.over, row.typical)))
    return parts


def _served(part: str) -> tuple[str, ...]:
    if part in TOTALS:
        return PARTS[part]
    named = part.removeprefix("share of ").removesuffix(" in the base")
    return tuple(named.split(" and ")) if part.startswith("share of ") else ()


def usual_share(low: float, high: float, over: float = 100.0, typical: float | None = None) -> Guess:
    """A usual range as log-normal with 95 % inside it: the logarithm of its typical share (or middle), and the spread.

    Args:
        low: least, in % of what it is a share of.
        high: most, likewise.
        typical: likewise; None for the middle.
        over: how much of the whole that is, %.

    Example:
        >>> middle, spread = usual_share(2.0, 8.0)
        >>> round(math.exp(middle), 6), round(spread, 3)
        (4.0, 0.347)
    """
    low = max(low, high / WIDEST)
    middle = math.log(typical) if typical else math.log(low * high) / 2
    return middle + math.log(over / 100), max(math.log(high / low) / 4, LEAST_SPREAD)
