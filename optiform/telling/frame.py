"""Tables of a telling as data frames and as CSV: plain values, nothing rounded."""

from __future__ import annotations

from typing import TYPE_CHECKING

from optiform.reading.tables import csv_text
from optiform.telling.parts import Table

if TYPE_CHECKING:
    import pandas as pd


def frame(table: Table) -> pd.DataFrame:
    """The table as a data frame, a column for each head with its unit.

    Example:
        >>> from optiform.telling.parts import Column
        >>> frame(Table((Column("ingredient"), Column("share", "%")), (("water", 70.0),))).to_dict("records")
        [{'ingredient': 'water', 'share, %': 70.0}]
    """
    import pandas as pd

    return pd.DataFrame(list(table.rows), columns=[column.words for column in table.columns])


def comma_separated(table: Table) -> str:
    """The table as CSV that a spreadsheet opens; an empty cell is not known."""
    return csv_text([[column.words for column in table.columns], *table.rows])
