"""optiform costs: what a jar costs, all of it."""

import argparse
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.arguments.options import read
from optiform.commands.common import by_readings
from optiform.commands.files import check_names, write_formula
from optiform.commands.tell import again, answer
from optiform.costs.file import read_costs
from optiform.costs.jar import cost_sheet
from optiform.ingredients.formula import read_formula
from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.telling.costs import costs as costs_told
from optiform.telling.json.costs import costs as as_json
from optiform.telling.steps import after_costs
from optiform.workshop.records import Offer
from optiform.workshop.supplies import kept_lots, kept_offers, read_offers, usable

READS = True  # its options, of which one is money, when it knows the brief's currency


def run(options: argparse.Namespace) -> int:
    """Work out the cost sheet and print it."""
    brief = by_readings(read_brief(options.brief), options.workshop)
    inspection = read(options, currency=brief.currency)
    if options.offers and options.workshop:
        inspection.fault("--offers", str(options.offers), "this file or --records, not both")
    if options.write and options.jar_cost is None:
        inspection.fault("--write", str(options.write), "--jar-cost beside it: the formula that hits it is saved")
    if options.write and options.write.suffix not in (".csv", ".toml"):
        inspection.fault("--write", str(options.write), ".csv or .toml")
    inspection.finish()
    formula = read_formula(options.formula, brief.catalogue).formula if options.formula else brief.reference
    if formula is None:
        raise BadInput([Fault(str(options.brief), "reference", "nothing", "a formula here or on the command line")])
    costs = read_costs(options.costs, brief.catalogue, brief.currency)
    offers, shelf = _stock(options, brief)
    check_names(options)
    size = options.jars, options.batch
    sheet = cost_sheet(brief, formula, costs, offers, *size, options.price, shelf, options.jar_cost)
    if sheet.hit and sheet.hit.formula:
        write_formula(options, sheet.hit.formula)
    changed = bool(sheet.hit and sheet.hit.moved)
    telling = replace(costs_told(sheet), steps=after_costs(again(options), changed))
    answer(telling, options, lambda: as_json(sheet))
    return ANSWERED


def _stock(options: argparse.Namespace, brief: Brief) -> tuple[tuple[Offer, ...], dict[str, float] | None]:
    """Packs on offer and kg on the shelf from where the options say; of the shelf the own table tells else."""
    if not options.workshop:
        return read_offers(options.offers, [brief.catalogue]) if options.offers else (), None
    from optiform.commands.place import open_workshop

    with open_workshop(options) as workshop:
        lots = kept_lots(workshop.held(), [brief.catalogue])
        return kept_offers(workshop.read(Offer), [brief.catalogue]), usable(lots, clock.today())
