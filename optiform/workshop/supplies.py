"""Offers and lots as plans and sheets take them: from the workshop's records, or from CSV tables whose columns are the
fields of those records; `left` is what a lot still holds.
"""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import MISSING, replace
from pathlib import Path
from typing import cast

from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen
from optiform.reading.plausible import note_mass
from optiform.reading.tables import Record as Row
from optiform.reading.tables import read_records
from optiform.reading.units import parse_quantity
from optiform.workshop.columns import DATE, NOT_LESS, Column, allowed, day
from optiform.workshop.fieldtypes import Field, fields_of, record_from
from optiform.workshop.records import Lot, Offer
from optiform.workshop.stock import Holding, unusable

_LEFT = Field("left", float, False, MISSING, Column("What is left of the lot", unit="kg", rule=NOT_LESS))


@frozen
class OnShelf:
    """A lot and what is left of it, kg."""

    lot: Lot
    left: float


def kept_lots(held: Iterable[Holding], catalogues: Sequence[Catalogue]) -> tuple[OnShelf, ...]:
    """The lots a workshop keeps, what is left of each, ingredients as the catalogues name them.

    One that no catalogue knows keeps its name: no formula asks for it.
    """
    return tuple(
        OnShelf(replace(each.lot, ingredient=_named(each.lot.ingredient, catalogues)), each.kg) for each in held
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

    Columns: the fields of an offer, pack in kg; shipping (of one pack) and note may be left out.

    Raises:
        BadInput: with every fault of the table.
    """
    table = _Table(path, catalogues, fields_of(Offer))
    offers = tuple(record_from(Offer, table.values(row)) for row in table.rows)
    table.inspection.finish()
    return offers


def read_lots(path: Path, catalogues: Sequence[Catalogue]) -> tuple[OnShelf, ...]:
    """The lots in stock, ingredients by their names in the catalogues.

    Columns: the fields of a lot, and `left` (kg); all but number, ingredient and left may be left out.

    Raises:
        BadInput: with every fault of the table.
    """
    table = _Table(path, catalogues, (*fields_of(Lot), _LEFT))
    lots, first = [], dict[str, int]()
    for row in table.rows:
        values = table.values(row)
        left, number = cast("float", values.pop("left")), row.get("number")
        lots.append(OnShelf(record_from(Lot, values), left))
        if number and first.setdefault(number, row.line) != row.line:
            table.fault(row, "number", f"each lot once; also in row {first[number]}")
    table.inspection.finish()
    return tuple(lots)


class _Table:
    """A table of records as a person writes one: a column for each field, amounts with or without their unit."""

    def __init__(self, path: Path, catalogues: Sequence[Catalogue], fields: Sequence[Field]) -> None:
        needed = [field.name for field in fields if field.needed]
        self.rows = read_records(path, needed, [field.name for field in fields])
        self.fields, self.catalogues, self.inspection = fields, catalogues, Inspection(str(path))

    def fault(self, row: Row, column: str, expected: str) -> None:
        """Note what stands in a cell."""
        self.inspection.fault(row.place(column), row.get(column), expected)

    def values(self, row: Row) -> dict[str, object]:
        """What a row says, by field, and None for what is noted as wrong; nothing of fields that it leaves out."""
        stands = [field for field in self.fields if field.needed or row.get(field.name)]
        return {field.name: self._value(row, field) for field in stands}

    def _value(self, row: Row, field: Field) -> object:
        try:
            return self._read(row, field, row.get(field.name))
        except ValueError as error:
            self.fault(row, field.name, str(error))
            return None

    def _read(self, row: Row, field: Field, cell: str) -> object:
        """A cell.

        Raises:
            ValueError: with what was expected.
        """
        currency, column = row.get("currency").upper() or "EUR", field.column
        if field.name == "currency":
            return allowed(currency, column.rule)
        if not cell:
            raise ValueError(_expected(field))
        if field.name == "ingredient":
            return self._known(cell)
        if field.type is datetime.date:
            return day(cell)
        if field.type is str:
            return cell
        amount = allowed(parse_quantity(cell, column.unit.replace("money", currency)), column.rule)
        if column.unit == "kg":
            note_mass(self.inspection.file, row.place(field.name), cell, amount)
        return amount

    def _known(self, name: str) -> str:
        items = [item for catalogue in self.catalogues if (item := catalogue.find(name))]
        if not items:
            raise ValueError(self.catalogues[0].unknown(name))
        return items[0].name


def _expected(field: Field) -> str:
    """What must be written in a cell."""
    if field.type is float:
        return f"the {field.column.label.lower()}{', kg' if field.column.unit == 'kg' else ''}"
    return "a name" if field.type is str else DATE
