"""Holding a formula: what customers notice of the one sold today, kept within tolerances."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from optiform.brief import Brief, Limit
from optiform.faults import BadInput, Fault
from optiform.formula import Formula
from optiform.ingredient import Ingredient
from optiform.jobs.measures import measure
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property

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


@dataclass(frozen=True)
class Held:
    """One property held near its value today."""

    name: str
    value: float
    tolerance: float


def today_of(brief: Brief) -> Formula:
    """The brief's reference formula.

    Raises:
        BadInput: when the brief has none; this job starts from one.
    """
    if brief.reference is None:
        raise BadInput(
            [Fault(brief.title, "reference", "nothing", "a formula file: this job starts from the one made today")]
        )
    return brief.reference


def held(brief: Brief, tolerances: Mapping[str, float] = NOTICED) -> tuple[Held, ...]:
    """The properties of today's formula that are held: those that it has and whose figures are known."""
    return tuple(_held(today_of(brief), brief.currency, tolerances))


def _held(formula: Formula, currency: str, tolerances: Mapping[str, float]) -> Iterator[Held]:
    mix, x = Mix.of(formula), fractions(formula)
    for name, tolerance in tolerances.items():
        value = measure(find_property(name, currency), mix, x).value
        if value is not None and value > 0:
            yield Held(name, value, tolerance)


def holding(brief: Brief, kept: tuple[Held, ...]) -> Brief:
    """The brief with its own limits and, for what is held, limits around today's value.

    Where the brief limits the same property, the brief's own limit stands instead: the maker has said what matters.
    """
    named = {limit.property.name for limit in brief.limits}
    more = [
        Limit(
            find_property(each.name, brief.currency), max(0.0, each.value - each.tolerance), each.value + each.tolerance
        )
        for each in kept
        if each.name not in named
    ]
    return replace(brief, limits=(*brief.limits, *more))


def with_lines_of(brief: Brief, formula: Formula) -> Brief:
    """The brief with every ingredient of a formula among its candidates, in the formula's phases."""
    from optiform.brief import Range

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
    return replace(brief, mix=mix, ranges=(*brief.ranges, *(Range() for _ in more)))


def only(brief: Brief, names: frozenset[str]) -> Brief:
    """The brief with only these of its candidates."""
    kept = [j for j, item in enumerate(brief.mix.ingredients) if item.name in names]
    mix = Mix(tuple(brief.mix.ingredients[j] for j in kept), tuple(brief.mix.phases[j] for j in kept))
    return replace(brief, mix=mix, ranges=tuple(brief.ranges[j] for j in kept))


def balance_of(formula: Formula) -> Ingredient:
    """The line that makes up 100 % when others change: the water, else the largest line."""
    water = [line for line in formula.lines if line.ingredient.functions[0] == "water"]
    return max(water or formula.lines, key=lambda line: line.fraction).ingredient
