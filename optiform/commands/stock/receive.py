"""optiform stock receive: a lot has come in."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import day, known_name, tell
from optiform.faults import BadInput, Fault
from optiform.units import parse_quantity
from optiform.workshop.keeping import lot_number
from optiform.workshop.records import Lot, Movement
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep the lot and the mass that came."""
    kg = quantity(options.mass, "MASS", "kg")
    now = datetime.datetime.now()
    received = day(options.received, "--received") or now.date()
    currency = options.currency.upper()
    expiry, price = day(options.expiry, "--expiry"), _price(options.price, currency)
    with open_workshop(options, create=True) as workshop:
        ingredient = known_name(options.ingredient, options.own, workshop, "INGREDIENT")

        def coming(kept: Reader) -> list[Lot | Movement]:
            number = options.lot or lot_number(kept.read(Lot), received)
            lot = Lot(
                number=number, ingredient=ingredient, supplier=options.supplier, supplier_lot=options.supplier_lot,
                received=received, expiry=expiry, price=price, currency=currency, note=options.note,
            )  # fmt: skip
            return [lot, Movement(lot=number, when=now, kg=kg, reason="received")]

        lot, movement = workshop.decide(coming)
    tell(options, f"kept: lot {lot.number}, {kg:g} kg of {lot.ingredient}", lot, movement)
    return ANSWERED


def _price(given: str | None, currency: str) -> float | None:
    if given is None:
        return None
    try:
        return parse_quantity(given, f"{currency}/kg")
    except ValueError as error:
        raise BadInput([Fault("command line", "--price", repr(given), str(error))]) from None
