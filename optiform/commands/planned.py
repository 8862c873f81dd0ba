"""Offers and lots that a plan is bought for: from the workshop's records, or from the files named."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from optiform.costs.plan import Plan
from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.supplies import OnShelf, kept_lots, kept_offers, read_lots, read_offers

NOT_BOTH = "this file or --records, not both"


def stock(plan: Plan, options: argparse.Namespace) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots for a plan; the faults of both are told together."""
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
