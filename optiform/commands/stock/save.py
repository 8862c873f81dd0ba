"""optiform stock save: a formula file as a new version."""

import argparse
import sys

from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import record
from optiform.commands.arguments.options import where
from optiform.commands.place import open_workshop
from optiform.commands.stock.kept import tell
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Basis, read_formula
from optiform.reading import clock
from optiform.workshop.decisions import Kept, keep, new_version
from optiform.workshop.keeping import lines_of
from optiform.workshop.records import Version


def run(options: argparse.Namespace) -> int:
    """Keep the version and all its lines together."""
    basis = Basis(options.basis) if options.basis else None
    reading = read_formula(options.formula, read_catalogue(options.own), basis)
    version = record(Version, options, parent=options.parent or "", created=clock.now())
    lines = lines_of(version, [(x.ingredient.name, 100 * x.fraction, x.phase) for x in reading.formula.lines])
    place = where(options)
    with open_workshop(options, create=True) as workshop:
        records = keep(workshop, lambda kept: new_version(kept, version, lines, place), place)
    print("\n".join(reading.notes), end="\n" if reading.notes else "", file=sys.stderr)
    tell(options, Kept((version,), records.fact))
    return ANSWERED
