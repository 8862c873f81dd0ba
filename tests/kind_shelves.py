"""Random shelves that hold what a kind of product needs, and the three lines of a brief for it."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.file import brief_of
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.design.missing_parts import wanting
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.rules.kinds import ruled_out
from optiform.rules.usual import PARTS, SOLUTES, first_choices, grains_of, usual_ranges

SIZE = 39  # ingredients of a shelf
LEFT_ON = ("lotion", "hand and foot cream", "body butter", "emulsified body butter", "balm", "stick and lip balm")


@cache
def shipped() -> Catalogue:
    return read_catalogue()


def scope_of(kind: str) -> dict[str, str]:
    """How a kind is used, and where."""
    return {"use": "leave-on" if kind in LEFT_ON else "rinse-off", "area": "lips" if "lip" in kind else "body"}


def bare_brief(kind: str, prices: Mapping[str, float], **keys: object) -> Brief:
    """A brief that names a kind, a market and a price table, and nothing else but these keys."""
    catalogue = shipped()
    items = {key: _priced(item, prices.get(item.name)) for key, item in catalogue.ingredients.items()}
    owned = frozenset(name.casefold() for name in prices)
    document = {"kind": kind, **scope_of(kind), "markets": ["EU"], "candidates": "owned", **keys}
    return brief_of(Path("brief.toml"), document, replace(catalogue, ingredients=items, owned=owned))


def _priced(item: Ingredient, price: float | None) -> Ingredient:
    if price is None:
        return item
    value = Value(None, price, None, "EUR/kg", "own file", Evidence.OWN)
    return replace(item, values={**item.values, ("price", None): value})


def functions_of(part: str) -> tuple[str, ...]:
    """The functions that serve a part, in a brief's words."""
    named = part.removeprefix("share of ").removesuffix(" in the base").split(" and ")
    return PARTS.get(part) or (tuple(named) if part.startswith("share of ") else ())


@cache
def random_shelf(kind: str, seed: int) -> Mapping[str, float]:
    """Prices of some 39 ingredients: one or two for each part that the kind needs, the others at random.

    Grains are of one set of the kind's ranges. Where what was drawn does not make a product of the kind, within its
    usual use and the rules, the first of what the answer says to buy is there too.
    """
    rng, names = np.random.default_rng(seed), dict[str, None]()
    sets = grains_of(kind)
    grain = sets[int(rng.integers(len(sets)))] if sets else ""
    items = [item for item in shipped().ingredients.values() if not sets or _of(item, grain)]
    for row in usual_ranges(kind, grain):
        functions = functions_of(row.property) if row.needed else ()
        listed = [name for name in first_choices(kind, functions) if _of(_item(name), grain) or not sets]
        pool = listed or [x.name for x in items if x.functions[0] in functions and not ruled_out(kind, x)]
        names |= dict.fromkeys(map(str, rng.permutation(pool)[: int(rng.integers(1, 3))]))
    rest = [items[int(j)].name for j in rng.permutation(len(items))]
    shelf = list(dict.fromkeys([*names, *rest]))[:SIZE]
    prices = {name: float(np.exp(rng.uniform(np.log(0.5), np.log(40.0)))) for name in shelf}
    for part in wanting(bare_brief(kind, prices)):
        prices[part.buy[0]] = 5.0
    return prices


@cache
def trial_of(kind: str, seed: int) -> Best | NoFormula:
    """The first trial of a random shelf, worked out once for all that look at it."""
    return best(bare_brief(kind, random_shelf(kind, seed)))


def _item(name: str) -> Ingredient:
    return shipped().ingredients[name.casefold()]


def _of(item: Ingredient, grain: str) -> bool:
    """Whether an ingredient is no grain, or one of this set."""
    return item.functions[0] != "grain" or SOLUTES.get(item.solute, "insoluble") == grain
