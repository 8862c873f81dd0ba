"""optiform buy: which packs to buy."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.files import check_names
from optiform.commands.progress import progress
from optiform.commands.tell import answer
from optiform.costs.buy import Purchases, buy
from optiform.costs.cliffs import cliffs
from optiform.costs.plan import Plan, read_plan
from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.telling.buy import buy as buy_told
from optiform.telling.cliffs import cliffs as cliffs_told
from optiform.telling.json.buy import buy as as_json
from optiform.telling.json.cliffs import cliffs as cliffs_json
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.supplies import OnShelf, kept_lots, kept_offers, read_lots, read_offers

NOT_BOTH = "this file or --records, not both"


def run(options: argparse.Namespace) -> int:
    """Choose the packs and print them."""
    plan = read_plan(options.plan)
    offers, lots = _stock(plan, options)
    check_names(options)
    if options.cliffs:
        return _cliffs(plan, offers, lots, options)
    purchases = buy(plan, offers, lots, options.solver)
    possible = isinstance(purchases, Purchases)
    telling = buy_told(purchases)
    answer(telling, options, lambda: as_json(purchases), telling.title)
    return ANSWERED if possible else IMPOSSIBLE


def _cliffs(plan: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf], options: argparse.Namespace) -> int:
    """What the last jars cost; stopped, as far as it came."""
    with progress("jars left out", options.json) as shown:
        steps = cliffs(plan, offers, lots, options.solver, shown)
    telling = cliffs_told(steps)
    answer(telling, options, lambda: cliffs_json(steps), telling.title)
    return ANSWERED


def _stock(plan: Plan, options: argparse.Namespace) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots from the workshop, or from the files named; the faults of both are told together."""
    catalogues = [product.brief.catalogue for product in plan.products]
    if options.workshop:
        return _kept(plan, options, catalogues)
    paths: dict[str, Path | None] = {
        "offers": options.offers or plan.offers,
        "lots": options.lots or plan.lots,
    }
    how = "a file of {key}, here or as --{key}; or --records PLACE"
    nowhere = [key for key, path in paths.items() if path is None]
    plan_name = str(options.plan)
    inspection = Inspection(plan_name, [Fault(plan_name, key, "nothing", how.format(key=key)) for key in nowhere])
    no_offers: tuple[Offer, ...] = ()
    no_lots: tuple[OnShelf, ...] = ()
    offers = inspection.given(lambda: read_offers(paths["offers"], catalogues) if paths["offers"] else (), no_offers)
    lots = inspection.given(lambda: read_lots(paths["lots"], catalogues) if paths["lots"] else (), no_lots)
    inspection.finish()
    return offers, lots


def _kept(
    plan: Plan, options: argparse.Namespace, catalogues: Sequence[Catalogue]
) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots that the workshop keeps; a file of either beside it would be passed over in silence."""
    named = {"--offers": options.offers, "--lots": options.lots}
    inside = {"offers": plan.offers, "lots": plan.lots}
    faults = [Fault("command line", place, str(path), NOT_BOTH) for place, path in named.items() if path]
    faults += [Fault(str(options.plan), place, path.name, NOT_BOTH) for place, path in inside.items() if path]
    if faults:
        raise BadInput(faults)
    from optiform.commands.place import open_workshop

    with open_workshop(options) as workshop:
        lots = kept_lots(workshop.read(Lot), workshop.read(Movement), catalogues)
        return kept_offers(workshop.read(Offer), catalogues), lots
