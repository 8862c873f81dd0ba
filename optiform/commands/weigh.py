"""optiform weigh: few and weighable."""

import argparse
from dataclasses import replace
from functools import partial

from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.arguments.options import read
from optiform.commands.common import on_readings, print_json
from optiform.commands.files import check_names, write_formula
from optiform.commands.tell import again, answer, tell
from optiform.design.answer import NoFormula
from optiform.design.scale import least_shown
from optiform.design.steps import Unweighable, Weighed
from optiform.design.weigh import round_formula, weigh
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import read_formula
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.impossible import impossible
from optiform.telling.json.weigh import weighed as as_json
from optiform.telling.steps import after_weigh
from optiform.telling.weigh import unweighable, weighed

READS = True  # its options itself, together with the ingredients they name


def run(options: argparse.Namespace) -> int:
    """Round to the scale, the brief's best formula or a given one, and print what to weigh."""
    brief, _ = on_readings(options)
    inspection = read(options)
    step, fine, least = options.step, options.fine_step, options.least_dose
    apart = [[inspection.given(partial(_name, brief.catalogue, each), "") for each in pair] for pair in options.apart]
    if options.formula and (options.most or least is not None or options.apart):
        words = "--formula rounds the formula as it is: it cannot stand beside --most, --least-dose or --apart."
        inspection.fault("--formula", "given with a wish for others", "one of the two", words)
    inspection.finish()
    if options.formula:
        formula = read_formula(options.formula, brief.catalogue).formula
        check_names(options)
        answer = round_formula(brief, formula, step, fine, options.solver)
    else:
        check_names(options)
        dose = least_shown(brief, step, fine) if least is None else least
        answer = weigh(brief, options.most, dose, [(a, b) for a, b in apart], step, fine, options.solver)
    return _show(answer, options)


def _show(result: Weighed | Unweighable | NoFormula, options: argparse.Namespace) -> int:
    """Print what to weigh, or why nothing can be; the exit code says which."""
    if isinstance(result, Weighed):
        write_formula(options, result.report.formula)
        steps = after_weigh(options.brief, options.csv or options.write, again(options))
        answer(replace(weighed(result), steps=steps), options, lambda: as_json(result))
        return ANSWERED
    if options.json:
        print_json(as_json(result))
    else:
        tell(impossible(result) if isinstance(result, NoFormula) else unweighable(result), options)
    return IMPOSSIBLE if result.decided else UNPROVEN


def _name(catalogue: Catalogue, given: str) -> str:
    item = catalogue.find(given)
    if item is None:
        raise BadInput([Fault(COMMAND_LINE, "--apart", repr(given), catalogue.unknown(given))])
    return item.name
