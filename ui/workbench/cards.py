"""A card: one line that opens on the rest. It stays open while what it says of itself changes."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator


def card(label: str, key: str, icon: str | None = None, begins_open: bool = False) -> DeltaGenerator | None:
    """The inside of an open card to draw into; None while it is closed, when nothing of it is worked out.

    Args:
        label: what it says of itself, which may change from one drawing to the next.
        key: by which it is known as the same.
        icon: before the label.
        begins_open: whether it is open until it is first closed.
    """
    st.session_state[key] = bool(st.session_state.get(_turned_of(key), begins_open))  # else of a new label it is closed
    drawn = st.expander(label, icon=icon, key=key, on_change=_turned, args=(key,))
    return drawn if drawn.open else None


def _turned_of(key: str) -> str:
    return f"{key} is open"


def _turned(key: str) -> None:
    st.session_state[_turned_of(key)] = st.session_state[key]
