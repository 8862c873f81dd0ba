"""optiform stock correct: what the scale says is left of a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.faults import BadInput, Fault
from optiform.units import parse_quantity
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import NOTHING, left


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    weighed = _mass(options.mass)
    with open_workshop(options) as workshop:
        if options.lot not in {lot.number for lot in workshop.read(Lot)}:
            raise BadInput([Fault("command line", "LOT", repr(options.lot), "the number of a lot that is kept")])
        before = left(options.lot, workshop.read(Movement))
        if abs(weighed - before) <= NOTHING:
            tell(options, f"lot {options.lot} has {before:g} kg by the records already; nothing was kept")
            return ANSWERED
        off = round(weighed - before, 9)  # a sum of floats has digits that no scale has shown
        reason = f"correction: {options.reason}"
        move = Movement(lot=options.lot, when=datetime.datetime.now(), kg=off, reason=reason)
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
