"""The workbench: the formula to type into, and beside it what it costs, how firm it is and what holds it."""

from collections.abc import Callable, Mapping

import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from workbench import answers, aside, bar, choosing, files, going_on, limits, lines, scope, show, state, touch, work
from workbench.easing import tight
from workbench.hand import hand, note

from optiform.brief.brief import Brief
from optiform.telling.standing import BenchLine


@st.fragment
@going_on.lasting_beside
def workbench(kept: Callable[[], None]) -> None:
    """All of it in one part, redrawn when a control moves; `kept`: waits until the records have what was changed."""
    st.title(show.escape(str(state.bench().document.get("title", state.bench().name))), anchor=False)
    head = st.container()
    outcome, brief = work.found(state.bench()), work.brief(state.bench())
    known = {} if isinstance(brief, work.Refused) else lines.known_lines(brief, outcome)
    show.status(outcome)  # all of the answer is at hand now: the browser gets it in one piece and draws it once
    first, table, after, below = places()
    with first:  # what it costs is on screen while the rest is redrawn
        later = aside.at_first(outcome, after)
    with table:
        formula(brief, known)
    kept()
    with head:
        bar.bar()
    with below:
        by_hand = controls(brief, outcome)
        why = st.container()
    answered = work.answer(state.bench())
    if isinstance(answered, work.Answered):
        with later.rest:
            aside.then(answered)
        with why:
            answers.explained(answered)
        aside.firmness(answered, later)  # last: the first time the scale is fitted to what was read
    elif answered is not None:
        with later.rest:
            show.refused(answered)
    if by_hand is not None:
        with by_hand:
            hand()  # its map takes some seconds: what else there is stands before it


def places() -> tuple[DeltaGenerator, DeltaGenerator, DeltaGenerator, DeltaGenerator]:
    """What is said first of the formula, the formula, what is said after that, the rest of the brief and of the answer.

    What is said stands beside the formula, on a phone above and below it.
    """
    if touch.narrow():
        return st.container(), st.container(), st.container(), st.container()
    left, right = st.columns([10, 4], gap="medium")
    with left:
        table, below = st.container(), st.container()
    with right, st.container(key="aside"):
        return st.container(), table, st.container(), below


def formula(brief: Brief | work.Refused, known: Mapping[str, BenchLine]) -> None:
    """The formula to type into: a table, on a phone cards."""
    if isinstance(brief, work.Refused):
        return
    if touch.narrow():
        lines.cards(brief, known)
    else:
        lines.table(brief, known)


def controls(brief: Brief | work.Refused, outcome: object) -> DeltaGenerator | None:
    """The rest of the brief; only the tab that is open is drawn. Gives the place for the sheet where that is open."""
    tabs = ["Limits", "By hand", "Product", "Files"]
    limited, by_hand, product, loaded = st.tabs(tabs, key="parts", on_change="rerun")
    if loaded.open:
        with loaded:
            files.files()
    note(bool(by_hand.open))
    place = by_hand if by_hand.open else None
    if isinstance(brief, work.Refused):
        return place
    if limited.open:
        with limited:
            answered = work.answer(state.bench()) if touch.narrow() else None  # on a laptop they come before it
            limits.limits(brief, outcome, tight(answered))
            answered = work.answer(state.bench())
            if isinstance(answered, work.Answered):
                limits.locked(answered.data)
    if product.open:
        with product:
            scope.scope(brief)
            choosing.choosing(brief)
    return place


workbench()
