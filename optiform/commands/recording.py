"""What `optiform batch` does with a workshop: lots on the sheet, and with `--record` the batch among the records."""

import argparse
import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from optiform.catalogue import Catalogue
from optiform.faults import BadInput, Fault, Inspection
from optiform.formula import Formula
from optiform.jobs.batch import BatchSheet, Filled
from optiform.jobs.lots import Lotted, with_lots
from optiform.units import parse_quantity

if TYPE_CHECKING:
    from optiform.jobs.record import Matched
    from optiform.workshop.records import Batch, BatchLine, PackagingCount, Version
    from optiform.workshop.store import Workshop

ONLY_RECORDED = ("version", "product", "maker", "room")


@dataclass(frozen=True)
class Asked:
    """What the options ask of the workshop. `room` in degC."""

    number: str
    day: datetime.date
    room: float | None


@dataclass(frozen=True)
class Recorded:
    """What was kept of the batch, and what to know of it."""

    batch: "Batch"
    lines: tuple["BatchLine", ...]
    counts: tuple["PackagingCount", ...]
    notes: tuple[str, ...]


def read_asked(options: argparse.Namespace) -> Asked | None:
    """What is asked of the workshop; None where nothing is.

    Raises:
        BadInput: options that need others, a day that is none, a batch kept before it is made.
    """
    inspection, today = Inspection("command line"), datetime.date.today()
    if options.record is None:
        for name in ONLY_RECORDED:
            if getattr(options, name):
                inspection.fault(f"--{name}", getattr(options, name), "--record NUMBER beside it")
    if options.made and not (options.workshop or options.record):
        inspection.fault("--made", options.made, "--workshop PLACE or --record NUMBER beside it")
    day, room = today, None
    try:
        day = datetime.date.fromisoformat(options.made) if options.made else today
    except ValueError:
        inspection.fault("--made", options.made, "a date such as 2026-11-25")
    try:
        room = parse_quantity(options.room, "degC") if options.room else None
    except ValueError as error:
        inspection.fault("--room", options.room, str(error))
    if options.record is not None and day > today:
        inspection.fault("--made", options.made, f"{today} or before: what is kept has been made")
    if options.record == "":
        inspection.fault("--record", "''", "the number of the batch")
    inspection.finish()
    return Asked(options.record or "", day, room) if options.workshop or options.record else None


def from_workshop(
    options: argparse.Namespace, asked: Asked, sheet: BatchSheet, formula: Formula, catalogue: Catalogue
) -> tuple[BatchSheet, Recorded | None]:
    """The sheet with the workshop's lots, and what was kept where a number is given."""
    from optiform.commands.place import open_workshop
    from optiform.workshop.records import Lot, Movement
    from optiform.workshop.stockfile import kept_lots

    with open_workshop(options) as workshop:
        lots = kept_lots(workshop.read(Lot), workshop.read(Movement), [catalogue])
        lotted = with_lots(sheet, lots, asked.day)
        if not asked.number:
            return lotted.sheet, None
        kept = _keep(options, asked, lotted, formula, workshop)
    head = Filled(asked.number, str(asked.day), options.maker or "", "" if asked.room is None else f"{asked.room:g}")
    return replace(lotted.sheet, filled=head), kept


def _keep(
    options: argparse.Namespace, asked: Asked, lotted: Lotted, formula: Formula, workshop: "Workshop"
) -> Recorded:
    """Keep the batch, its lines, movements and packaging together, or nothing."""
    from optiform.jobs.record import batch_records, packed
    from optiform.workshop.records import Batch, BatchLine, PackagingCount

    _refuse_missing(lotted)
    amounts = lotted.sheet.batch
    found = _version(options, formula, float(amounts.weighed_g), float(amounts.scale_g), workshop)
    off = f"formula differs from the version in {', '.join(found.differing)}" if found.differing else ""
    batch = Batch(
        number=asked.number, product=found.version.product, version=found.version.name, made=asked.day,
        planned=float(amounts.weighed_g), maker=options.maker or "", room=asked.room, deviation=off,
    )  # fmt: skip
    now = datetime.datetime.now()
    when = now if asked.day == now.date() else datetime.datetime.combine(asked.day, datetime.time(12))
    records = batch_records(batch, lotted, when)
    jars = packed(batch, amounts.jars or 0, workshop.read(Batch), workshop.read(PackagingCount), when)
    workshop.add(*records, *jars.counts)
    lines = tuple(each for each in records if isinstance(each, BatchLine))
    return Recorded(batch, lines, jars.counts, (*jars.notes, *([f"Kept as a deviation: {off}."] if off else [])))


def _refuse_missing(lotted: Lotted) -> None:
    """A weighing without its lot could not be traced, so a short batch is not kept."""
    words = "a lot that has it: `optiform stock receive`, or `optiform stock correct` where the shelf has more"
    if lotted.missing:
        raise BadInput([Fault("--record", x.ingredient, f"{x.grams} g missing", words) for x in lotted.missing])


def _version(
    options: argparse.Namespace, formula: Formula, grams: float, step: float, workshop: "Workshop"
) -> "Matched":
    """The version that is made: the one named, else the only one that is the formula."""
    from optiform.jobs.record import matches
    from optiform.workshop.records import Version, VersionLine

    versions = [
        version
        for version in workshop.read(Version)
        if options.product in (None, version.product) and options.version in (None, version.name)
    ]
    found = matches(formula, grams, step, versions, workshop.read(VersionLine))
    same = found if options.version else tuple(each for each in found if not each.differing)
    if len(same) == 1:
        return same[0]
    raise BadInput([_ask(options, same, workshop.read(Version))])


def _ask(options: argparse.Namespace, same: Sequence["Matched"], every: Sequence["Version"]) -> Fault:
    if same:
        names = "; ".join(f"{each.version.product}, {each.version.name}" for each in same)
        return Fault("command line", "--version", f"several that fit: {names}", "--product and --version of one")
    known = "; ".join(f"{each.product}, {each.name}" for each in every) or "none is kept yet"
    how = f"--product and --version of a version that is kept ({known}), or this one kept first: `optiform stock keep`"
    read = options.version or "no version with the lines of this formula"
    return Fault("command line", "--version", read, how)
