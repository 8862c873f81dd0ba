"""Which lots a batch is weighed from: per line, what expires first before the rest, in whole steps of the scale."""

import datetime
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from math import floor
from types import MappingProxyType

from optiform.batch.batch import BatchSheet, SheetLine, SheetPhase
from optiform.batch.facts import LotAside, NoLot
from optiform.batch.ticks import Line, place_of, said
from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning
from optiform.workshop.records import Lot, Tick
from optiform.workshop.stock import unusable, used_up
from optiform.workshop.supplies import OnShelf

ROUNDED = 1e-6  # of a step of the scale: kilograms are sums of floats
NOTHING: Mapping[Line, Tick] = MappingProxyType({})


@frozen
class Take:
    """Grams of one line that come out of one lot; `weighed`: what the scale showed, where that is known already."""

    ingredient: str
    lot: str
    expiry: datetime.date | None
    grams: Decimal
    weighed: Decimal | None = None


@frozen
class Missing:
    """Grams of an ingredient that are in no lot that may be used."""

    ingredient: str
    grams: Decimal


@frozen
class Lotted:
    """A sheet with the lots of its lines.

    Attributes:
        sheet: lots on its lines; what is missing and what is left aside among its warnings.
        takes: in the order of the sheet.
        missing: by ingredient; empty where the shelf has everything.
        unknown: ticks whose lot is none that is kept of their ingredient.
    """

    sheet: BatchSheet
    takes: tuple[Take, ...]
    missing: tuple[Missing, ...]
    unknown: tuple[Tick, ...] = ()


def with_lots(
    sheet: BatchSheet, lots: Sequence[OnShelf], day: datetime.date, weighed: Mapping[Line, Tick] = NOTHING
) -> Lotted:
    """A sheet filled in with the lots to weigh from.

    Args:
        sheet: what is weighed.
        lots: what is on the shelf, in the order it is to be used up.
        day: of the making; a lot that expires before it, or comes in after it, is left aside and named.
        weighed: what was weighed already: it comes out of the lots that were said, whatever the records have of them.
    """
    needed = {line.ingredient for phase in sheet.phases for line in phase.lines}
    held = [shelf for shelf in lots if shelf.lot.ingredient in needed and shelf.left > 0]
    usable = [shelf for shelf in held if not unusable(shelf.lot, day)]
    work = _Drawing(usable, sheet.batch.scale_g, day)
    done = _weighed(sheet, [shelf.lot for shelf in lots], weighed)
    work.take(done)
    phases = tuple(work.phase(phase, done, weighed) for phase in sheet.phases)
    missing = tuple(Missing(*item) for item in work.missing.items())
    short = tuple(_short(missing))
    aside = [_aside(shelf, day) for shelf in held if unusable(shelf.lot, day)]
    rest = [x for x in sheet.warnings if x.text not in sheet.short]  # the lots know better than the own table
    warnings, texts = (*short, *aside, *rest), tuple(warning.text for warning in short)
    made = replace(sheet, phases=phases, warnings=warnings, short=texts)
    unknown = tuple(weighed[line] for line, takes in done.items() if not takes)
    return Lotted(made, tuple(work.takes), missing, unknown)


def _weighed(sheet: BatchSheet, lots: Sequence[Lot], weighed: Mapping[Line, Tick]) -> dict[Line, list[Take]]:
    """Of each line that was weighed from a lot: what came out of which; nothing where no such lot is kept."""
    done: dict[Line, list[Take]] = {}
    for phase in sheet.phases:
        for line in phase.lines:
            name = (line.ingredient, place_of(phase.phase, phase.part))
            if name in weighed and weighed[name].lot:
                done[name] = said_of(line, weighed[name], [lot for lot in lots if lot.ingredient == line.ingredient])
    return done


def said_of(line: SheetLine, tick: Tick, lots: Sequence[Lot]) -> list[Take]:
    """What a tick says of the lots of its line: `A`, or `A 95 g; B 509 g`; the last one has what is left.

    Returns:
        Nothing where one of them is not kept, or more came out of one than was weighed.
    """
    pieces = [piece.strip() for piece in tick.lot.split(";")]
    named = [next((lot for lot in lots if _says(piece, lot.number)), None) for piece in pieces]
    grams, _ = said(tick)
    shares = [_grams(piece.removeprefix(lot.number)) for piece, lot in zip(pieces, named, strict=True) if lot]
    weighed = Decimal(f"{grams:.9g}")
    rest = weighed - sum(shares[:-1], Decimal(0)), line.grams - sum(shares[:-1], Decimal(0))
    if None in named or min(rest) < 0:
        return []
    planned, scale = [*shares[:-1], rest[1]], [*shares[:-1], rest[0]]
    return [
        Take(line.ingredient, lot.number, lot.expiry, due, shown)
        for lot, due, shown in zip(named, planned, scale, strict=True)
        if lot
    ]


def _says(piece: str, number: str) -> bool:
    return piece == number or piece.startswith((f"{number} ", f"{number},"))


def _grams(words: str) -> Decimal:
    match = re.match(r"\s*(\d+(?:\.\d+)?)\s*g\b", words)
    return Decimal(match[1]) if match else Decimal(0)


def _short(missing: Sequence[Missing]) -> Iterator[FormulaWarning]:
    """What the shelf lacks, in one warning."""
    if missing:
        fact = NoLot(tuple((x.ingredient, x.grams) for x in missing))
        yield FormulaWarning("total", "mind", fact, "stock-short", tuple(x.ingredient for x in missing), Evidence.OWN)


def _aside(shelf: OnShelf, day: datetime.date) -> FormulaWarning:
    lot = shelf.lot
    why = unusable(lot, day)
    assert why is not None
    fact = LotAside(lot.number, lot.ingredient, shelf.left, why.day, why.expired)
    return FormulaWarning("total", "note", fact, "lot-aside", (lot.ingredient,), Evidence.OWN)


class _Drawing:
    """Lots as they are used up, line after line."""

    def __init__(self, lots: Sequence[OnShelf], step: Decimal, day: datetime.date) -> None:
        self.lots, self.day = lots, day
        self.left = {x.lot.number: step * floor(1000 * x.left / float(step) + ROUNDED) for x in lots}
        self.takes: list[Take] = []
        self.missing: dict[str, Decimal] = defaultdict(Decimal)

    def take(self, done: Mapping[Line, Sequence[Take]]) -> None:
        """What was weighed already comes out of its lots first."""
        for takes in done.values():
            for take in takes:
                if take.lot in self.left:
                    self.left[take.lot] = max(self.left[take.lot] - (take.weighed or take.grams), Decimal(0))

    def phase(self, phase: SheetPhase, done: Mapping[Line, Sequence[Take]], weighed: Mapping[Line, Tick]) -> SheetPhase:
        """The phase with words for the lots of its lines: of what was weighed those that were said."""
        place = place_of(phase.phase, phase.part)
        names = [(line, (line.ingredient, place)) for line in phase.lines]
        lines = [
            self._said(line, done[name]) if name in done else self._shown(line, weighed.get(name))
            for line, name in names
        ]
        return replace(phase, lines=tuple(lines))

    def _said(self, line: SheetLine, takes: Sequence[Take]) -> SheetLine:
        self.takes += takes
        return replace(line, lot=f"{_words(takes, Decimal(0))}, weighed" if takes else "")

    def _shown(self, line: SheetLine, tick: Tick | None) -> SheetLine:
        """A line whose lots the shelf says, and its scale where it was weighed; the last lot has what differs."""
        before = len(self.takes)
        made = self.filled(line)
        if tick is not None and (takes := self.takes[before:]):
            grams, _ = said(tick)
            last = takes[-1].grams + Decimal(f"{grams:.9g}") - line.grams
            self.takes[before:] = [replace(x, weighed=x.grams) for x in takes[:-1]] + [replace(takes[-1], weighed=last)]
        return made

    def filled(self, line: SheetLine) -> SheetLine:
        """The line with words for its lots."""
        takes, need = [], line.grams
        there = [(x.lot, self.left[x.lot.number]) for x in self.lots if x.lot.ingredient == line.ingredient]
        for lot, grams in used_up(there, need, self.day):
            takes.append(Take(line.ingredient, lot.number, lot.expiry, grams))
            self.left[lot.number] -= grams
            need -= grams
        if need:
            self.missing[line.ingredient] += need
        self.takes += takes
        return replace(line, lot=_words(takes, need))


def _words(takes: Sequence[Take], missing: Decimal) -> str:
    """Number, grams where it is one of several, and expiry of each lot."""
    several = len(takes) + bool(missing) > 1
    told = [
        f"{take.lot}{f' {take.grams} g' if several else ''}{f', {take.expiry}' if take.expiry else ''}"
        for take in takes
    ]
    return "; ".join([*told, f"{missing} g missing"] if missing else told)
