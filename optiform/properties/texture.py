"""What holds the product up: structuring solids, and the pairs of fats whose solids do not add up."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, lru_cache

import numpy as np

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, Piecewise, Ratio, Terms, Vector
from optiform.properties.oil_phase import FATS, solid_fat_value
from optiform.properties.oil_solids import KNOWN_SETS, Dissolved, dissolved, dissolved_here, wax_evidence, wax_mass
from optiform.properties.oil_solubility import crystals
from optiform.properties.structurants import structurant
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.reading.units import PARTS
from optiform.reading.values import Bound

BEESWAX = "beeswax equivalent"
STRUCTURANTS = ("wax", "fatty alcohol", "fatty acid")


def structuring_solids(temperature: float) -> Piecewise:
    """Solids that give body at a temperature, in % of the whole: sum(s_i(T) x_i) less what the oil dissolves.

    s_i is the solid fat of a butter or oil, and for solid emulsifiers and waxes without a known solubility
    `solid_share`. Waxes, fatty alcohols and fatty acids of oil_solubility.csv count beyond what the melted oil
    dissolves (`oil_solids`). Grains are not counted. It is no measure of firmness by itself.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> balm = mixed({"beeswax": 20, "coconut oil": 80})
        >>> [round(structuring_solids(at).of(balm), 1) for at in (10.0, 30.0)]
        [82.8, 17.9]
        >>> gel = mixed({"beeswax": 3, "olive oil": 97})  # Gels 10 (2024) 214: 1.16 to 2.27 % at 25 degC, none at 37
        >>> [round(structuring_solids(at).of(gel), 2) for at in (25.0, 37.0)]
        [1.62, 0.0]

    Source: Gels 10 (2024) 214: 1.16 to 2.27 % at 25 degC, and none seen at 37.
    """
    words = f"structuring solids at {temperature:g} degC"
    return Piecewise(words, "%", "whole", Bound(_solids_sets, (temperature,)), here=Bound(_solids_at, (temperature,)))


def solids_as_fat(temperature: float) -> Piecewise:
    """Structuring solids, each as the solid fat that it stands for, in % of the whole: sum(g_i s_i x_i).

    g_i by structurants.csv, where 2.8 g of solid fat are as firm as a gram of beeswax; 1 for what is not there.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> balm = mixed({"carnauba wax": 10, "olive oil": 90})
        >>> round(structuring_solids(30.0).of(balm), 1), round(solids_as_fat(30.0).of(balm), 1)
        (10.0, 56.0)

    Source: a maker's experiments (K-S45): carnauba wax as 1.7 to 2.5 of beeswax; beeswax (F-L38, F-L12) as 2.8 of fat;
        10 are 47 to 70.
    """
    words = f"structuring solids as fat at {temperature:g} degC"
    sets, here = Bound(_solids_sets, (temperature, True)), Bound(_solids_at, (temperature, True))
    return Piecewise(words, "%", "whole", sets, here=here)


def _solids_sets(mix: Mix, temperature: float, as_fat: bool = False) -> tuple[Terms, ...]:
    weights = _weights(mix, as_fat)
    solids = _undissolved(mix, temperature, weights)
    return tuple(_less(solids, part) for part in dissolved(mix, temperature, weights))


def _solids_at(mix: Mix, x: Vector, temperature: float, as_fat: bool = False) -> Terms:
    weights = _weights(mix, as_fat)
    return _less(_undissolved(mix, temperature, weights), dissolved_here(mix, x, temperature, weights))


def _weights(mix: Mix, as_fat: bool) -> tuple[float, ...]:
    """Grams of solid fat that one of each line stands for; empty where solids count as they are."""
    return tuple(structurant(_kind(item)).as_fat for item in mix.ingredients) if as_fat else ()


def _kind(item: Ingredient) -> str:
    """What crystallises of it: `fat`, a wax by its name, or its function."""
    return "fat" if item.functions[0] in FATS else item.name if item.has("wax") else item.functions[0]


def _fixed(mix: Mix, temperature: float) -> Terms:
    """Solids that no oil dissolves: of fats, emulsifiers and the other waxes."""
    values = [_solids(item, temperature) for item in mix.ingredients]
    needed = mix.serving("butter", "oil", *STRUCTURANTS)
    group = np.maximum(needed, [float(value is not None) for value in values])
    return Terms.known(values, group)


@lru_cache(maxsize=4 * KNOWN_SETS)  # a product is looked at in the cold and in the heat
def _undissolved(mix: Mix, temperature: float, weights: tuple[float, ...]) -> Terms:
    """Those solids and all that can crystallise, as if the oil dissolved nothing."""
    fixed = _fixed(mix, temperature)
    counts = np.array(weights or (1.0,) * len(mix.ingredients))
    crystalline = 100 * wax_mass(mix) * counts
    evidence = _weaker(fixed.evidence, wax_evidence(mix))
    return Terms(
        numerator=fixed.numerator * counts + crystalline,
        denominator=fixed.denominator,
        low=fixed.low * counts + crystalline,
        high=fixed.high * counts + crystalline,
        missing=fixed.missing,
        evidence=_weaker(evidence, _as_fat_evidence(mix)) if weights else evidence,
    )


def _less(solids: Terms, part: Dissolved) -> Terms:
    """Solids without what dissolves: least of them where most dissolves."""
    return replace(
        solids,
        numerator=solids.numerator - 100 * part.figure,
        low=solids.low - 100 * part.most,
        high=solids.high - 100 * part.least,
    )


def _as_fat_evidence(mix: Mix) -> tuple[Evidence | None, ...]:
    return tuple(structurant(_kind(item)).evidence if item.has("wax") else None for item in mix.ingredients)


def wax_as_beeswax() -> Ratio:
    """Waxes in the whole, each as the beeswax that it stands for, in %: sum(b_i x_i).

    b_i says how much beeswax stiffens an oil as much as one part of wax i (`beeswax equivalent`; about 2 for candelilla
    and carnauba). A wax without that figure is taken as beeswax.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(wax_as_beeswax().of(mixed({"candelilla wax": 8, "beeswax": 1, "sunflower oil": 91})), 2)
        17.0

    Source: a maker's experiments (K-S45): candelilla wax as 1.7 to 2.3 of beeswax, about 2, and 8 x 2 + 1 is 17.
    """
    return Ratio("wax as beeswax", "%", "whole", _as_beeswax)


def _as_beeswax(mix: Mix) -> Terms:
    waxes = mix.serving("wax")
    values = [item.value(BEESWAX) for item in mix.ingredients]
    terms = Terms.known(values, waxes)
    none = terms.missing  # as much as beeswax
    return Terms(
        100 * (terms.numerator + none), terms.denominator, 100 * (terms.low + none), 100 * (terms.high + none),
        np.zeros_like(none), terms.evidence,
    )  # fmt: skip


def _weaker(first: Sequence[Evidence | None], second: Sequence[Evidence | None]) -> tuple[Evidence | None, ...]:
    return tuple(
        b if a is None or (b and Evidence.weakest([a, b]) is b) else a for a, b in zip(first, second, strict=True)
    )


def solids_by_kind(mix: Mix, x: Vector, temperature: float) -> tuple[tuple[str, float], ...]:
    """Shares of the structuring solids by what crystallises, largest first: `fat`, a wax by its name, or a function.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> from optiform.properties.base import fractions
        >>> balm = mixed({"beeswax": 20, "shea butter, refined": 80})
        >>> [(kind, round(share, 2)) for kind, share in solids_by_kind(Mix.of(balm), fractions(balm), 20.0)]
        [('fat', 0.61), ('beeswax', 0.39)]

    Source: none: bookkeeping, exact.
    """
    wax, part = wax_mass(mix), dissolved_here(mix, x, temperature)
    left = max(0.0, float((wax - part.figure) @ x)) / max(float(wax @ x), 1e-12)
    solid = _fixed(mix, temperature).numerator / 100 * x + left * wax * x
    amounts: dict[str, float] = {}
    for item, amount in zip(mix.ingredients, solid.tolist(), strict=True):
        amounts[_kind(item)] = amounts.get(_kind(item), 0.0) + amount
    total = sum(amounts.values())
    ordered = sorted(amounts.items(), key=lambda entry: -entry[1])
    return tuple((kind, amount / total) for kind, amount in ordered if amount > 0)


def oil_phase_solids(temperature: float) -> Piecewise:
    """Structuring solids at a temperature in % of the oil phase, emulsifiers included. See `structuring_solids`.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> half = mixed({"water": 50, "stearic acid": 10, "sunflower oil": 40})
        >>> round(oil_phase_solids(35.0).of(half), 1)  # palmitic and stearic acid dissolve each by itself
        12.0
        >>> gel = mixed({"water": 50, "beeswax": 1.5, "olive oil": 48.5})
        >>> round(oil_phase_solids(25.0).of(gel), 2)
        1.62

    Source: Gels 10 (2024) 214: of 3 % beeswax in olive oil 1.16 to 2.27 % is solid at 25 degC.
    """
    words = f"solids of the oil phase at {temperature:g} degC"
    ends = Bound(_of_phase_sets, (temperature,)), Bound(_of_phase_at, (temperature,))
    return Piecewise(words, "%", "oil phase", ends[0], here=ends[1])


def _of_phase_sets(mix: Mix, temperature: float) -> tuple[Terms, ...]:
    phase = mix.mask(lambda _, at: at == "oil phase")
    return tuple(replace(terms, denominator=phase) for terms in _solids_sets(mix, temperature))


def _of_phase_at(mix: Mix, x: Vector, temperature: float) -> Terms:
    return replace(_solids_at(mix, x, temperature), denominator=mix.mask(lambda _, at: at == "oil phase"))


def melted_oil(temperature: float) -> Piecewise:
    """What runs for each 100 that hold it at a temperature, both in the whole.

    Above: the melted part of butters, oils and esters, and what it dissolves of waxes, fatty alcohols and acids
    (`oil_solids`). Below: grains as weighed, the crystals left of those, other waxes and emulsifiers by `solid_share`.
    Common practice, no source; meant for scrubs without water. Published scrubs that kept in summer lie near 50, one
    that wept lies near 115. The range is that of what runs; what holds it is taken at its figure.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"sunflower oil": 30, "beeswax": 10, "sugar, granulated": 60})
        >>> round(melted_oil(20.0).of(scrub), 1)  # 30.2 parts that run, 69.8 that hold
        43.3

    Source: none: custom of the trade.
    """
    words = f"melted oil per 100 of solids at {temperature:g} degC"
    ends = Bound(_melted_sets, (temperature,)), Bound(_melted_at, (temperature,))
    return Piecewise(words, PARTS, "solids", ends[0], join="min", here=ends[1])


def _melted_sets(mix: Mix, temperature: float) -> tuple[Terms, ...]:
    return tuple(_melted(mix, temperature, part) for part in dissolved(mix, temperature))


def _melted_at(mix: Mix, x: Vector, temperature: float) -> Terms:
    return _melted(mix, temperature, dissolved_here(mix, x, temperature))


def _melted(mix: Mix, temperature: float, part: Dissolved) -> Terms:
    fats, wax = mix.serving(*FATS), wax_mass(mix)
    solid = [
        solid_fat_value(item, temperature) if fat else None for item, fat in zip(mix.ingredients, fats, strict=True)
    ]
    shares = Terms.known(solid, fats)
    others = _waxlike(mix) * (1 - wax)
    held = Terms.known([solid_share(item, temperature) for item in mix.ingredients], others)
    grains = mix.mask(lambda item, phase: phase == "grains")
    return Terms(
        numerator=100 * (fats + part.figure) - shares.numerator,
        denominator=grains + held.numerator / 100 + wax - part.figure,
        low=100 * (fats + part.least) - shares.high,
        high=100 * (fats + part.most) - shares.low,
        missing=np.maximum(shares.missing, held.missing),
        evidence=_weaker(_weaker(shares.evidence, held.evidence), wax_evidence(mix)),
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

    Source: none: custom of the trade.
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
    """Solids that no oil dissolves; none of what oil_solubility.csv has."""
    if item.name in crystals():
        return Value(None, 0.0, None, "%", "oil_solubility", Evidence.PUBLISHED)
    if item.functions[0] in FATS:
        return solid_fat_value(item, temperature)
    return solid_share(item, temperature) if item.has(*STRUCTURANTS, "emulsifier") else None


@frozen
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
        >>> [(first, second, why.worst) for first, second, why in eutectic_pairs(Mix.of(both), fractions(both))]
        [('coconut oil', 'cocoa butter', 'near 65 % coconut oil')]

    Source: Joshi, Zielbauer and Vilgis, Foods 2020 9:327 (F-S62): least melting near 65 % coconut oil.
    """
    fats = mix.serving(*FATS) * x
    total = float(fats.sum()) or 1.0
    used = {item.name: share / total for item, share in zip(mix.ingredients, fats, strict=True) if share > 0}
    pairs = []
    for rule in _eutectics():
        for first in (name for name in rule.first if used.get(name, 0) >= smallest):
            for second in (name for name in rule.second if used.get(name, 0) >= smallest and name != first):
                if 100 * used[first] / (used[first] + used[second]) > rule.above:
                    pairs.append((first, second, rule))
    return pairs
