"""Offers and lots as plans and sheets take them: from the workshop's records, or from CSV tables whose columns are the
fields of those records; `left` is what a lot still holds.
"""

import datetime
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import Inspection
from optiform.reading.plausible import note_mass
from optiform.reading.tables import Record, read_records
from optiform.reading.units import parse_quantity
from optiform.workshop.records import Lot, Movement, Offer
from optiform.workshop.stock import holdings, unusable

T = TypeVar("T")

LOT_COLUMNS = (
    "number", "ingredient", "left", "supplier", "supplier_lot", "received", "expiry", "price", "currency", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class OnShelf:
    """A lot and what is left of it, kg."""

    lot: Lot
    left: float


def kept_lots(
    lots: Iterable[Lot], movements: Iterable[Movement], catalogues: Sequence[Catalogue]
) -> tuple[OnShelf, ...]:
    """The lots a workshop keeps, first expired first, what is left of each, ingredients as the catalogues name them.

    One that no catalogue knows keeps its name: no formula asks for it.
    """
    return tuple(
        OnShelf(replace(each.lot, ingredient=_named(each.lot.ingredient, catalogues)), each.kg)
        for each in holdings(lots, movements)
    )


def usable(lots: Iterable[OnShelf], day: datetime.date) -> dict[str, float]:
    """Kg per ingredient in the lots that can go into what is made on a day."""
    masses: dict[str, float] = {}
    for shelf in lots:
        if shelf.left > 0 and not unusable(shelf.lot, day):
            masses[shelf.lot.ingredient] = masses.get(shelf.lot.ingredient, 0.0) + shelf.left
    return masses


def kept_offers(offers: Iterable[Offer], catalogues: Sequence[Catalogue]) -> tuple[Offer, ...]:
    """The offers a workshop keeps, ingredients as the catalogues name them."""
    return tuple(replace(offer, ingredient=_named(offer.ingredient, catalogues)) for offer in offers)


def _named(name: str, catalogues: Sequence[Catalogue]) -> str:
    return next((item.name for catalogue in catalogues if (item := catalogue.find(name))), name)


def read_offers(path: Path, catalogues: Sequence[Catalogue]) -> tuple[Offer, ...]:
    """The packs on offer, ingredients by their names in the catalogues.

    Columns: ingredient, supplier, pack (kg), price, currency, date; optional shipping (of one pack), note.

    Raises:
        BadInput: with every fault of the table.
    """
    required = ("ingredient", "supplier", "pack", "price", "currency", "date")
    cells = _Cells(path, catalogues, required, (*required, "shipping", "note"))
    offers = [
        Offer(
            ingredient=cells.ingredient(record),
            supplier=cells.word(record, "supplier"),
            pack=cells.number(record, "pack", "kg", above=True) or 1.0,
            price=cells.number(record, "price", cells.currency(record), above=True) or 1.0,
            currency=cells.currency(record),
            date=cells.date(record, "date") or datetime.date.min,
            shipping=cells.number(record, "shipping", cells.currency(record)) or 0.0,
            note=record.get("note"),
        )
        for record in cells.records
    ]
    for column, expected in (("pack", "kg"), ("price", "what a pack costs"), ("date", "a date such as 2026-11-25")):
        cells.need(column, expected)
    cells.inspection.finish()
    return tuple(offers)


def read_lots(path: Path, catalogues: Sequence[Catalogue]) -> tuple[OnShelf, ...]:
    """The lots in stock, ingredients by their names in the catalogues.

    Columns: number, ingredient, left (kg); optional supplier, supplier_lot, received, expiry, price (landed, per kg),
    currency, note.

    Raises:
        BadInput: with every fault of the table.
    """
    cells = _Cells(path, catalogues, ("number", "ingredient", "left"), LOT_COLUMNS)
    lots = [cells.on_shelf(record) for record in cells.records]
    first: dict[str, int] = {}
    for record in cells.records:
        number = record.get("number")
        if number and first.setdefault(number, record.line) != record.line:
            expected = f"each lot once; also in row {first[number]}"
            cells.inspection.fault(record.place("number"), number, expected)
    cells.need("left", "what is left of the lot, kg")
    cells.inspection.finish()
    return tuple(lots)


class _Cells:
    """Reads the cells of one table and notes their faults."""

    def __init__(
        self, path: Path, catalogues: Sequence[Catalogue], required: Sequence[str], known: Sequence[str]
    ) -> None:
        self.records = read_records(path, required, known)
        self.inspection = Inspection(str(path))
        self.catalogues = catalogues

    def on_shelf(self, record: Record) -> OnShelf:
        currency = self.currency(record)
        lot = Lot(
            number=self.word(record, "number"),
            ingredient=self.ingredient(record),
            supplier=record.get("supplier"),
            supplier_lot=record.get("supplier_lot"),
            received=self.date(record, "received"),
            expiry=self.date(record, "expiry"),
            price=self.number(record, "price", f"{currency}/kg"),
            currency=currency,
            note=record.get("note"),
        )
        return OnShelf(lot, self.number(record, "left", "kg") or 0.0)

    def word(self, record: Record, column: str) -> str:
        if not record.get(column):
            self.inspection.fault(record.place(column), "", "a name")
        return record.get(column)

    def ingredient(self, record: Record) -> str:
        name = self.word(record, "ingredient")
        items = [item for catalogue in self.catalogues if (item := catalogue.find(name))]
        if name and not items:
            self.inspection.fault(record.place("ingredient"), name, self.catalogues[0].unknown(name))
        return items[0].name if items else name

    def currency(self, record: Record) -> str:
        given = record.get("currency") or "EUR"
        if not (len(given) == 3 and given.isalpha()):
            self._once(record, "currency", given, "three letters such as EUR")
        return given.upper()

    def number(self, record: Record, column: str, unit: str, above: bool = False) -> float | None:
        amount = self._read(record, column, lambda cell: _amount(cell, unit, above))
        if amount is not None and unit == "kg":
            note_mass(self.inspection.file, record.place(column), record.get(column), amount)
        return amount

    def date(self, record: Record, column: str) -> datetime.date | None:
        return self._read(record, column, _date)

    def need(self, column: str, expected: str) -> None:
        """Note every row in which a column that must be filled is not."""
        for record in self.records:
            if not record.get(column):
                self.inspection.fault(record.place(column), "", expected)

    def _read(self, record: Record, column: str, read: Callable[[str], T]) -> T | None:
        cell = record.get(column)
        if not cell:
            return None
        try:
            return read(cell)
        except ValueError as error:
            self.inspection.fault(record.place(column), cell, str(error))
            return None

    def _once(self, record: Record, column: str, read: str, expected: str) -> None:
        if all(fault.place != record.place(column) for fault in self.inspection.faults):
            self.inspection.fault(record.place(column), read, expected)


def _amount(cell: str, unit: str, above: bool) -> float:
    amount = parse_quantity(cell, unit)
    if amount < 0 or (above and amount == 0):
        raise ValueError("more than nothing" if above else "zero or more")
    return amount


def _date(cell: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(cell)
    except ValueError:
        raise ValueError("a date such as 2026-11-25") from None
