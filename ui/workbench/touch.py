"""Whether this is a screen for fingers, which the browser alone can tell."""

import streamlit as st

_ASK = """
export default ({ setStateValue }) => {
    if (matchMedia("(pointer: coarse)").matches) setStateValue("coarse", true)
}
"""
EXACT = "exact"


def prefers_numbers() -> None:
    """Type numbers where a finger would have to hit the ends of a slider, until the maker says otherwise."""
    answer = st.components.v2.component("touch", js=_ASK)(key="touch", on_coarse_change=_coarse)
    assert answer is not None


def _coarse() -> None:
    st.session_state[EXACT] = True
