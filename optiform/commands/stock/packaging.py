"""optiform stock packaging: pieces that came or went."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import record
from optiform.commands.arguments.options import where
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.reading import clock
from optiform.workshop.decisions import counted, keep
from optiform.workshop.records import Packaging


def run(options: argparse.Namespace) -> int:
    """Keep a count, and the packaging itself where it is new; of one that is kept its name is enough."""
    now, place = clock.now(), where(options, sure="--yes")
    packaging = record(Packaging, options, kind=options.kind or "")
    with open_workshop(options, create=True) as workshop:
        records = keep(
            workshop,
            lambda kept: counted(kept, packaging, options.pieces, now, options.reason, place, options.yes),
            place,
        )
    tell(options, records)
    return ANSWERED
