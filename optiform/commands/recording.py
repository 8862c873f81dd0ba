"""What `optiform batch` does with a workshop: lots on the sheet, and with `--record` the batch among the records."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from optiform.batch.batch import BatchSheet
from optiform.commands.arguments.options import where
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading import clock

if TYPE_CHECKING:
    from optiform.batch.keeping import KeptBatch, Recorded, Wanted
    from optiform.workshop.records import Record
    from optiform.workshop.store import Reader, Revision


def wanted(options: argparse.Namespace) -> "Wanted | None":
    """What is asked of the workshop; None where nothing is."""
    if not (options.workshop or options.record):
        return None
    from optiform.batch.keeping import Wanted

    made, words = options.made or clock.today(), (options.product or "", options.version or "")
    return Wanted(options.record or "", made, options.maker or "", options.room, *words)


def from_workshop(
    options: argparse.Namespace, asked: "Wanted", sheet: BatchSheet, formula: Formula, catalogue: Catalogue
) -> "tuple[BatchSheet, Recorded | None]":
    """The sheet with the workshop's lots, and what was kept where a number is given.

    Lots are chosen and the batch is kept in one decision, so that nobody else takes of them in between.
    """
    from optiform.batch.keeping import kept_batch, lotted
    from optiform.commands.place import open_workshop

    place = where(options)
    made: list[KeptBatch] = []

    def decision(kept: "Reader") -> "Sequence[Record | Revision]":
        made.append(kept_batch(kept, asked, sheet, formula, catalogue, place))
        return made[-1].records

    with open_workshop(options) as workshop:
        if not asked.number:
            return lotted(workshop, sheet, catalogue, asked.day).sheet, None
        workshop.decide(decision, lambda _, field: place(field))
    return made[-1].sheet, made[-1].recorded
