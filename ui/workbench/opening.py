"""How a session begins: where another one ended, or with the brief given to `optiform app`, else with the demo."""

import os
from dataclasses import replace
from pathlib import Path

import streamlit as st

from optiform.reading.faults import BadInput
from optiform.reading.paths import BRIEF_VARIABLE
from workbench import going_on, state, work
from workbench.load import spelling
from workbench.state import Began, Key


def begin() -> None:
    """Put on the bench what this session starts from: what the session of its address held, else the files given.

    These are read once and never written.
    """
    if Key.BENCH in st.session_state:
        return
    recalled = going_on.recalled()
    if not recalled:
        place = os.environ.get(BRIEF_VARIABLE, "")
        state.begin(_given(Path(place)) if place else Began(state.demo()))
    st.session_state[Key.GONE] = recalled is False
    state.fresh_controls()


def _given(path: Path) -> Began:
    """The brief at the path, or the demo with what is wrong: the files may have changed since the app was started."""
    try:
        bench = state.on_disk(path)
    except BadInput as bad:
        return Began(state.demo(), faults=tuple(map(str, bad.faults)))
    read = work.brief(bench)
    known = bench if isinstance(read, work.Refused) else replace(bench, spelling=spelling(bench.document, read))
    return Began(known, given=True)
