"""A formula as a batch: whole steps of the scale per line, jars, parts, steps of the work, and what to mind."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from math import ceil

import numpy as np

from optiform.batch.acts import JarsToFill
from optiform.batch.by_kind import made_as
from optiform.batch.dealing import Dealt, Plan, deal, plan_batch, varied, weighed, weighed_part
from optiform.batch.doses import SmallDose, small_doses
from optiform.batch.facts import Mind, ScaleCoarse, VesselFull
from optiform.batch.jar import JarContent, jar_content
from optiform.batch.making import Making
from optiform.batch.method import flash_warnings, method, method_warnings
from optiform.batch.pots import Pot, Step
from optiform.batch.scale_up import ScaleUp, scale_up
from optiform.batch.working_order import minds, ordered
from optiform.brief.brief import Brief, Range, called
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import PHASES, Evidence
from optiform.properties.base import Mix, fractions
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning
from optiform.review.cautions import cautions
from optiform.review.heat import HEAT
from optiform.review.measures import setting_of
from optiform.review.report import coarse, report
from optiform.review.rounding import capped
from optiform.review.warnings import short_of_stock
from optiform.rules.claims import unconfirmed

TOLD = 3  # digits in which a warning on a part says something else than that on the whole


@frozen
class SheetLine:
    """One line to weigh: `steps` steps of the scale, `grams` exactly. `percent` is of what it is a line of, unrounded.

    `lot`: words for the lots it is to be taken from; empty where the maker fills it in. `small`: how far off the scale
    is where the line is few steps of it, else None. `capped`: it has a most, and its percent is not rounded up.
    """

    ingredient: str
    inci: str
    percent: float
    steps: int
    grams: Decimal
    minds: tuple[Mind, ...]
    lot: str = ""
    small: SmallDose | None = None
    capped: bool = False


@frozen
class SheetPhase:
    """Lines that are weighed together, in working order. `part` is empty for what all parts share."""

    phase: str
    part: str
    lines: tuple[SheetLine, ...]

    @property
    def grams(self) -> Decimal:
        """What the lines sum to, g, exactly."""
        return sum((line.grams for line in self.lines), Decimal(0))


@frozen
class PartSheet:
    """One part: `shared_g` of the common mass and its own lines make `weighed_g`; jars and what is left after loss."""

    name: str
    share: float
    shared_g: Decimal
    weighed_g: Decimal
    jars: int | None
    left_g: float | None


@frozen
class Amounts:
    """The batch in g. `planned_g` is to come out, `weighed_g` goes in; `loss` in % of what is weighed.

    `jar_g` is the net mass of a jar and `fill_g` what goes into one; `left_g` fills no jar. None without a jar.
    """

    planned_g: float
    weighed_g: Decimal
    loss: float
    scale_g: Decimal
    jars: int | None
    jar_g: float | None
    fill_g: float | None
    left_g: float | None
    retained: int


@frozen
class PlacedCaution:
    """A usual caution, where it belongs, and the number of the step it stands at; 0 is at no step."""

    where: str
    text: str
    step: int


@frozen
class Filled:
    """What the head of a sheet says of the batch where it is known beforehand; empty where it is written by hand.

    `version`: name of the version that is made, and the day it was kept.
    """

    number: str = ""
    date: str = ""
    maker: str = ""
    room: str = ""
    version: str = ""


@frozen
class BatchSheet(Answer):
    """Everything a batch sheet holds but what is filled in by hand.

    `formula` is the name of what is made; `called` says which that is: where it is from and whether it is today's.

    `short`: what is not in stock; these words stand first among the warnings too. `unconfirmed`: claims of the brief,
    each time with the ingredients whose suppliers have to confirm them.
    """

    title: str
    formula: str
    called: str
    batch: Amounts
    phases: tuple[SheetPhase, ...]
    parts: tuple[PartSheet, ...]
    steps: tuple[Step, ...]
    warnings: tuple[FormulaWarning, ...]
    cautions: tuple[PlacedCaution, ...]
    filled: Filled = Filled()
    short: tuple[str, ...] = ()
    content: JarContent | None = None
    scale_up: ScaleUp | None = None
    unconfirmed: tuple[tuple[tuple[str, ...], tuple[str, ...]], ...] = ()

    @property
    def small(self) -> tuple[tuple[str, SmallDose], ...]:
        """The doses of few steps of the scale, each with its part, the furthest off first."""
        doses = [(phase.part, line.small) for phase in self.phases for line in phase.lines if line.small]
        return tuple(sorted(doses, key=lambda each: -abs(each[1].off)))


def batch_sheet(
    formula: Formula,
    brief: Brief,
    making: Making | None = None,
    grams: float | None = None,
    jars: int | None = None,
) -> BatchSheet:
    """The sheet to make a batch of a formula by.

    Args:
        formula: what is made.
        brief: gives scale, batch, jar, law and prices.
        making: how it is made; common practice where not given.
        grams: what is to come out of the batch; the brief's batch if neither this nor `jars` is given.
        jars: how many jars are to come out.

    Raises:
        BadInput: for a batch that cannot be made of jars or steps, or doses that leave no step for rounding.
    """
    making = made_as(brief.kind, making or Making())
    formula = replace(formula, lines=tuple(line for line in formula.lines if line.fraction > 0))
    plan = plan_batch(brief, making, grams, jars)
    dealt = deal(formula, brief, making, plan)
    common, parts = _pots(dealt, plan, making)
    amounts = _amounts(dealt, plan, making)
    made, steps = (
        weighed(formula.name, dealt),
        method(common, parts, making, _filling(amounts), brief.kind, _first(formula, brief)),
    )
    phases = tuple(_Weighing(making, plan, formula).phases(dealt))
    lacking = tuple(short_of_stock(made, float(dealt.total * plan.step) / 1000))
    told = [
        *lacking,
        *_goes(amounts, making),
        *_distorted(phases, plan.grams(1)),
        *method_warnings(common, making),
        *flash_warnings(made.lines, steps),
        *_reported(made, dealt, brief, making, plan),
    ]
    return BatchSheet(
        title=brief.title,
        formula=formula.name,
        called=called(formula, brief),
        batch=amounts,
        phases=phases,
        parts=tuple(_part_sheets(dealt, plan, making)),
        steps=steps,
        warnings=tuple(dict.fromkeys(told)),
        cautions=tuple(_placed(made, brief, steps)),
        short=tuple(warning.text for warning in lacking),
        content=None if making.volume is None else jar_content(made, brief.kind, making.volume, making.cup),
        scale_up=_grown(amounts, making, steps),
        unconfirmed=unconfirmed(brief.claims, (line.ingredient for line in made.lines)),
    )


def _grown(amounts: Amounts, making: Making, steps: Sequence[Step]) -> ScaleUp | None:
    """From the batch made so far to what is made at once now."""
    if making.from_batch is None:
        return None
    weighed = float(amounts.weighed_g)
    goes = 1 if making.vessel is None else ceil(weighed / making.vessel)
    return scale_up(making.from_batch, weighed / goes, steps)


def _first(formula: Formula, brief: Brief) -> bool:
    """Whether it is another formula than the one made today, or none is."""
    return brief.reference is None or formula.lines != brief.reference.lines


def _pots(dealt: Dealt, plan: Plan, making: Making) -> tuple[Pot, list[Pot]]:
    """The common pot and the parts', as the steps of the work need them."""
    parts = [
        Pot(tuple(line for line, _ in own), part.name, f"{plan.grams(portion)} g")
        for part, own, portion in zip(making.parts, dealt.own, dealt.portions, strict=True)
    ]
    return Pot(tuple(line for line, _ in dealt.shared)), parts


def _filling(amounts: Amounts) -> JarsToFill | None:
    """What goes into the jars, where their net mass is known."""
    if amounts.jars is None or amounts.fill_g is None or amounts.jar_g is None:
        return None
    return JarsToFill(amounts.jars, amounts.retained, amounts.fill_g, amounts.jar_g)


def _amounts(dealt: Dealt, plan: Plan, making: Making) -> Amounts:
    counts = [plan.jars(size) for size in (plan.sizes or (dealt.total,))]
    known = plan.fill is not None
    return Amounts(
        planned_g=float(plan.planned),
        weighed_g=plan.grams(dealt.total),
        loss=round(100 * making.loss, 9),
        scale_g=plan.grams(1),
        jars=sum(count or 0 for count, _ in counts) if known else None,
        jar_g=None if plan.jar is None else float(plan.jar),
        fill_g=None if plan.fill is None else float(plan.fill),
        left_g=sum(left or 0.0 for _, left in counts) if known else None,
        retained=making.retained,
    )


# -- lines -------------------------------------------------------------------------------------------------------------


@frozen
class _Weighing:
    """What every line of the sheet needs to know."""

    making: Making
    plan: Plan
    formula: Formula

    def phases(self, dealt: Dealt) -> Iterator[SheetPhase]:
        """What is weighed together, in working order: the common mass, then part by part."""
        common = sum(n for _, n in dealt.shared) / sum(line.fraction for line, _ in dealt.shared)
        parts = [(part.name, dealt.own[k], dealt.part_total(k)) for k, part in enumerate(self.making.parts)]
        for part, counted, whole in [("", dealt.shared, common), *parts]:
            steps, small = dict(counted), dict(small_doses(counted, whole, self.plan.grams(1)))
            for phase in PHASES:
                lines = ordered([line for line in steps if line.phase == phase], self.making)
                if lines:
                    yield SheetPhase(phase, part, tuple(self.line(x, steps[x], small.get(x)) for x in lines))

    def line(self, line: Line, steps: int, small: SmallDose | None) -> SheetLine:
        """One line of the sheet."""
        item = line.ingredient
        return SheetLine(
            ingredient=item.name,
            inci=item.inci,
            percent=100 * line.fraction,
            steps=steps,
            grams=self.plan.grams(steps),
            minds=tuple(minds(line, self.making, self.formula.lines)),
            small=small,
            capped=capped(item),
        )


def _part_sheets(dealt: Dealt, plan: Plan, making: Making) -> Iterator[PartSheet]:
    for k, part in enumerate(making.parts):
        size = dealt.part_total(k)
        share, portion = 100 * size / dealt.total, plan.grams(dealt.portions[k])
        yield PartSheet(part.name, share, portion, plan.grams(size), *plan.jars(size))


# -- what to mind ------------------------------------------------------------------------------------------------------


def _goes(amounts: Amounts, making: Making) -> Iterator[FormulaWarning]:
    """In how many goes a batch is made that does not fit the vessel."""
    if making.vessel is not None and float(amounts.weighed_g) > making.vessel:
        goes = ceil(float(amounts.weighed_g) / making.vessel)
        fact = VesselFull(amounts.weighed_g, making.vessel, goes)
        yield FormulaWarning("total", "mind", fact, "vessel-full", evidence=Evidence.OWN)


def _distorted(phases: Sequence[SheetPhase], scale: Decimal) -> Iterator[FormulaWarning]:
    """Doses that this scale cannot weigh as they are asked for, the furthest off first."""
    doses = [(x.small, phase.part) for phase in phases for x in phase.lines if x.small is not None and x.small.told]
    if doses:
        off = sorted(((dose.ingredient, part, dose.off) for dose, part in doses), key=lambda each: -abs(each[2]))
        lines = tuple(dict.fromkeys(dose.ingredient for dose, _ in doses))
        fact = ScaleCoarse(scale, tuple(off))
        yield FormulaWarning("dose", "mind", fact, "scale-coarse", lines, Evidence.DERIVED)


def _reported(made: Formula, dealt: Dealt, brief: Brief, making: Making, plan: Plan) -> Iterator[FormulaWarning]:
    """What the report says of the grams as they are weighed, the whole and each part."""
    asked, anew = setting_of(brief), varied(making.parts)  # which the parts say anew
    setting = replace(
        asked,
        batch=float(dealt.total * plan.step) / 1000,
        half_step=0.5 / dealt.total,
        ranges=tuple((name, Range() if name in anew else span) for name, span in asked.ranges),
    )
    whole = report(made, setting).warnings
    known = {coarse(x.fact, TOLD) for x in whole}
    yield from (x for x in whole if x.rule != HEAT)  # the method says it, with the maker's temperature
    for k, part in enumerate(making.parts):
        alone = replace(setting, batch=None, half_step=0.5 / dealt.part_total(k))
        told = report(weighed_part(part.name, dealt, k), alone).warnings
        yield from (replace(x, part=part.name) for x in told if coarse(x.fact, TOLD) not in known)


def _placed(made: Formula, brief: Brief, steps: Sequence[Step]) -> Iterator[PlacedCaution]:
    """Every caution; one on making stands at the first step whose lines set it off, else at the first of all."""
    mix, x = Mix.of(made), fractions(made)
    at: dict[str, int] = {}
    for number, step in enumerate(steps, 1):
        handled = np.array(
            [share if item.name in step.uses else 0.0 for item, share in zip(mix.ingredients, x, strict=True)]
        )
        texts = {caution.text for caution in cautions(mix, handled, brief.scope)} if step.uses else set()
        at |= dict.fromkeys(texts - at.keys(), number)
    always = {caution.text for caution in cautions(mix, 0 * x, brief.scope)}
    for caution in cautions(mix, x, brief.scope):
        place = 1 if caution.text in always else at.get(caution.text, 1)
        yield PlacedCaution(caution.where, caution.text, place if caution.where == "making" else 0)
