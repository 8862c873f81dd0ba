"""optiform weigh: few and weighable."""

import argparse

from optiform import jsonform
from optiform.brieffile import read_brief
from optiform.catalogue import Catalogue
from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import print_json, quantity, share
from optiform.commands.files import check_names, write_table
from optiform.faults import BadInput, Fault
from optiform.formula import read_formula
from optiform.jobs.answer import Impossible
from optiform.jobs.doses import FEWEST_STEPS
from optiform.jobs.weigh import Weighed, round_formula, weigh
from optiform.plain.design import impossible
from optiform.plain.weigh import unweighable, weighed


def run(options: argparse.Namespace) -> int:
    """Round to the scale, the brief's best formula or a given one, and print what to weigh."""
    brief = read_brief(options.brief)
    check_names(options.csv, None)
    step = quantity(options.step, "--step", "g") if options.step else None
    fine = quantity(options.fine_step, "--fine-step", "g") if options.fine_step else None
    if options.formula:
        if options.most or options.least_dose or options.apart:
            raise BadInput([Fault("command line", "--formula", "given with a wish for others", "one of the two")])
        given = read_formula(options.formula, brief.catalogue).formula
        found = round_formula(brief, given, step, fine, options.solver)
    else:
        finest = fine or step or brief.step
        small = min(1.0, FEWEST_STEPS * finest / (1000 * brief.batch))
        dose = share(options.least_dose, "--least-dose") if options.least_dose else small
        apart = [(_name(brief.catalogue, a), _name(brief.catalogue, b)) for a, b in options.apart]
        found = weigh(brief, options.most, dose, apart, step, fine, options.solver)
    if isinstance(found, Weighed):
        rows = [[w.ingredient, w.phase, str(w.grams), w.drift, w.points] for w in found.lines]
        write_table(options.csv, [["ingredient", "phase", "grams", "drift g", "drift points"], *rows])
        print_json({"status": "weighed", **jsonform.data(found)}) if options.json else print(weighed(found))
        return ANSWERED
    if isinstance(found, Impossible):
        print_json(jsonform.impossible(found)) if options.json else print(impossible(found))
    else:
        print_json({"status": "infeasible", **jsonform.data(found)}) if options.json else print(unweighable(found))
    return IMPOSSIBLE


def _name(catalogue: Catalogue, given: str) -> str:
    item = catalogue.find(given)
    if item is None:
        raise BadInput([Fault("command line", "--apart", repr(given), catalogue.unknown(given))])
    return item.name
