"""optiform stock correct: what the scale says is left of a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import expected_lot, tell
from optiform.faults import BadInput, Fault
from optiform.units import parse_quantity
from optiform.workshop.keeping import corrected
from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import left
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    weighed = _mass(options.mass)
    now = datetime.datetime.now()

    def difference(kept: Reader) -> list[Movement]:
        if options.lot not in (known := [lot.number for lot in kept.read(Lot)]):
            raise BadInput([Fault("command line", "LOT", repr(options.lot), expected_lot(options.lot, known))])
        move = corrected(options.lot, left(options.lot, kept.read(Movement)), weighed, now, options.reason)
        return [move] if move else []

    with open_workshop(options) as workshop:
        moves = workshop.decide(difference)
    if not moves:
        tell(options, f"lot {options.lot} has {weighed:g} kg by the records already; nothing was kept")
    for move in moves:
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
