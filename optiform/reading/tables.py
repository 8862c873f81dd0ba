"""CSV tables as a maker saves them: any of the usual separators, byte-order mark or not."""

import csv
import errno
import re
import stat
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from io import StringIO
from pathlib import Path
from unicodedata import normalize

from optiform.reading import run
from optiform.reading.decimals import refuse_both
from optiform.reading.encodings import decoded
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.reading.layout import Row, below_titles, separator_of, without_empty_columns
from optiform.reading.near import refuse_misspelt
from optiform.reading.paths import DATABASE
from optiform.reading.sentences import sentence

#: First characters of a cell that a spreadsheet would run as a formula.
RUNS = ("=", "+", "-", "@", "\t", "\r")
LARGEST = 5_000_000  # bytes; a maker's table is a few hundred kilobytes
CELLS, COLUMNS = 100_000, 500  # ten times what a maker's table has
LONGEST = 2_000  # characters of a cell; of a column's name, 100
#: Control characters but for tab and line ends, and marks that turn the reading direction of what follows.
HIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


@frozen
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


def read_text(path: Path, largest: int = LARGEST) -> str:
    """The file's text.

    A device or a pipe is refused unopened: one has no end, the other keeps a reader waiting.

    Raises:
        BadInput: no such file, not a plain file, not readable, more than `largest` bytes, or no text.
    """
    name = str(path)
    try:
        status = path.stat()
        if not stat.S_ISREG(status.st_mode):
            kind = "a folder" if stat.S_ISDIR(status.st_mode) else "a device or a pipe"
            raise BadInput([Fault(name, "file", kind, "a readable file")])
        if status.st_size > largest:
            raise BadInput([Fault(name, "file", f"{status.st_size} bytes", f"at most {largest} bytes")])
        with path.open("rb") as file:
            content = file.read(largest)
        run.remember(path)
        return _plain(decoded(content, name), name)
    except FileNotFoundError:
        if path.is_symlink():
            raise BadInput([Fault(name, "file", "a link to nothing", "a link to a file that is there")]) from None
        words = "there is no such file. Look at its name and its folder."
        raise BadInput([Fault(name, "file", "nothing", "a file of this name", words)]) from None
    except (OSError, ValueError) as error:
        if isinstance(error, OSError) and error.errno == errno.ELOOP:
            raise BadInput([Fault(name, "file", "a link that leads round to itself", "a link to a file")]) from None
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise BadInput([Fault(name, "file", str(reason), "a readable file")]) from None


def _plain(text: str, name: str) -> str:
    """The text, if nothing is in it that a person would not see."""
    if hidden := HIDDEN.search(text):
        line = text.count("\n", 0, hidden.start()) + 1
        raise BadInput([Fault(name, f"line {line}", f"the character U+{ord(hidden[0]):04X}", "plain text")])
    return text


def shipped(name: str) -> list[dict[str, str]]:
    """The rows of a table of ours, by its name without the ending: cells as they stand, by column.

    Read once; the rows are every caller's, the list is its own.
    """
    return list(_shipped(name))


@cache
def _shipped(name: str) -> tuple[dict[str, str], ...]:
    with (DATABASE / f"{name}.csv").open(encoding="utf-8", newline="") as table:
        header, *rows = csv.reader(table)
        return tuple(dict(zip(header, row, strict=True)) for row in rows)


def read_records(path: Path, required: Sequence[str] = (), known: Sequence[str] = ()) -> list[Record]:
    """The rows of a CSV file with a header, columns named in lower case, their accents composed.

    Args:
        path: the file; comma, semicolon or tab separates, or what a first line `sep=` says.
        required: columns that must be there; rows above the header that has them are titles.
        known: columns that are read if they are there; one that looks like one of these is a fault.

    Raises:
        BadInput: with every fault of the header and of the row shapes.
    """
    text = read_text(path)
    inspection = Inspection(str(path))
    header, rows = split(text, inspection, required=required)
    refuse_misspelt(header, known, inspection)
    for column in required:
        if column not in header:
            inspection.fault("header", ", ".join(header), f"a column {column!r}")
    commas = separator_of(text, required)[0] == ","
    records = [Record(line, _cells(header, row)) for line, row in rows if _fits(line, row, header, inspection, commas)]
    refuse_both(
        ((record.place(column), column, cell) for record in records for column, cell in record.cells.items()),
        inspection,
    )
    inspection.finish()
    return records


def _fits(line: int, row: Sequence[str], header: Sequence[str], inspection: Inspection, commas: bool) -> bool:
    """Whether a row can be read under its header; what cannot is noted. Where `commas` separate, names may hold one."""
    if len(row) > len(header):
        place, read, expected = f"row {line}", f"{len(row)} cells", f"at most {len(header)}, as in the header"
        quoted = 'A name with a comma in it stands in quotes: "sunflower oil, high oleic".'
        inspection.fault(place, read, expected, f"{sentence(place, read, expected)} {quoted}" if commas else "")
        return False
    for column, cell in zip(header, row, strict=False):
        if len(cell) > LONGEST:
            inspection.fault(f"row {line}, column {column}", f"{len(cell)} characters", f"at most {LONGEST}")
    return True


def _cells(header: Sequence[str], row: Sequence[str]) -> dict[str, str]:
    cells = [restored(cell).strip() for cell in row] + [""] * (len(header) - len(row))
    return dict(zip(header, cells, strict=True))


def split(
    text: str, inspection: Inspection, cells: int = CELLS, required: Sequence[str] = ()
) -> tuple[list[str], list[Row]]:
    """The header in lower case, and every row that is not blank with its line number, cells as they stand.

    Args:
        text: a table; comma, semicolon or tab separates.
        inspection: where faults are noted.
        cells: how many there may be.
        required: columns of the header, where they are known: a title may stand above it.

    Raises:
        BadInput: no table at all; a column that stands twice is noted in the inspection.
    """
    if "\n" not in text:
        text = text.replace("\r", "\n")  # as spreadsheets save for old Macintoshes
    separator, text = separator_of(text, required)
    reader = csv.reader(StringIO(text), delimiter=separator, strict=True)
    rows: list[Row] = []
    count = 0
    try:
        for row in reader:
            count += len(row) or 1  # a blank line takes its time too
            if count > cells or len(row) > COLUMNS:
                expected = f"at most {COLUMNS} columns and {cells} cells in all"
                inspection.fault(f"row {reader.line_num}", f"{len(row)} cells, {count} so far", expected)
                inspection.finish()
            if any(cell.strip() for cell in row):
                rows.append((reader.line_num, row))
    except csv.Error as error:
        _unreadable(str(error), f"row {reader.line_num}", inspection)
    if not rows:
        inspection.fault("file", "an empty table", "a header and rows")
        inspection.finish()
    (_, names), *below = below_titles(rows, required, inspection)
    header = _header(names, inspection)
    return [name for name in header if name], without_empty_columns(header, below, inspection)


def _unreadable(why: str, place: str, inspection: Inspection) -> None:
    """Note what the reader of cells stopped at.

    Raises:
        BadInput: always.
    """
    quote = 'one " within a cell is written twice, and a cell that begins with one ends with one'
    told = f'{place}: a quotation mark (") is not closed, or stands within its cell. Write one of a cell twice: "".'
    if "field limit" in why:
        quote, told = f"cells of at most {csv.field_size_limit()} characters", ""
    elif "new-line" in why:
        quote, told = "cells separated by comma, semicolon or tab, and lines that end alike", ""
    inspection.fault(place, why, quote, told)
    inspection.finish()


def _header(row: Sequence[str], inspection: Inspection) -> list[str]:
    """The columns' names in lower case, each once and none too long to be one."""
    header = [" ".join(normalize("NFC", restored(cell)).lower().split()) for cell in row]
    for column in sorted(name for name, times in Counter(header).items() if name and times > 1):
        inspection.fault("header", column, "each column once")
    for column in header:
        if len(column) > 100:
            inspection.fault("header", column, "at most 100 characters in the name of a column")
    return header


def guarded(cell: str) -> str:
    """A cell's text for export: what a spreadsheet would run as a formula gets an apostrophe before it.

    Text that already looks guarded gets one more, so that `restored` gives every text back as it was.
    """
    return f"'{cell}" if _runs(cell.lstrip("'")) else cell


def restored(cell: str) -> str:
    """The text that was guarded; any other text as it stands.

    Example:
        >>> restored(guarded("=1+1"))
        '=1+1'
        >>> restored("'=")
        "'="
    """
    return cell[1:] if cell.startswith("'") and _runs(cell.lstrip("'")) else cell


def _runs(text: str) -> bool:
    """Whether a spreadsheet would run it; a character alone, such as a dash for nothing, is text to it."""
    return text.startswith(RUNS) and len(text) > 1


def csv_text(rows: Iterable[Sequence[object]], exact: bool = False) -> str:
    """Rows as CSV, text guarded, numbers to ten significant digits or `exact`; None is an empty cell."""
    return "".join(_line([_cell(cell, exact) for cell in row]) for row in rows)


def _cell(cell: object, exact: bool) -> object:
    if isinstance(cell, float) and not exact:
        return f"{cell:.10g}"
    return guarded(cell) if isinstance(cell, str) else cell


def _line(cells: Sequence[object]) -> str:
    out = StringIO()
    csv.writer(out, lineterminator="\r\n").writerow(cells)  # so that a line end of either sort in a cell is quoted
    return out.getvalue().removesuffix("\r\n") + "\n"
