"""What is left: sums over the movements of lots and the counts of packaging. Masses in kg."""

import datetime
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TypeVar

from optiform.reading.frozen import frozen
from optiform.workshop.records import Lot, Movement, PackagingCount, VersionLine

M = TypeVar("M", float, Decimal)  # a mass

NOTHING = 5e-7  # kg; below half a milligram a sum of weighings is rounding
LEAST = 1e-6  # kg; the least that is taken in or out by hand: a milligram


@frozen
class Unusable:
    """Why a lot cannot go into what is made: by then it has `expired` on this day, or it comes in only on it."""

    day: datetime.date
    expired: bool


@frozen
class Holding:
    """What is left of one lot, kg. Below zero where more was taken than came in: the records need a correction."""

    lot: Lot
    kg: float

    def expired(self, today: datetime.date) -> bool:
        """Whether its expiry lies before today; a lot without one does not expire here."""
        return self.lot.expiry is not None and self.lot.expiry < today


@frozen
class Draw:
    """Lots to take an amount from, in this order, with kg from each; `missing` kg are in none of them."""

    takes: tuple[tuple[Lot, float], ...]
    missing: float


@frozen
class Shortage:
    """An ingredient of which less is there, unexpired, than is needed; kg."""

    ingredient: str
    needed: float
    there: float


def left(lot: str, movements: Iterable[Movement]) -> float:
    """Kg left of the lot of this number.

    Example:
        >>> when = datetime.datetime(2026, 11, 2, 9)
        >>> came = Movement(lot="A1", when=when, kg=5.0, reason="received")
        >>> used = Movement(lot="A1", when=when, kg=-1.2, reason="batch 7")
        >>> left("A1", [came, used])
        3.8
    """
    return _sum(movement.kg for movement in movements if movement.lot == lot)


def _sum(masses: Iterable[float]) -> float:
    return _by_scale(math.fsum(masses))


def _by_scale(total: float) -> float:
    """A sum of weighings without the digits that no scale has shown, which hang on the order of adding, kg."""
    return 0.0 if abs(total) < NOTHING else round(total, 9)


def holdings(lots: Iterable[Lot], movements: Iterable[Movement]) -> tuple[Holding, ...]:
    """Every lot with what is left of it, first expired first; lots of which nothing is left too."""
    moved: dict[str, list[float]] = defaultdict(list)
    for movement in movements:
        moved[movement.lot].append(movement.kg)
    return summed(lots, {lot: math.fsum(masses) for lot, masses in moved.items()})


def summed(lots: Iterable[Lot], sums: Mapping[str, float]) -> tuple[Holding, ...]:
    """The same from the sums of the movements, kg by the number of the lot; of one without any nothing is left."""
    held = [Holding(lot, _by_scale(sums.get(lot.number, 0.0))) for lot in lots]
    return tuple(sorted(held, key=lambda holding: first_expired(holding.lot)))


def first_expired(lot: Lot) -> tuple[datetime.date, datetime.date, str]:
    """The order in which lots are used up: earliest expiry first, then what came first; without a date last."""
    last = datetime.date.max
    return lot.expiry or last, lot.received or last, lot.number


def used_up(lots: Iterable[tuple[Lot, M]], need: M, day: datetime.date) -> Iterator[tuple[Lot, M]]:
    """Lots of one ingredient used up first expired first until the need is met: each with what is taken of it.

    Args:
        lots: each with what is left of it, in the unit of the need.
        need: how much is wanted.
        day: of the use; a lot that has expired by then, or is yet to come in, is passed over.
    """
    usable = [(lot, left) for lot, left in lots if left > 0 and not unusable(lot, day)]
    for lot, left in sorted(usable, key=lambda each: first_expired(each[0])):
        taken = min(left, need)
        if taken > 0:
            yield lot, taken
            need -= taken


def by_ingredient(held: Iterable[Holding]) -> dict[str, float]:
    """Kg left per ingredient over its lots, by name."""
    amounts: dict[str, list[float]] = defaultdict(list)
    for holding in held:
        amounts[holding.lot.ingredient].append(holding.kg)
    return {ingredient: _sum(amounts[ingredient]) for ingredient in sorted(amounts)}


def expiring(held: Iterable[Holding], today: datetime.date, days: int) -> tuple[Holding, ...]:
    """Lots with something left that expire within so many days, or have."""
    return tuple(
        holding
        for holding in held
        if holding.kg > 0 and holding.lot.expiry is not None and (holding.lot.expiry - today).days <= days
    )


def draw(held: Iterable[Holding], ingredient: str, kg: float, today: datetime.date) -> Draw:
    """Where to take kg of an ingredient from: first expired first, none that has expired or is yet to come."""
    there = [(holding.lot, holding.kg) for holding in held if holding.lot.ingredient == ingredient]
    takes = [take for take in used_up(there, kg, today) if take[1] > NOTHING]
    missing = kg - math.fsum(taken for _, taken in takes)
    return Draw(tuple(takes), 0.0 if missing < NOTHING else missing)


def unusable(lot: Lot, day: datetime.date) -> Unusable | None:
    """Why a lot cannot go into what is made on a day; None where it can."""
    if lot.expiry is not None and lot.expiry < day:
        return Unusable(lot.expiry, expired=True)
    if lot.received is not None and lot.received > day:
        return Unusable(lot.received, expired=False)
    return None


def pieces(counts: Iterable[PackagingCount]) -> dict[str, int]:
    """Pieces left per packaging, by name."""
    totals: dict[str, int] = defaultdict(int)
    for count in counts:
        totals[count.packaging] += count.pieces
    return dict(sorted(totals.items()))


def needs(lines: Iterable[VersionLine], kg: float) -> dict[str, float]:
    """Kg of each ingredient that kg of a version take."""
    masses: dict[str, float] = defaultdict(float)
    for line in lines:
        masses[line.ingredient] += kg * line.percent / 100
    return dict(masses)


def short(needed: Mapping[str, float], held: Iterable[Holding], today: datetime.date) -> tuple[Shortage, ...]:
    """Ingredients of which less is there, unexpired, than is needed."""
    there = by_ingredient(holding for holding in held if holding.kg > 0 and not holding.expired(today))
    return tuple(
        Shortage(ingredient, kg, there.get(ingredient, 0.0))
        for ingredient, kg in needed.items()
        if there.get(ingredient, 0.0) < kg - NOTHING
    )
