"""Random briefs from a shelf of the shipped ingredients, with ordinary limits around a formula that could be made."""

from dataclasses import replace
from functools import cache

import numpy as np

from optiform.brief.brief import Brief, Limit, Range
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Vector
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from tests.builders import brief_of, figure

#: The share of each function in a formula that could be made, in %, before it is scaled to the whole.
USUAL = {
    "water": (20, 70), "oil": (5, 25), "butter": (3, 15), "ester": (0, 10), "emulsifier": (2, 6), "humectant": (2, 15),
    "grain": (0, 35), "liquid surfactant": (0, 15), "solid surfactant": (0, 8), "wax": (0, 4), "fatty alcohol": (0, 4),
}  # fmt: skip
MUST = ("water", "oil", "emulsifier", "humectant")
STRAIGHT = (
    "oil phase", "water phase", "grains", "water", "humectant active", "share of butter", "active surfactant",
    "emulsifier per 100 of oil phase", "iodine value", "solid fat at 20 degC",
)  # fmt: skip
BENDING = (("hlb difference", "low"), ("hlb difference", "high"), ("water activity", "low"), ("water activity", "high"))
NEEDED = (*STRAIGHT, "hlb difference")


@cache
def usable() -> tuple[Ingredient, ...]:
    """Shipped ingredients that have every figure the limits here need."""
    items = tuple(read_catalogue().ingredients.values())
    mix = Mix(items, tuple(item.phase for item in items))
    lacking = sum(find_property(name, "EUR").terms(mix, np.zeros(len(items))).missing for name in STRAIGHT)
    lacking = lacking + find_property("required hlb", "EUR").terms(mix, np.zeros(len(items))).missing
    return tuple(item for item, gap in zip(items, lacking, strict=True) if not gap)


def shelf(rng: np.random.Generator, count: int) -> list[Ingredient]:
    """So many ingredients, two at least of what every formula has, with prices of 0.5 to 40 EUR/kg."""
    items = list(usable())
    first: list[int] = []
    for function in MUST:
        among = [j for j, item in enumerate(items) if item.functions[:1] == (function,)]
        if function == "emulsifier":
            among = [j for j in among if items[j].value("hlb") is not None]
        first += [int(j) for j in rng.permutation(among)[:2]]
    rest = [int(j) for j in rng.permutation(len(items)) if j not in first]
    chosen = [*first, *rest][: min(count, len(items))]
    return [_priced(items[j], float(np.exp(rng.uniform(np.log(0.5), np.log(40.0))))) for j in chosen]


def _priced(item: Ingredient, price: float) -> Ingredient:
    return replace(item, values={**item.values, ("price", None): figure(price, "EUR/kg")})


def makeable(rng: np.random.Generator, items: list[Ingredient]) -> Vector:
    """Mass fractions of a formula that somebody could make: one to three of each function, in usual amounts."""
    x = np.zeros(len(items))
    for function, (low, high) in USUAL.items():
        among = [j for j, item in enumerate(items) if item.functions[:1] == (function,)]
        if among and (function in MUST or rng.random() < 0.6):
            used = rng.permutation(among)[: int(rng.integers(1, 4))]
            x[used] += rng.uniform(low, high) * rng.dirichlet(np.ones(len(used)))
    return np.asarray(x / x.sum())


def random_brief(seed: int, count: int, bending: int) -> tuple[Brief, Brief]:
    """A brief of `count` owned ingredients with so many limits that bend, and the same brief without those."""
    rng = np.random.default_rng(seed)
    items = shelf(rng, count)
    x, mix = makeable(rng, items), Mix(tuple(items), tuple(item.phase for item in items))
    limits: dict[str, tuple[float | None, float | None]] = {}
    for name in rng.permutation(STRAIGHT)[: int(rng.integers(3, 8))]:
        value = find_property(str(name), "EUR").terms(mix, x).at(x)
        if value is not None and value > 0:
            low, high = value * rng.uniform(0.7, 1.0), value * rng.uniform(1.0, 1.3)
            side = rng.random()
            limits[str(name)] = (low, None) if side < 0.35 else (None, high) if side < 0.6 else (low, high)
    ranges = {item.name: Range(0.0, 0.4, "advice") for item in items if item.functions[:1] != ("water",)}
    plain = brief_of(items, limits, ranges)
    return replace(plain, limits=(*plain.limits, *_bending(rng, mix, x, bending))), plain


def _bending(rng: np.random.Generator, mix: Mix, x: Vector, count: int) -> list[Limit]:
    limits: dict[str, dict[str, float]] = {}
    for k in rng.permutation(len(BENDING)):
        name, side = BENDING[int(k)]
        value = _value(name, mix, x)
        if value is None or sum(map(len, limits.values())) == count:
            continue
        away = rng.uniform(0, 1.0) if name == "hlb difference" else rng.uniform(0, 0.04)
        end = value + (away if side == "high" else -away)
        limits.setdefault(name, {})[side] = min(end, 1.0) if name == "water activity" else end
    return [Limit(find_property(name, "EUR"), ends.get("low"), ends.get("high")) for name, ends in limits.items()]


def _value(name: str, mix: Mix, x: Vector) -> float | None:
    wanted = find_property(name, "EUR")
    try:
        return wanted.at(mix, x).at(x)
    except OutOfRange:
        return None
