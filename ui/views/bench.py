"""The workbench: the brief on one side, the formula that answers it on the other."""

import streamlit as st
from workbench import answers, files, going_on, limits, show, state, work

from optiform.design.answer import Impossible


@st.fragment
@going_on.lasting
def workbench() -> None:
    """All of it in one part, redrawn when a control moves."""
    st.title(show.escape(str(state.bench().document.get("title", state.bench().name))))
    show.passing()
    left, right = st.columns([5, 8], gap="large")
    with right:  # first, so that the new formula is on screen while the controls, which show it already, are redrawn
        answer()
    with left:
        controls()


def controls() -> None:
    """The brief."""
    with st.container():  # a place of its own: without it, the undo button's coming would move and redraw all below
        show.notice()
    found = work.brief(state.bench())
    tabs = st.tabs(["Limits", "Lines", "Product", "Files"])
    with tabs[3]:
        files.files()
    if isinstance(found, work.Refused):
        return
    with tabs[0]:
        limits.limits(found)
        answered = work.answer(state.bench())
        if isinstance(answered, work.Answered):
            limits.locked(answered.data)
    with tabs[1]:
        limits.lines(found)
    with tabs[2]:
        limits.scope(found)


def answer() -> None:
    """What the brief gives."""
    found = work.found(state.bench())
    show.status(found)
    if isinstance(found, work.Refused):
        show.refused(found)
    elif isinstance(found, Impossible):
        answers.impossible(found)
    else:
        answers.formula(found)
        answered = work.answer(state.bench())
        if isinstance(answered, work.Refused):
            show.refused(answered)
        elif answered is not None:
            answers.explained(answered)


workbench()
