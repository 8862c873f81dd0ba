"""optiform stock keep: a formula file as a new version."""

import argparse
import datetime
import sys

from optiform.catalogue import read_catalogue
from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.faults import BadInput, Fault
from optiform.formula import Basis, read_formula
from optiform.workshop.keeping import lines_of, parents_of
from optiform.workshop.kinds import Record
from optiform.workshop.records import Version
from optiform.workshop.store import Reader


def run(options: argparse.Namespace) -> int:
    """Keep the version and all its lines together."""
    basis = Basis(options.basis) if options.basis else None
    reading = read_formula(options.formula, read_catalogue(options.own), basis)
    version = Version(
        product=options.product, name=options.name, parent=options.parent,
        reason=options.reason, created=datetime.datetime.now(),
    )  # fmt: skip

    lines = [(line.ingredient.name, 100 * line.fraction, line.phase) for line in reading.formula.lines]

    def with_parent(kept: Reader) -> list[Record]:
        _check_parent(options, kept)
        return [version, *lines_of(version, lines)]

    with open_workshop(options, create=True) as workshop:
        workshop.decide(with_parent)
    print("\n".join(reading.notes), end="\n" if reading.notes else "", file=sys.stderr)
    came = f" from {version.parent}" if version.parent else ""
    tell(options, f"kept: {version.product}, version {version.name}{came}", version)
    return ANSWERED


def _check_parent(options: argparse.Namespace, kept: Reader) -> None:
    """Only a product's first version comes from none."""
    names = parents_of(kept.read(Version), options.product)
    if names and options.parent not in names:
        words = f"the version it came from: one of {', '.join(names)}"
        raise BadInput([Fault("command line", "--parent", repr(options.parent), words)])
