"""What a maker should know before weighing: what is missed, unusual, unknown or not in stock."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Literal

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import DOSED, Evidence, Ingredient
from optiform.properties.base import Mix, Vector, fractions
from optiform.properties.phases import count_ingredients
from optiform.properties.registry import find_property
from optiform.properties.surfactants import outside_hlb
from optiform.properties.texture import eutectic_pairs
from optiform.properties.water_phase import water
from optiform.review import facts
from optiform.review.answer import NOT_CHOSEN, FormulaWarning, Measured
from optiform.review.chemistry import clashes
from optiform.review.heat import too_hot_warnings
from optiform.review.measures import Setting, measure
from optiform.review.rounding import INWARD, allowed, rounding
from optiform.rules.certificates import certificate_class, uncertified
from optiform.rules.essential_oils import perhaps_due
from optiform.rules.forms import Level
from optiform.rules.law import Scope
from optiform.rules.usual import COUNT, UsualRange, grain_in, instead_of, usual_ranges, usual_use

EUTECTIC = "eutectic"  #: rule of a warning on fats that melt lower together
EITHER_WAY = "glyceryl stearate"  #: an emulsifier that some makers count in the oil phase
#: Times the top of its usual use: so much of an ingredient is to be minded. Of what is dosed the top itself. No source.
TOO_MUCH = 2.0
End = tuple[str, str]  #: of a usual range: its property, and `below` or `above`
#: Ends of usual ranges that say the opposite of others, which know better: how much oil an emulsifier has to carry,
#: what is solid rather than what of, and that a balm lacks what gives it body rather than how solid it is.
KNOWN_BETTER: Mapping[End, Sequence[End]] = {
    ("share of emulsifier", "above"): [("emulsifier per 100 of oil phase", "below")],
    ("share of emulsifier", "below"): [("emulsifier per 100 of oil phase", "above")],
    ("share of oil and ester", "below"): [
        ("oil phase", "above"), ("solid fat at 20 degC", "below"), ("solids of the oil phase at 35 degC", "below"),
        ("wax as beeswax", "below"),
    ],
    ("share of oil and ester in the base", "below"): [("melted oil per 100 of solids at 35 degC", "above")],
    ("solids of the oil phase at 35 degC", "above"): [("wax as beeswax", "below")],
}  # fmt: skip


def warnings(formula: Formula, measures: Sequence[Measured], setting: Setting) -> Iterator[FormulaWarning]:
    """Every warning on a formula in its setting, the brief's own limits first; none says the opposite of another."""
    every = list(_warnings(formula, measures, setting))
    usual = [fact for warning in every if isinstance(fact := warning.fact, facts.Unusual)]
    ends = {(fact.usual.property, fact.side) for fact in usual}
    preserving = any(warning.about == "preservation" for warning in every)
    for warning in every:
        end = _end(warning.fact, formula)
        if end is None or not _known_better(end, ends, preserving):
            yield warning


def _end(fact: object, formula: Formula) -> End | None:
    """The end of a usual range that a warning is about; an emulsifier outside its own use is off as all of them are."""
    if isinstance(fact, facts.Unusual):
        return fact.usual.property, fact.side
    emulsifiers = {item.name for item in _used(formula) if "emulsifier" in item.functions}
    if isinstance(fact, facts.OutsideUse) and fact.ingredient in emulsifiers:
        below = fact.usual.low is not None and fact.percent < fact.usual.low
        return "share of emulsifier", "below" if below else "above"
    return None


def _known_better(end: End, ends: Collection[End], preserving: bool) -> bool:
    """Whether another warning knows better than this end of a usual range.

    Of a preservative that is the wrong one there is not too much or too little.
    """
    about, _ = end
    return (preserving and about.startswith("share of preservative")) or any(
        better in ends for better in KNOWN_BETTER.get(end, ())
    )


def _warnings(formula: Formula, measures: Sequence[Measured], setting: Setting) -> Iterator[FormulaWarning]:
    mix, x = Mix.of(formula), fractions(formula)
    yield from _missed(measures)
    yield from _choices(formula, setting)
    yield from _usual(mix, x, setting)
    yield from _doses(formula, setting)
    yield from _fats(mix, x)
    yield from _unknown_water(mix, x)
    yield from clashes(formula, setting)
    yield from too_hot_warnings(formula.lines)
    yield from _fragrance(mix, x, setting.scope)
    yield from _essential_oils(formula, setting.scope)
    yield from _hlb(formula, measures)
    yield from short_of_stock(formula, setting.batch)


def _missed(measures: Sequence[Measured]) -> Iterator[FormulaWarning]:
    for figure in measures:
        if figure.missed and figure.value is not None:
            missed = facts.Missed(figure.name, figure.value, figure.unit, figure.low, figure.high, figure.none)
            yield FormulaWarning("figures", "mind", missed, "limit-missed", evidence=figure.evidence)
        elif figure.limited and figure.state == "does not apply":
            idle = facts.Idle(figure.name)
            yield FormulaWarning("figures", "mind", idle, "limit-idle", evidence=Evidence.DERIVED)


def _choices(formula: Formula, setting: Setting) -> Iterator[FormulaWarning]:
    for either in setting.choices:
        if either.broken(formula):
            choice = facts.NotChosen(either.rule.title)
            yield FormulaWarning("dose", "mind", choice, NOT_CHOSEN, either.lines(formula), evidence=Evidence.OWN)
    count = len({line.ingredient.name for line in formula.lines if line.fraction > 0})
    if setting.most is not None and count > setting.most:
        yield FormulaWarning("dose", "mind", facts.TooMany(count, setting.most), NOT_CHOSEN, evidence=Evidence.OWN)


def _usual(mix: Mix, x: Vector, setting: Setting) -> Iterator[FormulaWarning]:
    grain = grain_in(setting.kind, dict(zip(mix.ingredients, x, strict=True)))
    for usual in usual_ranges(setting.kind, grain):
        if _said(usual.property, mix, x, setting):
            continue
        value, off = _looked_at(usual, mix, x, setting)
        if value is None or (usual.if_used and value == 0) or _within(value, usual.low, usual.high, off):
            continue
        side: Literal["below", "above"] = "below" if value < usual.low else "above"
        level: Level = "note" if side == "below" and _instead(usual, mix, x, setting) else usual.level(value)
        fact = facts.Unusual(setting.kind, usual, value, side)
        yield FormulaWarning(
            "usual", level, fact, f"usual {usual.property}", evidence=usual.evidence, source=usual.source
        )


def _instead(usual: UsualRange, mix: Mix, x: Vector, setting: Setting) -> bool:
    """Whether something else does the work of a part of which there is too little."""
    others = instead_of(setting.kind, usual.property)
    values = (measure(find_property(other.property, setting.currency), mix, x).value for other in others)
    return any(value is not None and value >= other.low for value, other in zip(values, others, strict=True))


def _said(name: str, mix: Mix, x: Vector, setting: Setting) -> bool:
    """Whether the brief itself says how much of a part there is: in a limit, or in the lines of all that bring any."""
    if any(limit.property.name == name for limit in setting.limits):
        return True
    brings = (find_property(name, setting.currency).at(mix, x).numerator != 0) & (x > 0) if name != COUNT else x < 0
    return bool(brings.any()) and setting.lines >= {mix.ingredients[j].name for j in np.flatnonzero(brings)}


def _looked_at(usual: UsualRange, mix: Mix, x: Vector, setting: Setting) -> tuple[float | None, float]:
    """The value that a usual range is about, and how far off the scale can put it where it lies outside."""
    if usual.property == COUNT:
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


def _doses(formula: Formula, setting: Setting) -> Iterator[FormulaWarning]:
    """Ingredients outside their usual use, or above the maximum their makers advise, all phases together.

    What is usual in the kind of product goes before what is usual of the ingredient at large, but for the top of what
    is dosed: a sorbate is not more usual because other preservatives are used at more.
    """
    ranged = _ranged(setting.kind)
    for item in _used(formula):
        percent, name, bought = 100 * formula.fraction(item.name), item.name, item.functions[0]
        most, usual = item.value("maximum use"), usual_use(setting.kind, item)
        if most is not None and percent > most.figure + 1e-6:
            above = facts.AboveMaximum(name, percent, most)
            yield FormulaWarning("dose", "mind", above, "maximum-use", (name,), most.evidence, most.source)
            continue
        if usual is None or name in setting.lines:
            continue
        low, high = usual.low or 0.0, usual.high or 100.0
        if bought in ranged and usual is item.value("usual use"):
            low, high = 0.0, high if bought in DOSED else 100.0
        if not _within(percent, low, high, 0.0 if bought == INWARD else 100 * setting.half_step):
            most_of_it = high if bought in DOSED else TOO_MUCH * high
            weight: Level = "mind" if percent > most_of_it else "note"
            outside = facts.OutsideUse(name, percent, usual)
            yield FormulaWarning("dose", weight, outside, "usual-use", (name,), usual.evidence, usual.source)


def _used(formula: Formula) -> Iterator[Ingredient]:
    """Every ingredient once, though it may stand in several phases."""
    yield from {line.ingredient.name: line.ingredient for line in formula.lines}.values()


def _fats(mix: Mix, x: Vector) -> Iterator[FormulaWarning]:
    for first, second, rule in eutectic_pairs(mix, x):
        pair = facts.Eutectic(first, second, rule.effect)
        yield FormulaWarning("texture", "note", pair, EUTECTIC, (first, second))


def _unknown_water(mix: Mix, x: Vector) -> Iterator[FormulaWarning]:
    """Water that is not known is no reason to be silent where nothing preserves."""
    wet = measure(water(), mix, x)
    if wet.value is None and not mix.serving("preservative") @ x > 0:
        unknown = facts.WaterUnknown(wet.lacking)
        yield FormulaWarning("preservation", "stop", unknown, "water-not-known", wet.lacking)


def _fragrance(mix: Mix, x: Vector, scope: Scope | None) -> Iterator[FormulaWarning]:
    if scope is None:
        return
    used = {item.name for item, share in zip(mix.ingredients, x, strict=True) if share > 0}
    for name in (name for name in uncertified(mix, scope) if name in used):
        missing = facts.NoCertificate(name, certificate_class(scope))
        yield FormulaWarning("law", "note", missing, "certificate-missing", (name,), Evidence.DERIVED)


def _essential_oils(formula: Formula, scope: Scope | None) -> Iterator[FormulaWarning]:
    """Essential oils whose allergens nobody listed: what such an oil usually brings."""
    if scope is None:
        return
    for item in _used(formula):
        percent = 100 * formula.fraction(item.name)
        due = tuple(perhaps_due(item, percent, scope))
        if due:
            fact = facts.UnlistedAllergens(item.name, percent, due)
            yield FormulaWarning(
                "law", "note", fact, "essential-oil-allergens", (item.name,), due[0].evidence, due[0].source
            )


def _hlb(formula: Formula, measures: Sequence[Measured]) -> Iterator[FormulaWarning]:
    limited = any("hlb" in measure.name and measure.limited for measure in measures)
    outside = tuple(item.name for item in _used(formula) if outside_hlb(item))
    if limited and outside:
        without = facts.OutsideHlb(outside)
        yield FormulaWarning("emulsifier", "note", without, "hlb-not-applicable", outside, Evidence.DERIVED)
    for name in (x.name for x in _used(formula) if limited and x.name == EITHER_WAY and x.has("emulsifier")):
        counted = facts.CountedAsEmulsifier(name)
        yield FormulaWarning("emulsifier", "note", counted, "count-as-oil", (name,), Evidence.DERIVED)


def short_of_stock(formula: Formula, batch: float | None) -> Iterator[FormulaWarning]:
    """Ingredients of which the own table has less in stock than a batch of so many kg needs."""
    for item in _used(formula) if batch else ():
        stock = item.value("stock")
        need = formula.fraction(item.name) * (batch or 0.0)
        if stock is not None and need > stock.figure + 1e-9:
            short = facts.Short(item.name, need, stock.figure)
            yield FormulaWarning("total", "mind", short, "stock-short", (item.name,), stock.evidence, stock.source)
