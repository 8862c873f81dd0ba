"""A telling on a page of the workbench: tables to sort and search, sentences as text, charts in the page's ink."""

import re
from collections.abc import Sequence
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from itertools import groupby

import pandas as pd
import streamlit as st
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.telling.drawing import spec
from optiform.telling.measured import SURE
from optiform.telling.parts import Cell, Chart, Column, Level, Part, Section, Sentence, Table, Telling, number, readable
from workbench import show, touch
from workbench.cards import card
from workbench.charts import colours, ink
from workbench.wording import on_page

#: A head, or the end of one, that is a unit and no part of a name.
UNIT = re.compile(r"(?:[A-Z]{3}|k?g|mL|mm|min|h|°C|%)(?:[ /].*)?")
UNITS = ("of", "unit", "currency")  # heads of columns that have the unit of the figures before them
TO = "to"  # the head of the end of a range, behind that of its beginning
NARROW = 3  # columns of such a table that a phone has room for
LONG = 70  # characters of a text that a cell of a sortable table would cut
PHONE = 340  # pixels of a phone's width that a table has
CHARACTER, CELL = 7.0, 18  # pixels
MEASURED = 10  # rows by which the browser takes how wide a column is
OUTLYING = 2.0  # times their mean: a text as long as that the browser leaves out there
ANSWERS = ("yes", "no", *SURE.values())
_WARNING = {Level.STOP: (st.error, ":material/block:"), Level.MIND: (st.warning, ":material/warning:")}


def told(telling: Telling, key: str) -> None:
    """The short telling below one another, everything else behind one line each, drawn when that is opened."""
    for section in telling.sections:
        if section.paper:
            continue
        if section.short or not section.title:
            body(section, f"{key}-{section.name}")
        elif inside := card(show.escape(section.title), f"{key}-{section.name} behind"):
            with inside:
                body(section, f"{key}-{section.name}", heading=False)


def after_figures(telling: Telling) -> Telling:
    """A telling without its first sentence: for a page that shows what it says as large figures."""
    first, *rest = telling.sections
    return replace(telling, sections=(replace(first, parts=first.parts[1:]), *rest))


def body(section: Section, key: str, heading: bool = True, wrap: bool = False) -> None:
    """One section under its heading; `wrap`: as of `table`."""
    if section.title and heading:
        st.header(show.escape(section.title), anchor=False)
    for _, run in groupby(enumerate(section.parts), key=lambda numbered: _alike(numbered[1])):
        numbers, parts = zip(*run, strict=True)
        _parts(parts, f"{key}-{numbers[0]}", wrap)


def _alike(part: Part) -> object:
    """What is the same of sentences that follow one another and are sent to the page as one text."""
    return part.level if isinstance(part, Sentence) and part.level not in _WARNING else id(part)


def _parts(parts: Sequence[Part], key: str, wrap: bool) -> None:
    """A table, a chart, or sentences that are alike."""
    first, *_ = parts
    if isinstance(first, Table):
        table(first, key, wrap)
    elif isinstance(first, Chart):
        chart(first, key)
    else:
        sentences([part for part in parts if isinstance(part, Sentence)])


def chart(part: Chart, key: str) -> None:
    """A chart in the ink of the page; nothing where there is nothing to draw."""
    if part.data.rows:
        fitted = {"type": "fit-x", "contains": "padding"}  # each bar keeps its height
        st.vega_lite_chart({**spec(part, ink(), colours()), "autosize": fitted}, key=key)


def sentence(part: Sentence) -> None:
    """A sentence; what weighs stands in a frame with a sign."""
    sentences([part])


def sentences(parts: Sequence[Sentence]) -> None:
    """Sentences of one level, each a paragraph; of what weighs there is one."""
    level = parts[0].level
    texts = [show.escape(on_page(part.text)) for part in parts]
    if level in _WARNING:
        box, sign = _WARNING[level]
        box(texts[0], icon=sign)
    elif level is Level.NOTE:
        st.caption("\n\n".join(texts))
    else:
        st.markdown("\n\n".join(f"- {text}" if part.bullet else text for part, text in zip(parts, texts, strict=True)))


def table(part: Table, key: str, wrap: bool = False) -> None:
    """A table; an inset row begins with a dash, as cells cannot be set in. `wrap`: it stands where there is no room."""
    part = _headed(part.on_screen())
    if not part.rows:
        return
    if part.title:
        st.caption(show.escape(part.title))
    texts = list(zip(*part.texts, strict=True))
    if wrap or any(len(text) > LONG for column in texts for text in column) or (touch.narrow() and width(part) > PHONE):
        _wrapped(part, key)
        return
    numbers = [part.is_numeric(k) for k in range(len(part.columns))]
    cells = [_shown(part, k, numeric) for k, numeric in enumerate(numbers)]
    for row in part.inset:
        cells[0][row] = f"- {cells[0][row]}"
    shown = pd.DataFrame(dict(enumerate(cells)))  # column by column: row by row takes ten times as long
    shown.columns = pd.Index([column.words for column in part.columns])
    config = {
        column.words: _column(column) if numeric else st.column_config.Column(width=late_width(words))
        for column, words, numeric in zip(part.columns, texts, numbers, strict=True)
    }
    unknown = next((column.unknown for column in part.columns if column.unknown), "")
    st.dataframe(shown, hide_index=True, placeholder=unknown, column_config=config, height="content", key=key)


def _shown(part: Table, place: int, numeric: bool) -> list[Cell]:
    """The cells of a column as the page shows them."""
    cells, places = [row[place] for row in part.rows], part.columns[place].places
    if numeric:
        return [as_printed(places, cell) if isinstance(cell, int | float) else None for cell in cells]
    return [readable(cell) if isinstance(cell, str) else cell for cell in cells]


def as_printed(places: int | None, cell: float | None) -> float | None:
    """A cell of a table that the browser rounds; where it would print another figure than all else does, that figure.

    It rounds the number in binary, half of it up; what prints as 0 has a sign there.

    >>> as_printed(None, 0.123456), as_printed(2, -0.0004), as_printed(2, -1.2345)
    (0.1235, 0.0, -1.2345)
    >>> as_printed(2, 5.625), as_printed(2, 2.675)  # a browser makes 5.63 and 2.67 of these
    (5.62, 2.68)
    """
    if cell is None:
        return None
    printed = number(cell, places)
    if places is not None and f"{Decimal(cell).quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}" == printed:
        return cell
    return float(printed)


def width(part: Table) -> float:
    """How wide a table would be with all its texts on one line each, pixels."""
    return sum(CHARACTER * max(map(len, column)) + CELL for column in zip(*part.texts, strict=True))


def late_width(texts: Sequence[str]) -> int | None:
    """How wide a column has to be, pixels, for a text that the browser does not measure; None where none is longer.

    It measures neither below the first rows nor what is far longer than the others of these. `texts`: its head first.

    >>> names = ["ingredient", *["water"] * 10, "tetrasodium glutamate diacetate, 40 %"]
    >>> late_width(names), late_width(names[:1] + names[-6:])
    (277, 277)
    >>> late_width(names[:11])
    """
    head, *rows = map(len, texts)
    longest = max(rows, default=0)
    first = rows[:MEASURED]
    measured = [one for one in first if one < OUTLYING * sum(first) / len(first)]
    return round(CHARACTER * longest + CELL) if longest > max([head, *measured]) else None


def _headed(part: Table) -> Table:
    """The table with a word over the column of its units, which stands bare on paper: a screen reader reads each."""
    return replace(part, columns=tuple(column if column.words else Column("of") for column in part.columns))


def _stacked(part: Table, key: str) -> None:
    """A table on a phone that has no room for it: a row below the other, each cell with its head.

    A text that every row has says by itself what it is, but for an answer to its head, as yes, or how sure it is.
    """
    heads, *rows = ([show.escape(readable(cell)) for cell in row] for row in part.texts)
    plain = {k for k in range(1, len(heads)) if all(row[k][:1].isalpha() and row[k] not in ANSWERS for row in rows)}
    with st.container(key=key, gap="small"):
        for first, *rest in rows:
            first = headed(heads[0], first) if _figure(first) else first
            cells = [(k, cell) for k, cell in enumerate(rest, 1) if cell.strip(" -\\")]
            told = in_line([(heads[k], cell, cell if k in plain else headed(heads[k], cell)) for k, cell in cells])
            st.markdown("  \n".join(filter(None, (f"**{first}**" if first.strip() else "", told))))


def in_line(cells: Sequence[tuple[str, str, str]]) -> str:
    """Cells behind one another, each as its head, its text and both; a unit follows its figure, the end its beginning.

    >>> in_line([("today", "12.4", "today 12.4"), ("option 1", "13.9", "option 1: 13.9"), ("of", "parts", "of: parts")])
    'today 12.4 · option 1: 13.9 parts'
    >>> in_line([("could be from", "51", "could be from 51"), ("to", "526", "to 526")])
    'could be from 51 to 526'
    """
    told = ""
    for head, cell, both in cells:
        follows = told[-1:].isdigit() and (head in UNITS or head == TO)
        told += f" {cell if head in UNITS else both}" if follows else f"{' · ' if told else ''}{both}"
    return told


def headed(head: str, cell: str) -> str:
    """A cell with what stands above it: a unit behind its figure, other words before.

    >>> headed("weigh, g", "1097"), headed("% of the jar", "27.42"), headed("°C", "72"), headed("typical", "0.97")
    ('weigh 1097 g', '27.42 % of the jar', '72 °C', 'typical 0.97')
    >>> headed("result", "soft in the cold"), headed("10 °C", "134"), headed("option 1", "13.9")
    ('result: soft in the cold', '10 °C: 134', 'option 1: 13.9')
    >>> headed("no.", "1*")
    'no. 1*'
    """
    if not _figure(cell) or head[:1].isdigit() or head[-1:].isdigit():
        return f"{head}: {cell}"
    what, _, unit = head.rpartition(", ")
    if what and not UNIT.fullmatch(unit):
        return f"{head} {cell}"
    behind = bool(what) or UNIT.fullmatch(head) is not None
    return " ".join(filter(None, (what, cell, unit))) if behind else f"{head} {cell}"


def _figure(cell: str) -> bool:
    return cell.replace("\\", "").replace(".", "").lstrip("+-").rstrip("*").isdigit()


def _wrapped(part: Table, key: str) -> None:
    """A table of long texts: set as it stands, so that they wrap and can be read whole."""
    if touch.narrow() and len(part.columns) > NARROW:
        _stacked(part, key)
        return
    head, *rows = ([show.escape(readable(cell)) for cell in row] for row in part.texts)
    for row in part.inset:
        rows[row][0] = f"- {rows[row][0]}"
    for row in part.strong:
        rows[row] = [f"**{cell}**" if cell.strip() else cell for cell in rows[row]]
    lines = pd.DataFrame(rows, columns=head)
    with st.container(key=key):
        st.table(lines.set_index(head[0]), border="horizontal")


def _column(column: Column) -> ColumnConfig:
    places = "" if column.places is None else f".{column.places}"
    return st.column_config.NumberColumn(format=f"%{'+' if column.sign else ''}{places}{'f' if places else 'g'}")
