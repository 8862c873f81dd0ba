"""A session goes on where another one ended: after a lost connection, a reload, a night's sleep of the computer.

Streamlit forgets a session some time after its window was last connected, and a reload begins a new one. So what a
session holds stays with the server under a word that stands in the address, and a session that comes with that word
goes on from there. It goes on under a word of its own: two windows with one address never write over each other.
"""

import copy
import secrets
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import TypeVar

import streamlit as st

from workbench.state import Key

ADDRESS = "work"  # the word's name in the address
MOST = 64  # sessions that are remembered, the latest used; each is some texts and formulas
LASTING = (
    Key.BENCH, Key.PAST, Key.BEGAN, Key.HELD, Key.VARIANTS, Key.FRESH, Key.FORMULA, Key.MARKET, Key.PLAN, Key.SHOP,
)  # fmt: skip
T = TypeVar("T")
Held = dict[Key, object]

_sessions: OrderedDict[str, Held] = OrderedDict()
_lock = Lock()


def remember() -> None:
    """Hold what this session has now, for the one that goes on from it."""
    word = st.session_state.setdefault(Key.WORD, secrets.token_urlsafe(12))
    held = {key: _copy(st.session_state[key]) for key in LASTING if key in st.session_state}
    with _lock:
        _sessions[word] = held
        _sessions.move_to_end(word)
        while len(_sessions) > MOST:
            _sessions.popitem(last=False)
    if st.query_params.get(ADDRESS) != word:
        st.query_params[ADDRESS] = word


def recalled() -> bool | None:
    """Take up what the session of this address held. None where the address names none, False where it is gone."""
    word = st.query_params.get(ADDRESS)
    if word is None:
        return None
    with _lock:
        held = _sessions.get(word)
    for key, value in (held or {}).items():
        st.session_state[key] = _copy(value)
    return held is not None


def _copy(value: T) -> T:
    """Lists and tables are changed in place; all that is in them never is."""
    return copy.copy(value) if isinstance(value, list | dict) else value


def lasting(draw: Callable[[], None]) -> Callable[[], None]:
    """A part of a page after which the session is remembered, however drawing it ended."""

    @wraps(draw)
    def drawn() -> None:
        try:
            draw()
        finally:
            remember()

    return drawn
