"""optiform buy: which packs to buy."""

import argparse
from collections.abc import Iterator
from pathlib import Path

from optiform import jsonform
from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_page, write_table
from optiform.faults import BadInput, Fault
from optiform.jobs.buy import Purchases, buy
from optiform.paper.purchase_plan import purchase_plan_page
from optiform.plain.buy import purchases, unobtainable
from optiform.planfile import Plan, read_plan
from optiform.workshop.records import Offer
from optiform.workshop.stockfile import OnShelf, read_lots, read_offers


def run(options: argparse.Namespace) -> int:
    """Choose the packs and print them."""
    plan = read_plan(options.plan)
    check_names(options.csv, page=options.html)
    offers, lots = _stock(plan, options)
    found = buy(plan, offers, lots, options.solver)
    if isinstance(found, Purchases):
        write_table(options.csv, _rows(found))
        write_page(options.html, lambda: purchase_plan_page(found))
        print_json({"status": "planned", **jsonform.data(found)}) if options.json else print(purchases(found))
        return ANSWERED
    print_json({"status": "infeasible", **jsonform.data(found)}) if options.json else print(unobtainable(found))
    return IMPOSSIBLE


def _stock(plan: Plan, options: argparse.Namespace) -> tuple[tuple[Offer, ...], tuple[OnShelf, ...]]:
    """Offers and lots from the files named; the faults of both are told together."""
    catalogues = [product.brief.catalogue for product in plan.products]
    paths: dict[str, Path | None] = {
        "offers": options.offers or plan.offers,
        "lots": options.lots or plan.lots,
    }
    offers: tuple[Offer, ...] = ()
    lots: tuple[OnShelf, ...] = ()
    faults = [
        Fault(str(options.plan), key, "nothing", f"a file of {key}, here or as --{key}")
        for key, path in paths.items()
        if path is None
    ]
    try:
        offers = read_offers(paths["offers"], catalogues) if paths["offers"] else ()
    except BadInput as bad:
        faults.extend(bad.faults)
    try:
        lots = read_lots(paths["lots"], catalogues) if paths["lots"] else ()
    except BadInput as bad:
        faults.extend(bad.faults)
    if faults:
        raise BadInput(faults)
    return offers, lots


def _rows(found: Purchases) -> Iterator[list[object]]:
    yield ["supplier", "ingredient", "packs", "pack kg", "price", "shipping", "cost", "currency", "over kg"]
    over = {each.ingredient: each.over for each in found.balances}
    for parcel in found.parcels:
        for b in parcel.packs:
            o = b.offer
            cells = [b.count, o.pack, o.price, o.shipping, b.cost, o.currency, over[o.ingredient]]
            yield [parcel.supplier, o.ingredient, *cells]
        yield [parcel.supplier, "postage of the order", "", "", "", "", parcel.postage, found.plan.currency, ""]
