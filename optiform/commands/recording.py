"""What `optiform batch` does with a workshop: lots on the sheet, and with `--record` the batch among the records."""

import argparse
import datetime
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from optiform.catalogue import Catalogue
from optiform.commands.common import day
from optiform.faults import BadInput, Fault, Inspection
from optiform.formula import Formula
from optiform.jobs.batch import BatchSheet, Filled
from optiform.jobs.lots import Lotted, with_lots
from optiform.units import parse_quantity

if TYPE_CHECKING:
    from optiform.jobs.record import Matched
    from optiform.workshop.kinds import Record
    from optiform.workshop.records import Batch, BatchLine, PackagingCount, Version
    from optiform.workshop.store import Reader

ONLY_RECORDED = ("version", "product", "maker", "room")
#: Options by the fields of the records they become.
PLACES = {"number": "--record", "batch": "--record", "made": "--made", "maker": "--maker", "room": "--room"}


@dataclass(frozen=True)
class Asked:
    """What the options ask of the workshop. `room` in degC."""

    number: str
    day: datetime.date
    room: float | None


@dataclass(frozen=True)
class Recorded:
    """What was kept of the batch, and what to know of it. `version`: its name and the day it was kept."""

    batch: "Batch"
    lines: tuple["BatchLine", ...]
    counts: tuple["PackagingCount", ...]
    notes: tuple[str, ...]
    version: str


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
    room = None
    made = inspection.given(lambda: day(options.made, "--made"), None) or today
    try:
        room = parse_quantity(options.room, "degC") if options.room is not None else None
    except ValueError as error:
        inspection.fault("--room", options.room, str(error))
    if options.record is not None and made > today:
        inspection.fault("--made", options.made, f"{today} or before: what is kept has been made")
    if options.record == "":
        inspection.fault("--record", "''", "the number of the batch")
    inspection.finish()
    return Asked(options.record or "", made, room) if options.workshop or options.record else None


def from_workshop(
    options: argparse.Namespace, asked: Asked, sheet: BatchSheet, formula: Formula, catalogue: Catalogue
) -> tuple[BatchSheet, Recorded | None]:
    """The sheet with the workshop's lots, and what was kept where a number is given.

    Lots are chosen and the batch is kept in one decision, so that nobody else takes of them in between.
    """
    from optiform.commands.place import open_workshop

    made: list[tuple[Lotted, Recorded]] = []

    def batch(kept: "Reader") -> "Sequence[Record]":
        lotted = _lotted(sheet, kept, catalogue, asked.day)
        recorded, records = _recorded(options, asked, lotted, formula, kept)
        made.append((lotted, recorded))
        return records

    with open_workshop(options) as workshop:
        if not asked.number:
            return _lotted(sheet, workshop, catalogue, asked.day).sheet, None
        workshop.decide(batch, lambda _, field: ("command line", PLACES.get(field, field)))
    lotted, recorded = made[-1]
    room = "" if asked.room is None else f"{asked.room:g}"
    head = Filled(asked.number, str(asked.day), options.maker or "", room, recorded.version)
    return replace(lotted.sheet, filled=head), recorded


def _lotted(sheet: BatchSheet, kept: "Reader", catalogue: Catalogue, day: datetime.date) -> Lotted:
    from optiform.workshop.records import Lot, Movement
    from optiform.workshop.stockfile import kept_lots

    return with_lots(sheet, kept_lots(kept.read(Lot), kept.read(Movement), [catalogue]), day)


def _recorded(
    options: argparse.Namespace, asked: Asked, lotted: Lotted, formula: Formula, kept: "Reader"
) -> "tuple[Recorded, Sequence[Record]]":
    """What is to be kept of the batch, and the records of it: batch, lines, movements and packaging."""
    from optiform.jobs.record import batch_records, packed
    from optiform.workshop.records import Batch, BatchLine, PackagingCount

    _refuse_missing(lotted)
    amounts = lotted.sheet.batch
    found = _version(options, formula, float(amounts.weighed_g), float(amounts.scale_g), kept)
    off = f"formula differs from the version in {', '.join(found.differing)}" if found.differing else ""
    batch = Batch(
        number=asked.number, product=found.version.product, version=found.version.name, made=asked.day,
        planned=float(amounts.weighed_g), maker=options.maker or "", room=asked.room, deviation=off,
    )  # fmt: skip
    now = datetime.datetime.now()
    when = now if asked.day == now.date() else datetime.datetime.combine(asked.day, datetime.time(12))
    records = batch_records(batch, lotted, when)
    jars = packed(batch, amounts.jars or 0, kept.read(Batch), kept.read(PackagingCount), when)
    lines = tuple(each for each in records if isinstance(each, BatchLine))
    notes = (*jars.notes, *([f"Kept as a deviation: {off}."] if off else []))
    version = f"{found.version.name}, {found.version.created:%Y-%m-%d}"
    return Recorded(batch, lines, jars.counts, notes, version), [*records, *jars.counts]


def _refuse_missing(lotted: Lotted) -> None:
    """A weighing without its lot could not be traced, so a short batch is not kept."""
    words = "a lot that has it: `optiform stock receive`, or `optiform stock correct` where the shelf has more"
    if lotted.missing:
        raise BadInput([Fault("--record", x.ingredient, f"{x.grams} g missing", words) for x in lotted.missing])


def _version(options: argparse.Namespace, formula: Formula, grams: float, step: float, kept: "Reader") -> "Matched":
    """The version that is made: the one named, else the only one that is the formula."""
    from optiform.jobs.record import matches
    from optiform.workshop.records import Version, VersionLine

    versions = [
        version
        for version in kept.read(Version)
        if options.product in (None, version.product) and options.version in (None, version.name)
    ]
    found = matches(formula, grams, step, versions, kept.read(VersionLine))
    same = found if options.version else tuple(each for each in found if not each.differing)
    if len(same) == 1:
        return same[0]
    raise BadInput([_ask(options, same, kept.read(Version))])


def _ask(options: argparse.Namespace, same: Sequence["Matched"], every: Sequence["Version"]) -> Fault:
    if same:
        names = "; ".join(f"{each.version.product}, {each.version.name}" for each in same)
        return Fault("command line", "--version", f"several that fit: {names}", "--product and --version of one")
    known = "; ".join(f"{each.product}, {each.name}" for each in every) or "none is kept yet"
    how = f"--product and --version of a version that is kept ({known}), or this one kept first: `optiform stock keep`"
    read = options.version or "no version with the lines of this formula"
    return Fault("command line", "--version", read, how)
