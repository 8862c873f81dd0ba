"""A product that is begun: its files made from what the maker said, judged as any are, and put on the bench."""

from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from optiform.brief.new import SHELF, OnShelf, Start, brief_text, shelf_text
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Basis, Reading, read_formula
from optiform.reading.tables import csv_text
from workbench import load, products, show, state, typed, work
from workbench.proposals import TODAY_FILE
from workbench.state import BRIEF_FILE, Bench, Key
from workbench.work import Refused

Lines = Sequence[tuple[str, float, str]]  # ingredient, amount, phase


def files_of(start: Start, shelf: Sequence[OnShelf], today: str = "") -> dict[str, str]:
    """The files of a new product: brief, the table of its shelf if there is one, and today's formula."""
    priced = bool(shelf)
    named = replace(start, own_files=(SHELF,) if priced else (), today=TODAY_FILE if today else "")
    files = {BRIEF_FILE: brief_text(named)}
    return (
        files | ({SHELF: shelf_text(shelf, start.currency)} if priced else {}) | ({TODAY_FILE: today} if today else {})
    )


def begin(files: dict[str, str], words: str) -> None:
    """Put the product on the bench and go there; or show everything that is wrong."""
    name = BRIEF_FILE
    taken = load.judged(Bench(files[name], {key: text for key, text in files.items() if key != name}, {}, name))
    if isinstance(taken, Refused):
        show.refused(taken)
        return
    products.start(taken.bench, words, demo=False, keep=True)
    st.session_state[Key.NEW] = None
    typed.forget("new-")
    st.switch_page("views/bench.py")


def reading(lines: Lines, column: str, basis: Basis | None, catalogue: Catalogue) -> Reading | Refused:
    """A formula as it is read from its lines: shares of the whole, and what was made of its sum."""
    text = csv_text([("ingredient", column, "phase"), *lines], exact=True)
    return work.reading(TODAY_FILE, text, lambda path: read_formula(path, catalogue, basis))


def copied(where: str, name: str, title: str) -> None:
    """A copy of another product under a title of its own, as it stands in the records now."""
    opened = products.look_at(where, name)
    if isinstance(opened, Refused):
        show.refused(opened)
        return
    document = dict(opened.document) | {"title": title}
    products.start(opened.saying(document), f"a copy of {name}", demo=False, keep=True)
    typed.forget("new-")
    state.tell(f"A copy of {name}; the other stays as it is.")
    st.switch_page("views/bench.py")
