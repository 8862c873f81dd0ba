"""optiform batch: the sheet to make a batch by; with a workshop its lots too, and what is kept of it."""

import argparse

from optiform import jsonform
from optiform.brief import Brief
from optiform.brieffile import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, quantity
from optiform.commands.files import check_names, write_page, write_table
from optiform.commands.recording import from_workshop, read_asked
from optiform.faults import BadInput, Fault, Inspection
from optiform.formula import Formula, read_formula
from optiform.jobs.batch import batch_sheet
from optiform.makingfile import read_making
from optiform.paper.batch import batch_page, batch_table
from optiform.plain.batch import batch_sheet as plain_sheet
from optiform.plain.stock import batch_kept


def run(options: argparse.Namespace) -> int:
    """Work out the sheet, fill in and keep what is asked, save it, and print it."""
    check_names(options.csv, page=options.html)
    grams, asked = _size(options), read_asked(options)
    brief = read_brief(options.brief)
    formula = _formula(options, brief)
    making = read_making(options.making, brief.catalogue, formula) if options.making else None
    sheet = batch_sheet(formula, brief, making, grams, options.jars)
    kept = None
    if asked:
        sheet, kept = from_workshop(options, asked, sheet, formula, brief.catalogue)
    write_table(options.csv, batch_table(sheet))
    write_page(options.html, lambda: batch_page(sheet))
    if options.json:
        print_json({"status": "batch", **jsonform.data(sheet), "record": jsonform.data(kept) if kept else None})
    else:
        print("\n\n".join([plain_sheet(sheet), *([batch_kept(kept.batch, kept.counts, kept.notes)] if kept else [])]))
    return ANSWERED


def _size(options: argparse.Namespace) -> float | None:
    """The mass that is asked for, g."""
    inspection = Inspection("command line")
    if options.jars is not None and options.jars < 1:
        inspection.fault("--jars", options.jars, "1 or more")
    inspection.finish()
    return quantity(options.batch, "--batch", "g") if options.batch is not None else None


def _formula(options: argparse.Namespace, brief: Brief) -> Formula:
    """The formula given, else today's in the brief."""
    if options.formula:
        return read_formula(options.formula, brief.catalogue).formula
    if brief.reference is None:
        raise BadInput([Fault("command line", "FORMULA", "nothing", "a formula, or a key reference in the brief")])
    return brief.reference
