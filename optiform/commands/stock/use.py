"""optiform stock use: something was taken from a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import known_name, tell
from optiform.faults import BadInput, Fault
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import NOTHING, Draw, draw, holdings
from optiform.workshop.store import Workshop


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    kg = quantity(options.mass, "MASS", "kg")
    now = datetime.datetime.now()
    with open_workshop(options) as workshop:
        found = _draw(options, workshop, kg, now.date())
        moves = [
            Movement(lot=lot.number, when=now, kg=-taken, reason=options.reason, batch=options.batch)
            for lot, taken in found.takes
        ]
        workshop.add(*moves)
    taken = ", ".join(f"{-move.kg:g} kg of lot {move.lot}" for move in moves)
    tell(options, f"kept: {taken} used", *moves)
    return ANSWERED


def _draw(options: argparse.Namespace, workshop: Workshop, kg: float, today: datetime.date) -> Draw:
    held = holdings(workshop.read(Lot), workshop.read(Movement))
    named = [holding for holding in held if holding.lot.number == options.what]
    if named:
        there = named[0].kg
        missing = kg - there
        found = Draw(((named[0].lot, kg),), missing if missing > NOTHING else 0.0)
        where = f"lot {options.what}"
    else:
        ingredient = known_name(options.what, options.own, workshop)
        found = draw(held, ingredient, kg, today)
        there = kg - found.missing
        where = f"the lots of {ingredient} that have not expired; an expired one is used by its number"
    if found.missing:
        words = f"at most {max(there, 0.0):.6g} kg, what is left in {where}"
        raise BadInput([Fault("command line", "MASS", f"{kg:g} kg", words)])
    return found
