"""CSV tables as a maker saves them: any of the usual separators, byte-order mark or not."""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

from optiform.faults import BadInput, Fault, Inspection

#: First characters of a cell that a spreadsheet would run as a formula.
RUNS = ("=", "+", "-", "@", "\t", "\r")
LARGEST = 20_000_000  # bytes; a maker's table is a few hundred kilobytes


@dataclass(frozen=True, slots=True)
class Record:
    """One data row: its line number in the file and its cells by column name."""

    line: int
    cells: dict[str, str]

    def place(self, column: str) -> str:
        """Words for where a cell stands."""
        return f"row {self.line}, column {column}"

    def get(self, column: str) -> str:
        """The cell's text, or an empty text where the table has no such column."""
        return self.cells.get(column, "")


def read_text(path: Path) -> str:
    """The file's text.

    Raises:
        BadInput: no such file, not readable, too large or not UTF-8.
    """
    name = str(path)
    try:
        if path.stat().st_size > LARGEST:
            raise BadInput([Fault(name, "file", f"{path.stat().st_size} bytes", f"at most {LARGEST} bytes")])
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise BadInput([Fault(name, "file", "nothing", "a file of this name")]) from None
    except UnicodeDecodeError as error:
        place = f"byte {error.start}"
        raise BadInput([Fault(name, place, f"byte 0x{error.object[error.start]:02x}", "text in UTF-8")]) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise BadInput([Fault(name, "file", str(reason), "a readable file")]) from None


def read_records(path: Path, required: Sequence[str] = ()) -> list[Record]:
    """The rows of a CSV file with a header, columns named in lower case.

    Args:
        path: the file; comma, semicolon or tab separates.
        required: columns that must be there.

    Raises:
        BadInput: with every fault of the header and of the row shapes.
    """
    text = read_text(path)
    inspection = Inspection(str(path))
    if "\x00" in text:
        inspection.fault("file", "a NUL character", "plain text")
        inspection.finish()
    header, rows = split(text, inspection)
    for column in required:
        if column not in header:
            inspection.fault("header", ", ".join(header), f"a column {column!r}")
    records = []
    for line, row in rows:
        if len(row) > len(header):
            inspection.fault(f"row {line}", f"{len(row)} cells", f"at most {len(header)}, as in the header")
        else:
            cells = [cell.strip() for cell in row] + [""] * (len(header) - len(row))
            records.append(Record(line, dict(zip(header, cells, strict=True))))
    inspection.finish()
    return records


def split(text: str, inspection: Inspection) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """The header in lower case, and every row that is not blank with its line number, cells as they stand.

    Raises:
        BadInput: no table at all; a column that stands twice is noted in the inspection.
    """
    first = text.lstrip().split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    reader = csv.reader(StringIO(text), delimiter=separator, strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for row in reader:
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, row))
    except csv.Error as error:
        inspection.fault(f"row {reader.line_num}", str(error), "cells separated by comma, semicolon or tab")
        inspection.finish()
    if not rows:
        inspection.fault("file", "an empty table", "a header and rows")
        inspection.finish()
    header = [cell.strip().lower() for cell in rows[0][1]]
    for column in sorted({name for name in header if header.count(name) > 1}):
        inspection.fault("header", column, "each column once")
    return header, rows[1:]


def guarded(cell: str) -> str:
    """A cell's text for export: what a spreadsheet would run as a formula gets an apostrophe before it.

    Text that already looks guarded gets one more, so that `restored` gives every text back as it was.
    """
    return f"'{cell}" if cell.lstrip("'").startswith(RUNS) and len(cell) > 1 else cell


def restored(cell: str) -> str:
    """The text that was guarded.

    Example:
        >>> restored(guarded("=1+1"))
        '=1+1'
    """
    return cell[1:] if cell.startswith("'") and cell.lstrip("'").startswith(RUNS) else cell


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Rows as CSV, text guarded, numbers to six significant digits."""
    out = StringIO()
    csv.writer(out, lineterminator="\n").writerows([[_cell(cell) for cell in row] for row in rows])
    return out.getvalue()


def _cell(cell: object) -> object:
    if isinstance(cell, float):
        return f"{cell:.6g}"
    return guarded(cell) if isinstance(cell, str) else cell
