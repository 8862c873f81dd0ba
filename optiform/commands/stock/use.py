"""optiform stock use: something was taken from a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.workshop.keeping import draw_of, refuse_missing, taken
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import holdings
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    kg = quantity(options.mass, "MASS", "kg")
    now = datetime.datetime.now()
    with open_workshop(options) as workshop:
        named = options.what in {lot.number for lot in workshop.read(Lot)}
        ingredient = "" if named else known_name(options.what, options.own, workshop, "LOT|INGREDIENT")

        def taking(kept: Reader) -> list[Movement]:
            held = holdings(kept.read(Lot), kept.read(Movement))
            found = draw_of(held, ingredient or options.what, kg, now.date())
            unexpired = f"the lots of {ingredient} that have not expired; an expired one is used by its number"
            refuse_missing(kg, found, unexpired if ingredient else f"lot {options.what}", ("command line", "MASS"))
            return taken(found, now, options.reason, options.batch)

        moves = workshop.decide(taking)
    words = ", ".join(f"{-move.kg:g} kg of lot {move.lot}" for move in moves)
    tell(options, f"kept: {words} used", *moves)
    return ANSWERED
