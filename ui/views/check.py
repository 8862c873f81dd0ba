"""As typed: a formula in a table to type into, and what is to be said of it just as it stands."""

import pandas as pd
import streamlit as st
from workbench import papers, parts, proposals, show, state, work
from workbench.state import Key
from workbench.which import Chosen, chosen

from optiform.reading.tables import csv_text
from optiform.review.check import check_against
from optiform.review.measures import setting_of
from optiform.telling.check import checked
from optiform.telling.document import document

FILE = "typed.csv"


def typed(choice: Chosen) -> list[tuple[str, float, str]]:
    """The table, begun from the formula that is chosen; what was typed is there again after a reload."""
    names = [item.name for item in choice.brief.catalogue.ingredients.values()]
    key = f"typed {choice.name} {state.edits()}"
    whole = proposals.lines_of(choice.formula)
    begun, before = st.session_state.get(Key.TYPED, ([], []))
    base = before if begun == whole else whole  # of another formula the table begins anew
    table = st.session_state.setdefault(f"{key} base", pd.DataFrame(base, columns=["ingredient", "%", "phase"]))
    edited = st.data_editor(
        table,
        key=key,
        num_rows="dynamic",
        hide_index=True,
        placeholder="",
        height="content",
        disabled=["phase"],
        column_config={
            "ingredient": st.column_config.SelectboxColumn(options=names, required=True, width=170),
            "%": st.column_config.NumberColumn("% of the jar", min_value=0, max_value=100, format="%.2f"),
        },
    )
    rows = [tuple(row) for row in edited.itertuples(index=False) if row[0] and pd.notna(row[1])]
    lines = [(str(name), float(share), str(phase) if pd.notna(phase) else "") for name, share, phase in rows]
    st.session_state[Key.TYPED] = (whole, lines)
    return lines


def looked_at(choice: Chosen, lines: list[tuple[str, float, str]]) -> None:
    """What is to be said of it as it stands, and what can be done with it."""
    text = csv_text([("ingredient", "percent", "phase"), *lines], exact=True)
    answer = work.reading(FILE, text, lambda path: check_against(path, choice.brief))
    if isinstance(answer, work.Refused):
        show.refused(answer)
        return
    telling = checked(answer, setting_of(choice.brief))
    proposals.actions(answer.reading.formula, choice.name, f"{choice.name}, typed", "typed by hand", "check")
    parts.told(telling, "check")
    papers.downloads("check", lambda: document(telling), telling.table)


st.title("As typed")
st.markdown("Type into the table: this is looked at just as it stands, nothing is moved to make it fit.")
formula = chosen()
if formula is not None:
    left, right = st.columns([5, 8], gap="large")
    with left:
        now = typed(formula)
    with right:
        if now:
            looked_at(formula, now)
