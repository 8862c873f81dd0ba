"""optiform stock packaging: pieces that came or went."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import currency, maybe, price
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.reading import clock
from optiform.reading.faults import Inspection
from optiform.workshop.decisions import counted, keep, written
from optiform.workshop.records import Packaging

WHERE = written(
    "command line", name="NAME", packaging="NAME", pieces="PIECES", reason="--reason", kind="--kind", price="--price",
    currency="--currency", volume="--volume", tare="--tare",
)  # fmt: skip


def run(options: argparse.Namespace) -> int:
    """Keep a count, and the packaging itself where it is new."""
    now, packaging = clock.now(), _read(options)
    with open_workshop(options, create=True) as workshop:
        found = keep(workshop, lambda kept: counted(kept, packaging, options.pieces, now, options.reason, WHERE), WHERE)
    tell(options, found)
    return ANSWERED


def _read(options: argparse.Namespace) -> Packaging:
    """The packaging as it was given; of one that is kept its name is enough."""
    inspection = Inspection("command line")
    money = inspection.given(lambda: currency(options.currency), "")
    of_one = inspection.given(lambda: price(options.price, "--price", money), None) if money else None
    volume = inspection.given(lambda: maybe(options.volume, "--volume", "mL"), None)
    tare = inspection.given(lambda: maybe(options.tare, "--tare", "g"), None)
    inspection.finish()
    return Packaging(name=options.name, kind=options.kind, price=of_one, currency=money, volume=volume, tare=tare)
