"""Water, humectants and active matter, and the grains that this water dissolves."""

from collections.abc import Callable
from functools import partial

import numpy as np

from optiform.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, Property, Terms, Vector
from optiform.properties.solubility import OutOfRange, solubility
from optiform.properties.water_activity import water_activity as water_activity_of

INSOLUBLE = ""
MODEL = Evidence.RECALLED  # the weakest of the constants of these models
SAME_SOLUTE = {"Maris Sal": "Sodium Chloride"}
SATURATES = {"Sodium Chloride": "sodium chloride", "Sucrose": "sucrose"}


def carried(name: str, property_name: str, carriers: tuple[str, ...]) -> Property:
    """Matter that ingredients bring as supplied, in the whole: sum(p_i x_i), in %.

    p_i is the stored share of that matter in ingredient i (in %). Ingredients bought for one of `carriers` must have
    it; any other brings what it is known to bring, and nothing where nothing is stated.
    """

    def terms(mix: Mix, _: Vector) -> Terms:
        values = [item.value(property_name) for item in mix.ingredients]
        group = np.maximum(mix.serving(*carriers), [float(value is not None) for value in values])
        return Terms.known(values, group)

    return Property(name, "%", "whole", terms)


def water() -> Property:
    """Water in total, in % of the whole: added, and carried in by surfactants, syrups and blends.

    sum(w_i x_i) with w_i the water share of ingredient i as supplied.
    """
    return carried("water", "water", ("water", "liquid surfactant"))


def dissolved(solute: str, temperature: float) -> Property:
    """Grains of one solute that the water dissolves at a temperature, in % of the whole.

    min(g, s W): g the grains of that solute, W all water in the formula, s the solubility in g per g of water
    (solubility.csv). Each solute is taken to saturate the water by itself; where several dissolve together, less of
    each does, so this is an upper bound there. Humectants bind water too: an upper bound again.
    """
    return Property(
        f"dissolved {_short(solute)} at {temperature:g} degC",
        "%",
        "whole",
        lambda mix, x: Terms.exact(100 * _dissolving(mix, x, solute, temperature), evidence=MODEL),
        bends=True,
    )


def undissolved(solute: str | None, temperature: float) -> Property:
    """Grains that stay undissolved at a temperature, in % of the whole: sum of max(0, g - s W) over the solutes.

    `solute` None counts every kind, grains that never dissolve included. See `dissolved` for the terms.
    """

    def terms(mix: Mix, x: Vector) -> Terms:
        kinds = _solutes(mix) if solute is None else [solute]
        left = sum((_grains(mix, kind) - _dissolving(mix, x, kind, temperature) for kind in kinds), np.zeros(len(x)))
        return Terms.exact(100 * left, evidence=MODEL)

    words = "grains" if solute is None else _short(solute)
    return Property(f"undissolved {words} at {temperature:g} degC", "%", "whole", terms, bends=True)


def grain_volume_fraction(temperature: float) -> Property:
    """Volume of undissolved grains over the volume of everything: sum(u_i / rho_i) / sum(x_i / rho_i), as a fraction.

    Densities in g/mL as stored, volumes taken to add up, dissolved matter counted at the density of its crystal (a
    few per cent of its volume too large). No air: a whipped product holds less.
    """

    def terms(mix: Mix, x: Vector) -> Terms:
        densities = [_density(item) for item in mix.ingredients]
        known = [value.figure if value else np.inf for value in densities]
        volume = 1.0 / np.array(known)
        kinds = _solutes(mix)
        left = sum((_grains(mix, kind) * volume for kind in kinds), np.zeros(len(x)))
        gone = sum((_dissolving(mix, x, k, temperature) * _crystal_volume(mix, k) for k in kinds), np.zeros(len(x)))
        base = Terms.known(densities, np.ones(len(x)))
        return Terms(left - gone, volume, left - gone, left - gone, base.missing, base.evidence)

    return Property(f"grain volume fraction at {temperature:g} degC", "-", "volume", terms, bends=True)


def _crystal_volume(mix: Mix, solute: str) -> float:
    found = [_density(item) for item in mix.ingredients if item.solute == solute]
    return next((1.0 / value.figure for value in found if value), 0.0)


def _density(item: Ingredient) -> Value | None:
    points = item.curve("density")
    return min(points, key=lambda point: abs(point[0] - 20))[1] if points else item.value("density")


def _short(solute: str) -> str:
    return {"sucrose": "sugar", "sodium chloride": "salt", "magnesium sulfate heptahydrate": "epsom salt"}[solute]


def _solutes(mix: Mix) -> list[str]:
    return sorted({item.solute for item, at in zip(mix.ingredients, mix.phases, strict=True) if at == "grains"})


def _grains(mix: Mix, solute: str) -> Vector:
    return mix.mask(lambda item, at: at == "grains" and item.solute == solute)


def _dissolving(mix: Mix, x: Vector, solute: str, temperature: float) -> Vector:
    """Coefficients of the dissolved mass of one solute near x: all of it, or what the water holds."""
    grains = _grains(mix, solute)
    if solute == INSOLUBLE:
        return np.zeros(len(x))
    held = solubility(solute, temperature) * water().terms(mix, x).numerator / 100
    return held if held @ x <= grains @ x else grains  # at nothing at all, take it that some stays undissolved


def water_activity() -> Property:
    """Water activity of the water phase at about 25 degC, by Norrish for each solute and Ross over all of them.

    See `water_activity.py` for formula, sources and validity. An estimate from composition: it must be measured, and
    it never says that a product keeps.
    """

    def terms(mix: Mix, x: Vector) -> Terms:
        if _total_water(mix, x) <= 0:
            return Terms.exact(np.zeros(len(x)), np.zeros(len(x)))
        value = partial(_activity, mix)
        here, slope = value(x), _gradient(value, x)
        return Terms.exact(slope + (here - slope @ x), evidence=MODEL)  # a tangent plane, for fractions that sum to one

    note = "estimated from composition: measure it, and take it for no proof of preservation"
    return Property("water activity", "-", "water phase", terms, bends=True, note=note)


def _total_water(mix: Mix, x: Vector) -> float:
    return float(water().terms(mix, x).numerator @ x) / 100


def _activity(mix: Mix, x: Vector) -> float:
    """Water activity of everything dissolved: each line's constituents, and of the grains what the water holds."""
    held = {kind: _held_share(mix, x, kind) for kind in _solutes(mix)}
    amounts: dict[str, float] = {}
    for item, phase, share in zip(mix.ingredients, mix.phases, x, strict=True):
        wet = held[item.solute] if phase == "grains" else 1.0
        for part in item.constituents:
            name = SAME_SOLUTE.get(part.inci, part.inci)
            amounts[name] = amounts.get(name, 0.0) + wet * share * part.share.figure / 100
    amounts["Aqua"] = _total_water(mix, x)
    for inci, solute in SATURATES.items():  # salt carried in by a surfactant and salt grains share one saturation
        amounts[inci] = min(amounts.get(inci, 0.0), solubility(solute, 25.0) * amounts["Aqua"])
    return water_activity_of({name: max(0.0, mass) for name, mass in amounts.items()}).value


def _held_share(mix: Mix, x: Vector, solute: str) -> float:
    """The part of one kind of grains that is in solution at 25 degC."""
    grains = float(_grains(mix, solute) @ x)
    return float(_dissolving(mix, x, solute, 25.0) @ x) / grains if grains > 0 else 0.0


def _gradient(value: Callable[[Vector], float], x: Vector, step: float = 1e-6) -> Vector:
    """Differences, forward where the model allows it, backward at the end of its range."""
    here, slope = value(x), np.zeros(len(x))
    for i in range(len(x)):
        for move in (step, -min(step, x[i])):
            moved = x.copy()
            moved[i] += move
            try:
                slope[i] = (value(moved) - here) / move if move else 0.0
            except OutOfRange:
                continue
            break
    return slope
