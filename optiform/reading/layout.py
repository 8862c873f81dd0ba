"""What a spreadsheet puts around a table: a line that names the separator, a title above the header, empty columns."""

import re
from collections.abc import Sequence

from optiform.reading import run
from optiform.reading.faults import Inspection

SEPARATORS = ",;\t"
TITLES = 10  #: rows above a header that are looked at
_NAMED = re.compile(r"\A\s*\"?sep=(.)\"?[^\S\n]*(?=\n|\Z)", re.IGNORECASE)

Row = tuple[int, list[str]]


def separator_of(text: str, required: Sequence[str]) -> tuple[str, str]:
    """The sign between cells, and the text without a line that only names it; rows keep their numbers.

    Args:
        text: a table.
        required: names that its header has; where none are known, its first line is taken for the header.
    """
    if named := _NAMED.match(text):
        return named[1], "\n" * named[0].count("\n") + text[named.end() :]
    lines = [line for line in text.split("\n", 2 * TITLES)[: 2 * TITLES] if line.strip()] or [""]
    header = next((line for line in lines if required and all(name in line.casefold() for name in required)), lines[0])
    return max(SEPARATORS, key=header.count), text


def below_titles(rows: Sequence[Row], required: Sequence[str], inspection: Inspection) -> Sequence[Row]:
    """The rows from the header on: the first that has all required names, where one of the first few has."""
    for index, (_, row) in enumerate(rows[: TITLES + 1]):
        if required and set(required) <= {" ".join(cell.casefold().split()) for cell in row}:
            for line, title in rows[:index]:
                words = " ".join(filter(None, map(str.strip, title)))
                run.note(inspection.file, f"row {line} is left out, it stands above the header: {words[:60]!r}")
            return rows[index:]
    return rows


def without_empty_columns(header: Sequence[str], rows: Sequence[Row], inspection: Inspection) -> list[Row]:
    """The rows without the cells of columns that have neither a name nor a cell, at the end as in the middle.

    Args:
        header: the columns' names, empty where there is none.
        rows: the rows below it.
        inspection: where a column of cells without a name is noted.
    """
    named = [index for index, name in enumerate(header) if name]
    for index in sorted({*range(len(header))} - {*named}):
        line = next((line for line, row in rows if index < len(row) and row[index].strip()), None)
        if line is not None:
            expected = f"a name: there is a cell below it in row {line}"
            inspection.fault(f"header, column {index + 1}", "", expected)
    if len(named) == len(header) and all(len(row) <= len(header) for _, row in rows):
        return list(rows)
    return [(line, _named_cells(row, named, len(header))) for line, row in rows]


def _named_cells(row: Sequence[str], named: Sequence[int], width: int) -> list[str]:
    """The cells of named columns; what stands beyond the header stays where it is no blank, to be told."""
    beyond = row[width:] if any(cell.strip() for cell in row[width:]) else []
    return [*(row[index] for index in named if index < len(row)), *beyond]
