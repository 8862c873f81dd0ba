"""A row more in the text of a maker's own table, or other cells of a row that is there; all else stays as written."""

import csv
from collections.abc import Mapping
from io import StringIO

from optiform.ingredients.columns import named
from optiform.reading.faults import Inspection
from optiform.reading.layout import separator_of
from optiform.reading.tables import csv_text, restored, split

NAME = "ingredient"


def with_row(text: str, cells: Mapping[str, str], place: str = "own table") -> str:
    r"""The table with these cells in the row of their `ingredient`: another one where none has that name.

    Args:
        text: of the table; empty for a new one.
        cells: by column; a unit stands in the cell or in the column's name. Empty ones leave what is there.
        place: for faults.

    Raises:
        BadInput: the text is no table.

    Example:
        >>> print(with_row("ingredient,stock (kg)\nglycerin,6", {"ingredient": "rose water", "phase": "water phase"}))
        ingredient,stock (kg),phase
        glycerin,6,
        rose water,,water phase
        <BLANKLINE>
    """
    header, rows = split(text, Inspection(place)) if text.strip() else ([NAME], [])
    head = _as_written(text, header)
    said = {column: cell for column, cell in cells.items() if cell}
    places = {column: _place(column, head) for column in said}
    table = [[*(restored(cell) for cell in row), *[""] * (len(head) - len(row))] for _, row in rows]
    key = places[NAME]
    wanted = said[NAME].casefold()
    row = next((row for row in table if row[key].strip().casefold() == wanted), None)
    if row is None:
        row = [""] * len(head)
        row[key] = said[NAME]
        table.append(row)
    for column in said.keys() - {NAME}:
        row[places[column]] = said[column]
    return csv_text([head, *table])


def _as_written(text: str, header: list[str]) -> list[str]:
    """The header's names with their capitals; as they are read where the row is not found again."""
    separator, text = separator_of(text, (NAME,))
    for row in csv.reader(StringIO(text), delimiter=separator):
        names = [" ".join(restored(cell).split()) for cell in row if cell.strip()]
        if [name.lower() for name in names] == header:
            return names
    return [*header]


def _place(column: str, head: list[str]) -> int:
    """Where a column stands, put at the end where there is none; one may have its unit in its name."""
    plain = named(column.lower())[0]
    known = next((k for k, name in enumerate(head) if named(name.lower())[0] == plain), None)
    if known is None:
        head.append(column)
        return len(head) - 1
    return known


def with_price(
    text: str, name: str, written: Mapping[str, str], price: float, currency: str, pack: float | None
) -> str:
    r"""The table with another price of an ingredient; where its packs are priced, that of its pack.

    Args:
        text: of the table.
        name: of the ingredient.
        written: names as the table writes them, by the ingredient's own.
        price: per kg, in the currency.
        currency: its code.
        pack: its mass in kg, where that is known.

    Raises:
        BadInput: the text is no table.

    Example:
        >>> table = "ingredient,pack price (EUR),pack (kg)\nglycerin,21.00,5\n"
        >>> print(with_price(table, "glycerin", {}, 4.0, "EUR", 5.0))
        ingredient,pack price (EUR),pack (kg)
        glycerin,20,5
        <BLANKLINE>
    """
    header, _ = split(text, Inspection("own table")) if text.strip() else ([NAME], [])
    columns = {named(column.lower())[0] for column in header}
    by_pack = pack is not None and "pack price" in columns
    column, figure = (
        (f"pack price ({currency})", price * (pack or 1.0)) if by_pack else (f"price ({currency}/kg)", price)
    )
    return with_row(text, {NAME: written.get(name, name), column: f"{figure:.9g}"})
