"""optiform stock keep: a formula file as a new version."""

import argparse
import sys

from optiform.commands import ANSWERED
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis, read_formula
from optiform.reading import clock
from optiform.workshop.decisions import Kept, keep, new_version, written
from optiform.workshop.keeping import lines_of
from optiform.workshop.records import Version

WHERE = written(
    "command line", product="--product", name="--name", version="--name", parent="--parent", reason="--reason"
)


def run(options: argparse.Namespace) -> int:
    """Keep the version and all its lines together."""
    basis = Basis(options.basis) if options.basis else None
    reading = read_formula(options.formula, read_catalogue(options.own), basis)
    version = Version(
        product=options.product, name=options.name, parent=options.parent,
        reason=options.reason, created=clock.now(),
    )  # fmt: skip
    lines = lines_of(version, [(x.ingredient.name, 100 * x.fraction, x.phase) for x in reading.formula.lines])
    with open_workshop(options, create=True) as workshop:
        found = keep(workshop, lambda kept: new_version(kept, version, lines, WHERE), WHERE)
    print("\n".join(reading.notes), end="\n" if reading.notes else "", file=sys.stderr)
    tell(options, Kept((version,), found.words))
    return ANSWERED
