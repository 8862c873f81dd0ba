"""A telling on a page of the workbench: tables to sort and search, sentences as text, charts in the page's ink."""

from typing import Any

import streamlit as st

from optiform.telling.drawing import spec
from optiform.telling.frame import frame
from optiform.telling.parts import Chart, Column, Level, Part, Section, Sentence, Table, Telling
from workbench import show
from workbench.charts import ink

_WARNING = {Level.STOP: (st.error, ":material/block:"), Level.MIND: (st.warning, ":material/warning:")}


def told(telling: Telling, key: str) -> None:
    """The short telling below one another, everything else behind one line each."""
    for section in telling.sections:
        if section.short:
            body(section, f"{key}-{section.name}")
        else:
            with st.expander(show.escape(section.title)):
                body(section, f"{key}-{section.name}", heading=False)


def body(section: Section, key: str, heading: bool = True) -> None:
    """One section under its heading."""
    if section.title and heading:
        st.subheader(show.escape(section.title))
    for number, part in enumerate(section.parts):
        _part(part, f"{key}-{number}")


def _part(part: Part, key: str) -> None:
    if isinstance(part, Table):
        table(part, key)
    elif isinstance(part, Chart):
        fitted = {"type": "fit-x", "contains": "padding"}  # each bar keeps its height
        st.vega_lite_chart({**spec(part, ink()), "autosize": fitted}, key=key)
    else:
        sentence(part)


def sentence(part: Sentence) -> None:
    """A sentence; what weighs stands in a frame with a sign."""
    text = show.escape(part.text)
    if part.level in _WARNING:
        box, sign = _WARNING[part.level]
        box(text, icon=sign)
    elif part.level is Level.NOTE:
        st.caption(text)
    else:
        st.markdown(f"- {text}" if part.bullet else text)


def table(part: Table, key: str) -> None:
    """A table; an inset row begins with a dash, as cells cannot be set in."""
    if not part.rows:
        return
    if part.title:
        st.caption(show.escape(part.title))
    shown = frame(part)
    for row in part.inset:
        shown.iat[row, 0] = "- " + str(shown.iat[row, 0])
    config = {column.words: _column(column) for k, column in enumerate(part.columns) if part.is_numeric(k)}
    unknown = next((column.unknown for column in part.columns if column.unknown), "")
    st.dataframe(shown, hide_index=True, placeholder=unknown, column_config=config, height="content", key=key)


def _column(column: Column) -> Any:
    places = "" if column.places is None else f".{column.places}"
    return st.column_config.NumberColumn(format=f"%{'+' if column.sign else ''}{places}{'f' if places else 'g'}")
