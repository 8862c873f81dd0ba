"""optiform stock packaging: pieces that came or went."""

import argparse
import datetime
from typing import Any

from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.faults import BadInput, Fault
from optiform.workshop.records import Packaging, PackagingCount
from optiform.workshop.stock import pieces
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep a count, and the packaging itself where it is new."""
    now = datetime.datetime.now()
    left = 0

    def counting(kept: Reader) -> list[Packaging | PackagingCount]:
        nonlocal left
        known = {each.name for each in kept.read(Packaging)}
        new = [] if options.name in known else [_new(options)]
        there = pieces(kept.read(PackagingCount)).get(options.name, 0)
        left = there + options.pieces
        if left < 0:
            raise BadInput([Fault("command line", "PIECES", str(options.pieces), f"at most {there} pieces to go")])
        count = PackagingCount(packaging=options.name, when=now, pieces=options.pieces, reason=options.reason)
        return [*new, count]

    with open_workshop(options, create=True) as workshop:
        records = workshop.decide(counting)
    tell(options, f"kept: {left} pieces of {options.name}", *records)
    return ANSWERED


def _new(options: argparse.Namespace) -> Packaging:
    if not options.kind:
        words = "the name of a packaging that is kept; for a new one also --kind, such as jar"
        raise BadInput([Fault("command line", "NAME", repr(options.name), words)])
    figures: dict[str, Any] = {
        name: quantity(given, f"--{name}", unit) if (given := getattr(options, name)) else None
        for name, unit in (("price", options.currency.upper()), ("volume", "mL"), ("tare", "g"))
    }
    return Packaging(name=options.name, kind=options.kind, currency=options.currency.upper(), **figures)
