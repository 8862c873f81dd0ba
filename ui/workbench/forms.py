"""Forms that add to the workshop: what is lacking is told at once, what was typed stays until it is kept."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import streamlit as st

from optiform.faults import BadInput, Fault
from optiform.workshop.kinds import Record
from workbench import shop, show, state
from workbench.work import Refused


@dataclass(frozen=True)
class Filled:
    """What a form gives: records to keep, and words to say once they are."""

    records: Sequence[Record]
    words: str


def key(form: str, field: str) -> str:
    """The key of a field; another one after the form was kept, so that it starts empty."""
    return f"{form}-{field} {_fresh().get(form, 0)}"


def _fresh() -> dict[str, int]:
    found: dict[str, int] = st.session_state.setdefault(state.Key.FRESH, {})
    return found


def keep(form: str, needed: Mapping[str, object], fill: Callable[[], Filled]) -> None:
    """Keep what a form gives, or say everything that is wrong with it.

    Args:
        form: its name.
        needed: fields that must be filled, by their labels.
        fill: makes the records; called only when nothing is lacking.
    """
    lacking = [f"{label}: nothing is given" for label, value in needed.items() if value is None or value == ""]
    found = Refused(tuple(lacking)) if lacking else _kept(fill)
    if isinstance(found, Refused):
        refused(found)
        return
    done(form, found)


def _kept(fill: Callable[[], Filled]) -> str | Refused:
    try:
        filled = fill()
    except BadInput as bad:
        return Refused(tuple(map(str, bad.faults)))
    with st.spinner("Keeping it; this waits for another program that is writing."):
        return shop.keep(filled.records) or filled.words


def fault(place: str, read: str, expected: str) -> BadInput:
    """One thing that is wrong with a form."""
    return BadInput([Fault("form", place, read, expected)])


def refused(found: Refused) -> None:
    """Why nothing was kept."""
    st.error("Not kept; what was there is as it was, and what you typed is still here.", icon=":material/error:")
    show.listed(found.faults)


def done(form: str, words: str) -> None:
    """Start the form afresh and draw the page with what was added."""
    _fresh()[form] = _fresh().get(form, 0) + 1
    state.tell(words)
    st.rerun()


def told() -> None:
    """What was kept last, in a place of its own: without it, its coming would redraw, and close, all below."""
    with st.container():
        if words := state.told():
            st.success(show.escape(words), icon=":material/check:")
