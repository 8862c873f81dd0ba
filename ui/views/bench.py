"""The workbench: the brief on one side, the formula that answers it on the other."""

import streamlit as st
from workbench import answers, bar, files, going_on, limits, scope, show, state, work

from optiform.design.answer import NoFormula


@st.fragment
@going_on.lasting
def workbench() -> None:
    """All of it in one part, redrawn when a control moves."""
    st.title(show.escape(str(state.bench().document.get("title", state.bench().name))))
    bar.bar()
    left, right = st.columns([5, 8], gap="large")
    with right:  # first, so that the new formula is on screen while the controls, which show it already, are redrawn
        answer()
    with left:
        controls()


def controls() -> None:
    """The brief."""
    brief = work.brief(state.bench())
    tabs = st.tabs(["Limits", "Lines", "Product", "Files"])
    with tabs[3]:
        files.files()
    if isinstance(brief, work.Refused):
        return
    with tabs[0]:
        limits.limits(brief)
        answered = work.answer(state.bench())
        if isinstance(answered, work.Answered):
            limits.locked(answered.data)
    with tabs[1]:
        limits.lines(brief)
    with tabs[2]:
        scope.scope(brief)


def answer() -> None:
    """What the brief gives."""
    outcome = work.found(state.bench())
    show.status(outcome)
    if isinstance(outcome, work.Refused):
        show.refused(outcome)
    elif isinstance(outcome, NoFormula):
        answers.impossible(outcome)
    else:
        answers.formula(outcome)
        answered = work.answer(state.bench())
        if isinstance(answered, work.Refused):
            show.refused(answered)
        elif answered is not None:
            answers.explained(answered)


workbench()
