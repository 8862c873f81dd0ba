"""optiform stock correct: what the scale says is left of a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.faults import BadInput, Fault
from optiform.units import parse_quantity
from optiform.workshop.keeping import corrected
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import left


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    weighed = _mass(options.mass)
    with open_workshop(options) as workshop:
        if options.lot not in {lot.number for lot in workshop.read(Lot)}:
            raise BadInput([Fault("command line", "LOT", repr(options.lot), "the number of a lot that is kept")])
        before = left(options.lot, workshop.read(Movement))
        move = corrected(options.lot, before, weighed, datetime.datetime.now(), options.reason)
        if move is None:
            tell(options, f"lot {options.lot} has {before:g} kg by the records already; nothing was kept")
            return ANSWERED
        workshop.add(move)
    tell(options, f"kept: lot {options.lot} has {weighed:g} kg, {move.kg:+.6g} kg against the records", move)
    return ANSWERED


def _mass(given: str) -> float:
    try:
        value = parse_quantity(given, "kg")
    except ValueError as error:
        raise BadInput([Fault("command line", "MASS", repr(given), str(error))]) from None
    if value < 0:
        raise BadInput([Fault("command line", "MASS", repr(given), "what is left: 0 or more")])
    return value
