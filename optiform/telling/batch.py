"""The batch sheet on a terminal."""

import textwrap
from collections.abc import Iterator
from itertools import zip_longest

from optiform.batch.batch import ROUNDING, SMALL, Amounts, BatchSheet, SheetLine, SheetPhase
from optiform.telling.sections import closing, warnings
from optiform.telling.text import amount, paragraph, table

NOTE = 44  # characters of a note beside its line


def batch_sheet(sheet: BatchSheet) -> str:
    """Grams in working order, the steps with their cautions, what to mind."""
    parts = [
        f"{sheet.title}\n  {sheet.called}\n  {_amounts(sheet.batch)}",
        *map(_phase, sheet.phases),
        _small(sheet),
        _parts(sheet),
        paragraph(ROUNDING, ""),
        _steps(sheet),
        warnings(sheet.warnings),
        _elsewhere(sheet),
        closing(),
    ]
    return "\n\n".join(part for part in parts if part)


def _amounts(batch: Amounts) -> str:
    told = f"{batch.weighed_g} g to weigh for {batch.planned_g:g} g (planned loss {batch.loss:g} %)"
    if batch.jars is None:
        return f"{told}; no net mass of a jar is known"
    return f"{told}: {batch.jars} jars of {batch.fill_g:g} g, net {batch.jar_g:g} g, {batch.left_g:.1f} g left over"


def _phase(phase: SheetPhase) -> str:
    where = f"{phase.phase}, {phase.part}" if phase.part else phase.phase
    lots = "lot, expiry" if any(line.lot for line in phase.lines) else ""
    rows = [[where, "%", "g", lots, ""]]
    rows += [row for line in phase.lines for row in _line(line)]
    return table([*rows, ["", "", str(phase.grams), "", ""]], right=[1, 2])


def _line(line: SheetLine) -> Iterator[list[str]]:
    """A line, its lots and its note beside it, each on as many rows as it takes."""
    cells = [line.ingredient, amount(line.percent, capped=line.capped), str(line.grams)]
    for lot, words in zip_longest(line.lot.split("; "), textwrap.wrap(line.mind, NOTE), fillvalue=""):
        yield [*cells, lot, words]
        cells = ["", "", ""]


def _small(sheet: BatchSheet) -> str:
    """Doses of few steps of the scale, and what helps."""
    rows = [["Small doses", "due g", "weighed g", "off"]]
    rows += [
        [f"{dose.ingredient}{f' ({part})' if part else ''}", f"{dose.due:.3g}", str(dose.weighed), f"{dose.off:+g} %"]
        for part, dose in sheet.small
    ]
    helps = [paragraph(f"{row[0]}: {dose.helps}.") for row, (_, dose) in zip(rows[1:], sheet.small, strict=True)]
    return "\n".join([table(rows, right=[1, 2, 3]), *helps, paragraph(SMALL, "")]) if helps else ""


def _parts(sheet: BatchSheet) -> str:
    rows = [["Parts", "g", "common mass g", "jars", "left g"]]
    for part in sheet.parts:
        jars, left = ("", "") if part.jars is None else (str(part.jars), f"{part.left_g:.1f}")
        rows.append([part.name, str(part.weighed_g), str(part.shared_g), jars, left])
    return table(rows, right=[1, 2, 3, 4]) if sheet.parts else ""


def _steps(sheet: BatchSheet) -> str:
    lines = ["  Steps"]
    for number, step in enumerate(sheet.steps, 1):
        at = "" if step.temperature is None else f" {step.temperature:g} degC."
        time = f" {step.time}." if step.time else ""
        part = f"{step.part}: " if step.part else ""
        lines.append(paragraph(f"{part}{step.words}{at}{time} ({step.source})", f"{number}. "))
        lines += [paragraph(c.text, "   ! ") for c in sheet.cautions if c.step == number]
    return "\n".join(lines)


def _elsewhere(sheet: BatchSheet) -> str:
    lines = []
    for where in ("using", "selling"):
        texts = [caution.text for caution in sheet.cautions if caution.where == where]
        lines += [f"  When {where}", *map(paragraph, texts)] if texts else []
    return "\n".join(lines)
