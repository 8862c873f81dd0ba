"""optiform stock use: something was taken from a lot."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import lot_or_name, tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.workshop.decisions import Kept, keep, used, written
from optiform.workshop.store import Reader

WHERE = written("command line", kg="MASS", lot="LOT|INGREDIENT", reason="--reason", batch="--batch")


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    kg = quantity(options.mass, "MASS", "kg")
    now = clock.now()
    catalogue = read_catalogue(options.own)

    def taking(kept: Reader) -> Kept:
        what = lot_or_name(options.what, catalogue, kept)
        return used(kept, what, kg, now, options.reason, WHERE, options.batch)

    with open_workshop(options) as workshop:
        found = keep(workshop, taking, WHERE)
    tell(options, found)
    return ANSWERED
