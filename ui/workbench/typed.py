"""What was typed or chosen on a page and not yet used: it stands there again after another page, a reload, a night.

Streamlit forgets what a control says once it is not drawn, and a reload begins a session of its own. What the maker
changed of such a control is held with what the session goes on from, and the control begins with it.
"""

from collections.abc import Callable, Collection
from typing import TypedDict

import streamlit as st

from workbench import going_on
from workbench.state import Key


class Held(TypedDict):
    """What a control is called with so that its value is held."""

    key: str
    on_change: Callable[[str], None]
    args: tuple[str]


def field(key: str, options: Collection[object] | None = None) -> Held:
    """The key of a control and what holds its value. It begins with what was held, if that is one of its options.

    Args:
        key: of the control.
        options: of a choice, if it has a fixed list of them.
    """
    begin(key, options)
    return {"key": key, "on_change": hold, "args": (key,)}


def begin(key: str, options: Collection[object] | None = None) -> None:
    """Let a control that is not drawn yet begin with what was held of it."""
    if key in _held() and key not in st.session_state and _is_there(_held()[key], options):
        st.session_state[key] = _held()[key]


def _is_there(value: object, options: Collection[object] | None) -> bool:
    """Whether a choice, or each of several, can still be made."""
    if options is None or value is None:
        return True
    return all(one in options for one in (value if isinstance(value, list) else [value]))


def hold(key: str) -> None:
    """Hold what a control says now, also where only a part of the page is drawn anew."""
    put(key, st.session_state[key])


def put(key: str, value: object) -> None:
    """Hold this under a key."""
    _held()[key] = value
    going_on.remember()


def known(key: str) -> object:
    """What is held under a key; None where nothing is."""
    return _held().get(key)


def forget(beginning: str, end: str = "") -> None:
    """Hold no longer what was typed into the controls whose keys begin and end so: it was used."""
    for key in [key for key in _held() if key.startswith(beginning) and key.endswith(end)]:
        del _held()[key]


def _held() -> dict[str, object]:
    held: dict[str, object] = st.session_state.setdefault(Key.FIELDS, {})
    return held
