"""optiform compare: formulas side by side."""

import argparse

from optiform import jsonform
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, quantity, setting
from optiform.faults import BadInput, Fault
from optiform.formula import read_formula
from optiform.jobs.compare import compare
from optiform.plain.compare import compared


def run(options: argparse.Namespace) -> int:
    """Compare and print; the faults of all files are told together."""
    if len(options.formulas) < 2:
        raise BadInput([Fault("compare", "formulas", "one file", "two or more files")])
    brief, catalogue, looked_for = setting(options)
    faults: list[Fault] = []
    formulas, notes = [], []
    for path in options.formulas:
        try:
            reading = read_formula(path, catalogue)
        except BadInput as bad:
            faults.extend(bad.faults)
        else:
            formulas.append(reading.formula)
            notes += [f"{reading.formula.name}: {note}" for note in reading.notes]
    if faults:
        raise BadInput(faults)
    step = brief.step if brief else quantity(options.scale or "0.1 g", "--scale", "g")
    found = compare(formulas, looked_for, step)
    if options.json:
        print_json(jsonform.compared(found, notes))
    else:
        print(compared(found, notes))
    return ANSWERED
