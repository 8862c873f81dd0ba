"""Holding a formula: what customers notice of the one sold today, kept within tolerances."""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.leftout import NoFigure
from optiform.design.facts import Fact
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.program.build import Demand, Requirements
from optiform.program.linear import Vector
from optiform.program.tolerances import LEAST_GROUP
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.review.measures import measure
from optiform.rules.quantities import amount
from optiform.rules.usual import SOLUTES

#: What customers notice and how far it may move, in the property's own unit. Common practice, no source: about what a
#: hand and a spoon can tell. A maker's own tolerances replace these by name.
NOTICED: Mapping[str, float] = MappingProxyType(
    {
        "solid fat at 10 degC": 5.0,
        "solid fat at 20 degC": 4.0,
        "solid fat at 30 degC": 3.0,
        "solid fat at 35 degC": 2.0,
        "structuring solids at 20 degC": 1.0,
        "structuring solids at 35 degC": 0.7,
        "undissolved grains at 20 degC": 1.5,
        "mean grain size": 150.0,
        "active surfactant": 0.3,
        "humectant active": 1.0,
        "emulsifier per 100 of oil phase": 2.5,
        "oil phase": 1.5,
        "share of butter": 1.5,
        "share of oil": 1.5,
        "share of ester": 1.0,
        "saturated share": 10.0,
        "monounsaturated share": 12.0,
        "polyunsaturated share": 10.0,
    }
)


#: What keeps a product: the functions of its lines.
KEEPING = ("preservative", "antioxidant")
ROUNDING = 1e-9  # of today's share: the formula itself keeps what is asked of it


@frozen
class Held:
    """One property held near its value today."""

    name: str
    value: float
    tolerance: float


@frozen
class NotHeld:
    """One property that is not held: today's value is not known, as these ingredients lack a figure."""

    name: str
    lacking: tuple[str, ...]


def today_of(brief: Brief) -> Formula:
    """The brief's reference formula.

    Raises:
        BadInput: when the brief has none, this job starts from one; when a limit's model does not cover it.
    """
    if brief.reference is None:
        raise BadInput(
            [Fault(brief.title, "reference", "nothing", "a formula of today: this job starts from today's formula")]
        )
    faults = [*_not_covered(brief, brief.reference)]
    if faults:
        raise BadInput(faults)
    return brief.reference


def _not_covered(brief: Brief, today: Formula) -> Iterator[Fault]:
    for limit in brief.limits:
        try:
            limit.property.terms(Mix.of(today), fractions(today))
        except OutOfRange as error:
            yield Fault(brief.title, f"[limits] {limit.property.name}", f"today's formula {today.name}", str(error))


def held(brief: Brief, tolerances: Mapping[str, float] = NOTICED) -> tuple[Held, ...]:
    """The properties of today's formula that are held: those that it has and whose figures are known."""
    return tuple(_held(today_of(brief), brief.currency, tolerances))


def not_held(brief: Brief, names: Iterable[str] = NOTICED) -> tuple[NotHeld, ...]:
    """Which of these properties of today's formula nothing can be held to, as a figure of it is missing."""
    formula = today_of(brief)
    mix, x = Mix.of(formula), fractions(formula)
    values = {name: measure(find_property(name, brief.currency), mix, x) for name in names}
    return tuple(NotHeld(name, value.lacking) for name, value in values.items() if value.lacking)


def _held(formula: Formula, currency: str, tolerances: Mapping[str, float]) -> Iterator[Held]:
    mix, x = Mix.of(formula), fractions(formula)
    for name, tolerance in tolerances.items():
        wanted = find_property(name, currency)
        value = measure(wanted, mix, x).value
        if value is not None and value > 0 and float(wanted.terms(mix, x).denominator @ x) >= LEAST_GROUP:
            yield Held(name, value, tolerance)


def holding(brief: Brief, kept: tuple[Held, ...]) -> Brief:
    """The brief with its own limits and, for what is held, limits around today's value.

    Where the brief limits the same property, the brief's own limit stands instead: the maker has said what matters.
    Preservative and antioxidant do not fall below today's, see `_keeping`.
    A candidate without a figure for what is held cannot be judged and is left out, with the reason.

    Raises:
        BadInput: when the brief insists on such a candidate.
    """
    named = {limit.property.name for limit in brief.limits}
    more = [
        Limit(
            find_property(each.name, brief.currency), max(0.0, each.value - each.tolerance), each.value + each.tolerance
        )
        for each in kept
        if each.name not in named
    ]
    more += _keeping(brief, named)
    return replace(_judged(_of_its_grain(brief), more), limits=(*brief.limits, *more))


def _of_its_grain(brief: Brief) -> Brief:
    """The brief without sugar where today's grains are salt, and the other way round, but for what it names.

    Salt stings where sugar does not, and the product's name hangs on it: no hand takes one for the other.
    """
    today = {_dissolves_as(line.ingredient) for line in brief.reference.lines} - {""} if brief.reference else set()
    lines = zip(brief.mix.ingredients, brief.ranges, strict=True)
    other = [
        item.name
        for item, span in lines
        if today and _dissolves_as(item) not in ("", *today) and span.source != "brief"
    ]
    stays = only(brief, frozenset(item.name for item in brief.mix.ingredients) - set(other))
    return replace(stays, left_out=(*brief.left_out, *((name, Fact.OTHER_GRAIN) for name in other)))


def _dissolves_as(item: Ingredient) -> str:
    """Sugar or salt, of a grain; empty of all else."""
    return SOLUTES.get(item.solute, "") if item.functions[0] == "grain" else ""


def as_mild(brief: Brief, today: Formula) -> Brief:
    """The brief with no more of any sulfate than today's formula has, but for what it names.

    Skin feels a sulfate in place of an isethionate, and a label that says "sulfate-free" goes with it. That alkyl
    sulfates irritate more than isethionates is common practice here, no source.
    """
    lines = list(zip(brief.mix.ingredients, brief.ranges, strict=True))
    sulfates = {item.name for item, span in lines if span.source != "brief" and amount(item, "head:sulfate") > 0}
    new = {name for name in sulfates if not today.fraction(name)}
    capped = tuple(
        replace(span, high=min(span.high, max(span.low, today.fraction(item.name)))) if item.name in sulfates else span
        for item, span in lines
    )
    left = only(replace(brief, ranges=capped), frozenset(item.name for item, _ in lines) - new)
    return replace(left, left_out=(*brief.left_out, *((name, Fact.HARSHER) for name in sorted(new))))


def _keeping(brief: Brief, named: Container[str]) -> Iterator[Limit]:
    """At least as much as today of what keeps a product: nobody saves on it unasked.

    Where the maker gave a range of such a line, or a limit of their share, that stands instead.
    """
    lines = zip(brief.mix.ingredients, brief.ranges, strict=True)
    ranged = {item.functions[0] for item, each in lines if each.source == "brief"}
    for function in KEEPING:
        share = find_property(f"share of {function}", brief.currency)
        today = None if brief.reference is None else share.of(brief.reference)
        if today and function not in ranged and share.name not in named:
            yield Limit(share, today * (1 - ROUNDING), None)


def _judged(brief: Brief, limits: Sequence[Limit]) -> Brief:
    """The brief with only the candidates that have every figure these limits need."""
    none = np.zeros(len(brief.mix.ingredients))
    gaps = {limit.property.name: limit.property.terms(brief.mix, none).missing > 0 for limit in limits}
    lacking = {
        item.name: tuple(name for name, missing in gaps.items() if missing[j])
        for j, item in enumerate(brief.mix.ingredients)
        if any(missing[j] for missing in gaps.values())
    }
    insisted = [item.name for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True) if span.low > 0]
    faults = [
        Fault(brief.title, f"[lines] {name}", f"no figure for {', '.join(lacking[name])}", "the figure in an own file")
        for name in insisted
        if name in lacking
    ]
    if faults:
        raise BadInput(faults)
    return without_figures(brief, lacking)


def without_figures(brief: Brief, lacking: Mapping[str, tuple[str, ...]]) -> Brief:
    """The brief without the candidates that lack a figure; of each, what cannot be told without it."""
    kept = only(brief, frozenset(item.name for item in brief.mix.ingredients) - set(lacking))
    more = tuple((name, NoFigure(what)) for name, what in lacking.items())
    return replace(kept, left_out=(*brief.left_out, *more))


def as_kept_by(needed: Requirements, x: Vector) -> Requirements:
    """What is needed, where a formula misses it by rounding only asked as that formula keeps it.

    A formula that was worked out, written and read again misses the limits it was made for by the last digit written.
    What is missed by more than `Demand.met` lets pass stays as it is.
    """
    return needed.each(lambda demand: _as_kept_by(demand, x))


def _as_kept_by(demand: Demand, x: Vector) -> Demand:
    value = demand.value(x)
    return demand.moved(value) if value is not None and demand.miss(x) > 0 and demand.met(x) else demand


def with_lines_of(brief: Brief, formula: Formula) -> Brief:
    """The brief with every ingredient of a formula among its candidates, in the formula's phases.

    A line that is no candidate (sold out, excluded) may stay or go down, not up.
    """
    known = {item.name: j for j, item in enumerate(brief.mix.ingredients)}
    phases = {line.ingredient.name: line.phase for line in formula.lines}
    more = [line for line in formula.lines if line.ingredient.name not in known]
    mix = Mix(
        (*brief.mix.ingredients, *(line.ingredient for line in more)),
        (
            *(phases.get(item.name, at) for item, at in zip(brief.mix.ingredients, brief.mix.phases, strict=True)),
            *(line.phase for line in more),
        ),
    )
    return replace(brief, mix=mix, ranges=(*brief.ranges, *(Range(0.0, line.fraction, "brief") for line in more)))


def only(brief: Brief, names: frozenset[str]) -> Brief:
    """The brief with only these of its candidates."""
    kept = [j for j, item in enumerate(brief.mix.ingredients) if item.name in names]
    mix = Mix(tuple(brief.mix.ingredients[j] for j in kept), tuple(brief.mix.phases[j] for j in kept))
    return replace(brief, mix=mix, ranges=tuple(brief.ranges[j] for j in kept))


def closed_to(brief: Brief, today: Formula) -> Brief:
    """The brief with the candidates of today's formula alone.

    Raises:
        BadInput: when it asks for some of another.
    """
    names = frozenset(line.ingredient.name for line in today.lines)
    asked = zip(brief.mix.ingredients, brief.ranges, strict=True)
    faults = [
        Fault(
            brief.title,
            f"[lines] {item.name}",
            f"at least {100 * span.low:g} %, but it is not in today's formula and nothing new may come in",
            "this line taken out, or new ingredients let in",
        )
        for item, span in asked
        if span.low > 0 and item.name not in names
    ]
    if faults:
        raise BadInput(faults)
    return only(brief, names)


def balance_of(formula: Formula) -> Ingredient:
    """The line that makes up 100 % when others change: the water, else the largest line."""
    water = [line for line in formula.lines if line.ingredient.functions[0] == "water"]
    return max(water or formula.lines, key=lambda line: line.fraction).ingredient


def in_common(first: Formula, second: Formula) -> Iterator[tuple[str, float]]:
    """What two formulas both have of each line, in % of the whole: the base to make once."""
    for line in first.lines:
        shared = min(line.fraction, second.fraction(line.ingredient.name))
        if shared > 0:
            yield line.ingredient.name, 100 * shared
