"""Price lists beside today's prices: of seasons, of suppliers, of a bad year.

Each is a table with a column `ingredient`. Further columns are lists, each named by its header; a table whose only
further column is `price` is one list, named by its file. Prices are per kg, and an empty cell leaves today's price.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from optiform.ingredients.catalogue import Catalogue
from optiform.reading.faults import Inspection
from optiform.reading.tables import Record, read_records
from optiform.reading.units import parse_quantity
from optiform.reading.values import Comparable

PASSED_OVER = ("ingredient", "note")


@dataclass(frozen=True, eq=False)
class PriceList(Comparable):
    """Prices per kg by the catalogue's names; those that are not there are today's."""

    name: str
    prices: Mapping[str, float]


def read_price_lists(paths: Sequence[Path], catalogue: Catalogue, currency: str) -> tuple[PriceList, ...]:
    """The price lists of these tables, in their order.

    Raises:
        BadInput: with every fault of the tables.
    """
    inspection = Inspection(str(paths[0]) if paths else "")
    lists = [made for path in paths for made in _lists(path, catalogue, currency, inspection)]
    names = [made.name for made in lists]
    for name in dict.fromkeys(name for name in names if names.count(name) > 1):
        inspection.fault("header", name, "another name: two price lists are called so")
    inspection.finish()
    return tuple(lists)


def _lists(path: Path, catalogue: Catalogue, currency: str, inspection: Inspection) -> Iterator[PriceList]:
    none: list[Record] = []
    records = inspection.given(lambda: read_records(path, ("ingredient",)), none)
    faults = Inspection(str(path))
    columns = list(dict.fromkeys(column for record in records for column in record.cells if column not in PASSED_OVER))
    if records and not columns:
        faults.fault("header", "ingredient", "a column of prices beside it, named as the list is")
    for column in columns:
        prices = dict(_prices(records, column, catalogue, currency, faults))
        yield PriceList(path.stem if columns == ["price"] else column, prices)
    inspection.faults += faults.faults


def _prices(
    records: Sequence[Record], column: str, catalogue: Catalogue, currency: str, faults: Inspection
) -> Iterator[tuple[str, float]]:
    for record in records:
        name, cell = record.get("ingredient"), record.get(column).strip()
        item = catalogue.find(name)
        if item is None and not faults.full:
            faults.fault(record.place("ingredient"), name, catalogue.unknown(name))
        if item is None or not cell:
            continue
        try:
            price = parse_quantity(cell, f"{currency}/kg")
        except ValueError as error:
            faults.fault(record.place(column), cell, str(error))
            continue
        if not 0 <= price < float("inf"):
            faults.fault(record.place(column), cell, "a price of zero or more")
            continue
        yield item.name, price
