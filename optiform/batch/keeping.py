"""A batch as it is kept: lots chosen, its version found, its records made, all from the records at one moment."""

import datetime
import shlex
from collections.abc import Sequence
from dataclasses import replace
from itertools import count

from optiform.batch.batch import BatchSheet, Filled
from optiform.batch.lots import Lotted, Missing, Take, with_lots
from optiform.batch.records import Matched, Uncounted, batch_records, matches, packed
from optiform.batch.ticks import Run, ended, run_of, word_of
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.workshop.decisions import Where, expected_lot
from optiform.workshop.records import (
    Batch,
    BatchLine,
    Lot,
    PackagingCount,
    Record,
    Version,
    VersionLine,
)
from optiform.workshop.store import Reader, Revision
from optiform.workshop.supplies import kept_lots


@frozen
class Wanted:
    """What a person says of a batch that is to be kept.

    Attributes:
        number: of the batch.
        day: of the making.
        room: degC.
        product, version: which kept version it is a batch of; empty for the only one that is the formula.
    """

    number: str
    day: datetime.date
    maker: str = ""
    room: float | None = None
    product: str = ""
    version: str = ""


@frozen
class Recorded:
    """What is kept of a batch beside the movements out of its lots, and the packaging that is not counted.

    `version`: its name and the day it was kept.
    """

    batch: Batch
    lines: tuple[BatchLine, ...]
    counts: tuple[PackagingCount, ...]
    uncounted: tuple[Uncounted, ...]
    version: str


@frozen
class KeptBatch:
    """A batch to keep: its sheet with lots and head filled in, what is told of it, and all its records."""

    sheet: BatchSheet
    recorded: Recorded
    records: tuple[Record | Revision, ...]


def lotted(kept: Reader, sheet: BatchSheet, catalogue: Catalogue, day: datetime.date) -> Lotted:
    """A sheet with lots that are kept, for a making on a day: what it was weighed from, else first expired first."""
    shelf = kept_lots(kept.held(), [catalogue])
    return with_lots(sheet, shelf, day, run_of(kept, word_of(sheet)).lines)


def kept_batch(
    kept: Reader, wanted: Wanted, sheet: BatchSheet, formula: Formula, catalogue: Catalogue, where: Where
) -> KeptBatch:
    """What is to be kept of a batch: batch, lines, movements out of its lots and packaging.

    What was weighed one thing at a time is kept as it was weighed, and that run of it ends.

    Args:
        kept: the records, while nobody else writes.
        wanted: what is said of it.
        sheet: what is weighed.
        formula: what is made.
        catalogue: names the ingredients of the lots.
        where: faults of `number` and `version` are told there.

    Raises:
        BadInput: a line is in no lot, or two devices say different things of it; no version, or several, are the
            formula.
    """
    lots, run = lotted(kept, sheet, catalogue, wanted.day), run_of(kept, word_of(sheet))
    _refuse_clashes(run, where)
    _refuse_missing(lots, kept.read(Lot), where)
    amounts = sheet.batch
    version = _version(kept, wanted, formula, float(amounts.weighed_g), float(amounts.scale_g), where)
    off = f"formula differs from the version in {', '.join(version.differing)}" if version.differing else ""
    batch = Batch(
        number=wanted.number, product=version.version.product, version=version.version.name, made=wanted.day,
        planned=float(amounts.weighed_g), maker=wanted.maker, room=wanted.room, deviation=off,
    )  # fmt: skip
    now = clock.now()
    when = now if wanted.day == now.date() else datetime.datetime.combine(wanted.day, datetime.time(12))
    records = batch_records(batch, lots, when)
    lines = tuple(each for each in records if isinstance(each, BatchLine))
    jars = packed(batch, amounts.jars or 0, kept.read(Batch), kept.read(PackagingCount), when)
    name = f"{version.version.name}, {version.version.created:%Y-%m-%d}"
    room = "" if wanted.room is None else f"{wanted.room:g}"
    head = Filled(wanted.number, str(wanted.day), wanted.maker, room, name)
    recorded = Recorded(batch, lines, jars.counts, jars.uncounted, name)
    last = ended(kept, word_of(sheet), now.replace(microsecond=0), wanted.number)
    return KeptBatch(replace(lots.sheet, filled=head), recorded, (*records, *jars.counts, *last))


def _refuse_clashes(run: Run, where: Where) -> None:
    """What two devices say differently is for the maker to decide."""
    file, _ = where("number")
    words = "one of them chosen first: on Batch, under what is weighed one thing at a time"
    clashes = [
        Fault(file, ticks[-1].ingredient, f"{len(ticks)} devices say different things of it", words)
        for ticks in run.clashes.values()
    ]
    if clashes:
        raise BadInput(clashes)


def _refuse_missing(lots: Lotted, known: Sequence[Lot], where: Where) -> None:
    """A weighing without its lot could not be traced, so a short batch is not kept."""
    file, _ = where("number")
    short = [
        Fault(file, x.ingredient, f"{x.grams} g missing", "a lot that has it", _missing(x, lots.takes))
        for x in lots.missing
    ]
    astray = [
        Fault(file, x.ingredient, f"weighed from lot {x.lot!r}",
              expected_lot(x.lot, [lot.number for lot in known if lot.ingredient == x.ingredient]))
        for x in lots.unknown
    ]  # fmt: skip
    if short or astray:
        raise BadInput([*short, *astray])


def _missing(missing: Missing, takes: Sequence[Take]) -> str:
    """What to do about grams that no lot has: receive a lot, or put right the last one that is used up."""
    name, grams = missing.ingredient, missing.grams
    receive = f"optiform stock receive {shlex.quote(name)} '{grams} g'"
    words = f"{name}: {grams} g are missing. Save a lot that has them, on Stock or with `{receive}`."
    lots = [take.lot for take in takes if take.ingredient == name]
    if not lots:
        return words
    whole = grams + sum(take.grams for take in takes if take.ingredient == name and take.lot == lots[-1])
    correct = f"optiform stock correct {shlex.quote(lots[-1])} '{whole} g' --reason 'as weighed'"
    return f"{words} If lot {lots[-1]} has them, whatever the records say: `{correct}`."


def _version(kept: Reader, wanted: Wanted, formula: Formula, grams: float, step: float, where: Where) -> Matched:
    """The version that is made: the one named, else the only one that is the formula."""
    every = kept.read(Version)
    versions = [each for each in every if wanted.product in ("", each.product) and wanted.version in ("", each.name)]
    versions_alike = matches(formula, grams, step, versions, kept.read(VersionLine))
    same = versions_alike if wanted.version else tuple(each for each in versions_alike if not each.differing)
    if len(same) == 1:
        return same[0]
    raise BadInput([_ask(wanted, formula, same, every, where)])


def _ask(wanted: Wanted, formula: Formula, same: Sequence[Matched], every: Sequence[Version], where: Where) -> Fault:
    file, place = where("version")
    if same:
        names = "; ".join(f"{each.version.product}, {each.version.name}" for each in same)
        return Fault(file, place, f"several that fit: {names}", "product and version of one")
    known = "; ".join(f"{each.product}, {each.name}" for each in every) or "none is saved yet"
    expected = f"product and version of one that is saved ({known})"
    which = f"no version {wanted.version} is saved" if wanted.version else "no saved version has these lines"
    save = f" or with `{_save(wanted, formula, every)}`" if formula.origin else ""
    listed = " `optiform stock versions` lists what is saved." if every else ""
    words = f"{place}: {which}. Save this formula as one first, on Drafts{save}.{listed}"
    return Fault(file, place, wanted.version or "no version with the lines of this formula", expected, words)


def _save(wanted: Wanted, formula: Formula, every: Sequence[Version]) -> str:
    """The command line that saves a formula as the next version of the product, the last one saved as its parent."""
    product = wanted.product or (every[-1].product if every else formula.name)
    names = [version.name for version in every if version.product == product]
    wished = wanted.version or formula.name
    name = next(word for k in count(1) if (word := wished if k == 1 else f"{wished} {k}") not in names)
    parent = ("--parent", names[-1]) if names else ()
    words = ("--product", product, "--name", name, *parent, "--reason", f"made as {wanted.number}")
    return shlex.join(["optiform", "stock", "save", formula.origin, *words])
