"""The batch sheet on paper: what to weigh and do, with room to write down what was weighed and done."""

import re
from collections.abc import Iterator, Sequence

from optiform.batch.batch import ROUNDING, SMALL, Amounts, BatchSheet, SheetPhase
from optiform.batch.making import PRACTICE
from optiform.batch.method import Step
from optiform.telling.page import box, bullets, heading, page, paragraph, section, table
from optiform.telling.text import amount

LINE = ("", "ingredient", "%", "g", "g weighed", "lot, expiry", "what to mind")
NOTHING = "\u00a0"  # in a cell that is not to be filled in
NOT_A_RELEASE = (
    "The sheet is calculated from published, recalled and own figures. Local law, a qualified assessor and trials of "
    "your own decide what may be sold."
)


def batch_page(sheet: BatchSheet) -> str:
    """A whole page of HTML."""
    return page(
        f"Batch sheet: {sheet.title}",
        _head(sheet),
        *_warnings(sheet),
        *_cautions(sheet),
        *_small(sheet),
        *_weighing(sheet),
        *_parts(sheet),
        heading("Steps"),
        *_steps(sheet),
        *_record(sheet.batch),
        paragraph(NOT_A_RELEASE, "small"),
        running=_running(sheet),
    )


def _running(sheet: BatchSheet) -> str:
    """What tells on every page which batch it is of, with room to write where it is not known yet."""
    filled = sheet.filled
    room = "_" * 14
    return f"{sheet.title}; batch number {filled.number or room}, date {filled.date or room}"


def _head(sheet: BatchSheet) -> str:
    batch = sheet.batch
    jars = "not known" if batch.jars is None else f"{batch.jars} of {batch.fill_g:g} g (net {batch.jar_g:g} g)"
    left = "" if batch.left_g is None else f"{batch.left_g:.1f} g"
    rows = [
        ("formula", sheet.called, "batch number", sheet.filled.number),
        ("to weigh", f"{batch.weighed_g} g", "date", sheet.filled.date),
        ("to come out", f"{batch.planned_g:g} g, planned loss {batch.loss:g} %", "start, end", ""),
        ("jars", jars, "operator", sheet.filled.maker),
        ("left over", left, "weighings checked by", ""),
        ("scale", f"shows {batch.scale_g} g", "room: degC, % humidity", sheet.filled.room),
        ("version, kept on", sheet.filled.version, "thermometer, pH meter", ""),
    ]
    return table(("", "", "", ""), rows, blank=[1, 3])


def _weighing(sheet: BatchSheet) -> Iterator[str]:
    for phase in sheet.phases:
        rows = [
            ("", x.ingredient, amount(x.percent, capped=x.capped), str(x.grams), "", _unbroken(x.lot), x.mind)
            for x in phase.lines
        ]
        total = (NOTHING, "together", "", str(phase.grams), "", NOTHING, "")
        yield section(heading(_where(phase)), table(LINE, [*rows, total], right=[2, 3], blank=[4, 5], tick=[0]))
    yield paragraph(ROUNDING, "small")


def _small(sheet: BatchSheet) -> Iterator[str]:
    """Doses of few steps of the scale: what is due, what is weighed, what helps."""
    rows = [
        (
            f"{dose.ingredient}, {part}" if part else dose.ingredient,
            f"{dose.due:.3g}",
            str(dose.weighed),
            f"{dose.off:+g} %",
            dose.helps,
        )
        for part, dose in sheet.small
    ]
    if rows:
        header = ("", "due g", "weighed g", "off", "what helps")
        yield section(heading("Small doses"), table(header, rows, right=[1, 2, 3]), paragraph(SMALL, "small"))


def _unbroken(lots: str) -> str:
    """Dates that do not break at their hyphens; a lot's number stays as it is, to be searched for."""
    return re.sub(r", (\d{4})-(\d\d)-(\d\d)", ", \\1\u2011\\2\u2011\\3", lots)


def _where(phase: SheetPhase) -> str:
    words = phase.phase.capitalize()
    return f"{words}, {phase.part}" if phase.part else words


def _parts(sheet: BatchSheet) -> Iterator[str]:
    if sheet.parts:
        rows = [
            (x.name, f"{x.share:.1f} %", str(x.shared_g), "", str(x.weighed_g), _count(x.jars), "") for x in sheet.parts
        ]
        header = ("part", "share", "common mass g", "g divided", "with its own lines g", "jars", "jars filled")
        yield section(heading("Parts"), table(header, rows, right=[1, 2, 4, 5], blank=[3, 6]))


def _count(jars: int | None) -> str:
    return "-" if jars is None else str(jars)


def _steps(sheet: BatchSheet) -> Iterator[str]:
    rows = []
    for number, step in enumerate(sheet.steps, 1):
        at = "-" if step.temperature is None else f"{step.temperature:g}"
        words = _told(step) + ("" if number not in _cautioned(sheet) else " See the cautions.")
        rows.append(("", _numbered(number, step), words, at, "", step.time.replace(" ", NOTHING) or "-", ""))
    header = ("", "", "step", "degC", "degC read", "time", "time taken")
    yield table(header, rows, right=[3], blank=[4, 6], tick=[0])
    yield paragraph(f"* {PRACTICE}.", "small")


def _cautioned(sheet: BatchSheet) -> set[int]:
    return {caution.step for caution in sheet.cautions}


def _cautions(sheet: BatchSheet) -> Iterator[str]:
    """Every caution on making, in one frame near the top, with the step it belongs to."""
    told = sorted((x for x in sheet.cautions if x.step), key=lambda x: x.step)
    if told:
        yield box("Cautions", [f"Step {x.step}: {x.text}" for x in told])


def _numbered(number: int, step: Step) -> str:
    return f"{number}*" if step.source == PRACTICE else str(number)


def _told(step: Step) -> str:
    """Its words, for whom, and by whom where that is no common practice."""
    part = f"{step.part}: " if step.part else ""
    return f"{part}{step.words}" if step.source == PRACTICE else f"{part}{step.words} ({step.source})"


def _warnings(sheet: BatchSheet) -> Iterator[str]:
    if sheet.warnings:
        yield section(heading("Warnings"), bullets(sheet.warnings))


def _record(batch: Amounts) -> Iterator[str]:
    """What is written down when the batch is made: yield, fill weights, deviations, release."""
    rows = [
        ("vessel with contents before heating, g", "", "after, g", ""),
        ("water put back, g", "", "pH, at degC, method", ""),
        ("vessels and mixer, speed", "", "scale, thermometer, pH meter used", ""),
        ("mass made, g", "", "loss % = (weighed - made) / weighed", ""),
        ("jars filled", "", "jars rejected", ""),
        (f"jars kept back ({batch.retained} planned)", "", "where, until when", ""),
        ("clean-down done by", "", "checked by", ""),
    ]
    yield section(heading("Record"), table(("", "", "", ""), rows, blank=[1, 3]))
    header = ("net mass of", "first jar, g", "second, g", "third, g", "fourth, g", "fifth, g")
    yield section(table(header, [("jars over the run", *[""] * 5)], blank=range(1, 6)))
    deviations = ("", "deviations: what, when, why, what was decided")
    yield section(table(deviations, [("1", ""), ("2", ""), ("3", "")], blank=[1]))
    words = ("appearance, smell, feel on the day", "after two weeks at 10 degC")
    yield section(table(("looked at", "found"), [(word, "") for word in words], blank=[1]))
    release = ("release", "accepted, reworked, rejected", "name", "date", "signature")
    yield section(table(release, [("this batch", *[""] * 4)], blank=range(1, 5)))


def batch_table(sheet: BatchSheet) -> Iterator[Sequence[object]]:
    """The lines to weigh as a table, under a header."""
    yield ("phase", "part", "ingredient", "inci", "percent", "grams", "grams weighed", "lot", "note")
    for phase in sheet.phases:
        for x in phase.lines:
            yield phase.phase, phase.part, x.ingredient, x.inci, x.percent, str(x.grams), "", x.lot, x.mind
