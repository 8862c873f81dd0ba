"""optiform stock receive: a lot has come in."""

import argparse
import datetime
from dataclasses import replace

from optiform.commands import ANSWERED
from optiform.commands.common import currency, day, price, quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.reading.faults import Inspection
from optiform.workshop.decisions import Kept, keep, received, written
from optiform.workshop.records import Lot
from optiform.workshop.store import Reader

WHERE = written(
    "command line", kg="MASS", ingredient="INGREDIENT", number="--lot", lot="--lot", supplier="--supplier",
    supplier_lot="--supplier-lot", received="--received", expiry="--expiry", price="--price", currency="--currency",
    note="--note",
)  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Keep the lot and the mass that came."""
    now = clock.now()
    lot, kg = _read(options, now.date())
    catalogue = read_catalogue(options.own)

    def coming(kept: Reader) -> Kept:
        named = replace(lot, ingredient=known_name(lot.ingredient, catalogue, kept))
        return received(kept, named, kg, now, WHERE)

    with open_workshop(options, create=True) as workshop:
        found = keep(workshop, coming, WHERE)
    tell(options, found)
    return ANSWERED


def _read(options: argparse.Namespace, today: datetime.date) -> tuple[Lot, float]:
    """The lot as it was given, and its kg."""
    inspection = Inspection("command line")
    kg = inspection.given(lambda: quantity(options.mass, "MASS", "kg"), 0.0)
    came = inspection.given(lambda: day(options.received, "--received"), None)
    expiry = inspection.given(lambda: day(options.expiry, "--expiry"), None)
    money = inspection.given(lambda: currency(options.currency), "")
    paid = inspection.given(lambda: price(options.price, "--price", f"{money}/kg"), None) if money else None
    if options.lot == "":
        inspection.fault("--lot", "", "your own number; without --lot, the day and a count")
    inspection.finish()
    lot = Lot(
        number=options.lot or "", ingredient=options.ingredient, supplier=options.supplier,
        supplier_lot=options.supplier_lot, received=came or today, expiry=expiry, price=paid, currency=money,
        note=options.note,
    )  # fmt: skip
    return lot, kg
