"""A session goes on where another one ended: after a lost connection, a reload, a night's sleep of the computer.

Streamlit forgets a session some time after its window was last connected, and a reload begins a new one. The product is
in the records, and the address names it; what else a session holds stays with the server under a word that stands in
the address too, and a session that comes with that word goes on from there, under a word of its own.
"""

import copy
import secrets
from collections import OrderedDict
from collections.abc import Callable
from functools import wraps
from threading import Lock
from typing import TypeVar

import streamlit as st

from workbench import products, saving
from workbench.state import Key

ADDRESS = "work"  # the word's name in the address
MOST = 64  # sessions that are remembered, the latest used; each is some texts and formulas
LASTING = (
    Key.BENCH, Key.TRAIL, Key.HOME, Key.DEMO, Key.VISITED, Key.CLASH, Key.KEEP, Key.NEW, Key.TYPED, Key.OF, Key.BEGAN,
    Key.HELD, Key.VARIANTS, Key.FRESH, Key.FIELDS, Key.FORMULA, Key.MARKET, Key.PLAN, Key.SHOP, Key.WAY, Key.SIZE,
)  # fmt: skip
PRODUCT, COPY, VERSION = "product", "demo", "version"  # names in the address: of the maker's own, of a demo's copy
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
    address = _named() | {ADDRESS: word}
    if st.query_params.to_dict() != address:
        st.query_params.from_dict(address)


def _named() -> dict[str, str]:
    """Product and version in words, for the address."""
    known, version = products.home(), st.session_state.get(Key.FORMULA)
    name = {COPY if products.is_demo() else PRODUCT: known.name} if known else {}
    return name | ({VERSION: version} if version else {})


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
    """A part of a page before and after which the records get what they do not hold, however drawing it ended."""

    @wraps(draw)
    def drawn() -> None:
        saving.synchronise()
        try:
            draw()
        finally:
            hold()

    return drawn


def lasting_beside(draw: Callable[[Callable[[], None]], None]) -> Callable[[], None]:
    """As `lasting`, where the records are written beside the first of what is drawn.

    The part is handed what ends the writing, to be called before anything is said of where the work is kept.
    """

    @wraps(draw)
    def drawn() -> None:
        kept = saving.beside()
        try:
            draw(kept)
        finally:
            kept()
            hold()

    return drawn


def hold() -> None:
    """Put what was done into the records and into what a later session goes on from."""
    try:
        saving.synchronise(follow=False)
    finally:
        remember()
