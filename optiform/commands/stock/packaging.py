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


def run(options: argparse.Namespace) -> int:
    """Keep a count, and the packaging itself where it is new."""
    with open_workshop(options, create=True) as workshop:
        known = {each.name for each in workshop.read(Packaging)}
        new = [] if options.name in known else [_new(options)]
        there = pieces(workshop.read(PackagingCount)).get(options.name, 0)
        if there + options.pieces < 0:
            raise BadInput([Fault("command line", "PIECES", str(options.pieces), f"at most {there} pieces to go")])
        count = PackagingCount(
            packaging=options.name, when=datetime.datetime.now(), pieces=options.pieces, reason=options.reason
        )
        workshop.add(*new, count)
    tell(options, f"kept: {there + options.pieces} pieces of {options.name}", *new, count)
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
