"""Random briefs of the real tables, and the best over every branch to keep their limits by a solver of its own.

Every branch is assembled here from the figures of the properties and solved as it stands (tests/least.py); nothing of
optiform.program takes part. Prices are drawn, as the tables have none.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import product

import numpy as np

from optiform.brief.brief import Brief, Limit, Range
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Piecewise, Property, Side, Terms
from optiform.properties.registry import find_property
from tests.builders import Vector, brief_of, figure
from tests.least import least

Row = tuple[Vector, float]
Key = tuple[str, Side]

#: How many are drawn of what is bought for what.
DRAWN = {
    "grain": 5,
    "butter": 3,
    "oil": 3,
    "humectant": 2,
    "emulsifier": 2,
    "wax": 1,
    "ester": 1,
    "powder": 1,
    "fatty alcohol": 1,
    "thickener": 1,
}
SOLUBLE = ("sugar, granulated", "sea salt, fine", "epsom salt")
#: What is straight, in the whole or a ratio, and what is a largest or smallest of several straight pieces.
STRAIGHT = (
    "water phase",
    "oil phase",
    "share of butter",
    "share of humectant",
    "share of emulsifier",
    "share of grain",
)
RATIOS = ("iodine value", "solid fat at 20 degC", "grains per 100 of base", "share of oil in the base")
PIECED = (
    "undissolved grains at {t} degC",
    "dissolved sugar at {t} degC",
    "dissolved salt at {t} degC",
    "undissolved salt at {t} degC",
    "undissolved sugar at {t} degC",
    "grain volume fraction at {t} degC",
)
MOST_BRANCHES = 64
LEAST_GROUP = 1e-3  # of the whole: a mean that has to be at least something is of no less


@cache
def _by_function() -> Mapping[str, list[Ingredient]]:
    items = read_catalogue().ingredients.values()
    return {word: [item for item in items if item.functions[:1] == (word,)] for word in (*DRAWN, "water")}


def random_brief(seed: int) -> Brief:
    """A cheapest formula of some twenty candidates under 3 to 8 limits around what a random formula has.

    Five of six briefs have one to three limits that are made of several pieces, most of which any one of them keeps.
    """
    rng = np.random.default_rng(seed)
    items = _candidates(rng)
    x = rng.dirichlet([4.0 if item.functions[0] in ("water", "grain") else 0.7 for item in items])
    names = [str(word) for word in rng.permutation([*STRAIGHT, *RATIOS])[: int(rng.integers(2, 6))]]
    if seed % 6:
        pieced = rng.permutation(PIECED)[: int(rng.integers(1, 4))]
        names += [str(word).format(t=rng.choice([10, 20, 30])) for word in pieced]
    mix = Mix(tuple(items), tuple(item.phase for item in items))
    limits = {name: ends for name in names if (ends := _ends(rng, find_property(name, "EUR", items), mix, x))}
    ranges = {item.name: _range(rng, float(share)) for item, share in zip(items, x, strict=True)}
    brief = brief_of(items, limits, ranges)
    return brief if len(EveryBranch(brief).branches) <= MOST_BRANCHES else random_brief(seed + 100_000)


def _range(rng: np.random.Generator, share: float) -> Range:
    """One line in three may not have more than some maximum, one in ten has at least something; x keeps both."""
    high = float(rng.uniform(share, 1)) if rng.random() < 0.3 else 1.0
    low = float(rng.uniform(0, share)) if rng.random() < 0.1 else 0.0
    return Range(low, high, "brief")


def _candidates(rng: np.random.Generator) -> list[Ingredient]:
    shelf = _by_function()
    drawn = [shelf["water"][0], *(item for item in shelf["grain"] if item.name in SOLUBLE and rng.random() < 0.8)]
    for function, count in DRAWN.items():
        fit = [item for item in shelf[function] if item not in drawn and item.density is not None]
        drawn += [fit[j] for j in rng.permutation(len(fit))[:count]]
    return [_costing(item, float(np.exp(rng.uniform(np.log(0.5), np.log(30))))) for item in drawn]


def _costing(item: Ingredient, price: float) -> Ingredient:
    return replace(item, values={**item.values, ("price", None): figure(price, "EUR/kg")})


def _ends(rng: np.random.Generator, wanted: Property, mix: Mix, x: Vector) -> tuple[float | None, float | None] | None:
    """One or two ends around the value at x, each kept by x; None where the value is not known for all candidates."""
    if any(piece.missing.any() for piece in _pieces(wanted, mix)):
        return None
    value = wanted.at(mix, x).at(x)
    if value is None or value < 1e-3:
        return None
    low, high = value * float(rng.uniform(0.75, 1.0)), value * float(rng.uniform(1.0, 1.25))
    which = rng.random()
    if isinstance(wanted, Piecewise):  # the side that any one piece keeps, three times in four
        which = 0.1 if which < 0.1 else 0.5 if (wanted.join == "max") == (which < 0.8) else 0.9
    return (low, high) if which < 0.2 else (low, None) if which < 0.6 else (None, high)


def _pieces(wanted: Property, mix: Mix) -> tuple[Terms, ...]:
    return wanted.pieces(mix) if isinstance(wanted, Piecewise) else (wanted.terms(mix, np.zeros(len(mix.ingredients))),)


@dataclass(frozen=True)
class Best:
    """The best over every branch; infinite, and no numbers, where nothing fits."""

    cost: float
    x: Vector


class EveryBranch:
    """A brief with nothing but prices, ranges and limits, solved in every branch on its own."""

    def __init__(self, brief: Brief) -> None:
        self.brief = brief
        self.prices = np.array([item.values["price", None].typical for item in brief.mix.ingredients], dtype=float)
        self.branches = list(self._branches({}))

    @property
    def several(self) -> bool:
        """Whether any limit can be kept in more than one way."""
        return len(self.branches) > 1

    def best(self, targets: Mapping[Key, float] | None = None, prices: Mapping[int, float] | None = None) -> Best:
        """The cheapest of all branches, with some targets and some prices other than the brief's.

        A target is that of a limit, of a line in %, or of the least group that a mean asks for, in %.
        """
        cost, targets = self.prices.copy(), targets or {}
        for j, price in (prices or {}).items():
            cost[j] = price
        lines = zip(self.brief.mix.ingredients, self.brief.ranges, strict=True)
        low, high = np.array([_bounds(item.name, wanted, targets) for item, wanted in lines]).T
        found = [_solved(cost, rows, (low, high)) for rows in (self._branches(targets) if targets else self.branches)]
        return min(found, key=lambda best: best.cost)

    def _branches(self, targets: Mapping[Key, float]) -> Iterator[list[Row]]:
        mix, sides = self.brief.mix, list[list[list[Row]]]()
        for limit in self.brief.limits:
            for side, target in sides_of(limit):
                moved = targets.get((limit.property.name, side), target)
                least = targets.get((limit.property.basis, "low"), 100 * LEAST_GROUP) / 100
                sides.append(_side(limit.property, mix, side, moved, least))
        for choice in product(*sides):
            yield [row for rows in choice for row in rows]


def sides_of(limit: Limit) -> Iterator[tuple[Side, float]]:
    """The ends of a limit that are set."""
    if limit.low is not None:
        yield "low", limit.low
    if limit.high is not None:
        yield "high", limit.high


def _bounds(name: str, wanted: Range, targets: Mapping[Key, float]) -> tuple[float, float]:
    low, high = targets.get((name, "low")), targets.get((name, "high"))
    return wanted.low if low is None else low / 100, wanted.high if high is None else high / 100


def _side(wanted: Property, mix: Mix, side: Side, target: float, least: float) -> list[list[Row]]:
    """The branches of one side of a limit, each as rows a x <= b."""
    sign = 1.0 if side == "high" else -1.0
    rows = [(sign * (piece.numerator - target * piece.denominator), 0.0) for piece in _pieces(wanted, mix)]
    if not isinstance(wanted, Piecewise):
        group = _pieces(wanted, mix)[0].denominator
        mean = side == "low" and not np.all(group == 1.0)
        return [[*rows, *([(-group, -least)] if mean else [])]]
    if (wanted.join == "max") == (side == "high"):
        return [rows]
    return [[row] for row in rows]


def _solved(cost: Vector, rows: Sequence[Row], bounds: tuple[Vector, Vector]) -> Best:
    a = np.array([row for row, _ in rows]).reshape(len(rows), len(cost))
    # Scaled, so that the solver's tolerance means the same in every row.
    size = np.maximum(np.abs(a).max(axis=1, initial=0.0), 1e-12)
    b = np.array([rhs for _, rhs in rows]) / size
    found = least(cost, a / size[:, None], b, *bounds)
    return Best(np.inf, np.full(len(cost), np.nan)) if found is None else Best(*found)
