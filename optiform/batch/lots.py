"""Which lots a batch is weighed from: per line, what expires first before the rest, in whole steps of the scale."""

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import floor

from optiform.batch.batch import BatchSheet, SheetLine
from optiform.ingredients.ingredient import Evidence
from optiform.review.answer import FormulaWarning
from optiform.workshop.stock import unusable, used_up
from optiform.workshop.supplies import OnShelf

ROUNDED = 1e-6  # of a step of the scale: kilograms are sums of floats


@dataclass(frozen=True)
class Take:
    """Grams of one line that come out of one lot."""

    ingredient: str
    lot: str
    expiry: datetime.date | None
    grams: Decimal


@dataclass(frozen=True)
class Missing:
    """Grams of an ingredient that are in no lot that may be used."""

    ingredient: str
    grams: Decimal


@dataclass(frozen=True)
class Lotted:
    """A sheet with the lots of its lines.

    Attributes:
        sheet: lots on its lines; what is missing and what is left aside among its warnings.
        takes: in the order of the sheet.
        missing: by ingredient; empty where the shelf has everything.
    """

    sheet: BatchSheet
    takes: tuple[Take, ...]
    missing: tuple[Missing, ...]


def with_lots(sheet: BatchSheet, lots: Sequence[OnShelf], day: datetime.date) -> Lotted:
    """A sheet filled in with the lots to weigh from.

    Args:
        sheet: what is weighed.
        lots: what is on the shelf, in the order it is to be used up.
        day: of the making; a lot that expires before it, or comes in after it, is left aside and named.
    """
    needed = {line.ingredient for phase in sheet.phases for line in phase.lines}
    held = [shelf for shelf in lots if shelf.lot.ingredient in needed and shelf.left > 0]
    usable = [shelf for shelf in held if not unusable(shelf.lot, day)]
    work = _Drawing(usable, sheet.batch.scale_g, day)
    phases = tuple(replace(phase, lines=tuple(map(work.filled, phase.lines))) for phase in sheet.phases)
    missing = tuple(Missing(*item) for item in work.missing.items())
    short = tuple(map(_short, missing))
    aside = [_aside(shelf, day) for shelf in held if unusable(shelf.lot, day)]
    rest = [x for x in sheet.warnings if x.text not in sheet.short]  # the lots know better than the own table
    warnings, texts = (*short, *aside, *rest), tuple(warning.text for warning in short)
    made = replace(sheet, phases=phases, warnings=warnings, short=texts)
    return Lotted(made, tuple(work.takes), missing)


def _short(missing: Missing) -> FormulaWarning:
    words = f"{missing.ingredient}: {missing.grams} g missing; no lot that may be used has it."
    return FormulaWarning("total", "mind", words, "stock-short", (missing.ingredient,), Evidence.OWN)


def _aside(shelf: OnShelf, day: datetime.date) -> FormulaWarning:
    lot = shelf.lot
    words = f"Not used: lot {lot.number}, {shelf.left:g} kg {lot.ingredient}, {unusable(lot, day)}."
    return FormulaWarning("total", "note", words, "lot-aside", (lot.ingredient,), Evidence.OWN)


class _Drawing:
    """Lots as they are used up, line after line."""

    def __init__(self, lots: Sequence[OnShelf], step: Decimal, day: datetime.date) -> None:
        self.lots, self.day = lots, day
        self.left = {x.lot.number: step * floor(1000 * x.left / float(step) + ROUNDED) for x in lots}
        self.takes: list[Take] = []
        self.missing: dict[str, Decimal] = defaultdict(Decimal)

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
