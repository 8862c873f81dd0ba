"""What is usual of the parts of a kind of product that the names of a declaration serve: the water, the oils.

A part is what one row of usual_ranges.csv is on. What is usual is its total, of all names that mostly come from what
serves it; the order of the label says how it is split. Of surfactants it is what is active, since a label names the
substance, not the powder or the solution that is bought.
"""

import math
from collections.abc import Mapping, Sequence

from optiform.ingredients.ingredient import Ingredient
from optiform.label.caps import carriers
from optiform.reading.frozen import frozen
from optiform.rules.usual import PARTS, grain_in, served, usual_ranges

Guess = tuple[float, float]  #: logarithm of a share in %, and its spread
WIDEST = 50.0  #: a usual range from nothing begins at its end divided by this
LEAST_SPREAD = 0.2  #: however narrow a usual range is, lots and makers differ
#: Parts that are not named by what serves them, and go before those that are.
TOTALS = ("water", "grains", "humectant active", "wax as beeswax", "active surfactant")


@frozen
class KindPart:
    """A part of a kind: its usual share of the whole, and the places in a declaration of the names that serve it."""

    usual: Guess
    places: tuple[int, ...]


def by_kind(names: Sequence[str], kind: str, at_most: bool = False) -> tuple[KindPart, ...]:
    """What is usual of each part of a kind of product that some name serves; nothing where the kind is not known.

    Args:
        names: of a declaration, in its order.
        kind: of product; empty where it is not known.
        at_most: whether parts count of which only the most is usual, as of the wax of a body butter: to tell kinds
            apart by, since a maker who takes some takes more than that says.

    Example:
        >>> known = by_kind(["Aqua", "Helianthus Annuus Seed Oil", "Glycine Soja Oil"], "lotion")
        >>> [(part.places, round(math.exp(part.usual[0]), 1)) for part in known]
        [((0,), 72.0), ((1, 2), 11.0)]
    """
    items = [_mainly(name) for name in names]
    parts = _parts(kind, grain_in(kind, {item: 1 / place for place, item in enumerate(items, 1) if item}), at_most)
    places: dict[str, list[int]] = {}
    for place, item in enumerate(items):
        if item and (part := _part_of(parts, item)):
            places.setdefault(part, []).append(place)
    return tuple(KindPart(parts[part], tuple(where)) for part, where in places.items())


def strangers(names: Sequence[str], kind: str) -> int:
    """How many parts a kind needs that no name serves, and functions of names that serve no part of it.

    Example:
        >>> names = ["Aqua", "Helianthus Annuus Seed Oil", "Cetearyl Alcohol", "Polysorbate 60", "Glycerin"]
        >>> [strangers([*names, "Phenoxyethanol"], kind) for kind in ("lotion", "balm", "foaming scrub")]
        [0, 6, 7]
    """
    items = [_mainly(name) for name in names]
    grain = grain_in(kind, {item: 1 / place for place, item in enumerate(items, 1) if item})
    functions = {item.functions[0] for item in items if item}
    needed = (_served(row.property) for row in usual_ranges(kind, grain) if row.needed)
    return sum(bool(of) and functions.isdisjoint(of) for of in needed) + len(functions - served(kind, grain))


def _part_of(parts: Mapping[str, Guess], item: Ingredient) -> str:
    """The first part that an ingredient serves by what it is bought for; empty where it serves none."""
    return next((part for part in parts if item.functions[0] in _served(part)), "")


def _mainly(name: str) -> Ingredient | None:
    """An ingredient of the catalogue that is mostly this name."""
    for item, share in carriers(name):
        if share.figure >= max(part.share.figure for part in item.constituents):
            return item
    return None


def _parts(kind: str, grain: str, at_most: bool) -> dict[str, Guess]:
    """The usual share of the whole of each part of a kind that names can serve, totals first."""
    rows = [row for row in usual_ranges(kind, grain) if row.unit == "%" and _served(row.property)]
    rows = [row for row in rows if row.typical or (at_most and row.high)]
    rows.sort(key=lambda row: row.property not in TOTALS)
    return {row.property: usual_share(row.low, row.high, row.over, row.typical or None) for row in rows}


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
