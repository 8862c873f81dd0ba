"""The files beside the brief: taken in as text only if they can be read, written from what was typed into fields."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import TypeVar

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.elements.lib.column_types import ColumnConfig

from optiform.reading.documents import Document
from optiform.reading.encodings import decoded
from optiform.reading.faults import BadInput
from optiform.reading.plain import json_text
from optiform.telling.document import document
from optiform.telling.frame import comma_separated
from optiform.telling.json import Data
from optiform.telling.parts import Telling
from workbench import show, state, typed, work
from workbench.cards import card

T = TypeVar("T")
Reader = Callable[[Path], object]


def taken(name: str, text: str, reader: Reader, labels: Mapping[str, str] = MappingProxyType({})) -> None:
    """Put a text on the bench if it can be read; else tell every fault, and what was there stays.

    Args:
        name: of the paper.
        text: what it is to say.
        reader: that reads it.
        labels: what a place of the file is called in the fields it was typed into.
    """
    outcome = work.reading(name, text, reader)
    if isinstance(outcome, work.Refused):
        told = (_as_labelled(fault, name, labels) for fault in outcome.faults)
        show.refused(work.Refused(tuple(told)), "Not used; what was there stays. Everything that is wrong with it:")
        return
    if text == state.bench().papers.get(name):
        st.caption("That is what stands here already.")
        return
    state.put_paper(name, text)
    typed.forget(unused(name))
    st.rerun()


def _as_labelled(fault: str, name: str, labels: Mapping[str, str]) -> str:
    """A fault of a file with the label of its field, where it was typed into one."""
    place, colon, words = fault.removeprefix(f"{name}: ").partition(": ")
    return f"{labels[place]}{colon}{words}" if place in labels else fault


def standing(name: str, reader: Callable[[Path], T]) -> T | None:
    """What a paper says as it stands on the bench; None while it is at fault, which is told."""
    outcome = work.reading(name, state.bench().papers.get(name, ""), reader)
    if isinstance(outcome, work.Refused):
        show.refused(outcome)
        return None
    return outcome


def details(
    name: str, title: str, icon: str, opened: bool, key: str, tab: str, form: Callable[[], object], reader: Reader
) -> None:  # fmt: skip
    """All of a paper to look at and change, in a tab of fields and as the file: drawn when opened or typed into."""
    inside = card(title, key, f":material/{icon}:", opened or typed.is_held(unused(name)))
    if inside is None:
        return
    with inside:
        shipped(name)
        fields, text = st.tabs([tab, "As a file"])
        with fields:
            form()
        with text:
            as_file(name, reader)


def unused(name: str) -> str:
    """How the names begin under which is held what is typed into the fields of a paper and not used yet."""
    return typed.of_product(f"{name}, ")


def figure(
    place: DeltaGenerator, label: str, name: str, key: str, now: float | None,
    low: float | None = None, high: float | None = None, empty: str | None = None, whole: bool = False,
) -> float | None:  # fmt: skip
    """A field for a figure of a paper that can be left empty; what is typed into it is held until it is used.

    Args:
        place: where it stands.
        label: of the field.
        name: of the paper.
        key: of the figure.
        now: what the paper says; None where it says nothing.
        low: the least that can be typed.
        high: the most.
        empty: what counts where nothing is typed.
        whole: whether it is a count.
    """
    form, step = ("%d", 1) if whole else ("%g", None)
    field = typed.field(f"{key} {state.edits()}", name=f"{unused(name)}{key}", first=now)
    return place.number_input(label, low, high, None, step, form, placeholder=empty, **field)


def table(
    place: DeltaGenerator, rows: typed.Rows, name: str, key: str,
    columns: Mapping[str, ColumnConfig | None], fixed: Sequence[str] = (),
) -> pd.DataFrame:  # fmt: skip
    """A table of a paper; what is typed into it is held until it is used."""
    return typed.table(place, rows, f"{key} {state.edits()}", f"{unused(name)}{key}", columns, fixed)


def handed_in(name: str) -> bool:
    """Whether the fields of a paper are handed in; what is typed and not used yet can be given up."""
    row = st.container(horizontal=True, vertical_alignment="center")
    sent = row.button("Use these", type="primary", key=f"use fields {name}")
    if typed.is_held(unused(name)):
        row.button("Back to what counts now", key=f"give up {name}", type="tertiary", on_click=_give_up, args=(name,))
        row.caption("Some of it is typed and does not count yet.")
    return sent


def _give_up(name: str) -> None:
    typed.forget(unused(name))
    state.lay_anew()


def as_file(name: str, reader: Reader) -> None:
    """The file as text: to edit, to load, to take along."""
    text = state.bench().papers.get(name, "")
    given = st.file_uploader(f"Load {name}", type="toml", key=f"load {name} {state.edits()}")
    if given is not None:
        try:
            taken(name, decoded(given.getvalue(), name), reader)
        except BadInput as bad:
            st.error(f"Not used; what was there stays. {show.escape(str(bad))}")
    edited = st.text_area(name, text, height=320, key=f"text {name} {state.edits()}")
    left, right = st.columns(2)
    if left.button("Use this text", type="primary", key=f"use {name}", disabled=edited == text):
        taken(name, edited, reader)
    right.download_button(f"Download {name}", text, name, "text/plain", key=f"save-{name}", disabled=not text)


def grid(count: int, across: int) -> list[DeltaGenerator]:
    """So many places, row after row: on a phone, where all stand below one another, they keep their order."""
    return [place for _ in range(0, count, across) for place in st.columns(across, vertical_alignment="bottom")]


def shipped(name: str) -> None:
    """Says so where the figures are the demo's."""
    if state.bench().papers.get(name) == state.demo().papers[name]:
        st.caption(f"{name} is the demo's, its figures are invented. Put in your own before you rely on this.")


# -- rows of an edited table -------------------------------------------------------------------------------------------


def rows(frame: pd.DataFrame) -> Iterator[tuple[int, Document]]:
    """What stands in an edited table: the number of each row and its cells, without empty cells and empty rows."""
    for number, row in frame.iterrows():
        cells = {str(name): cell for name, cell in row.items() if not (pd.isna(cell) or cell == "")}
        if cells:
            yield int(str(number)), cells


# -- to take along -----------------------------------------------------------------------------------------------------


def downloads(name: str, telling: Telling, data: Callable[[], Data], foot: str = "", text: str = "") -> None:
    """The document to print, its table, all of the answer for other programs, and where there is one its plain text.

    Page and data are made when they are asked for. The labels are short: a phone has all three in one line.

    Args:
        name: of the files.
        telling: what page and table are made of.
        data: the answer as `optiform` writes it with `--json`.
        foot: what each printed page has at its foot.
        text: the plain text.
    """
    cells, row = comma_separated(telling.table), st.container(horizontal=True)
    given = (
        ("Print (HTML)", lambda: document(telling, foot), "html", "text/html"),
        ("Table (CSV)", cells, "csv", "text/csv"),
        ("Data (JSON)", lambda: json_text(data()), "json", "application/json"),
        ("Plain text", text, "txt", "text/plain"),
    )
    for label, content, end, mime in given:
        if content:
            row.download_button(label, content, f"{name}.{end}", mime, key=end, on_click="ignore")
