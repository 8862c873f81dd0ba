"""Looking at one formula from every side: properties, law, usual ranges, cautions."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from optiform.brief import Limit
from optiform.formula import Formula
from optiform.ingredient import FUNCTIONS, Evidence
from optiform.jobs.answer import Caution, Measured, Report, RuleCheck
from optiform.paths import DATABASE
from optiform.properties.base import Mix, Property, Vector, fractions
from optiform.properties.cost import cost
from optiform.properties.phases import count_ingredients
from optiform.properties.registry import find_property, own_columns
from optiform.properties.rules import Scope, applying, certificate_class, certificate_terms, uncertified
from optiform.properties.solubility import OutOfRange
from optiform.properties.surfactants import outside_hlb
from optiform.properties.texture import eutectic_pairs

#: What every report shows, where it applies.
STANDARD = (
    "water phase", "oil phase", "cool-down", "grains", "water", "active surfactant", "humectant active",
    "emulsifier per 100 of oil phase", "required hlb", "hlb of the emulsifiers",
    "undissolved grains at 20 degC", "grain volume fraction at 20 degC",
    "solid fat at 10 degC", "solid fat at 20 degC", "solid fat at 30 degC", "solid fat at 35 degC",
    "structuring solids at 10 degC", "structuring solids at 20 degC", "structuring solids at 35 degC",
    "iodine value", "saponification value", "saturated share", "monounsaturated share", "polyunsaturated share",
    "water activity",
)  # fmt: skip


@dataclass(frozen=True)
class Setting:
    """What a formula is looked at for: kind of product, scope, money and batch. All may be unknown."""

    kind: str = ""
    scope: Scope | None = None
    currency: str = "EUR"
    batch: float | None = None
    limits: Sequence[Limit] = ()


def report(formula: Formula, setting: Setting) -> Report:
    """Everything there is to say about a formula in a setting."""
    mix, x = Mix.of(formula), fractions(formula)
    measures = tuple(_measures(mix, x, setting))
    checks = tuple(_rules(mix, x, setting.scope)) if setting.scope else ()
    warnings = (
        *_missed(measures),
        *_broken(checks),
        *_usual(mix, x, setting),
        *_fats(mix, x),
        *_preservation(mix, x),
        *_fragrance(mix, x, setting.scope),
        *_hlb(formula, measures),
        *_stock(formula, setting.batch),
    )
    return Report(formula, measures, checks, tuple(dict.fromkeys(warnings)), tuple(_cautions(mix, x, setting.scope)))


def measure(wanted: Property, mix: Mix, x: Vector) -> Measured:
    """One property of a formula, with what is not known about it."""
    try:
        terms = wanted.terms(mix, x)
    except OutOfRange as error:
        return Measured(wanted.name, None, wanted.unit, wanted.basis, Evidence.DERIVED, note=f"not given: {error}")
    lacking = tuple(mix.ingredients[i].name for i in terms.lacking(x))
    return Measured(
        name=wanted.name,
        value=terms.at(x),
        unit=wanted.unit,
        basis=wanted.basis,
        evidence=terms.evidence_at(x),
        span=_span(terms.span(x)),
        lacking=lacking,
        note=wanted.note,
    )


def _span(ends: tuple[float, float] | None) -> tuple[float, float] | None:
    return None if ends is None or abs(ends[1] - ends[0]) < 1e-9 else (min(ends), max(ends))


def _measures(mix: Mix, x: Vector, setting: Setting) -> Iterator[Measured]:
    """The limited properties in the brief's order, then the standard ones that apply."""
    told = set()
    for limit in setting.limits:
        if limit.property.name not in told:
            told.add(limit.property.name)
            both = [other for other in setting.limits if other.property.name == limit.property.name]
            low = max((other.low for other in both if other.low is not None), default=None)
            high = min((other.high for other in both if other.high is not None), default=None)
            yield replace(measure(limit.property, mix, x), low=low, high=high)
    standard = [find_property(name, setting.currency) for name in STANDARD]
    own = [find_property(name, setting.currency, mix.ingredients) for name in own_columns(mix.ingredients)]
    for wanted in (cost(setting.currency), *standard, *own):
        found = measure(wanted, mix, x)
        if wanted.name not in told and (found.value or found.lacking or found.note.startswith("not given")):
            yield found


def _missed(measures: Sequence[Measured]) -> Iterator[str]:
    for found in measures:
        if found.missed and found.value is not None:
            limits = " to ".join(f"{end:g}" if end is not None else "..." for end in (found.low, found.high))
            yield f"{found.name} is {found.value:.4g} {found.unit}, outside the brief's {limits}."


# -- law ---------------------------------------------------------------------------------------------------------------


def _rules(mix: Mix, x: Vector, scope: Scope) -> Iterator[RuleCheck]:
    for rule in applying(scope, [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]):
        content = float(rule.terms(mix).numerator @ x)
        kept = rule.limit is None or content <= rule.limit + 1e-6
        yield RuleCheck(
            rule.group, content, rule.limit, rule.market, rule.kind, rule.reference, rule.evidence, kept, rule.note
        )
    used = certificate_terms(mix, scope)
    if used.numerator @ x > 0:
        words = f"fragrance, share of the maximum on its certificate (class {certificate_class(scope)})"
        content = float(used.numerator @ x)
        kept = content <= 100 + 1e-6
        yield RuleCheck(words, content, 100.0, "own", "certificate", "the fragrance's certificate", Evidence.OWN, kept)


def _broken(checks: Sequence[RuleCheck]) -> Iterator[str]:
    for check in checks:
        if check.kept:
            continue
        where = f"{check.market}, {check.reference}"
        amount = f"{check.group} at {check.content:.3g} % is over {check.limit:.4g} % ({where})"
        yield {
            "maximum": f"Over a legal limit: {amount}.",
            "prohibited": f"Not allowed: {check.group} ({where}).",
            "label": f"Needs a statement on the label: {amount}.",
            "certificate": f"Over the certificate: {check.group} is {check.content:.4g} %.",
        }.get(check.kind, f"Above a panel's advice: {amount}.")


# -- usual ranges ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class UsualRange:
    """What is usual for one property of a kind of product, and what happens outside."""

    property: str
    low: float
    high: float
    unit: str
    below: str
    above: str
    evidence: Evidence


@cache
def usual_ranges(kind: str) -> tuple[UsualRange, ...]:
    """The usual ranges for a kind of product; none for an unknown kind."""
    with (DATABASE / "usual_ranges.csv").open(encoding="utf-8", newline="") as table:
        return tuple(
            UsualRange(
                row["property"], float(row["low"]), float(row["high"]), row["unit"], row["below"], row["above"],
                Evidence(row["evidence"]),
            )
            for row in csv.DictReader(table)
            if row["kind"] == kind
        )  # fmt: skip


def _usual(mix: Mix, x: Vector, setting: Setting) -> Iterator[str]:
    for usual in usual_ranges(setting.kind):
        if usual.property == "number of ingredients":
            value: float | None = float(count_ingredients(x))
        else:
            value = measure(find_property(usual.property, setting.currency), mix, x).value
        if value is None or usual.low - 1e-6 <= value <= usual.high + 1e-6:
            continue
        side, effect = ("below", usual.below) if value < usual.low else ("above", usual.above)
        unit = "" if usual.unit == "count" else " %"
        yield (
            f"Unusual for a {setting.kind}: {usual.property} {value:.3g}{unit}, {side} the usual "
            f"{usual.low:g} to {usual.high:g}{unit} ({usual.evidence}): {effect}."
        )


# -- single warnings ---------------------------------------------------------------------------------------------------


def _fats(mix: Mix, x: Vector) -> Iterator[str]:
    for first, second, rule in eutectic_pairs(mix, x):
        yield (f"{first} with {second}: {rule.effect}. The solid fat shown is an upper bound: try it warm and cold.")


def _preservation(mix: Mix, x: Vector) -> Iterator[str]:
    water = measure(find_property("water", "EUR"), mix, x).value or 0.0
    if water >= 1.0 and not mix.serving("preservative") @ x > 0:
        yield f"Contains {water:.3g} % water and no preservative: microbes can grow in it."


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
    limited = any("hlb" in found.name and (found.low, found.high) != (None, None) for found in measures)
    outside = [line.ingredient.name for line in formula.lines if outside_hlb(line.ingredient)]
    if limited and outside:
        yield (f"HLB does not apply to {', '.join(outside)} (ionic, or a ready-made emulsifying wax): left out of it.")
    if limited and formula.fraction("glyceryl stearate") > 0:
        yield "Glyceryl stearate is counted as an emulsifier; a brief can count it in the oil phase with count_as_oil."


def _stock(formula: Formula, batch: float | None) -> Iterator[str]:
    for line in formula.lines if batch else ():
        stock = line.ingredient.value("stock")
        need = line.fraction * (batch or 0.0)
        if stock is not None and need > stock.figure + 1e-9:
            yield f"{line.ingredient.name}: the batch needs {need:.3g} kg, {stock.figure:g} kg are in stock."


# -- cautions ----------------------------------------------------------------------------------------------------------


@cache
def _caution_table() -> tuple[tuple[str, Caution], ...]:
    with (DATABASE / "cautions.csv").open(encoding="utf-8", newline="") as table:
        return tuple((row["trigger"], Caution(row["where"], row["text"])) for row in csv.DictReader(table))


def _cautions(mix: Mix, x: Vector, scope: Scope | None) -> Iterator[Caution]:
    told = set()
    triggers = set(_triggers(mix, x, scope))
    for trigger, caution in _caution_table():
        if trigger in triggers and caution.text not in told:
            told.add(caution.text)
            yield caution


def _triggers(mix: Mix, x: Vector, scope: Scope | None) -> Iterable[str]:
    yield "always"
    for i in np.flatnonzero(x > 0):
        item = mix.ingredients[i]
        yield from (f"function:{word}" for word in item.functions if word in FUNCTIONS)
        yield from (f"inci:{part.inci}" for part in item.constituents)
        yield f"ingredient:{item.name}"
        yield f"phase:{mix.phases[i]}"
        if item.has("wax", "butter", "fatty alcohol", "fatty acid", "emulsifier"):
            yield "hot phase"
    water = measure(find_property("water", "EUR"), mix, x).value or 0.0
    yield "water" if water >= 1.0 else "no water"
    if water >= 1.0 and not mix.serving("preservative") @ x > 0:
        yield "no preservative with water"
    if scope is not None:
        yield from (f"use:{scope.use}", f"area:{scope.area}")
