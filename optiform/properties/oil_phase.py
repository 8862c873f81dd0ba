"""What the fats of a formula are made of: iodine and saponification value, fatty-acid classes, solid fat.

The fats are the ingredients bought as butter, oil or ester. Waxes, fatty alcohols and emulsifiers are not fats and
do not enter these means.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache, lru_cache

import numpy as np

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.acid_spread import LOTS, spread
from optiform.properties.base import ENDS, Mix, Ratio, Terms, Vector
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.reading.values import Bound

FATS = ("butter", "oil", "ester")
TRIGLYCERIDES = ("butter", "oil")
KOH = 56.1056  # g/mol
GLYCERYL = 92.0938 - 3 * 18.0153  # g/mol: glycerol less the three waters of esterification

CLASSES: dict[str, Callable[[int], bool]] = {
    "saturated": lambda bonds: bonds == 0,
    "monounsaturated": lambda bonds: bonds == 1,
    "polyunsaturated": lambda bonds: bonds >= 2,
}


@frozen
class FattyAcid:
    """Constants of one fatty acid: molar mass in g/mol, double bonds, g I2/100 g per mass % as triglyceride."""

    molar_mass: float
    double_bonds: int
    iodine_factor: float


@cache
def fatty_acid_constants() -> Mapping[str, FattyAcid]:
    """The constants of fatty_acid_constants.csv, by fatty acid.

    Example:
        >>> oleic = fatty_acid_constants()["C18:1"]
        >>> oleic.molar_mass, oleic.double_bonds, oleic.iodine_factor  # g/mol; 0.860 of AOCS Cd 1c-85
        (282.461, 1, 0.86)

    Source: AOCS Cd 1c-85, factor of oleic acid in triglycerides: 0.860.
    """
    return {
        row["fatty acid"]: FattyAcid(
            float(row["molar mass"]), int(row["double bonds"]), float(row["iodine factor triglyceride"] or 0)
        )
        for row in shipped("fatty_acid_constants")
    }


def iodine_value(acids: Mapping[str, float]) -> float:
    """Iodine value of a triglyceride oil, g I2/100 g, from its fatty acids in mass %.

    IV = sum(f_k w_k), with w_k rescaled to 100 and f_k = 0.950 C16:1, 0.860 C18:1, 1.732 C18:2, 2.616 C18:3,
    0.785 C20:1, 0.723 C22:1. AOCS Cd 1c-85, calculated iodine value. Reads low above 0.5 % unsaponifiables.

    Example:
        >>> pure = [{acid: 100} for acid in ("C18:1", "C18:2", "C18:3")]  # AOCS Cd 1c-85: 86.0, 173.2, 261.6
        >>> [round(iodine_value(acids), 1) for acids in pure]
        [86.0, 173.2, 261.6]

    Source: AOCS Cd 1c-85, factors of the acids: 86.0, 173.2 and 261.6 of the pure triglycerides.
    """
    constants, total = fatty_acid_constants(), sum(acids.values())
    return 100 * sum(constants[name].iodine_factor * share for name, share in acids.items()) / total


def saponification_value(acids: Mapping[str, float]) -> float:
    """Saponification value of a triglyceride oil, mg KOH/g, from its fatty acids in mass %.

    SV = 3 * 56.1 * 1000 / (3 M + 92.09 - 3 * 18.02), M the MOLAR mean mass of the acids, sum(w_k) / sum(w_k / M_k).
    The mass mean is a trap: for coconut oil it gives 247, below the range of its standard; the molar mean gives 254.
    Formula of AOCS Cd 3a-94. Not for wax esters, free acids, mono- and diglycerides.

    Example:
        >>> round(saponification_value({"C8:0": 60, "C10:0": 40}), 1)  # Ph. Eur. 0868: 310 to 360
        336.1

    Source: Ph. Eur. 0868, medium-chain triglycerides, as quoted: 310 to 360 mg KOH/g.
    """
    constants = fatty_acid_constants()
    moles = sum(share / constants[name].molar_mass for name, share in acids.items())
    mean = sum(acids.values()) / moles
    return 3 * KOH * 1000 / (3 * mean + GLYCERYL)


def monotone_curve(xs: Sequence[float], ys: Sequence[float], at: float) -> float:
    """Value at `at` of the shape-preserving cubic through the points; constant beyond the first and last.

    Piecewise cubic Hermite with the slopes of Fritsch and Butland (1984): between falling points it never rises.

    Example:
        >>> monotone_curve([10, 20, 30], [80, 40, 0], 15), monotone_curve([10, 20, 30], [80, 40, 0], 50)
        (60.0, 0.0)

    Source: none: the model's own.
    """
    x, y = np.asarray(xs, float), np.asarray(ys, float)
    if at <= x[0] or len(x) == 1:
        return float(y[0])
    if at >= x[-1]:
        return float(y[-1])
    slopes = _slopes(x, y)
    k = int(np.searchsorted(x, at, side="right")) - 1
    h = x[k + 1] - x[k]
    t = (at - x[k]) / h
    ends = (1 + 2 * t) * (1 - t) ** 2 * y[k] + t * t * (3 - 2 * t) * y[k + 1]
    turns = t * (1 - t) ** 2 * h * slopes[k] + t * t * (t - 1) * h * slopes[k + 1]
    return float(ends + turns)


def _slopes(x: Vector, y: Vector) -> Vector:
    """Slope at each point: the weighted harmonic mean of its neighbours', 0 at a turn, one-sided at the ends."""
    h, d = np.diff(x), np.diff(y) / np.diff(x)
    if len(x) == 2:
        return np.array([d[0], d[0]])
    slopes = np.zeros(len(x))
    same = d[:-1] * d[1:] > 0
    first, second = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        mean = (first + second) / (first / d[:-1] + second / d[1:])
    slopes[1:-1][same] = mean[same]
    slopes[0], slopes[-1] = _end(h[0], h[1], d[0], d[1]), _end(h[-1], h[-2], d[-1], d[-2])
    return slopes


def _end(h: float, beyond: float, d: float, next_d: float) -> float:
    slope = ((2 * h + beyond) * d - h * next_d) / (h + beyond)
    if slope * d <= 0:
        return 0.0
    return 3 * d if d * next_d <= 0 and abs(slope) > abs(3 * d) else float(slope)


@lru_cache(maxsize=16_384)
def solid_fat_value(item: Ingredient, temperature: float) -> Value | None:
    """Solid fat of one ingredient at a temperature, in %, between the points that are stored for it.

    None where nothing is stored, or where the temperature lies more than 5 degC beyond the stored points.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> cocoa = read_catalogue().ingredients["cocoa butter"]
        >>> solid_fat_value(cocoa, 20.0).figure  # %; Shukla 1995, mean of four origins, from memory: 74.1
        74.1
        >>> solid_fat_value(cocoa, 60.0)  # beyond the stored points there is none

    Source: Shukla 1995, from memory (F-M08): 74.1 %.
    """
    points = item.curve("solid fat")
    if not points or not points[0][0] - 5 <= temperature <= points[-1][0] + 5:
        return None
    at = [point for point, _ in points]
    figures = [value for _, value in points]
    typical, low, high = (
        float(np.clip(monotone_curve(at, list(map(end, figures)), temperature), 0, 100)) for end in ENDS
    )
    return Value(low, typical, high, "%", figures[0].source, Evidence.weakest(v.evidence for v in figures))


def _mean(
    name: str, unit: str, basis: str, functions: tuple[str, ...], value: Callable[[Ingredient], Value | None]
) -> Ratio:
    """Mass-weighted mean of a figure over the ingredients bought for these functions."""
    return Ratio(name, unit, basis, Bound(_over, (functions, value)))


def _over(mix: Mix, functions: tuple[str, ...], value: Callable[[Ingredient], Value | None]) -> Terms:
    group = mix.serving(*functions)
    return Terms.known([value(item) for item in mix.ingredients], group, group)


def solid_fat(temperature: float) -> Ratio:
    """Solid fat of the fats at a temperature: sum(S_i(T) x_i) / sum(x_i), in % of butters, oils and esters.

    S_i by `solid_fat_value`. Linear mixing holds for compatible fats only; for the pairs of eutectics.csv it is an
    upper bound (see `texture.eutectic_pairs`). Linear in mass fraction: Danthine and Deroanne, compatible fats.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> half = mixed({"cocoa butter": 1, "sunflower oil": 1})
        >>> whole = mixed({"cocoa butter": 1, "water": 9})
        >>> [round(solid_fat(20.0).of(formula), 1) for formula in (half, whole)]  # % of the fats; of one 74.1
        [37.0, 74.1]

    Source: Shukla 1995, from memory (F-M08): cocoa butter 74.1 %; half of it is a liquid oil, so 37.05.
    """
    words = f"solid fat at {temperature:g} degC"
    return _mean(words, "%", "fats", FATS, Bound(solid_fat_value, (temperature,)))


def mean_iodine_value() -> Ratio:
    """Iodine value of the triglycerides, g I2/100 g: mass mean of the stored values, or from the fatty acids.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(mean_iodine_value().of(mixed({"cocoa butter": 1, "coconut oil": 1})), 2)  # 35.3 and 8.6
        21.95
        >>> round(mean_iodine_value().of(mixed({"coconut oil": 1, "water": 3})), 1)  # CXS 210: 6.3 to 10.6
        8.6

    Source: Codex CXS 210, coconut oil: 6.3 to 10.6 g I2/100 g.
    """
    return _mean("iodine value", "g I2/100 g", "butters and oils", TRIGLYCERIDES, _iodine)


def mean_saponification_value() -> Ratio:
    """Saponification value of the triglycerides, mg KOH/g: mass mean, exact because it is an amount per gram.

    The molar mean enters inside one ingredient, where the value is calculated from fatty acids.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(mean_saponification_value().of(mixed({"coconut oil": 1, "water": 3})))  # CXS 210: 248 to 265
        257

    Source: Codex CXS 210, coconut oil: 248 to 265 mg KOH/g.
    """
    return _mean("saponification value", "mg KOH/g", "butters and oils", TRIGLYCERIDES, _saponification)


def fatty_acid_class(name: str) -> Ratio:
    """Share of saturated, mono- or polyunsaturated acids among the fatty acids, in mass %.

    Mean over butters and oils by their mass; the glycerol of each is taken as the same share, an error below 1 point
    between lauric and other fats.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> classes = "saturated", "monounsaturated", "polyunsaturated"
        >>> shares = [fatty_acid_class(name).of(mixed({"cocoa butter": 1})) for name in classes]
        >>> [round(share, 1) for share in shares], round(sum(shares), 1)
        ([62.2, 34.7, 3.1], 100.0)
        >>> [round(fatty_acid_class(name).of(mixed({"olive oil": 1})), 1) for name in classes]
        [15.2, 74.7, 10.1]

    Source: 572 Italian olive oils (F-OLIVE572), sums of the means of their acids: 15.2, 74.5 and 10.1 % of 99.9, which
        is 15.2, 74.7 and 10.1 of 100.
    """
    return _mean(f"{name} share", "%", "fatty acids", TRIGLYCERIDES, Bound(_class_share, (name,)))


def _iodine(item: Ingredient) -> Value | None:
    return item.value("iodine value") or _calculated(item, iodine_value, "g I2/100 g")


def _saponification(item: Ingredient) -> Value | None:
    return item.value("saponification value") or _calculated(item, saponification_value, "mg KOH/g")


def _calculated(item: Ingredient, formula: Callable[[Mapping[str, float]], float], unit: str) -> Value | None:
    if not item.fatty_acids:
        return None
    return _of_acids(item, formula, unit, Evidence.DERIVED)


def _of_acids(
    item: Ingredient, formula: Callable[[Mapping[str, float]], float], unit: str, *worked_out: Evidence
) -> Value:
    """A figure of the fatty acids, with the range that 95 lots of 100 lie in: the acids of one fat move together."""
    figure = formula({name: value.figure for name, value in item.fatty_acids.items()})
    within = LOTS * spread(item, formula)
    evidence = Evidence.weakest([*worked_out, *(value.evidence for value in item.fatty_acids.values())])
    if within == 0:  # no range of any of them is known
        return Value(None, figure, None, unit, "fatty acids", evidence)
    low, high = max(0.0, figure - within), figure + within
    return Value(low, figure, min(100.0, high) if unit == "%" else high, unit, "fatty acids", evidence)


@lru_cache(maxsize=4_096)
def _class_share(item: Ingredient, name: str) -> Value | None:
    return _of_acids(item, Bound(class_share, (name,)), "%") if item.fatty_acids else None


def class_share(acids: Mapping[str, float], name: str) -> float:
    """Share of a class of CLASSES among fatty acids in mass %, which need not sum to 100.

    Example:
        >>> class_share({"C18:0": 10, "C18:1": 60, "C18:2": 30}, "polyunsaturated")
        30.0
        >>> round(class_share({"C16:0": 12.32, "C18:1": 77.55, "C18:2": 9.81, "C18:3": 0.32}, "polyunsaturated"), 2)
        10.13

    Source: 572 Italian olive oils (F-OLIVE572), means of linoleic and linolenic acid 9.81 and 0.32 %: 10.13 in sum.
    """
    constants, counts = fatty_acid_constants(), CLASSES[name]
    share = sum(amount for acid, amount in acids.items() if counts(constants[acid].double_bonds))
    return 100 * share / sum(acids.values())
