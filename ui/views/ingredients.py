"""Ingredients: every figure with its source and how sure it is; own ingredients and prices in a table."""

from io import StringIO

import pandas as pd
import streamlit as st
from workbench import ownform, papers, parts, show, state, touch, work
from workbench.load import loaded

from optiform.brief.brief import Brief
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.tables import csv_text, restored
from optiform.telling import ingredients as told
from optiform.telling.frame import frame
from optiform.telling.json.ingredients import ingredients as as_json


def browse(brief: Brief) -> None:
    """Search all, look at one."""
    catalogue = brief.catalogue
    words = st.text_input("Search", key="search", placeholder="butter, humectant, polysorbate …")
    names = catalogue.search(words)
    if not names:
        near = show.escape(", ".join(catalogue.near(words)))
        st.info("No ingredient has all of these words." + (f" Near: {near}." if near else ""))
        return
    listing = told.ingredients(names)
    st.caption(listing.title)
    if touch.narrow():
        at = st.selectbox("Look at", range(len(names)), format_func=lambda k: names[k].name, key=f"look {words}")
        one(names[at or 0], brief)
        return
    chosen = st.dataframe(
        frame(listing.table),
        hide_index=True,
        placeholder="",
        height=300,
        on_select="rerun",
        selection_mode="single-row",
        key="list",
    )
    picked = chosen["selection"]["rows"] if chosen else []
    one(names[picked[0]] if picked else names[0], brief)


def one(item: Ingredient, brief: Brief) -> None:
    """Everything known of one ingredient."""
    st.header(show.escape(item.name), anchor=False)
    telling = told.ingredient(item, {key: source.title for key, source in brief.catalogue.sources.items()})
    papers.downloads("ingredient", telling, lambda: as_json([item]))
    parts.told(telling, "ingredient")


def own(brief: Brief) -> None:
    """The maker's own table; it counts once it can be read, and every fault is listed until then."""
    bench = state.bench()
    names = bench.document.get("own_files", [])
    with st.expander("An ingredient of your own, or a price", icon=":material/add:", expanded=not names):
        ownform.own_ingredient(brief)
    if not names:
        st.info("No table of your own yet: the first ingredient you put above makes one.")
        return
    name = str(st.selectbox("File", names, key="own-file"))
    table = pd.read_csv(StringIO(bench.files[name]), dtype=str, keep_default_na=False).map(restored)
    key = f"own {name} {state.edits()}"
    if touch.narrow():
        edited = row_of(table, key)
    else:
        edited = st.data_editor(table, num_rows="dynamic", hide_index=True, placeholder="", key=key)
    left, right = st.columns([1, 3])
    right.download_button("Download (CSV)", csv_text(show.cells(edited)), name, "text/csv", key="own-csv")
    if left.button("Use this table", type="primary", key="use-own", disabled=edited.equals(table)):
        outcome = loaded(bench, name, csv_text(show.cells(edited)))
        if isinstance(outcome, work.Refused):
            show.refused(outcome, "Not used; what was there stays. Everything that is wrong with it:")
        else:
            state.replace_bench(outcome, f"own table {name}" if len(names) > 1 else "own table")
            st.rerun()


def row_of(table: pd.DataFrame, key: str) -> pd.DataFrame:
    """The table on a phone: one row of it as fields; what was typed into other rows stays."""
    names = table.iloc[:, 0].tolist()
    row = st.selectbox("Row", range(len(names)), format_func=names.__getitem__, key=f"{key} row")
    typed: dict[tuple[int, int], str] = st.session_state.setdefault(f"{key} typed", {})
    for place, column in enumerate(table.columns if row is not None else ()):
        at = (row or 0, place)
        now = typed.get(at, table.iat[at])
        typed[at] = str(st.text_input(str(column), now, key=f"{key} {row} {column}"))
    edited = table.copy()
    for at, text in typed.items():
        edited.iat[at] = text
    return edited


st.title("Ingredients", anchor=False)
read = work.brief(state.bench())
if isinstance(read, work.Refused):
    show.refused(read)
else:
    catalogue_tab, own_tab = st.tabs(["All ingredients", "My own and prices"])
    with catalogue_tab:
        browse(read)
    with own_tab:
        own(read)
