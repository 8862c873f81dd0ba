"""optiform weigh: few and weighable."""

import argparse
from functools import partial

from optiform.batch.doses import FEWEST_STEPS
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.arguments.options import PLACE, read
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_table
from optiform.design.answer import Impossible
from optiform.design.steps import Weighed
from optiform.design.weigh import round_formula, weigh
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import read_formula
from optiform.reading.faults import BadInput, Fault
from optiform.telling import json as jsonform
from optiform.telling.design import impossible
from optiform.telling.weigh import unweighable, weighed

READS = True  # its options itself, together with the ingredients they name


def run(options: argparse.Namespace) -> int:
    """Round to the scale, the brief's best formula or a given one, and print what to weigh."""
    brief = read_brief(options.brief)
    inspection = read(options)
    step, fine, least = options.step, options.fine_step, options.least_dose
    apart = [[inspection.given(partial(_name, brief.catalogue, each), "") for each in pair] for pair in options.apart]
    if options.formula and (options.most or least is not None or options.apart):
        inspection.fault("--formula", "given with a wish for others", "one of the two")
    inspection.finish()
    if options.formula:
        given = read_formula(options.formula, brief.catalogue).formula
        check_names(options)
        found = round_formula(brief, given, step, fine, options.solver)
    else:
        check_names(options)
        finest = fine or step or brief.step
        small = min(1.0, FEWEST_STEPS * finest / (1000 * brief.batch))
        dose = small if least is None else least
        found = weigh(brief, options.most, dose, [(a, b) for a, b in apart], step, fine, options.solver)
    if isinstance(found, Weighed):
        rows = [[w.ingredient, w.phase, str(w.grams), w.drift, w.points] for w in found.lines]
        write_table(options, [["ingredient", "phase", "grams", "drift g", "drift points"], *rows])
        print_json({"status": "weighed", **jsonform.data(found)}) if options.json else print(weighed(found))
        return ANSWERED
    if isinstance(found, Impossible):
        print_json(jsonform.impossible(found)) if options.json else print(impossible(found))
    else:
        status = "infeasible" if found.decided else "undecided"
        print_json({"status": status, **jsonform.data(found)}) if options.json else print(unweighable(found))
    return IMPOSSIBLE if found.decided else UNPROVEN


def _name(catalogue: Catalogue, given: str) -> str:
    item = catalogue.find(given)
    if item is None:
        raise BadInput([Fault(PLACE, "--apart", repr(given), catalogue.unknown(given))])
    return item.name
