"""What a person does with the records, decided on them as they are at that moment, while nobody else writes.

The command line and the pages share these decisions: each says where a person wrote what, and tells what was kept.
"""

import datetime
import difflib
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import replace

from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.plausible import far_apart
from optiform.reading.units import count_of
from optiform.workshop.keeping import (
    corrected,
    draw_of,
    lot_number,
    next_reading,
    parents_of,
    refuse_missing,
    taken,
)
from optiform.workshop.records import (
    Lot,
    Movement,
    Packaging,
    PackagingCount,
    Reading,
    Record,
    Trial,
    TrialWeight,
    Version,
    VersionLine,
)
from optiform.workshop.stock import LEAST, left, pieces
from optiform.workshop.store import Reader, Revision, Workshop

MUCH = 1000.0  #: kg of one ingredient at a time; beyond, a small workshop is asked whether that is right
MANY = 100_000  #: pieces of packaging at a time, likewise

#: Where a person wrote a field of a record: file and place, as a fault tells them.
Where = Callable[[str], tuple[str, str]]


@frozen
class Kept:
    """What is to be kept, and what is told of it afterwards: a fact, or a text of the page's own."""

    records: tuple[Record | Revision, ...]
    fact: Hashable


@frozen
class Received:
    """A lot that came in, kg of it; `expired` by the day it was kept."""

    lot: Lot
    kg: float
    expired: bool


@frozen
class Used:
    """What was taken out of lots."""

    moves: tuple[Movement, ...]


@frozen
class WeighedAgain:
    """A lot on the scale, kg, and by how much the records were off; None where they say the same."""

    lot: str
    kg: float
    off: float | None


@frozen
class Counted:
    """So many pieces of a packaging are there now."""

    packaging: str
    pieces: int


@frozen
class Logged:
    """A trial and how many weighings were kept of it."""

    trial: Trial
    weighings: int


@frozen
class Read:
    """So many readings of a trial."""

    trial: str
    readings: int


def written(file: str, **places: str) -> Where:
    """Fields of records by the places at which a person writes them."""
    return lambda field: (file, places.get(field, field))


def keep(workshop: Workshop, decision: Callable[[Reader], Kept], where: Where) -> Kept:
    """Keep what is decided on the records as they are; the fact is of the same moment.

    Raises:
        BadInput: of the decision, or a record that cannot be kept, told where it was written.
    """
    decided: list[Kept] = []

    def records(kept: Reader) -> tuple[Record | Revision, ...]:
        decided.append(decision(kept))
        return decided[-1].records

    workshop.decide(records, lambda _, field: where(field))
    return decided[-1]


def _refuse(faults: Iterator[Fault]) -> None:
    if wrong := list(faults):
        raise BadInput(wrong)


# -- stock -------------------------------------------------------------------------------------------------------------


def received(kept: Reader, lot: Lot, kg: float, now: datetime.datetime, where: Where, sure: bool = False) -> Kept:
    """A lot that has come in, and its mass. Without a number it gets the first free one of its day.

    Args:
        kept: the records.
        lot: as given.
        kg: its mass.
        now: when it is kept.
        where: it was written; `sure` is where a person says that an unlikely figure is right.
        sure: a figure beyond what a small workshop has is right.

    Raises:
        BadInput: less than a milligram, a day that is yet to come, or what is asked back.
    """
    day = lot.received or now.date()
    doubts = [] if sure else [*_doubted(kg, where), *_dear(kept.read(Lot), lot, where)]
    _refuse(iter([*_trace(kg, where), *_ahead(day, now.date(), where("received")), *doubts]))
    numbered = replace(lot, number=lot.number or lot_number(kept.read(Lot), day))
    past = lot.expiry is not None and lot.expiry < now.date()
    coming = Movement(lot=numbered.number, when=now, kg=kg, reason="received")
    return Kept((numbered, coming), Received(numbered, kg, past))


def _trace(kg: float, where: Where) -> Iterator[Fault]:
    if kg < LEAST:
        yield Fault(*where("kg"), f"{kg:g} kg", "0.001 g or more: less is lost in rounding")


def _doubted(kg: float, where: Where) -> Iterator[Fault]:
    if kg > MUCH:
        yield Fault(*where("kg"), f"{kg:g} kg", f"at most {MUCH:g} kg at a time{_or_sure(where)}")


def _dear(lots: Sequence[Lot], lot: Lot, where: Where) -> Iterator[Fault]:
    """A price per kg that a factor of a hundred parts from the last one of the same ingredient."""
    same = [x for x in lots if (x.ingredient, x.currency) == (lot.ingredient, lot.currency) and x.price]
    last = max(same, key=lambda each: each.received or datetime.date.min, default=None)
    if last and last.price and lot.price and far_apart(last.price, lot.price):
        expected = f"something like the {last.price:g} {last.currency}/kg of lot {last.number}{_or_sure(where)}"
        yield Fault(*where("price"), f"{lot.price:g} {lot.currency}/kg", expected)


def _or_sure(where: Where) -> str:
    return f"; if it is right, {where('sure')[1]}"


def _ahead(day: datetime.date, today: datetime.date, place: tuple[str, str]) -> Iterator[Fault]:
    if day > today:
        yield Fault(*place, str(day), f"{today} or before: what is saved has happened")


def used(
    kept: Reader, what: str, kg: float, now: datetime.datetime, reason: str, where: Where, batch: str = ""
) -> Kept:
    """What was taken: from the lot of this number, or of an ingredient first expired first.

    Raises:
        BadInput: less than a milligram, or more than is there.
    """
    _refuse(_trace(kg, where))
    held = kept.held()
    if any(each.lot.number == what for each in held):
        there = f"lot {what}"
    else:
        there = f"the lots of {what} that have not expired; an expired one is used by its number"
    draw = draw_of(held, what, kg, now.date())
    refuse_missing(kg, draw, there, where("kg"))
    moves = tuple(taken(draw, now, reason, batch))
    return Kept(moves, Used(moves))


def weighed_again(
    kept: Reader, lot: str, weighed: float, now: datetime.datetime, reason: str, where: Where, sure: bool = False
) -> Kept:
    """The difference between the scale (kg) and the records as a movement of its own; none where they agree.

    Raises:
        BadInput: no lot of this number is kept; unless `sure`, far more than the records have.
    """
    if lot not in (known := [each.number for each in kept.read(Lot)]):
        raise BadInput([Fault(*where("lot"), repr(lot), expected_lot(lot, known))])
    before = left(lot, kept.read(Movement, lot=lot))
    if not sure:
        _refuse(_grown(before, weighed, where))
    move = corrected(lot, before, weighed, now, reason)
    if move is None:
        return Kept((), WeighedAgain(lot, weighed, None))
    return Kept((move,), WeighedAgain(lot, weighed, move.kg))


def _grown(before: float, weighed: float, where: Where) -> Iterator[Fault]:
    """More on the scale than by the records: grams taken for kilograms, more often than a find."""
    if weighed > before and (weighed > MUCH or far_apart(before, weighed)):
        expected = f"something like the {before:g} kg of the records{_or_sure(where)}"
        yield Fault(*where("kg"), f"{weighed:g} kg", expected)


def expected_lot(given: str, known: Sequence[str]) -> str:
    """What to write instead of the number of a lot that is not kept."""
    near = difflib.get_close_matches(given, known, n=3, cutoff=0.6)
    return "the number of a lot that is saved" + (
        f"; near: {'; '.join(near)}" if near else "; `optiform stock` lists them"
    )


def counted(
    kept: Reader,
    packaging: Packaging,
    more: int,
    now: datetime.datetime,
    reason: str,
    where: Where,
    sure: bool = False,
) -> Kept:
    """Pieces that came, or went (below 0), and the packaging itself where it is new.

    Args:
        kept: the records.
        packaging: as given; of one that is saved already its name is enough.
        more: pieces.
        now: when.
        reason: why.
        where: they were written.
        sure: a number beyond what a small workshop has is right.

    Raises:
        BadInput: what is asked back, more go than are there, a new one of no kind, or figures other than those that
            are kept.
    """
    name, known = packaging.name, {each.name: each for each in kept.read(Packaging)}
    there = pieces(kept.read(PackagingCount)).get(name, 0)
    doubts = [] if sure else [*_many(more, where)]
    _refuse(iter([*_unlike(packaging, known.get(name), where), *_too_few(there, more, where), *doubts]))
    count = PackagingCount(packaging=name, when=now, pieces=more, reason=reason)
    records = (count,) if name in known else (packaging, count)
    return Kept(records, Counted(name, there + more))


def _unlike(given: Packaging, kept: Packaging | None, where: Where) -> Iterator[Fault]:
    """What is lacking of a new packaging, or given otherwise than it is kept: it would be passed over in silence."""
    if kept is None:
        if not given.kind:
            words = f"the name of a packaging that is saved; for a new one also {where('kind')[1]}, such as jar"
            yield Fault(*where("name"), repr(given.name), words)
        return
    for field in ("kind", "price", "volume", "tare"):
        new, old = getattr(given, field), getattr(kept, field)
        if new not in (None, "", old):
            yield Fault(*where(field), _shown(new), f"{_shown(old)}, as it is saved, or nothing here")
    if given.price is not None and given.currency != kept.currency:
        yield Fault(*where("currency"), repr(given.currency), f"{kept.currency!r}, as it is saved")


def _shown(value: object) -> str:
    return "none" if value in (None, "") else f"{value:g}" if isinstance(value, float) else repr(value)


def _many(more: int, where: Where) -> Iterator[Fault]:
    if more > MANY:
        yield Fault(*where("pieces"), str(more), f"at most {MANY} at a time{_or_sure(where)}")


def _too_few(there: int, more: int, where: Where) -> Iterator[Fault]:
    if there + more < 0:
        file, place = where("pieces")
        words = f"{place}: {-more} cannot go, as only {there} {'is' if there == 1 else 'are'} there."
        yield Fault(file, place, str(more), f"at most {count_of(there, 'piece')} to go", words)


# -- versions and trials -----------------------------------------------------------------------------------------------


def new_version(kept: Reader, version: Version, lines: Sequence[VersionLine], where: Where) -> Kept:
    """A version with its lines; only a product's first comes from none.

    Raises:
        BadInput: no parent, or none of the product's.
    """
    names = parents_of(kept.read(Version), version.product)
    if names and version.parent not in names:
        words = f"the version it came from: one of {', '.join(names)}"
        raise BadInput([Fault(*where("parent"), repr(version.parent), words)])
    return Kept((version, *lines), version)


def logged(trial: Trial, weights: Sequence[TrialWeight], today: datetime.date, where: Where) -> Kept:
    """A trial that has been made, and what was weighed for it.

    Raises:
        BadInput: a day that is yet to come.
    """
    _refuse(_ahead(trial.made, today, where("made")))
    return Kept((trial, *weights), Logged(trial, len(weights)))


def read(kept: Reader, readings: Sequence[Reading]) -> Kept:
    """Readings of one trial, numbered on after those that are kept."""
    trial = readings[0].trial
    first = next_reading(kept.read(Reading), trial)
    numbered = tuple(replace(reading, number=first + k) for k, reading in enumerate(readings))
    return Kept(numbered, Read(trial, len(numbered)))
