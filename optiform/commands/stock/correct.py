"""optiform stock correct: what the scale says is left of a lot."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import amount
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.reading import clock
from optiform.workshop.decisions import keep, weighed_again, written

WHERE = written("command line", kg="MASS", lot="LOT", reason="--reason")


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    weighed = amount(options.mass, "MASS", "kg", 0.0, "what is left: 0 or more")
    now = clock.now()
    with open_workshop(options) as workshop:
        found = keep(
            workshop, lambda kept: weighed_again(kept, options.lot, weighed, now, options.reason, WHERE), WHERE
        )
    tell(options, found)
    return ANSWERED
