"""Offers and lots that a plan is bought for: from the workshop's records, or from the files named."""

import argparse
from collections.abc import Collection, Sequence

from optiform.costs.plan import Plan, read_plan
from optiform.ingredients.catalogue import Catalogue
from optiform.reading.documents import read_document
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault, Inspection
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf, kept_lots, kept_offers, read_lots, read_offers

SUPPLIES = ("offers", "lots")  #: files that a plan is bought by, where no records are
#: Offers and lots where they could not be read, until that is told.
NOTHING: tuple[tuple[Offer, ...], tuple[OnShelf, ...]] = ((), ())
NOT_BOTH = "this file or --records, not both"


def plan_of(options: argparse.Namespace, formulas: bool = True) -> Plan:
    """The plan of a command.

    Raises:
        BadInput: with every fault of the plan, and what is named neither in it nor beside it.
    """
    inspection = Inspection(str(options.plan))
    plan = inspection.given(lambda: read_plan(options.plan, formulas), None)
    if plan is None:
        keys: Collection[str] = inspection.given(lambda: read_document(options.plan), {})
        inspection.faults = list(dict.fromkeys(inspection.faults))  # what cannot be read at all is told once
        if keys and not options.workshop:
            inspection.faults += _nowhere(options, [key for key in SUPPLIES if key in keys])
    inspection.finish()
    assert plan is not None
    return plan


def stock(plan: Plan, options: argparse.Namespace) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots for a plan; the faults of both are told together."""
    catalogues = [product.brief.catalogue for product in plan.products]
    if options.workshop:
        return _kept(plan, options, catalogues)
    offers_file, lots_file = options.offers or plan.offers, options.lots or plan.lots
    named = [key for key, file in zip(SUPPLIES, (plan.offers, plan.lots), strict=True) if file]
    inspection = Inspection(str(options.plan), _nowhere(options, named))
    no_offers: tuple[Offer, ...] = ()
    no_lots: tuple[OnShelf, ...] = ()
    offers = inspection.given(lambda: read_offers(offers_file, catalogues) if offers_file else (), no_offers)
    lots = inspection.given(lambda: read_lots(lots_file, catalogues) if lots_file else (), no_lots)
    inspection.finish()
    return offers, lots


def _nowhere(options: argparse.Namespace, named: Collection[str]) -> list[Fault]:
    """What is named neither among the plan's keys nor as an option."""
    how = "a file of {key}, here or as --{key}; or --records PLACE"
    lacking = (key for key in SUPPLIES if key not in named and not getattr(options, key))
    return [Fault(str(options.plan), key, "nothing", how.format(key=key)) for key in lacking]


def _kept(
    plan: Plan, options: argparse.Namespace, catalogues: Sequence[Catalogue]
) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots that the workshop keeps; a file of either beside it would be passed over in silence."""
    named = {"--offers": options.offers, "--lots": options.lots}
    inside = {"offers": plan.offers, "lots": plan.lots}
    faults = [Fault(COMMAND_LINE, place, str(path), NOT_BOTH) for place, path in named.items() if path]
    faults += [Fault(str(options.plan), place, path.name, NOT_BOTH) for place, path in inside.items() if path]
    if faults:
        raise BadInput(faults)
    from optiform.commands.place import open_workshop

    with open_workshop(options) as workshop:
        lots = kept_lots(workshop.held(), catalogues)
        return kept_offers(workshop.read(Offer), catalogues), lots
