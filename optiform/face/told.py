"""Answers told in a notebook and in files: a data frame, a chart, a page."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING

from optiform.batch.batch import BatchSheet
from optiform.design.alternatives import Alternatives
from optiform.design.explore import TradeOff
from optiform.design.price_moves import PriceUncertainty
from optiform.design.protect import Protected
from optiform.design.stepped import Stepped
from optiform.ingredients.catalogue import read_catalogue
from optiform.label.declare import Declaration
from optiform.reading.faults import Absent
from optiform.reading.output import Output
from optiform.review.answer import Checked, Formulated
from optiform.review.measures import Setting, setting_of
from optiform.telling import batch, document, drawing, frame
from optiform.telling.check import checked
from optiform.telling.declare import declaration
from optiform.telling.explore import explore
from optiform.telling.facts import in_words
from optiform.telling.parts import Chart, Column, Section, Table, Telling

if TYPE_CHECKING:
    import pandas

    from optiform.reading.answer import Answer

#: Class of an answer to the module and the function of telling/ that tell it, where it needs nothing beside it.
TELLERS: Mapping[str, tuple[str, str]] = {
    "BatchSheet": ("batch", "batch"),
    "CheaperOptions": ("cheaper", "cheaper"),
    "Cliffs": ("cliffs", "cliffs"),
    "Comparison": ("compare", "compared"),
    "CostSheet": ("costs", "costs"),
    "Designed": ("design", "designed"),
    "NoFormula": ("impossible", "impossible"),
    "NoRange": ("range", "range_design"),
    "Purchases": ("buy", "buy"),
    "RangeAnswer": ("range", "range_design"),
    "Substitutes": ("substitute", "substitute"),
    "Texture": ("texture", "texture"),
    "Unobtainable": ("buy", "buy"),
    "Unweighable": ("weigh", "unweighable"),
    "Weighed": ("weigh", "weighed"),
    "WhyNot": ("why_not", "why_not"),
}
ENDINGS = (".html", ".csv", ".svg", ".png")


def telling(answer: Answer) -> Telling:
    """The answer told in parts.

    Raises:
        LookupError: telling/ has no words for its class.
    """
    name = type(answer).__name__
    if name in TELLERS:
        module, function = TELLERS[name]
        tell: Callable[[Answer], Telling] = getattr(import_module(f"optiform.telling.{module}"), function)
        return tell(answer)
    if isinstance(answer, TradeOff | Stepped | Alternatives | PriceUncertainty | Protected):
        return explore(answer.brief.title, (answer,))
    if isinstance(answer, Checked):
        return checked(answer, setting_of(answer.brief) if answer.brief else Setting())
    if isinstance(answer, Declaration):
        return declaration(answer, read_catalogue().sources)
    if isinstance(answer, Formulated):
        return _option(answer)
    raise LookupError(f"{name} is not told")


def _option(answer: Formulated) -> Telling:
    """One option of an answer: its formula."""
    columns = (Column("ingredient"), Column("phase"), Column("share", "% of the jar"))
    rows = tuple((x.ingredient.name, x.phase, 100 * x.fraction) for x in answer.formula.lines)
    lines = Table(columns, rows)
    return Telling(answer.formula.name, (Section("formula", "", (lines,)),), lines)


def table(answer: Answer) -> pandas.DataFrame:
    """The answer as a data frame."""
    return frame.frame(telling(answer).table)


def chart(answer: Answer) -> object:
    """The answer's first chart.

    Raises:
        Absent: it has none.
    """
    return drawing.draw(_chart(answer))


def save(answer: Answer, path: Path, force: bool) -> None:
    """The answer in a file, by its ending; see `Answer.save`."""
    Output("save", path, force, ENDINGS, forcing="force=True").save(lambda place: _write(answer, place, path.suffix))


def fragment(answer: Answer) -> str:
    """The answer as HTML within a page."""
    return document.fragment(telling(answer))


def _write(answer: Answer, place: Path, ending: str) -> None:
    if ending == ".csv":
        place.write_text(frame.comma_separated(telling(answer).table), encoding="utf-8")
    elif ending == ".html":
        place.write_text(_page(answer), encoding="utf-8")
    else:
        drawing.write(_chart(answer), place)


def words_of(part: object) -> str:
    """A part of an answer, such as a warning, in words."""
    return in_words(part)


def _page(answer: Answer) -> str:
    words = telling(answer)
    return document.document(words, batch.running(answer) if isinstance(answer, BatchSheet) else "")


def _chart(answer: Answer) -> Chart:
    charts = telling(answer).charts
    if not charts:
        raise Absent(f"{type(answer).__name__} has no chart")
    return charts[0]
