"""One decimal sign in one table. With both, a thousand may be read as one, or one as a thousand."""

import re
from collections.abc import Iterable

from optiform.reading.faults import Fault, Inspection

#: Columns of words, in which figures are parts of names.
WORDS = frozenset(
    ("ingredient", "inci", "synonyms", "note", "supplier", "supplier_lot", "number", "name", "date", "received",
     "expiry", "phase", "functions", "origin", "aim", "changed", "reason", "photo", "supplier statement")
)  # fmt: skip
_CELL = re.compile(r"(?:[€£¥₹$]|[A-Za-z]{3})? ?[-+]?(\d[\d ]*(?:[.,]\d+)+) ?[A-Za-zµ%°€£¥₹$/ ]{0,15}")
_LONGEST = 60  # characters of a quantity


def refuse_both(cells: Iterable[tuple[str, str, str]], inspection: Inspection) -> None:
    """Note where one table has numbers with a decimal comma and others with a decimal point.

    Args:
        cells: place, column and text of each.
        inspection: where it is noted.
    """
    first: dict[str, str] = {}
    numbers = [(place, cell) for place, column, cell in cells if column not in WORDS and ("," in cell or "." in cell)]
    if not any("," in cell for _, cell in numbers):
        return
    for place, cell in numbers:
        for part in cell.split(" to ") if len(cell) <= _LONGEST else ():
            if (match := _CELL.fullmatch(part.strip())) and (sign := decimal_sign(match[1])):
                first.setdefault(sign, f"{cell} ({place})")
    if len(first) > 1:
        read, expected = f"{first[',']} and {first['.']}", "one decimal sign in the whole table, a comma or a point"
        inspection.faults.append(Fault(inspection.file, "decimal signs", read, expected))


def decimal_sign(number: str) -> str:
    """The sign that can only be, or is read as, a decimal sign; empty where a number has none.

    Example:
        >>> [decimal_sign(number) for number in ("1,5", "1.234,5", "1.25", "1,234", "0,125")]
        [',', ',', '.', '', ',']
    """
    commas, points = number.count(","), number.count(".")
    if commas and points:
        return "," if number.rfind(",") > number.rfind(".") else "."
    if commas == 1:
        whole, part = number.split(",")
        return "" if len(part) == 3 and whole != "0" else ","
    return "." if points == 1 else ""
