"""Water, humectants and active matter, and the grains that this water dissolves."""

import math
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from itertools import product

import numpy as np

from optiform.ingredients.ingredient import Constituent, Evidence
from optiform.properties.base import Bent, Mix, Piecewise, Ratio, Terms, Vector
from optiform.properties.bent import Case, Cases, Edge, Mean, Part, Side, reach_of
from optiform.properties.solubility import solubility
from optiform.properties.water_activity import MOST_UNCOUNTED, WATER, Uncounted, log_activity, model_ranges
from optiform.properties.water_activity import water_activity as water_activity_of
from optiform.reading.values import Bound

INSOLUBLE = ""
MODEL = Evidence.RECALLED  # the weakest of the constants of these models
SAME_SOLUTE = {"Maris Sal": "Sodium Chloride"}
AS_WATER = 1.0  # g/mL: what a trace without a density counts at
WET = ("water", "liquid surfactant", "humectant")  # what brings water of its own
LEAST_WATER = 1.0  # % of the whole: less is no water phase
DRY = 1e-6  # % less than that, to be on the dry side of it for certain
NO_ACTIVITY = 1e-6  #: water activity below which no mix with water comes: a target there is always or never kept
NAMED = 3  # substances that a refusal names, the largest first
SATURATES = {"Sodium Chloride": "sodium chloride", "Sucrose": "sucrose"}


def carried(name: str, property_name: str, carriers: tuple[str, ...]) -> Ratio:
    """Matter that ingredients bring as supplied, in the whole: sum(p_i x_i), in %.

    p_i is the stored share of that matter in ingredient i (in %). Ingredients bought for one of `carriers` must have
    it; any other brings what it is known to bring, and nothing where nothing is stated.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> honeyed = mixed({"honey": 10, "water": 90})
        >>> round(carried("water", "water", ("water",)).of(honeyed), 2)  # honey brings 17 %
        91.7

    Source: a trade specification of honey (FR-SUP-HONEY): 15 to 19 % water, so 91.5 to 91.9 here.
    """
    return Ratio(name, "%", "whole", Bound(_matter, (property_name, carriers)))


def _matter(mix: Mix, property_name: str, carriers: tuple[str, ...]) -> Terms:
    values = [item.value(property_name) for item in mix.ingredients]
    group = np.maximum(mix.serving(*carriers), [float(value is not None) for value in values])
    return Terms.known(values, group)


def water() -> Ratio:
    """Water in total, in % of the whole: added, and carried in by surfactants, syrups and blends.

    sum(w_i x_i) with w_i the water share of ingredient i as supplied.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(water().of(mixed({"cocamidopropyl betaine, 30 %": 50, "water": 50})), 2)  # 64 % of the first
        82.0
        >>> round(water().of(mixed({"sorbitol, 70 %": 50, "water": 50})), 2)
        65.0

    Source: USP 28, sorbitol solution (FR-USP28-SORB): 28.5 to 31.5 % water, so 64.25 to 65.75 where half of all is that
        solution.
    """
    return carried("water", "water", ("water", "liquid surfactant"))


def dissolved(solute: str, temperature: float) -> Piecewise:
    """Grains of one solute that the water dissolves at a temperature, in % of the whole.

    min(g, s W): g the grains of that solute, W all water in the formula, s the solubility in g per g of water
    (solubility.csv). Each solute is taken to saturate the water by itself; where several dissolve together, less of
    each does, so this is an upper bound there. Humectants bind water too: an upper bound again.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> syrup = mixed({"sugar, granulated": 50, "water": 20})  # Mohos (2010): 40.78 g dissolve
        >>> round(0.7 * dissolved("sucrose", 20.0).of(syrup), 2)
        40.78

    Source: Mohos (2010), Table A2.2 (W-S07): 203.9 g in 100 g of water at 20 degC, so 40.78 in 20.
    """
    words = f"dissolved {_short(solute)} at {temperature:g} degC"
    return Piecewise(words, "%", "whole", Bound(_dissolved, (solute, temperature)), join="min")


def _dissolved(mix: Mix, solute: str, temperature: float) -> tuple[Terms, ...]:
    parts = _grains(mix, solute), _held(mix, solute, temperature)
    return tuple(Terms.exact(100 * part, evidence=MODEL) for part in parts)


def undissolved(solute: str | None, temperature: float) -> Piecewise:
    """Grains that stay undissolved at a temperature, in % of the whole: sum of max(0, g - s W) over the solutes.

    `solute` None counts every kind, grains that never dissolve included. See `dissolved` for the terms.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> syrup = mixed({"sugar, granulated": 50, "water": 20})  # Mohos (2010): 9.22 g stay
        >>> round(0.7 * undissolved("sucrose", 20.0).of(syrup), 2)
        9.22

    Source: Mohos (2010), Table A2.2 (W-S07): 203.9 g in 100 g of water at 20 degC, so 9.22 of 50 are left beside 20.
    """
    words = "grains" if solute is None else _short(solute)
    pieces = Bound(_undissolved, (solute, temperature))
    return Piecewise(f"undissolved {words} at {temperature:g} degC", "%", "whole", pieces)


def _undissolved(mix: Mix, solute: str | None, temperature: float) -> tuple[Terms, ...]:
    kinds = _solutes(mix) if solute is None else [solute]
    return tuple(Terms.exact(100 * left, evidence=MODEL) for left in _left(mix, kinds, temperature, np.ones))


def grain_volume_fraction(temperature: float) -> Piecewise:
    """Volume of undissolved grains over the volume of everything: sum(u_i / rho_i) / sum(x_i / rho_i), as a fraction.

    Densities in g/mL as stored nearest to 20 degC, volumes taken to add up, dissolved matter counted at the density of
    its crystal (a few per cent of its volume too large). No air: a whipped product holds less.

    Lines without a density count at 1 g/mL while they are at most `TRACE`, 0.5 % of the jar, in all. At 0.5 to 3 g/mL a
    gram takes 0.33 to 2 mL, so of a gram of jar, V mL, at most 0.005 mL are missed: 0.5 % / V of the fraction. Where V
    is 0.5 that is 0.6 % of firmness at a fraction of 0.3 and 3.3 % at 0.5; its band is a factor of 3.2 and more.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(grain_volume_fraction(20.0).of(mixed({"sea salt, fine": 50, "sunflower oil": 50})), 3)
        0.297

    Source: crystals of sodium chloride 2.17 g/mL (FR-CHEM-CRC), sunflower oil 0.9178 (FR-CXS210-2022): by hand 0.297.
    """
    pieces = Bound(_filled, (temperature,))
    return Piecewise(f"grain volume fraction at {temperature:g} degC", "-", "volume", pieces)


def _filled(mix: Mix, temperature: float) -> tuple[Terms, ...]:
    densities = [item.density for item in mix.ingredients]
    volume = 1.0 / np.array([value.figure if value else AS_WATER for value in densities])
    known = Terms.known(densities, np.ones(len(volume)))
    left = tuple(_left(mix, _solutes(mix), temperature, lambda _: volume))
    # Without grains their share is 0, however much room all else takes.
    missing = known.missing if any(piece.any() for piece in left) else np.zeros(len(volume))
    traces = missing if missing.any() else None
    return tuple(Terms(piece, volume, piece, piece, missing, known.evidence, traces) for piece in left)


def insoluble_grains() -> Ratio:
    """Grains that no water dissolves, in % of the whole: the phase `grains` without sugars and salts. Exact.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(insoluble_grains().of(mixed({"sugar, granulated": 40, "pumice, fine": 10, "water": 50})), 2)
        10.0

    Source: none: bookkeeping, exact.
    """
    return Ratio("grains that do not dissolve", "%", "whole", _insoluble)


def _insoluble(mix: Mix) -> Terms:
    return Terms.exact(100 * _grains(mix, INSOLUBLE))


def _left(mix: Mix, kinds: Sequence[str], temperature: float, size: Callable[[int], Vector]) -> Iterator[Vector]:
    """Undissolved grains as the largest of these: for every set of solutes, the sum of g - s W over the set.

    `size` turns the mass of each line into what is counted. Grains that never dissolve stand in every sum. The set of
    all solutes comes first: it is the one that holds in a scrub.
    """
    count = size(len(mix.ingredients))
    fixed = _grains(mix, INSOLUBLE) * count if INSOLUBLE in kinds else np.zeros(len(mix.ingredients))
    solutes = [kind for kind in kinds if kind != INSOLUBLE]
    for some in sorted(product([True, False], repeat=len(solutes)), key=sum, reverse=True):
        left = fixed.copy()
        for kind in (kind for kind, dissolves in zip(solutes, some, strict=True) if dissolves):
            grains = _grains(mix, kind)
            crystal = float((grains * count).sum() / max(grains.sum(), 1.0))
            left += grains * count - crystal * _held(mix, kind, temperature)
        yield left


def _short(solute: str) -> str:
    return {"sucrose": "sugar", "sodium chloride": "salt", "magnesium sulfate heptahydrate": "epsom salt"}[solute]


def _solutes(mix: Mix) -> list[str]:
    return sorted({item.solute for item, at in zip(mix.ingredients, mix.phases, strict=True) if at == "grains"})


def _grains(mix: Mix, solute: str) -> Vector:
    return mix.mask(lambda item, at: at == "grains" and item.solute == solute)


def _held(mix: Mix, solute: str, temperature: float) -> Vector:
    """Coefficients of what the water can hold of one solute, g per g of each line."""
    return solubility(solute, temperature) * water().everywhere(mix).numerator / 100


def water_activity() -> Bent:
    """Water activity of the water phase at about 25 degC, by Norrish for each solute and Ross over all of them.

    See `water_activity.py` for formula, sources and validity. An estimate from composition: it must be measured, and
    it never says that a product keeps. It does not apply where all but 1 % of the formula is without water of its own
    (the bound water of powders is no water phase), and it is not given where more than `MOST_UNCOUNTED` of the water
    phase is of substances that the model does not count.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> syrup = mixed({"sugar, granulated": 1.0268889, "water": 1})  # 3 mol/kg; recalled: 0.933
        >>> round(water_activity().of(syrup), 3)
        0.933

    Source: Robinson and Stokes (1965), from memory: 0.93276 of sucrose at 3 mol/kg.
    """
    note = "estimated, solutes without figures not counted: measure it, and take it for no proof of preservation"
    return Bent(
        name="water activity",
        unit="-",
        basis="water phase",
        near=_activity_near,
        note=note,
        here=_activity_here,
        holds=_range_of_model,
        cases=activity_cases,
    )


def _plane(x: Vector, value: float, slope: Vector) -> Terms:
    return Terms.exact(slope + (value - slope @ x), evidence=MODEL)  # for fractions that sum to one


def _activity_here(mix: Mix, x: Vector) -> Terms:
    none = np.zeros(len(x))
    return _plane(x, _activity(mix, x), none) if _is_wet(mix, x) else Terms.exact(none, none)


def _activity_near(mix: Mix, x: Vector) -> Terms:
    if not _is_wet(mix, x):
        return _activity_here(mix, x)
    value, cases = _activity(mix, x), _known_cases(mix)
    tangent = cases.tangent(cases.at(x), x)
    return _plane(x, value, np.zeros(len(x)) if tangent is None else tangent[1])


def _range_of_model(mix: Mix) -> tuple[tuple[str, Terms, float], ...]:
    """The solutes that can outgrow their model: each in its mixture with the water alone, in mass %.

    Those that saturate cannot: what is above stays undissolved. Then what the model does not count, in the water phase.
    """
    wet = water().everywhere(mix).numerator / 100
    reasons = []
    for inci, most in model_ranges().items():
        parts = [sum(part.share.figure for part in item.constituents if part.inci == inci) for item in mix.ingredients]
        mass = np.array(parts) / 100
        if inci not in SATURATES and mass.any():
            name = f"{inci} in its mixture with the water alone"
            reasons.append((name, Terms.exact(100 * mass, mass + wet), most * (1 - 1e-4)))
    phase = mix.mask(lambda item, at: at == "water phase")
    strange = phase * [sum(p.share.figure for p in item.constituents if _strange(p)) / 100 for item in mix.ingredients]
    if strange.any():
        name = "what the model of water activity does not count, in the water phase"
        reasons.append((name, Terms.exact(100 * strange, phase), MOST_UNCOUNTED * (1 - 1e-4)))
    return tuple(reasons)


def _strange(part: Constituent) -> bool:
    return _solute_name(part) not in (WATER, *model_ranges())


def _solute_name(part: Constituent) -> str:
    return SAME_SOLUTE.get(part.inci, part.inci)


def _is_wet(mix: Mix, x: Vector) -> bool:
    """Whether there is a water phase to speak of: water that is not bound in powders and grains."""
    return float(_free_water(mix) @ x) >= LEAST_WATER


def _free_water(mix: Mix) -> Vector:
    """Water that is not bound in powders and grains, in % of each line."""
    stored = water().everywhere(mix).numerator
    declared = [sum(part.share.figure for part in item.constituents if part.inci == WATER) for item in mix.ingredients]
    return np.where(mix.serving(*WET), stored, np.minimum(declared, stored))


def _total_water(mix: Mix, x: Vector) -> float:
    return float(water().terms(mix, x).numerator @ x) / 100


def _activity(mix: Mix, x: Vector) -> float:
    """Water activity of everything dissolved: each line's constituents, and of the grains what the water holds."""
    held = {kind: _held_share(mix, x, kind) for kind in _solutes(mix)}
    amounts: dict[str, float] = {}
    for item, phase, share in zip(mix.ingredients, mix.phases, x, strict=True):
        wet = held[item.solute] if phase == "grains" else 1.0
        for part in item.constituents:
            name = _solute_name(part)
            amounts[name] = amounts.get(name, 0.0) + wet * share * part.share.figure / 100
    amounts[WATER] = _total_water(mix, x)
    for inci, solute in SATURATES.items():  # salt carried in by a surfactant and salt grains share one saturation
        amounts[inci] = min(amounts.get(inci, 0.0), solubility(solute, 25.0) * amounts[WATER])
    activity = water_activity_of({name: max(0.0, mass) for name, mass in amounts.items()})
    _refuse_strange(mix, x, frozenset(activity.uncounted))
    return activity.value


def _refuse_strange(mix: Mix, x: Vector, uncounted: frozenset[str]) -> None:
    """Raise where too much of the water phase is of substances that are not counted."""
    total, parts = 0.0, dict.fromkeys(sorted(uncounted), 0.0)
    for item, phase, share in zip(mix.ingredients, mix.phases, x, strict=True):
        for part in item.constituents if phase == "water phase" and share > 0 else ():
            if _solute_name(part) in uncounted:
                parts[_solute_name(part)] += share * part.share.figure / 100
        total += share if phase == "water phase" else 0.0
    # A last digit of rounding, as from a line that is weighed in two goes, is not a breach.
    if total > 0 and 100 * sum(parts.values()) > MOST_UNCOUNTED * total * (1 + 1e-9):
        most = sorted((name for name, mass in parts.items() if mass > 0), key=lambda name: -parts[name])
        raise Uncounted(100 * sum(parts.values()) / total, most[:NAMED])


def _held_share(mix: Mix, x: Vector, solute: str) -> float:
    """The part of one kind of grains that is in solution at 25 degC."""
    grains = float(_grains(mix, solute) @ x)
    if grains <= 0 or solute == INSOLUBLE:
        return 0.0
    return min(1.0, float(_held(mix, solute, 25.0) @ x) / grains)


# -- its cases ---------------------------------------------------------------------------------------------------------


def activity_cases(mix: Mix) -> Cases:
    """ln(water activity) in cases: no water to speak of, or each kind of grain all dissolved or saturating.

    ln aw = sum_i f_i(a_i / W) over the solutes i, W all water, a_i what is dissolved of i. Of a kind of grain of mass G
    with solubility s, min(G, s W) dissolves. Where that is G, a_i is a sum over the lines; where it is s W, a_i / W is
    that of the other lines plus s times the mean share of i in these grains. Falling in every a_i, each f_i is bounded
    by its chord on an interval, so that ln aw is bounded by ratios over W.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> cases = activity_cases(Mix.of(mixed({"sugar, granulated": 1, "water": 1})))
        >>> [case.applies for case in cases.cases]  # no water to speak of; sugar left over; all of it dissolved
        [False, True, True]

    Source: none: bookkeeping, exact.
    """
    free, wet = _free_water(mix), water().everywhere(mix).numerator / 100
    kinds = [kind for kind in _solutes(mix) if kind != INSOLUBLE]
    words = "water that is not bound in powders or grains"
    cases = [Case((Edge(words, free, "high", LEAST_WATER - DRY),))]
    for full in product([True, False], repeat=len(kinds)) if free.any() else ():
        edges = [Edge(words, free, "low", LEAST_WATER)]
        for kind, saturated in zip(kinds, full, strict=True):
            left = 100 * (_grains(mix, kind) - solubility(kind, 25.0) * wet)
            side: Side = "low" if saturated else "high"
            edges.append(Edge(f"undissolved {_short(kind)} at 25 degC", left, side, 0.0))
        saturating = [kind for kind, saturated in zip(kinds, full, strict=True) if saturated]
        cases.append(Case(tuple(edges), (), wet, tuple(_solute_parts(mix, wet, saturating))))
    return Cases(tuple(cases), _ln, _inverse, math.exp)


@lru_cache(maxsize=64)
def _known_cases(mix: Mix) -> Cases:
    """Its cases, looked up once: a search asks for a slope at hundreds of points."""
    return activity_cases(mix)


def _ln(value: float) -> float:
    """Its logarithm; of nothing and below, that of less than any formula has."""
    return math.log(max(value, NO_ACTIVITY))


def _inverse(value: float) -> float:
    return 1 / max(value, NO_ACTIVITY)


def _solute_parts(mix: Mix, wet: Vector, saturating: Sequence[str]) -> Iterator[Part]:
    """The part of each solute of the model, with these kinds of grains at saturation and the others all dissolved."""
    insoluble = _grains(mix, INSOLUBLE)
    for inci, valid in model_ranges().items():
        shares = [sum(p.share.figure for p in item.constituents if _solute_name(p) == inci) for item in mix.ingredients]
        share = np.array(shares) / 100 * (1 - insoluble)
        most = solubility(SATURATES[inci], 25.0) if inci in SATURATES else None
        means, amount = [], share
        for kind in saturating:
            grains = _grains(mix, kind)
            amount = amount * (1 - grains)
            low, high = reach_of(share * grains, grains)
            held = solubility(kind, 25.0)
            if low == high:
                amount = amount + held * low * wet
            else:
                means.append(Mean(f"{inci} in the grains", share * grains, grains, held, (low, high)))
        if amount.any() or means:
            top = float(100 * amount.max() / LEAST_WATER) if most is not None else valid / (100 - valid)
            yield Part(f"{inci} per water", amount, log_activity(inci, most), (0.0, top), tuple(means))
