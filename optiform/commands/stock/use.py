"""optiform stock use: something was taken from a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.workshop.keeping import draw_of, refuse_missing, taken
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import Draw, holdings
from optiform.workshop.store import Workshop


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    kg = quantity(options.mass, "MASS", "kg")
    now = datetime.datetime.now()
    with open_workshop(options) as workshop:
        found = _draw(options, workshop, kg, now.date())
        moves = taken(found, now, options.reason, options.batch)
        workshop.add(*moves)
    words = ", ".join(f"{-move.kg:g} kg of lot {move.lot}" for move in moves)
    tell(options, f"kept: {words} used", *moves)
    return ANSWERED


def _draw(options: argparse.Namespace, workshop: Workshop, kg: float, today: datetime.date) -> Draw:
    held = holdings(workshop.read(Lot), workshop.read(Movement))
    named = any(holding.lot.number == options.what for holding in held)
    what = options.what if named else known_name(options.what, options.own, workshop)
    found = draw_of(held, what, kg, today)
    unexpired = f"the lots of {what} that have not expired; an expired one is used by its number"
    refuse_missing(kg, found, f"lot {what}" if named else unexpired, ("command line", "MASS"))
    return found
