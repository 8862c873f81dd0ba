"""What a maker should know before weighing: what is missed, unusual, unknown or not in stock."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import DOSED, Evidence, Ingredient
from optiform.properties.base import Mix, Vector, fractions
from optiform.properties.phases import count_ingredients, phase_share
from optiform.properties.registry import find_property
from optiform.properties.surfactants import outside_hlb
from optiform.properties.texture import eutectic_pairs
from optiform.properties.water_phase import water
from optiform.reading.tables import shipped
from optiform.reading.units import PARTS
from optiform.review.answer import Measured, Stop
from optiform.review.measures import Setting, measure
from optiform.review.rounding import INWARD, allowed, apart, rounding
from optiform.rules.law import Scope, certificate_class, uncertified

PARTING = 3.0  # % of the whole of water phase and of oil phase, from which they part. Common practice, no source.
HOLDING = ("emulsifier", "solid surfactant", "liquid surfactant")
#: What makes a soap of a fatty acid, by INCI. Common practice, no source.
ALKALIS = ("sodium hydroxide", "potassium hydroxide", "triethanolamine")


def warnings(formula: Formula, measures: Sequence[Measured], setting: Setting) -> Iterator[str]:
    """Every warning on a formula in its setting, the brief's own limits first."""
    mix, x = Mix.of(formula), fractions(formula)
    yield from _missed(measures)
    yield from _usual(mix, x, setting)
    yield from _doses(formula, setting)
    yield from _unheld(mix, x)
    yield from _fats(mix, x)
    yield from _preservation(mix, x)
    yield from _fragrance(mix, x, setting.scope)
    yield from _hlb(formula, measures)
    yield from short_of_stock(formula, setting.batch)


def _missed(measures: Sequence[Measured]) -> Iterator[str]:
    for found in measures:
        if found.missed and found.value is not None:
            limits = " to ".join(f"{end:g}" if end is not None else "..." for end in (found.low, found.high))
            value = apart(found.value, found.low, found.high)
            yield f"{found.name} is {value} {found.unit}, outside the brief's {limits}."
        elif found.limited and found.state == "does not apply":
            yield f"{found.name} does not apply: nothing in the formula has it."


@dataclass(frozen=True)
class UsualRange:
    """What is usual for one property of a kind of product, and what happens outside.

    With `if_used`, the range says how much where any is used at all; none is usual too.
    """

    property: str
    low: float
    high: float
    unit: str
    if_used: bool
    below: str
    above: str
    evidence: Evidence


@cache
def usual_ranges(kind: str) -> tuple[UsualRange, ...]:
    """The usual ranges for a kind of product; none for an unknown kind."""
    return tuple(
        UsualRange(
            row["property"], float(row["low"]), float(row["high"]), row["unit"], row["if used"] == "yes",
            row["below"], row["above"], Evidence(row["evidence"]),
        )
        for row in shipped("usual_ranges")
        if row["kind"] == kind
    )  # fmt: skip


def _usual(mix: Mix, x: Vector, setting: Setting) -> Iterator[str]:
    for usual in usual_ranges(setting.kind):
        value, off = _looked_at(usual, mix, x, setting)
        if value is None or (usual.if_used and value == 0) or _within(value, usual.low, usual.high, off):
            continue
        side, effect = ("below", usual.below) if value < usual.low else ("above", usual.above)
        unit, told = (
            {"%": " %", "count": ""}.get(usual.unit, f" {PARTS}"),
            apart(value, usual.low, usual.high, digits=3),
        )
        yield (
            f"Unusual in this kind ({setting.kind}): {usual.property} {told}{unit}, {side} the usual "
            f"{usual.low:g} to {usual.high:g}{unit} ({usual.evidence}): {effect}."
        )


def _looked_at(usual: UsualRange, mix: Mix, x: Vector, setting: Setting) -> tuple[float | None, float]:
    """The value that a usual range is about, and how far off the scale can put it where it lies outside."""
    if usual.property == "number of ingredients":
        return float(count_ingredients(x)), 0.0
    wanted = find_property(usual.property, setting.currency)
    value = measure(wanted, mix, x).value
    outside = value is not None and not _within(value, usual.low, usual.high)
    return value, rounding(wanted, mix, x, setting.half_step) if outside else 0.0


def _within(value: float, low: float, high: float, off: float = 0.0) -> bool:
    """Whether a value lies in a range, or no farther out than rounding puts it."""
    return low - max(1e-6, allowed(low, off)) <= value <= high + max(1e-6, allowed(high, off))


def _ranged(kind: str) -> frozenset[str]:
    """Functions whose share has a usual range in this kind of product."""
    shares = [u.property.removeprefix("share of ") for u in usual_ranges(kind) if u.property.startswith("share of ")]
    return frozenset(word for words in shares for word in words.removesuffix(" in the base").split(" and "))


def _doses(formula: Formula, setting: Setting) -> Iterator[str]:
    """Ingredients outside their usual use, or above the maximum their makers advise, all phases together.

    What is usual in the kind of product goes before what is usual of the ingredient at large, but for the top of what
    is dosed: a sorbate is not more usual because other preservatives are used at more.
    """
    ranged = _ranged(setting.kind)
    for item in _used(formula):
        percent, name, bought = 100 * formula.fraction(item.name), item.name, item.functions[0]
        most, usual = item.value("maximum use"), item.value("usual use")
        if most is not None and percent > most.figure + 1e-6:
            told = apart(percent, most.figure, digits=3)
            yield f"{name} at {told} % is above its maximum use of {most.figure:g} % ({most.evidence})."
            continue
        if usual is None:
            continue
        low, high = usual.low or 0.0, usual.high or 100.0
        if bought in ranged:
            low, high = 0.0, high if bought in DOSED else 100.0
        if not _within(percent, low, high, 0.0 if bought == INWARD else 100 * setting.half_step):
            ends = f"{usual.low or 0:g} to {usual.high or 100:g} %"
            told = apart(percent, usual.low, usual.high, digits=3)
            yield f"{name} at {told} % is outside its usual use of {ends} ({usual.evidence})."


def _used(formula: Formula) -> Iterator[Ingredient]:
    """Every ingredient once, though it may stand in several phases."""
    yield from {line.ingredient.name: line.ingredient for line in formula.lines}.values()


def _fats(mix: Mix, x: Vector) -> Iterator[str]:
    for first, second, rule in eutectic_pairs(mix, x):
        yield (f"{first} with {second}: {rule.effect}. The solid fat shown is an upper bound: try it warm and cold.")


def _unheld(mix: Mix, x: Vector) -> Iterator[str]:
    wet, fat = (phase_share(phase).at(mix, x).at(x) or 0.0 for phase in ("water phase", "oil phase"))
    if min(wet, fat) >= PARTING and not _held(mix, x):
        yield Stop(
            f"Nothing here holds oil and water together: {wet:.3g} % water phase and {fat:.3g} % oil phase without an "
            f"emulsifier. They part (common practice, no source: from about {PARTING:g} % of each)."
        )


def _held(mix: Mix, x: Vector) -> bool:
    """Whether an emulsifier or a surfactant is there, or a fatty acid that an alkali makes soap of."""
    used = [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]
    alkali = any(part.inci.casefold() in ALKALIS for item in used for part in item.constituents)
    holding = (*HOLDING, "fatty acid") if alkali else HOLDING
    return any(item.has(*holding) for item in used)


def _preservation(mix: Mix, x: Vector) -> Iterator[str]:
    wet = measure(water(), mix, x)
    if mix.serving("preservative") @ x > 0:
        return
    if wet.value is None:  # water that is not known is no reason to be silent
        lacking = ", ".join(wet.lacking)
        yield Stop(f"No preservative, and how much water {lacking} brings is not known: microbes can grow in it.")
    elif wet.value >= 1.0:
        yield Stop(f"Contains {wet.value:.3g} % water and no preservative: microbes can grow in it.")


def _fragrance(mix: Mix, x: Vector, scope: Scope | None) -> Iterator[str]:
    if scope is None:
        return
    used = {item.name for item, share in zip(mix.ingredients, x, strict=True) if share > 0}
    for name in (name for name in uncertified(mix, scope) if name in used):
        yield (
            f"{name} has no certificate maximum for class {certificate_class(scope)} in your file: ask its supplier "
            f"and enter it under 'certificate maximum {certificate_class(scope)} (%)'."
        )


def _hlb(formula: Formula, measures: Sequence[Measured]) -> Iterator[str]:
    limited = any("hlb" in found.name and found.limited for found in measures)
    outside = [item.name for item in _used(formula) if outside_hlb(item)]
    if limited and outside:
        yield (f"HLB does not apply to {', '.join(outside)} (ionic, or a ready-made emulsifying wax): left out of it.")
    if limited and any(x.name == "glyceryl stearate" and x.has("emulsifier") for x in _used(formula)):
        yield "Glyceryl stearate is counted as an emulsifier; a brief can count it in the oil phase with count_as_oil."


def short_of_stock(formula: Formula, batch: float | None) -> Iterator[str]:
    """Ingredients of which the own table has less in stock than a batch of so many kg needs."""
    for item in _used(formula) if batch else ():
        stock = item.value("stock")
        need = formula.fraction(item.name) * (batch or 0.0)
        if stock is not None and need > stock.figure + 1e-9:
            yield f"{item.name}: the batch needs {need:.3g} kg, {stock.figure:g} kg are in stock."
