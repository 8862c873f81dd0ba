"""optiform batch: the sheet to make a batch by; with a workshop its lots too, and what is kept of it."""

import argparse
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from optiform.batch.batch import BatchSheet, batch_sheet
from optiform.batch.file import read_making
from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.carried import secret
from optiform.commands.common import by_readings, print_json
from optiform.commands.files import check_names, write_page, write_table
from optiform.commands.recording import from_workshop, wanted
from optiform.commands.tell import again, tell
from optiform.ingredients.formula import Formula, read_formula
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.batch import batch, running
from optiform.telling.document import document
from optiform.telling.json.batch import batch as as_json
from optiform.telling.parts import Step, Telling
from optiform.telling.steps import draft_of_label
from optiform.telling.stock import batch_saved, filled

if TYPE_CHECKING:
    from optiform.batch.keeping import Recorded


def run(options: argparse.Namespace) -> int:
    """Work out the sheet, fill in and keep what is asked, save it, and print it."""
    asked = wanted(options)
    brief = by_readings(read_brief(options.brief), options.workshop or ("." if options.record else None))
    formula = _formula(options, brief)
    making = read_making(options.making, brief.catalogue, formula, brief.jar) if options.making else None
    check_names(options)
    sheet = batch_sheet(formula, brief, making, options.batch, options.jars)
    kept = None
    if asked:
        sheet, kept = from_workshop(options, asked, sheet, formula, brief.catalogue)
    telling = batch(sheet)
    unsaved = _save(options, telling, sheet)
    if kept and unsaved:
        unsaved.append(_kept_all_the_same(kept))
    if not options.json:
        tell(_saved(telling, kept) if kept else replace(telling, steps=tuple(_steps(options, brief))), options)
    if unsaved:
        raise BadInput(unsaved)
    if options.json:
        print_json(as_json(sheet, kept))
    return ANSWERED


def _save(options: argparse.Namespace, telling: Telling, sheet: BatchSheet) -> list[Fault]:
    """Write the files that are asked for; what cannot be written does not keep the other from being written."""
    faults: list[Fault] = []
    works: list[Callable[[], None]] = [
        lambda: write_table(options, telling.table),
        lambda: write_page(options, lambda: document(telling, running(sheet))),
    ]
    for write in works:
        try:
            write()
        except BadInput as bad:
            faults += bad.faults
    return faults


def _steps(options: argparse.Namespace, brief: Brief) -> Iterator[Step]:
    """What comes next for this batch, as it would be typed."""
    if secret(str(options.workshop)):
        return
    if not options.html:
        yield Step("The sheet to print", f"{again(options)} --html batch.html")
    today = options.brief.parent / brief.reference.origin if brief.reference else None
    formula = options.formula or (today if today and today.is_file() else None)
    if formula:
        yield from draft_of_label(brief, options.brief, formula)


def _saved(telling: Telling, made: "Recorded") -> Telling:
    """The sheet with what went into the records, and the step that ends the batch."""
    return replace(telling, sections=(batch_saved(made), *telling.sections), steps=(filled(made.batch),))


def _kept_all_the_same(kept: "Recorded") -> Fault:
    number = kept.batch.number
    words = f"`optiform stock batch {number}` to look at it, not --record a second time"
    return Fault("--record", number, "a batch that is saved now, though not every file is written", words)


def _formula(options: argparse.Namespace, brief: Brief) -> Formula:
    """The formula given, else today's in the brief."""
    if options.formula:
        return read_formula(options.formula, brief.catalogue).formula
    if brief.reference is None:
        raise BadInput([Fault(COMMAND_LINE, "FORMULA", "nothing", "a formula, or a key reference in the brief")])
    return brief.reference
