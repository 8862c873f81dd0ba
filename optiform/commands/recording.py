"""What `optiform batch` does with a workshop: lots on the sheet, and with `--record` the batch among the records."""

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from optiform.batch.batch import BatchSheet
from optiform.commands.common import day, degrees
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading import clock
from optiform.reading.faults import Inspection

if TYPE_CHECKING:
    from optiform.batch.keeping import KeptBatch, Recorded, Wanted
    from optiform.workshop.kinds import Record
    from optiform.workshop.store import Reader

ONLY_RECORDED = ("version", "product", "maker", "room")
#: Options by the fields of the records they become.
PLACES = {
    "number": "--record", "batch": "--record", "made": "--made", "maker": "--maker", "room": "--room",
    "version": "--version", "product": "--product",
}  # fmt: skip


def read_asked(options: argparse.Namespace) -> "Wanted | None":
    """What is asked of the workshop; None where nothing is.

    Raises:
        BadInput: options that need others, a day that is none, a batch kept before it is made.
    """
    inspection, today = Inspection("command line"), clock.today()
    if options.record is None:
        for name in ONLY_RECORDED:
            if getattr(options, name):
                inspection.fault(f"--{name}", getattr(options, name), "--record NUMBER beside it")
    if options.made and not (options.workshop or options.record):
        inspection.fault("--made", options.made, "--records PLACE or --record NUMBER beside it")
    room = inspection.given(lambda: degrees(options.room, "--room"), None)
    made = inspection.given(lambda: day(options.made, "--made"), None) or today
    if options.record is not None and made > today:
        inspection.fault("--made", options.made, f"{today} or before: what is kept has been made")
    if options.record == "":
        inspection.fault("--record", "''", "the number of the batch")
    inspection.finish()
    if not (options.workshop or options.record):
        return None
    from optiform.batch.keeping import Wanted

    return Wanted(options.record or "", made, options.maker or "", room, options.product or "", options.version or "")


def from_workshop(
    options: argparse.Namespace, asked: "Wanted", sheet: BatchSheet, formula: Formula, catalogue: Catalogue
) -> "tuple[BatchSheet, Recorded | None]":
    """The sheet with the workshop's lots, and what was kept where a number is given.

    Lots are chosen and the batch is kept in one decision, so that nobody else takes of them in between.
    """
    from optiform.batch.keeping import kept_batch, lotted
    from optiform.commands.place import open_workshop
    from optiform.workshop.decisions import written
    from optiform.workshop.records import Lot, Movement

    where = written("command line", **PLACES)
    made: list[KeptBatch] = []

    def decision(kept: "Reader") -> "Sequence[Record]":
        made.append(kept_batch(kept, asked, sheet, formula, catalogue, where))
        return made[-1].records

    with open_workshop(options) as workshop:
        if not asked.number:
            return lotted(sheet, workshop.read(Lot), workshop.read(Movement), catalogue, asked.day).sheet, None
        workshop.decide(decision, lambda _, field: where(field))
    return made[-1].sheet, made[-1].recorded
