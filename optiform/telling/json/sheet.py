"""A page on which the formula follows the limits, as plain data."""

from pathlib import Path
from typing import NamedTuple

from optiform.design.answer import NoFormula
from optiform.design.sheet import Sheet
from optiform.telling.json.basic import SIDE, formula
from optiform.telling.json.design import IMPOSSIBLE
from optiform.telling.json.form import Data, Either, answer, key, many, number, record, text, truth


class _Written(NamedTuple):
    """A sheet, and the page that it was written to."""

    sheet: Sheet
    page: Path


_LIMIT = record(
    text("limit", "demand.name"), key("side", SIDE, "demand.side"), number("target", "demand.target"),
    text("unit", "demand.unit"), number("from", "low"), number("to", "high"), truth("nothing_below", "ends_low"),
    truth("nothing_above", "ends_high"),
)  # fmt: skip
WRITTEN = answer(
    ["written"], text("title", "sheet.brief.title"), text("file", "page"), formula(get="sheet.start.formula"),
    many("limits", _LIMIT, "sheet.sliders"),
)  # fmt: skip
SHEET = Either((WRITTEN, IMPOSSIBLE), lambda of: int(isinstance(of, NoFormula)))


def sheet(answer: Sheet | NoFormula, page: Path) -> Data:
    """The formula that the page begins with, and how far each limit can be moved on it."""
    said: Data = SHEET.said(answer if isinstance(answer, NoFormula) else _Written(answer, page))
    return said
