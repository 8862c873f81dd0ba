"""optiform compare: formulas side by side."""

import argparse
from functools import partial

from optiform.commands import ANSWERED
from optiform.commands.arguments.options import read
from optiform.commands.common import SCALE, print_json, setting
from optiform.ingredients.formula import read_formula
from optiform.reading.faults import BadInput, Fault
from optiform.review.compare import compare
from optiform.telling import json as jsonform
from optiform.telling.compare import compared

READS = True  # its options itself, together with the files


def run(options: argparse.Namespace) -> int:
    """Compare and print; the faults of all files are told together."""
    if len(options.formulas) < 2:
        raise BadInput([Fault("compare", "formulas", "one file", "two or more files")])
    inspection = read(options)
    brief, catalogue, looked_for = setting(options)
    step = options.scale or (brief.step if brief else SCALE)
    given = [inspection.given(partial(read_formula, path, catalogue), None) for path in options.formulas]
    inspection.finish()
    readings = [each for each in given if each is not None]
    notes = [f"{each.formula.name}: {note}" for each in readings for note in each.notes]
    found = compare([each.formula for each in readings], looked_for, step)
    if options.json:
        print_json(jsonform.compared(found, notes))
    else:
        print(compared(found, notes))
    return ANSWERED
