"""Weigh mode: one line or step of a batch a screen, in a component of our own that goes on while the server is away."""

from dataclasses import asdict
from functools import cache
from pathlib import Path

import streamlit as st

from optiform.batch.batch import BatchSheet
from optiform.telling.parts import Column, Section, Sentence, Table
from optiform.telling.weighing import named, screens, weighed
from workbench import parts
from workbench.state import Document, Key

KEY = "weighing"
NONE: Document = {"rev": 0, "at": 0, "done": {}, "typed": {}, "ends": {}}


@cache
def _file(kind: str) -> str:
    return Path(__file__).with_suffix(f".{kind}").read_text(encoding="utf-8")


def weigh(sheet: BatchSheet) -> None:
    """The screens, and below them what was weighed so far as the server has it."""
    shown = screens(sheet)
    batch = named(shown, sheet.title)
    held: Document = st.session_state.setdefault(Key.WEIGHED, {}).get(batch, NONE)
    component = st.components.v2.component(
        KEY, html='<section class="weighing" aria-label="Weigh"></section>', css=_file("css"), js=_file("js")
    )
    component(
        key=f"{KEY} {batch}",
        data={"id": batch, "screens": [asdict(screen) for screen in shown], "held": held},
        on_weighed_change=lambda: _take(batch),
    )
    rows = tuple(weighed(shown, held["done"]))
    if rows:
        columns = Column("weighed"), Column("due, g"), Column("on the scale, g"), Column("lot"), Column("at")
        with st.expander(f"Weighed so far ({len(rows)})"):
            parts.body(Section("weighed", "", (Table(columns, rows),)), "weighed")
            parts.sentence(Sentence("As the server has it. What was ticked while it was away follows by itself."))


def _take(batch: str) -> None:
    """Hold what the browser has, if it is newer than what is held."""
    came: Document | None = st.session_state[f"{KEY} {batch}"].weighed
    held: dict[str, Document] = st.session_state[Key.WEIGHED]
    if came is not None and came["rev"] > held.get(batch, NONE)["rev"]:
        st.session_state[Key.WEIGHED] = {**held, batch: came}
