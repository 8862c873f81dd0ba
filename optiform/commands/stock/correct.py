"""optiform stock correct: what the scale says is left of a lot."""

import argparse
import datetime

from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.faults import BadInput, Fault
from optiform.units import parse_quantity
from optiform.workshop.decisions import keep, weighed_again, written

WHERE = written("command line", kg="MASS", lot="LOT", reason="--reason")


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    weighed = _mass(options.mass)
    now = datetime.datetime.now()
    with open_workshop(options) as workshop:
        found = keep(
            workshop, lambda kept: weighed_again(kept, options.lot, weighed, now, options.reason, WHERE), WHERE
        )
    tell(options, found)
    return ANSWERED


def _mass(given: str) -> float:
    try:
        value = parse_quantity(given, "kg")
    except ValueError as error:
        raise BadInput([Fault("command line", "MASS", repr(given), str(error))]) from None
    if value < 0:
        raise BadInput([Fault("command line", "MASS", repr(given), "what is left: 0 or more")])
    return value
