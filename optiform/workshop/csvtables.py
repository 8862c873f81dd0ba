"""Records of one kind as a table of plain CSV: a column for each field, dates as ISO has them, texts guarded."""

import datetime
import re
from collections.abc import Callable, Iterable, Sequence

from optiform.reading.faults import BadInput, Inspection
from optiform.reading.tables import csv_text, restored, split
from optiform.reading.units import parse_number
from optiform.workshop.columns import DATE
from optiform.workshop.fieldtypes import Field, fields_of, record_from
from optiform.workshop.records import Record

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_TIME = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?")


def as_csv(kind: type[Record], records: Iterable[Record]) -> str:
    """Records of one kind as CSV: the header, then a row each. Numbers are exact, texts guarded."""
    names = [each.name for each in fields_of(kind)]
    rows = ([_cell(getattr(record, name)) for name in names] for record in records)
    return csv_text([names, *rows], exact=True)


def _cell(value: object) -> object:
    return value.isoformat() if isinstance(value, datetime.date) else value


def read_csv(kind: type[Record], text: str, inspection: Inspection, cells: int) -> list[tuple[int, Record]]:
    """Every record that could be read, with its line. What could not, or what goes beyond so many cells, is noted."""
    try:
        header, rows = split(text, inspection, cells)
        _check_header(header, kind, inspection)
        inspection.finish()
    except BadInput:  # the inspection has it
        return []
    read = ((line, _record(kind, header, line, row, inspection)) for line, row in rows)
    return [(line, record) for line, record in read if record is not None]


def _check_header(header: Sequence[str], kind: type[Record], inspection: Inspection) -> None:
    names = {each.name: each for each in fields_of(kind)}
    for column in header:
        if column not in names:
            inspection.fault("header", column, f"one of: {', '.join(names)}")
    for name, each in names.items():
        if name not in header and each.needed:
            inspection.fault("header", ", ".join(header), f"a column {name!r}")


def _record(
    kind: type[Record], header: Sequence[str], line: int, row: Sequence[str], inspection: Inspection
) -> Record | None:
    if len(row) > len(header):
        inspection.fault(f"row {line}", f"{len(row)} cells", f"at most {len(header)}, as in the header")
        return None
    cells = dict(zip(header, [*row, *[""] * (len(header) - len(row))], strict=True))
    values, sound = {}, True
    for each in fields_of(kind):
        cell = cells.get(each.name, "")
        if each.type is not str and not cell.strip() and not each.needed:
            continue  # an empty cell is not known: the default, which is None or the usual value
        if each.name not in cells:
            continue
        try:
            values[each.name] = _value(each, cell)
        except ValueError as error:
            inspection.fault(f"row {line}, column {each.name}", cell, str(error))
            sound = False
    return record_from(kind, values) if sound else None


def _value(each: Field, cell: str) -> object:
    """A cell as a value of its field's type.

    Raises:
        ValueError: with what was expected.
    """
    if each.type is str:
        return restored(cell)
    if each.type is datetime.date:
        return _date(cell.strip(), _DATE, datetime.date.fromisoformat, DATE)
    if each.type is datetime.datetime:
        words = "a date and time such as 2026-11-25T09:30:00"
        return _date(cell.strip(), _TIME, datetime.datetime.fromisoformat, words)
    number = parse_number(cell)
    if each.type is float:
        return number
    if not number.is_integer():
        raise ValueError("a whole number")
    return int(number)


def _date(cell: str, shape: re.Pattern[str], parse: Callable[[str], object], expected: str) -> object:
    if not shape.fullmatch(cell):
        raise ValueError(expected)
    try:
        return parse(cell)
    except ValueError:
        raise ValueError(f"{expected}, of a day that is in the calendar") from None
