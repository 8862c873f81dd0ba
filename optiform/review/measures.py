"""The properties of one formula, each with what was asked of it and how well it is known."""

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import replace

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.leftout import Out
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.properties.base import Mix, Property, Vector, possible
from optiform.properties.cost import cost
from optiform.properties.grounds import ListsDisagree, Traces
from optiform.properties.registry import find_property, own_columns
from optiform.properties.solubility import OutOfRange
from optiform.properties.surfactants import emulsifier_hlb
from optiform.reading.frozen import frozen
from optiform.review.answer import Measured
from optiform.review.rounding import rounding
from optiform.rules.forms import Either
from optiform.rules.law import Scope
from optiform.rules.packs import USUAL, reached

SCALE = 0.1  #: g: what a scale shows where nothing says so, as in a brief
#: What every report shows, where it applies.
STANDARD = (
    "water phase", "oil phase", "cool-down", "grains", "water", "active surfactant", "humectant active",
    "emulsifier per 100 of oil phase", "required hlb", "hlb of the emulsifiers",
    "undissolved grains at 20 degC", "mean grain size", "grain volume fraction at 20 degC",
    "solid fat at 10 degC", "solid fat at 20 degC", "solid fat at 30 degC", "solid fat at 35 degC",
    "structuring solids at 10 degC", "structuring solids at 20 degC", "structuring solids at 35 degC",
    "iodine value", "saponification value", "saturated share", "monounsaturated share", "polyunsaturated share",
    "water activity",
)  # fmt: skip

#: What is worked out from required HLB, and from how far apart lists are told: less does not show in a trial.
BY_REQUIRED_HLB, APART = ("required hlb", "hlb difference"), 1.0


@frozen
class Setting:
    """What a formula is looked at for: kind of product, scope, money and batch. All may be unknown.

    `batch` is in kg; `half_step` is half a step of the scale as a mass fraction of the batch, 0 for exact weights;
    `ph` is what it is to have; `exposure` is that of its oils to air and light in the pack, of `rules.packs.EXPOSURES`;
    `wet_fingers` is whether they reach it, None where it is not said; `overrule` are ids of rules that are told and
    asked for nothing.
    `ranges` are the ingredients whose amount the brief itself says, each with it, none of what it excludes; `choices`
    and `most` what it asks of the choice and the number of them.
    """

    kind: str = ""
    scope: Scope | None = None
    currency: str = "EUR"
    batch: float | None = None
    limits: Sequence[Limit] = ()
    half_step: float = 0.0
    ph: float | None = None
    overrule: tuple[str, ...] = ()
    ranges: tuple[tuple[str, Range], ...] = ()
    choices: tuple[Either, ...] = ()
    most: int | None = None
    exposure: str = USUAL
    wet_fingers: bool | None = None

    @property
    def lines(self) -> frozenset[str]:
        """The ingredients whose amount the brief itself says, by name."""
        return frozenset(name for name, _ in self.ranges)


def setting_of(brief: Brief) -> Setting:
    """What a formula of this brief is looked at for."""
    half_step = half_of(brief.step, brief.batch)
    lines = zip(brief.mix.ingredients, brief.ranges, strict=True)
    fixed = [(item.name, span) for item, span in lines if span.source == "brief"]
    none = [(name, Range(0.0, 0.0, "brief")) for name, why in brief.left_out if why is Out.EXCLUDED]
    return Setting(
        kind=brief.kind,
        scope=brief.scope,
        currency=brief.currency,
        batch=brief.batch,
        limits=brief.limits,
        half_step=half_step,
        ph=brief.ph,
        overrule=brief.overrule,
        ranges=(*fixed, *none),
        choices=brief.choices,
        most=brief.most_ingredients,
        exposure=brief.exposure,
        wet_fingers=reached(brief.pack, brief.wet_fingers),
    )


def half_of(step: float, batch: float) -> float:
    """Half a step of a scale, g, as a mass fraction of a batch, kg."""
    return step / (2000 * batch)


def measure(wanted: Property, mix: Mix, x: Vector) -> Measured:
    """One property of a formula, with what is not known about it."""
    try:
        terms = wanted.at(mix, x)
    except OutOfRange as error:
        return Measured(wanted.name, None, wanted.unit, wanted.basis, Evidence.DERIVED, note=str(error), beyond=True)
    lacking = tuple(mix.ingredients[i].name for i in terms.lacking(x))
    note: Hashable = _lists_disagree(mix, x) if wanted.name in BY_REQUIRED_HLB else wanted.note
    if traces := tuple(mix.ingredients[i].name for i in terms.counted(x)):
        note = Traces(traces, note)
    return Measured(
        name=wanted.name,
        value=terms.at(x),
        unit=wanted.unit,
        basis=wanted.basis,
        evidence=terms.evidence_at(x),
        span=_span(terms.span(x), wanted.unit),
        lacking=lacking,
        note=note,
    )


def _lists_disagree(mix: Mix, x: Vector) -> ListsDisagree | str:
    """The ingredients in use whose required HLB is one of several modes that nobody decided between."""
    values = [(item.name, item.value("required hlb")) for item, share in zip(mix.ingredients, x, strict=True) if share]
    open_ones = [(name, value) for name, value in values if value is not None and value.typical is None]
    apart = tuple((name, x.least, x.most) for name, x in open_ones if x.most - x.least > APART)
    return ListsDisagree(apart) if apart else ""


def _span(ends: tuple[float, float] | None, unit: str) -> tuple[float, float] | None:
    if ends is None or abs(ends[1] - ends[0]) < 1e-9:
        return None
    return possible(min(ends), unit), possible(max(ends), unit)


def measures(mix: Mix, x: Vector, setting: Setting) -> Iterator[Measured]:
    """The limited properties in the brief's order, then the standard ones that apply."""
    told = set()
    for limit in setting.limits:
        if limit.property.name not in told:
            told.add(limit.property.name)
            both = [other for other in setting.limits if other.property.name == limit.property.name]
            low = max((other.low for other in both if other.low is not None), default=None)
            high = min((other.high for other in both if other.high is not None), default=None)
            measured = replace(measure(limit.property, mix, x), low=low, high=high)
            off = rounding(limit.property, mix, x, setting.half_step) if measured.missed else 0.0
            yield replace(measured, rounding=off)
    for wanted in reported(mix.ingredients, setting):
        measured = measure(wanted, mix, x)
        if (
            wanted.name not in told
            and (measured.value or measured.lacking or measured.beyond)
            and not _idle(wanted, mix, x)
        ):
            yield measured


def lines_off(formula: Formula, setting: Setting) -> Iterator[Measured]:
    """The ingredients of which there is not as much as the brief says, % of the jar, beside what it says.

    A step of the scale is no miss: what has a most is rounded inward, by up to a whole one.
    """
    room = 2 * setting.half_step + 1e-8
    for name, span in setting.ranges:
        share = formula.fraction(name)
        if not span.low - room <= share <= span.high + room:
            low, high = 100 * span.low if span.low > 0 else None, 100 * span.high if span.high < 1 else None
            yield Measured(name, 100 * share, "%", "whole", Evidence.OWN, low, high)


def reported(ingredients: Iterable[Ingredient], setting: Setting) -> tuple[Property, ...]:
    """Every property that a report on these ingredients may show, the limited ones first, each once."""
    known = tuple(ingredients)
    limited = (limit.property for limit in setting.limits)
    standard = (find_property(name, setting.currency) for name in STANDARD)
    own = (find_property(name, setting.currency, known) for name in own_columns(known))
    return tuple({wanted.name: wanted for wanted in (*limited, cost(setting.currency), *standard, *own)}.values())


def _idle(wanted: Property, mix: Mix, x: Vector) -> bool:
    """Whether it is a target that nothing here is meant for: a required HLB without an emulsifier that has an HLB."""
    return wanted.name == "required hlb" and emulsifier_hlb().at(mix, x).at(x) is None
