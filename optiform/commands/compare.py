"""optiform compare: formulas side by side."""

import argparse
from dataclasses import replace
from functools import partial

from optiform.commands import ANSWERED
from optiform.commands.arguments.options import read
from optiform.commands.common import setting
from optiform.commands.files import check_names
from optiform.commands.tell import again, answer
from optiform.ingredients.formula import read_formula
from optiform.properties.firmness import ASSUMED
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.review.compare import compare
from optiform.review.measures import SCALE
from optiform.telling import json as jsonform
from optiform.telling.compare import compared
from optiform.telling.steps import after_compare
from optiform.trials.firm import beside

ALONE = "One formula stands beside nothing. Name two or more: optiform compare today.csv new.csv"
READS = True  # its options itself, together with the files


def run(options: argparse.Namespace) -> int:
    """Compare and print; the faults of all files are told together."""
    if len(options.formulas) < 2:
        raise BadInput([Fault(COMMAND_LINE, "FORMULA", "one file", "two or more files", ALONE)])
    inspection = read(options)
    brief, fitted, catalogue, looked_for = setting(options)
    step = options.scale or (brief.step if brief else SCALE)
    given = [inspection.given(partial(read_formula, path, catalogue), None) for path in options.formulas]
    inspection.finish()
    readings = [reading for reading in given if reading is not None]
    notes = [f"{reading.formula.name}: {note}" for reading in readings for note in reading.notes]
    check_names(options)
    formulas = [reading.formula for reading in readings]
    today = brief.reference if brief else None
    comparison = compare(formulas, looked_for, step, today, fitted.exponents if fitted else ASSUMED)
    firms = beside(formulas, today or formulas[0], fitted) if fitted else None
    told = compared(comparison, notes, firms, today.name if today else "")
    telling = replace(told, steps=after_compare(again(options)))
    answer(telling, options, lambda: jsonform.compared(comparison, notes))
    return ANSWERED
