"""What holds the product up: structuring solids, and the pairs of fats whose solids do not add up."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, Ratio, Terms, Vector
from optiform.properties.oil_phase import FATS, solid_fat_value
from optiform.reading.tables import shipped
from optiform.reading.units import PARTS
from optiform.reading.values import Bound

STRUCTURANTS = ("wax", "fatty alcohol", "fatty acid")


def structuring_solids(temperature: float) -> Ratio:
    """Solids that give body at a temperature, in % of the whole: sum(s_i(T) x_i).

    s_i is the solid fat of a butter or oil, and for waxes, fatty alcohols, fatty acids and solid emulsifiers
    `solid_share`. Grains are not counted. What these dissolve of each other is left out, so the figure compares
    formulas of like make-up; it is no measure of firmness by itself.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> balm = mixed({"beeswax": 20, "coconut oil": 80})
        >>> [round(structuring_solids(at).of(balm), 1) for at in (10.0, 30.0)]
        [82.8, 20.0]
    """
    return Ratio(f"structuring solids at {temperature:g} degC", "%", "whole", Bound(_structuring, (temperature,)))


def _structuring(mix: Mix, temperature: float) -> Terms:
    values = [_solids(item, temperature) for item in mix.ingredients]
    needed = mix.serving("butter", "oil", *STRUCTURANTS)
    group = np.maximum(needed, [float(value is not None) for value in values])
    return Terms.known(values, group)


def melted_oil(temperature: float) -> Ratio:
    """Melted fat for each 100 of solids at a temperature: 100 sum((1 - S_i(T)) x_i) / sum(grains, s_i(T) x_i), in %.

    Above: what can run, the melted part of butters, oils and esters. Below: what can hold it, grains as weighed and
    the structuring solids of waxes, fatty alcohols, fatty acids and emulsifiers. Common practice, no source; meant for
    scrubs without water. Published scrubs that kept in summer lie near 50, one that wept lies near 115. The range is
    that of the melted fat; what holds it is taken at its figure.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"sunflower oil": 30, "beeswax": 10, "sugar, granulated": 60})
        >>> round(melted_oil(20.0).of(scrub), 1)  # 30 parts that run, 70 that hold
        42.9
    """
    words = f"melted oil per 100 of solids at {temperature:g} degC"
    return Ratio(words, PARTS, "solids", Bound(_melted, (temperature,)))


def _melted(mix: Mix, temperature: float) -> Terms:
    fats = mix.serving(*FATS)
    solid = [
        solid_fat_value(item, temperature) if fat else None for item, fat in zip(mix.ingredients, fats, strict=True)
    ]
    shares = Terms.known(solid, fats)
    held = Terms.known([solid_share(item, temperature) for item in mix.ingredients], _waxlike(mix))
    grains = mix.mask(lambda item, phase: phase == "grains")
    return Terms(
        numerator=100 * fats - shares.numerator,
        denominator=grains + held.numerator / 100,
        low=100 * fats - shares.high,
        high=100 * fats - shares.low,
        missing=np.maximum(shares.missing, held.missing),
        evidence=tuple(a or b for a, b in zip(shares.evidence, held.evidence, strict=True)),  # no line is in both
    )


def _waxlike(mix: Mix) -> Vector:
    """Wax-like lines: those bought as such, and emulsifiers with a melting range."""
    solid = mix.mask(lambda item, _: item.value("melting range") is not None)
    return np.maximum(mix.serving(*STRUCTURANTS), mix.serving("emulsifier") * solid)


def solid_share(item: Ingredient, temperature: float) -> Value | None:
    """Solid part of a wax-like ingredient, in %: its solid fat where that is stored, for soft waxes.

    Else 100 below its melting range, 0 above, a straight line within. Common practice, no source. With one melting
    point known, the range is taken as 4 degC wide around it.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> cetyl = read_catalogue().ingredients["cetyl alcohol"]
        >>> [round(solid_share(cetyl, at).figure) for at in (20.0, 90.0)]
        [100, 0]
    """
    stored, melting = solid_fat_value(item, temperature), item.value("melting range")
    if stored is not None:
        return stored
    if melting is None:
        return None
    low = melting.low if melting.low is not None else melting.figure - 2
    high = melting.high if melting.high is not None else melting.figure + 2
    share = 100 * float(np.clip((high - temperature) / max(high - low, 1e-9), 0, 1))
    return Value(None, share, None, "%", melting.source, Evidence.weakest([melting.evidence, Evidence.PRACTICE]))


def _solids(item: Ingredient, temperature: float) -> Value | None:
    if item.functions[0] in FATS:
        return solid_fat_value(item, temperature)
    return solid_share(item, temperature) if item.has(*STRUCTURANTS, "emulsifier") else None


@dataclass(frozen=True, slots=True)
class Eutectic:
    """Two families of fats that melt lower together than apart."""

    first: tuple[str, ...]
    second: tuple[str, ...]
    above: float
    worst: str
    effect: str
    source: str


@cache
def _eutectics() -> tuple[Eutectic, ...]:
    return tuple(_eutectic(row) for row in shipped("eutectics"))


def _eutectic(row: Mapping[str, str]) -> Eutectic:
    first, second = (tuple(part.strip() for part in row[side].split(";")) for side in ("first", "second"))
    return Eutectic(first, second, float(row["above share"] or 0), row["worst"], row["effect"], row["source"])


def eutectic_pairs(mix: Mix, x: Vector, smallest: float = 0.01) -> list[tuple[str, str, Eutectic]]:
    """Pairs in use whose solid fat is lower than the mean of the two: (first, second, why).

    A pair counts when each is at least `smallest` of the fats and the first makes up more of the pair than the share
    at which the effect begins. For such a formula the linear solid fat is an upper bound.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> from optiform.properties.base import fractions
        >>> both = mixed({"cocoa butter": 1, "coconut oil": 1})
        >>> [(first, second) for first, second, _ in eutectic_pairs(Mix.of(both), fractions(both))]
        [('coconut oil', 'cocoa butter')]
    """
    fats = mix.serving(*FATS) * x
    total = float(fats.sum()) or 1.0
    used = {item.name: share / total for item, share in zip(mix.ingredients, fats, strict=True) if share > 0}
    found = []
    for rule in _eutectics():
        for first in (name for name in rule.first if used.get(name, 0) >= smallest):
            for second in (name for name in rule.second if used.get(name, 0) >= smallest and name != first):
                if 100 * used[first] / (used[first] + used[second]) > rule.above:
                    found.append((first, second, rule))
    return found
