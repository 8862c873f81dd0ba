"""Answers told in a notebook and in files: a data frame, a chart, a page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from optiform.face.plain import chart_of, table_of
from optiform.reading.output import Output
from optiform.telling import document, drawing, frame, page
from optiform.telling.parts import Chart, Table, Telling

if TYPE_CHECKING:
    import pandas

    from optiform.reading.answer import Answer

#: Class of an answer to the module and the function of telling/ that tell it.
TELLERS: Mapping[str, tuple[str, str]] = {
    "Alternatives": ("explore", "alternatives"),
    "BatchSheet": ("batch", "batch_sheet"),
    "Comparison": ("compare", "compared"),
    "CostSheet": ("costs", "costs"),
    "Declaration": ("declare", "drafted"),
    "Designed": ("design", "designed"),
    "Impossible": ("design", "impossible"),
    "CheaperOptions": ("around", "cheaper"),
    "PriceUncertainty": ("explore", "price_uncertainty"),
    "Protected": ("explore", "protected"),
    "Purchases": ("buy", "purchases"),
    "Substitutes": ("around", "substitutes"),
    "Texture": ("around", "texture"),
    "TradeOff": ("explore", "trade_off"),
    "Unobtainable": ("buy", "unobtainable"),
    "Unweighable": ("weigh", "unweighable"),
    "Weighed": ("weigh", "weighed"),
}
ENDINGS = (".html", ".csv", ".svg", ".png")


def telling(answer: Answer) -> Telling | str:
    """The answer told in parts; where telling/ has it as text only, that text."""
    name = type(answer).__name__
    if name not in TELLERS:
        return repr(answer)
    module, function = TELLERS[name]
    tell: Callable[[Answer], Telling | str] = getattr(import_module(f"optiform.telling.{module}"), function)
    return tell(answer)


def table(answer: Answer) -> pandas.DataFrame:
    """The answer as a data frame."""
    return frame.frame(_table(answer))


def chart(answer: Answer) -> object:
    """The answer's first chart.

    Raises:
        LookupError: it has none.
    """
    return drawing.draw(_chart(answer))


def save(answer: Answer, path: Path, force: bool) -> None:
    """The answer in a file, by its ending; see `Answer.save`."""
    Output("save", path, force, ENDINGS).save(lambda place: _write(answer, place, path.suffix))


def fragment(answer: Answer) -> str:
    """The answer as HTML within a page."""
    told = telling(answer)
    return document.fragment(told) if isinstance(told, Telling) else page.text_block(told)


def _write(answer: Answer, place: Path, ending: str) -> None:
    if ending == ".csv":
        place.write_text(frame.comma_separated(_table(answer)), encoding="utf-8")
    elif ending == ".html":
        place.write_text(_page(answer), encoding="utf-8")
    else:
        drawing.write(_chart(answer), place)


def _page(answer: Answer) -> str:
    told = telling(answer)
    if isinstance(told, Telling):
        return document.document(told)
    title = told.strip().partition("\n")[0]
    return page.page(title, page.text_block(told))


def _table(answer: Answer) -> Table:
    told = telling(answer)
    return told.table if isinstance(told, Telling) else table_of(answer)


def _chart(answer: Answer) -> Chart:
    told = telling(answer)
    charts = told.charts if isinstance(told, Telling) else ()
    drawn = charts[0] if charts else chart_of(answer)
    if drawn is None:
        raise LookupError(f"{type(answer).__name__} has no chart")
    return drawn
