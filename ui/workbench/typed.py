"""What was typed or chosen on a page and not yet used: it stands there again after another page, a reload, a night.

Streamlit forgets what a control says once it is not drawn, and a reload begins a session of its own. What the maker
changed of such a control is held with what the session goes on from, and the control begins with it.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import Any, TypedDict

import pandas as pd
import streamlit as st
from streamlit.delta_generator import DeltaGenerator
from streamlit.elements.lib.column_types import ColumnConfig

from workbench import going_on, products, state
from workbench.state import Key

Rows = Iterable[Sequence[Any] | state.Document]  #: of a table, in the order of its columns or by their names


class Held(TypedDict):
    """What a control is called with so that its value is held."""

    key: str
    on_change: Callable[[str, str, object], None]
    args: tuple[str, str, object]


def field(key: str, options: Collection[object] | None = None, name: str = "", first: object = None) -> Held:
    """The key of a control and what holds its value. It begins with what was held, if that is one of its options.

    Args:
        key: of the control.
        options: of a choice, if it has a fixed list of them.
        name: under which it is held, where its key is of this session alone.
        first: what it begins with where nothing is held; so begun, and not by its own `value`, a field can be emptied.
    """
    begin(key, options, name, first)
    return {"key": key, "on_change": hold, "args": (key, name, first)}


def begin(key: str, options: Collection[object] | None = None, name: str = "", first: object = None) -> None:
    """Let a control that is not drawn yet begin with what was held of it, else with what it is said to begin with.

    It is told so again until something else is typed: a browser that asks for a second run before it has drawn the
    first, as a phone does to say how wide it is, forgets what that one told.
    """
    held = (name or key) in _held() and _is_there(_held()[name or key], options)
    begun = _held()[name or key] if held else first
    if (held or begun is not None) and st.session_state.get(key, begun) == begun:
        st.session_state[key] = begun


def table(
    place: DeltaGenerator, rows: Rows, key: str, name: str,
    columns: Mapping[str, ColumnConfig | None], fixed: Sequence[str] = (), more: bool = True,
) -> pd.DataFrame:  # fmt: skip
    """A table to type into and what stands in it.

    It is laid with what was held of it, else with `rows`. While it is drawn it keeps the frame it was laid with:
    another one would lose every second edit.

    Args:
        place: where it stands.
        rows: that stand in it where nothing was typed.
        key: of the control.
        name: under which it is held.
        columns: how they are shown.
        fixed: those that are not typed into.
        more: whether rows can be put in and taken out.
    """
    frame, base, before = laid(rows, columns), f"{key} base", known(name)
    if not isinstance(before, pd.DataFrame) or list(before.columns) != list(frame.columns):
        before = None
    if not {key, base} <= st.session_state.keys():
        st.session_state[base] = frame if before is None else before
    begun: pd.DataFrame = st.session_state[base]
    edited = place.data_editor(begun, key=key, num_rows="dynamic" if more else "fixed", hide_index=True, placeholder="",
                               height="auto" if more else "content", column_config=columns,
                               disabled=list(fixed))  # fmt: skip
    edited = edited.reset_index(drop=True)
    if not edited.equals(frame if before is None else before):
        _keep(name, edited, edited.equals(frame))
    return edited


def laid(rows: Rows, columns: Mapping[str, ColumnConfig | None]) -> pd.DataFrame:
    """Rows as a table to type into: numbers where a column is shown as numbers, else words; gaps are empty."""
    numbers = [
        name for name, shown in columns.items() if shown and (of := shown["type_config"]) and of["type"] == "number"
    ]
    kinds = dict.fromkeys(columns, "object") | dict.fromkeys(numbers, "Float64")
    return pd.DataFrame(rows, columns=list(columns)).astype(kinds)


def of_product(word: str) -> str:
    """A name to hold by, of the product on the bench alone."""
    return f"{products.title_of(state.bench())}: {word}"


def _is_there(value: object, options: Collection[object] | None) -> bool:
    """Whether a choice, or each of several, can still be made."""
    if options is None or value is None:
        return True
    return all(one in options for one in (value if isinstance(value, list) else [value]))


def hold(key: str, name: str = "", first: object = None) -> None:
    """Hold what a control says now, also where only a part of the page is drawn anew; not what it began with."""
    _keep(name or key, st.session_state[key], first is not None and st.session_state[key] == first)


def _keep(name: str, value: object, as_begun: bool) -> None:
    if as_begun:
        _held().pop(name, None)
    else:
        _held()[name] = value
    going_on.remember()


def known(key: str) -> object:
    """What is held under a key; None where nothing is."""
    return _held().get(key)


def is_held(beginning: str) -> bool:
    """Whether anything is held under a name that begins so."""
    return any(name.startswith(beginning) for name in _held())


def forget(beginning: str, end: str = "") -> None:
    """Hold no longer what was typed into the controls whose keys begin and end so: it was used."""
    for key in [key for key in _held() if key.startswith(beginning) and key.endswith(end)]:
        del _held()[key]


def _held() -> dict[str, object]:
    held: dict[str, object] = st.session_state.setdefault(Key.FIELDS, {})
    return held
