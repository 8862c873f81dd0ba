"""A formula as a batch: whole steps of the scale per line, jars, parts, steps of the work, and what to mind."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

import numpy as np

from optiform.brief import Brief
from optiform.formula import Formula, Line
from optiform.ingredient import PHASES
from optiform.jobs.cautions import cautions
from optiform.jobs.dealing import Counted, Dealt, Plan, deal, plan_batch, weighed, weighed_part
from optiform.jobs.design import setting_of
from optiform.jobs.doses import FEWEST_STEPS, Premix, premix
from optiform.jobs.method import Pot, Step, method, method_warnings
from optiform.jobs.report import report
from optiform.jobs.working_order import note, ordered
from optiform.making import Making
from optiform.properties.base import Mix, fractions

ROUNDING = (
    "Grams are whole steps of the scale and sum to the batch exactly: each line gets the whole steps of its share, and "
    "the steps left over go one each to the lines with the largest remainders. No line is rounded up above its maximum "
    "use, the law, a panel's advice or the fragrance certificate, and no preservative, fragrance, active or colourant "
    "above the brief's own range or the top of its usual use. Another line takes that step."
)


@dataclass(frozen=True)
class SheetLine:
    """One line to weigh: `steps` steps of the scale, `grams` exactly. `percent` is of what it is a line of, unrounded.

    `lot`: words for the lots it is to be taken from; empty where the maker fills it in.
    """

    ingredient: str
    inci: str
    percent: float
    steps: int
    grams: Decimal
    note: str
    lot: str = ""


@dataclass(frozen=True)
class SheetPhase:
    """Lines that are weighed together, in working order. `part` is empty for what all parts share."""

    phase: str
    part: str
    lines: tuple[SheetLine, ...]

    @property
    def grams(self) -> Decimal:
        """What the lines sum to, g, exactly."""
        return sum((line.grams for line in self.lines), Decimal(0))


@dataclass(frozen=True)
class PartSheet:
    """One part: `shared_g` of the common mass and its own lines make `weighed_g`; jars and what is left after loss."""

    name: str
    share: float
    shared_g: Decimal
    weighed_g: Decimal
    jars: int | None
    left_g: float | None


@dataclass(frozen=True)
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


@dataclass(frozen=True)
class PlacedCaution:
    """A usual caution, where it belongs, and the number of the step it stands at; 0 is at no step."""

    where: str
    text: str
    step: int


@dataclass(frozen=True)
class Filled:
    """What the head of a sheet says of the batch where it is known beforehand; empty where it is written by hand."""

    number: str = ""
    date: str = ""
    maker: str = ""
    room: str = ""


@dataclass(frozen=True)
class BatchSheet:
    """Everything a batch sheet holds but what is filled in by hand. `formula` is its name."""

    title: str
    formula: str
    batch: Amounts
    phases: tuple[SheetPhase, ...]
    parts: tuple[PartSheet, ...]
    steps: tuple[Step, ...]
    warnings: tuple[str, ...]
    cautions: tuple[PlacedCaution, ...]
    filled: Filled = Filled()


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
    making = making or Making()
    formula = replace(formula, lines=tuple(line for line in formula.lines if line.fraction > 0))
    plan = plan_batch(brief, making, grams, jars)
    dealt = deal(formula, brief, making, plan)
    common, parts = _pots(dealt, plan, making)
    amounts = _amounts(dealt, plan, making)
    made, steps = weighed(formula.name, dealt), method(common, parts, making, _filling(amounts))
    told = [
        *_small(dealt, plan, making),
        *method_warnings(common, making),
        *_reported(made, dealt, brief, making, plan),
    ]
    return BatchSheet(
        title=brief.title,
        formula=formula.name,
        batch=amounts,
        phases=tuple(_Weighing(making, plan, formula).phases(dealt)),
        parts=tuple(_part_sheets(dealt, plan, making)),
        steps=steps,
        warnings=tuple(dict.fromkeys(told)),
        cautions=tuple(_placed(made, brief, steps)),
    )


def _pots(dealt: Dealt, plan: Plan, making: Making) -> tuple[Pot, list[Pot]]:
    """The common pot and the parts', as the steps of the work need them."""
    parts = [
        Pot(tuple(line for line, _ in own), part.name, f"{plan.grams(portion)} g")
        for part, own, portion in zip(making.parts, dealt.own, dealt.portions, strict=True)
    ]
    return Pot(tuple(line for line, _ in dealt.shared)), parts


def _filling(amounts: Amounts) -> str:
    """Words for what goes into the jars."""
    if amounts.jars is None or amounts.fill_g is None:
        return ""
    kept = f", {amounts.retained} of them to keep" if amounts.retained else ""
    jars = "1 jar" if amounts.jars == 1 else f"{amounts.jars} jars"
    return f" {jars}{kept}, {amounts.fill_g:g} g in each (net {amounts.jar_g:g} g on the label)"


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


@dataclass(frozen=True)
class _Weighing:
    """What every line of the sheet needs to know."""

    making: Making
    plan: Plan
    formula: Formula

    def phases(self, dealt: Dealt) -> Iterator[SheetPhase]:
        """What is weighed together, in working order: the common mass, then part by part."""
        names = (part.name for part in self.making.parts)
        for part, counted in [("", dealt.shared), *zip(names, dealt.own, strict=True)]:
            steps = dict(counted)
            for phase in PHASES:
                lines = ordered([line for line in steps if line.phase == phase], self.making)
                if lines:
                    yield SheetPhase(phase, part, tuple(self.line(line, steps[line]) for line in lines))

    def line(self, line: Line, steps: int) -> SheetLine:
        """One line of the sheet."""
        item = line.ingredient
        words = note(line, self.making, self.formula.lines)
        return SheetLine(item.name, item.inci, 100 * line.fraction, steps, self.plan.grams(steps), words)


def _part_sheets(dealt: Dealt, plan: Plan, making: Making) -> Iterator[PartSheet]:
    for k, part in enumerate(making.parts):
        size = dealt.part_total(k)
        share, portion = 100 * size / dealt.total, plan.grams(dealt.portions[k])
        yield PartSheet(part.name, share, portion, plan.grams(size), *plan.jars(size))


# -- what to mind ------------------------------------------------------------------------------------------------------


def _small(dealt: Dealt, plan: Plan, making: Making) -> Iterator[str]:
    """Doses of too few steps of the scale, with what helps."""
    whole = sum(n for _, n in dealt.shared) / sum(line.fraction for line, _ in dealt.shared)
    yield from _small_among(dealt.shared, whole, plan, "")
    for k, part in enumerate(making.parts):
        yield from _small_among(dealt.own[k], dealt.part_total(k), plan, f" ({part.name})")


def _small_among(counted: Counted, whole: float, plan: Plan, where: str) -> Iterator[str]:
    """Small doses among lines that are fractions of so many steps."""
    others, lines = {line.ingredient.name: steps for line, steps in counted}, [line for line, _ in counted]
    for line, steps in counted:
        exact = max(round(whole * line.fraction, 9), 1e-9)
        if exact < FEWEST_STEPS:
            mixed = premix(line, exact, steps, others, lines)
            yield f"{line.ingredient.name}{where}: {_error(exact, steps, plan)} {_help(exact, mixed, plan)}"


def _error(exact: float, steps: int, plan: Plan) -> str:
    """How far rounding is off for a dose of `exact` steps."""
    off = round(100 * (steps / exact - 1), 1)
    return (
        f"{float(plan.step) * exact:.3g} g are {exact:.3g} steps of the scale, weighed as {plan.grams(steps)} g. "
        f"Rounding can be {50 / exact:.3g} % of such a dose, here {off:+g} % (house rule: "
        f"{FEWEST_STEPS} steps, 2.5 %)."
    )


def _help(exact: float, mixed: Premix | None, plan: Plan) -> str:
    grown, finer = ceil(10 * FEWEST_STEPS / exact) / 10, float(plan.step) * exact / FEWEST_STEPS
    told = f"What helps: a batch {grown:g} times as large, a scale that shows {finer:.2g} g"
    if mixed is None:
        return f"{told}."
    return (
        f"{told}, or a premix: stir {plan.grams(mixed.dose)} g of it into {plan.grams(mixed.carrier)} g of "
        f"{mixed.into}, take {plan.grams(mixed.taken)} g of that, and weigh {plan.grams(mixed.less)} g less "
        f"{mixed.into}."
    )


def _reported(made: Formula, dealt: Dealt, brief: Brief, making: Making, plan: Plan) -> Iterator[str]:
    """What the report says of the grams as they are weighed, the whole and each part."""
    setting = setting_of(brief)
    whole = report(made, replace(setting, batch=float(dealt.total * plan.step) / 1000)).warnings
    yield from whole
    for k, part in enumerate(making.parts):
        told = report(weighed_part(part.name, dealt, k), replace(setting, batch=None)).warnings
        yield from (f"{part.name}: {words}" for words in told if words not in whole)


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
