"""optiform stock use: something was taken from a lot."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.options import where
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import lot_or_name, tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading import clock
from optiform.workshop.decisions import Kept, keep, used
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep what was taken: from the lot named, or of an ingredient first expired first."""
    now, place = clock.now(), where(options)
    catalogue = read_catalogue(options.own)

    def taking(kept: Reader) -> Kept:
        what = lot_or_name(options.lot, catalogue, kept)
        return used(kept, what, options.kg, now, options.reason, place, options.batch or "")

    with open_workshop(options) as workshop:
        records = keep(workshop, taking, place)
    tell(options, records)
    return ANSWERED
