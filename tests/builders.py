"""Ingredients, limits and briefs made in code, and the same brief as a plain linear program for a second opinion.

`plain` assembles its matrix from the figures of the ingredients alone; it uses nothing of optiform.program and none of
the property functions, so that it can stand against them.
"""

import datetime
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.goal import Goal, Lowest
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient, Value
from optiform.properties.base import Mix
from optiform.properties.registry import find_property
from optiform.rules.chemistry import rule_ids
from optiform.rules.law import Scope
from optiform.telling.facts import in_words
from tests.least import Least, least, least_by_linprog

#: Of briefs that try the engine: rules of chemistry have tests of their own.
NO_RULES = tuple(sorted(rule_ids()))

Vector = NDArray[np.float64]
Key = tuple[str, str]

#: Own columns of a random brief and the size of their numbers: rows of very unlike scale stand side by side.
COLUMNS = {"alpha": 1.0, "beta": 0.001, "gamma": 5000.0}
PHASE_OF = {
    "water": "water phase",
    "humectant": "water phase",
    "emulsifier": "oil phase",
    "butter": "oil phase",
    "oil": "oil phase",
    "active": "cool-down",
}
#: What a random brief may limit: amounts in the whole, then means over a group and ratios of two groups.
AMOUNTS = ("oil phase", "water phase", "share of butter", *COLUMNS)
RATIOS = ("iodine value", "emulsifier per 100 of oil phase")
#: What each of the ratios is over; at least 0.1 % of it is asked wherever the ratio is asked to be at least something.
GROUPS = {
    "iodine value": "butters and oils",
    "emulsifier per 100 of oil phase": "oil phase without its emulsifiers",
}


# -- by hand -----------------------------------------------------------------------------------------------------------


def figure(number: float, unit: str = "-") -> Value:
    """A figure of the maker's own."""
    return Value(None, number, None, unit, "own file", Evidence.OWN)


def ingredient(
    name: str,
    price: float,
    function: str = "active",
    figures: Mapping[str, float] | None = None,
    *,
    curve: Mapping[float, float] | None = None,
    solute: str = "",
    phase: str = "",
    contains: Mapping[str, float] | None = None,
) -> Ingredient:
    """An ingredient with a price in EUR/kg and own figures.

    Args:
        name: its name.
        price: EUR per kg.
        function: what it is bought for; decides the phase unless `phase` does.
        figures: own columns and stored properties without a temperature.
        curve: solid fat in % by temperature in degC.
        solute: of grains that dissolve.
        phase: where it is weighed.
        contains: constituents with their share in %.
    """
    values: dict[tuple[str, float | None], Value] = {("price", None): figure(price, "EUR/kg")}
    values |= {(word, None): figure(number) for word, number in (figures or {}).items()}
    values |= {("solid fat", at): figure(share, "%") for at, share in (curve or {}).items()}
    parts = tuple(Constituent(inci, "", figure(share, "%")) for inci, share in (contains or {}).items())
    where = phase or PHASE_OF.get(function, "grains")
    return Ingredient(name, (function,), where, solute=solute, constituents=parts, values=values)


def limit(words: str, candidates: Sequence[Ingredient], low: float | None = None, high: float | None = None) -> Limit:
    """A limit on what these words name."""
    return Limit(find_property(words, "EUR", candidates), low, high)


def brief_of(
    candidates: Sequence[Ingredient],
    limits: Mapping[str, tuple[float | None, float | None]] | None = None,
    ranges: Mapping[str, Range] | None = None,
    goal: Goal | None = None,
    markets: tuple[str, ...] = (),
) -> Brief:
    """A brief for the least cost of these candidates, unless `goal` says otherwise."""
    return Brief(
        title="made in a test",
        kind="lotion",
        scope=Scope("rinse-off", "body", markets, datetime.date(2026, 11, 25)),
        currency="EUR",
        batch=1.0,
        step=1.0,
        mix=Mix(tuple(candidates), tuple(item.phase for item in candidates)),
        ranges=tuple((ranges or {}).get(item.name, Range()) for item in candidates),
        limits=tuple(limit(words, candidates, *ends) for words, ends in (limits or {}).items()),
        goal=goal or Lowest(find_property("cost", "EUR")),
        catalogue=Catalogue({item.name: item for item in candidates}, {}),
        overrule=NO_RULES,
    )


def reordered(brief: Brief, order: Sequence[int]) -> Brief:
    """The same brief with its candidates in another order."""
    mix = Mix(tuple(brief.mix.ingredients[j] for j in order), tuple(brief.mix.phases[j] for j in order))
    return replace(brief, mix=mix, ranges=tuple(brief.ranges[j] for j in order))


# -- at random ---------------------------------------------------------------------------------------------------------


def random_ingredient(rng: np.random.Generator, number: int, coarse: bool) -> Ingredient:
    """One with a price, three own columns, and an iodine value if it is a fat. Coarse figures repeat often."""
    function = str(rng.choice(list(PHASE_OF)))
    columns = {word: size * _number(rng, 0, 10, coarse) * float(rng.random() < 0.7) for word, size in COLUMNS.items()}
    fat = {"iodine value": _number(rng, 20, 120, coarse)} if function in ("butter", "oil") else {}
    return ingredient(f"candidate {number}", _number(rng, 1, 20, coarse), function, {**columns, **fat})


def _number(rng: np.random.Generator, low: float, high: float, coarse: bool) -> float:
    number = float(rng.uniform(low, high))
    return low + round((number - low) / (high - low) * 4) * (high - low) / 4 if coarse else number


def random_brief(seed: int, coarse: bool = False, strain: float = 0.15) -> Brief:
    """A brief of 3 to 12 candidates and 1 to 8 limits.

    The limits lie around the values of a random formula, each pushed away from it with probability `strain`, so that
    many are tight and some contradict each other. `coarse` makes figures repeat: equal prices, degenerate corners.
    """
    rng = np.random.default_rng(seed)
    candidates = [random_ingredient(rng, j, coarse) for j in range(int(rng.integers(3, 13)))]
    x = rng.dirichlet(np.full(len(candidates), 0.7))
    x = np.round(4 * x) / 4 if coarse and np.round(4 * x).sum() == 4 else x
    words = rng.permutation([*AMOUNTS, *RATIOS])[: int(rng.integers(1, 9))]
    limits = {str(word): ends for word in words if (ends := _ends(rng, str(word), candidates, x, strain))}
    ranges = {item.name: _range(rng, float(share)) for item, share in zip(candidates, x, strict=True)}
    return brief_of(candidates, limits, ranges)


def _ends(
    rng: np.random.Generator, words: str, candidates: Sequence[Ingredient], x: Vector, strain: float
) -> tuple[float | None, float | None] | None:
    p, g = shares(words, candidates)
    if g @ x < 1e-3 or not p.any():
        return None
    value = float(p @ x / (g @ x))
    width = (0.02 + 0.3 * float(rng.random())) * (abs(value) + 1)
    push = float(rng.normal()) * width * 3 if rng.random() < strain else 0.0
    low, high = value + push - width * float(rng.random()), value + push + width * float(rng.random())
    side = rng.random()
    return (low, None) if side < 0.35 else (None, high) if side < 0.7 else (low, high)


def cornered(seed: int, coarse: bool = False) -> Brief:
    """A random brief with more limits, each exactly tight at its best formula, and one line pinned there.

    Several limits meet in the answer, so that a price differs from one side to the other. Infeasible ones stay as
    they are.
    """
    brief = random_brief(seed, coarse)
    best = plain(brief)
    if not best.feasible:
        return brief
    rng = np.random.default_rng(seed)
    limited = {wanted.property.name: (wanted.low, wanted.high) for wanted in brief.limits}
    for words in sorted({*AMOUNTS, *RATIOS} - set(limited)):
        p, g = shares(words, brief.mix.ingredients)
        if g @ best.x > 1e-3:
            value = float(p @ best.x / (g @ best.x))
            limited[words] = (value, None) if rng.random() < 0.5 else (None, value)
    pinned = int(np.argmax(best.x))
    share = float(best.x[pinned])
    ranges = {item.name: range_ for item, range_ in zip(brief.mix.ingredients, brief.ranges, strict=True)}
    ranges[brief.mix.ingredients[pinned].name] = Range(share, share, "brief")
    return brief_of(brief.mix.ingredients, limited, ranges)


def _range(rng: np.random.Generator, share: float) -> Range:
    kind = rng.random()
    if kind < 0.7:
        return Range()
    return Range(share / 2 if kind < 0.85 else 0.0, min(1.0, share + 0.2), "brief")


# -- the second opinion ------------------------------------------------------------------------------------------------


def shares(words: str, candidates: Sequence[Ingredient]) -> tuple[Vector, Vector]:
    """p and g of what is limited, value = p x / g x, read from the figures themselves."""
    function = [item.functions[0] for item in candidates]
    ones = np.ones(len(candidates))
    if words in ("oil phase", "water phase"):
        return np.array([100.0 * (item.phase == words) for item in candidates]), ones
    if words == "share of butter":
        return np.array([100.0 * (word == "butter") for word in function]), ones
    if words == "emulsifier per 100 of oil phase":
        emulsifier = np.array([float(word == "emulsifier") for word in function])
        oil = np.array([float(item.phase == "oil phase") for item in candidates])
        return 100 * emulsifier, oil * (1 - emulsifier)
    if words in GROUPS.values():
        ratio = next(ratio for ratio, group in GROUPS.items() if group == words)
        return 100 * shares(ratio, candidates)[1], ones
    if words == "iodine value":
        fat = np.array([float(word in ("butter", "oil")) for word in function])
        return np.array([_figure(item, words) for item in candidates]) * fat, fat
    return np.array([_figure(item, "price" if words == "cost" else words) for item in candidates]), ones


def _figure(item: Ingredient, words: str) -> float:
    value = item.values.get((words, None))
    return 0.0 if value is None or value.typical is None else value.typical


@dataclass(frozen=True)
class Verdict:
    """What the second opinion says: cost in EUR/kg and mass fractions, or that nothing fits."""

    feasible: bool
    cost: float
    x: Vector


def asked(brief: Brief) -> dict[Key, float]:
    """Everything the brief itself asks: (name, side) and target, ingredients in %, and that a mean has its group."""
    found: dict[Key, float] = {}
    for wanted in brief.limits:
        group = GROUPS.get(wanted.property.name)
        found |= {(group, "low"): 0.1} if group and wanted.low is not None else {}
        found |= {(wanted.property.name, "low"): wanted.low} if wanted.low is not None else {}
        found |= {(wanted.property.name, "high"): wanted.high} if wanted.high is not None else {}
    for item, range_ in zip(brief.mix.ingredients, brief.ranges, strict=True):
        found |= {(item.name, "low"): 100 * range_.low} if range_.low > 0 else {}
        found |= {(item.name, "high"): 100 * range_.high} if range_.high < 1 else {}
    return found


def plain(brief: Brief, moved: Mapping[Key, float] | None = None, only: Collection[Key] | None = None) -> Verdict:
    """The least cost by a solver of its own (tests/least.py).

    Args:
        brief: with limits that `shares` knows, and no law.
        moved: other targets for some of what is asked.
        only: keep these demands and drop the others.
    """
    return _verdict(least, *posed(brief, moved, only))


def by_linprog(brief: Brief) -> Verdict:
    """The same by scipy's own build of HiGHS."""
    return _verdict(least_by_linprog, *posed(brief))


def _verdict(solved: Callable[..., Least], prices: Vector, rows: Vector) -> Verdict:
    none, ones = np.zeros(len(prices)), np.ones(len(prices))
    best = solved(prices, rows, np.zeros(len(rows)), none, ones)
    return Verdict(False, np.nan, ones) if best is None else Verdict(True, *best)


def posed(
    brief: Brief, moved: Mapping[Key, float] | None = None, only: Collection[Key] | None = None
) -> tuple[Vector, Vector]:
    """Prices, and rows that must be at most 0, of shares that sum to one; see `plain`. Rows: (demands, candidates)."""
    targets = {**asked(brief), **(moved or {})}
    rows = [_row(brief, key, target) for key, target in targets.items() if only is None or key in only]
    prices, ones = shares("cost", brief.mix.ingredients)
    return prices, np.array(rows).reshape(len(rows), len(ones))


def _row(brief: Brief, key: Key, target: float) -> Vector:
    """Coefficients of a row that must be at most 0."""
    name, side = key
    candidates = brief.mix.ingredients
    names = [item.name for item in candidates]
    own = np.array([100.0 * (name == other) for other in names])
    p, g = (own, np.ones(len(names))) if name in names else shares(name, candidates)
    return (target * g - p) * (1.0 if side == "low" else -1.0)


def reasons(brief: Brief) -> dict[str, str]:
    """Why each candidate that a brief leaves out is left out, in words."""
    return {name: in_words(why) for name, why in brief.left_out}
