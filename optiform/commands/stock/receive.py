"""optiform stock receive: a lot has come in."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import record
from optiform.commands.arguments.options import where
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.workshop.decisions import Kept, keep, received
from optiform.workshop.records import Lot
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep the lot and the mass that came."""
    now, place = clock.now(), where(options, sure="--yes")
    catalogue = read_catalogue(options.own)

    def coming(kept: Reader) -> Kept:
        name, day = known_name(options.ingredient, catalogue, kept), options.received or now.date()
        lot = record(Lot, options, ingredient=name, number=options.number or "", received=day)
        return received(kept, lot, options.kg, now, place, options.yes)

    with open_workshop(options, create=True) as workshop:
        records = keep(workshop, coming, place)
    tell(options, records)
    return ANSWERED
