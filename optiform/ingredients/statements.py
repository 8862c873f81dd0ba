"""The column `supplier statement` of an own table: which conditions of law a supplier confirms, and on what paper."""

import re
from functools import cache

from optiform.reading.tables import shipped

#: The column: `refining history: letter of 2026-03-01; category 3: statement.pdf`.
COLUMN = "supplier statement"
_DAY = r"\b(\d{4}-\d{2}-\d{2}|\d{1,2}[./]\d{1,2}[./]\d{4})\b"
_PAPER = re.compile(rf"{_DAY}|[\w)]\.[A-Za-z]\w{{1,4}}\b")  #: a day, or the name of a file


@cache
def conditions() -> tuple[str, ...]:
    """Every condition on what was bought that a supplier can confirm, as limits.csv names it.

    Example:
        >>> "refining history" in conditions(), "" in conditions()
        (True, False)
    """
    return tuple(sorted({row["statement"] for row in shipped("limits") if row["statement"]}))


def confirmed(cell: str) -> dict[str, str]:
    """What the paper of each confirmed condition is.

    Raises:
        ValueError: a condition that no rule has, one that stands twice, or no day and no file of its paper.

    Example:
        >>> confirmed("refining history: letter of 2026-03-01")
        {'refining history': 'letter of 2026-03-01'}
    """
    papers: dict[str, str] = {}
    for part in filter(None, map(str.strip, cell.split(";"))):
        name, _, paper = (" ".join(words.split()) for words in part.partition(":"))
        name = name.casefold()
        if name not in conditions():
            raise ValueError(f"CONDITION: PAPER, the condition one of {', '.join(conditions())}")
        if not _PAPER.search(paper):
            raise ValueError(f"{name}: with the day of the statement or the name of its file behind it")
        if name in papers:
            raise ValueError(f"{name} once")
        papers[name] = paper
    return papers
