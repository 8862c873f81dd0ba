"""optiform stock correct: what the scale says is left of a lot."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.options import where
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.reading import clock
from optiform.workshop.decisions import keep, weighed_again


def run(options: argparse.Namespace) -> int:
    """Keep the difference as a movement of its own; what was written before stays as it is."""
    now, place = clock.now(), where(options, sure="--yes")
    with open_workshop(options) as workshop:
        records = keep(
            workshop,
            lambda kept: weighed_again(kept, options.lot, options.kg, now, options.reason, place, options.yes),
            place,
        )
    tell(options, records)
    return ANSWERED
