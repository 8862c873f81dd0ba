"""Forms that add to the workshop: what is lacking is told at once, what was typed stays until it is kept."""

from collections.abc import Callable, Mapping

import streamlit as st

from optiform.workshop import decisions
from optiform.workshop.decisions import Kept, Where
from optiform.workshop.store import Reader
from workbench import shop, show, state
from workbench.work import Refused


def key(form: str, field: str) -> str:
    """The key of a field; another one after the form was kept, so that it starts empty."""
    return f"{form}-{field} {times(form)}"


def times(form: str) -> int:
    """How often this session has kept this form."""
    return _fresh().get(form, 0)


def _fresh() -> dict[str, int]:
    found: dict[str, int] = st.session_state.setdefault(state.Key.FRESH, {})
    return found


def written(**places: str) -> Where:
    """Fields of records by the labels of a form."""
    return decisions.written("form", **places)


def keep(form: str, needed: Mapping[str, object], decision: Callable[[Reader], Kept], where: Where) -> None:
    """Keep what a form gives, or say everything that is wrong with it.

    Args:
        form: its name.
        needed: fields that must be filled, by their labels.
        decision: what to keep of the records as they are when nobody else writes; asked only when nothing is lacking.
        where: the labels of the fields of what is kept.
    """
    lacking = [f"{label}: nothing is given" for label, value in needed.items() if value is None or value == ""]
    found = Refused(tuple(lacking)) if lacking else _kept(decision, where)
    if isinstance(found, Refused):
        refused(found)
        return
    done(form, f"Kept: {found.words}." if found.records else f"Nothing to keep: {found.words}.")


def _kept(decision: Callable[[Reader], Kept], where: Where) -> Kept | Refused:
    with st.spinner("Keeping it; this waits for another program that is writing."):
        return shop.keep(decision, where)


def refused(found: Refused) -> None:
    """Why nothing was kept."""
    st.error("Not kept; what was there is as it was, and what you typed is still here.", icon=":material/error:")
    show.listed(found.faults)


def done(form: str, words: str) -> None:
    """Start the form afresh and draw the page with what was added."""
    _fresh()[form] = times(form) + 1
    state.tell(words)
    st.rerun()


def told() -> None:
    """What was kept last, in a place of its own: without it, its coming would redraw, and close, all below."""
    with st.container():
        if words := state.told():
            st.success(show.escape(words), icon=":material/check:")
