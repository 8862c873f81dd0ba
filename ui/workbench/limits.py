"""The brief's controls: limits as sliders or numbers, lines as a table, goal, scope and files."""

import datetime
from collections.abc import Callable
from typing import Any

import pandas as pd
import streamlit as st

from optiform.brief.brief import KINDS, Brief
from optiform.properties.registry import PLAIN
from optiform.review.warnings import usual_ranges
from optiform.rules.law import AREAS, MARKETS, USES
from workbench import show, state
from workbench.work import Refused, brief

NUMBER = st.column_config.NumberColumn
HARD = ("maximum", "prohibited", "certificate")
OFFERED = [
    "water phase", "oil phase", "cool-down", "grains", *PLAIN, "solid fat at 10 degC", "solid fat at 20 degC",
    "solid fat at 30 degC", "structuring solids at 20 degC", "structuring solids at 35 degC",
    "undissolved grains at 20 degC", "undissolved salt at 20 degC", "undissolved sugar at 20 degC",
    "melted oil per 100 of solids at 35 degC", "firmness at 10 degC", "firmness at 20 degC", "share of butter",
    "share of oil", "share of wax", "share of fatty alcohol and fatty acid", "cost",
]  # fmt: skip


def set_limit(name: str, low: float | None, high: float | None) -> None:
    """Put one limit into the brief; without ends it is taken out."""

    def edit(document: state.Document) -> None:
        ends = {side: end for side, end in (("low", low), ("high", high)) if end is not None}
        table = document.setdefault("limits", {})
        if ends:
            table[name] = ends
        else:
            table.pop(name, None)

    state.change(f"limit on {name}", edit, redraw=False)


def limits(found: Brief) -> None:
    """A row for each limit of the brief, and a way to add one."""
    exact = st.toggle("Exact numbers instead of sliders", key="exact")
    usual = {each.property: each for each in usual_ranges(found.kind)}
    for limit in found.limits:
        name, unit = limit.property.name, limit.property.unit
        known = usual.get(name)
        words = f"usual {known.low:g} to {known.high:g} ({known.evidence})" if known else ""
        label = f"{name}, {unit}" if unit != "-" else name
        if exact:
            _numbers(name, label, words, limit.low, limit.high)
        else:
            _slider(name, label, words, limit.low, limit.high, known.high if known else None)
    _add(found)


def locked(data: dict[str, Any]) -> None:
    """The limits that are not the maker's to move: law and certificates, shown where the others are set."""
    rules = [rule for rule in data.get("rules", []) if rule["limit"] is not None and rule["kind"] in HARD]
    if rules:
        st.markdown("**Locked by law or certificate**")
    for rule in rules:
        words = f"{rule['group']}: at most {rule['limit']:g} % ({rule['market']}), now {rule['content']:.3g} %"
        st.caption(f":material/lock: {words}")


def _slider(name: str, label: str, words: str, low: float | None, high: float | None, usual: float | None) -> None:
    """A slider with two ends; an end at the end of the slider is no limit."""
    top = _round_up(1.5 * max(end for end in (low or 0.0, high or 0.0, usual or 0.0, 1e-3)))
    value = (low if low is not None else 0.0, high if high is not None else top)
    key = f"limit {name} {state.edits()}"
    told = (name, key, top, value)
    open_end = " (right end: no limit)" if high is None else " (left end: no limit)" if low is None else ""
    label += open_end
    st.slider(label, 0.0, top, value, step=top / 100, key=key, help=words or None, on_change=_moved, args=told)
    if words:
        st.caption(words)


def _moved(name: str, key: str, top: float, shown: tuple[float, float]) -> None:
    """A slider was moved. One that only came into being while the page was redrawn calls too, and changes nothing."""
    low, high = st.session_state[key]
    if (low, high) != shown:
        set_limit(name, low if low > 0 else None, high if high < top else None)


def _numbers(name: str, label: str, words: str, low: float | None, high: float | None) -> None:
    left, right = st.columns(2)
    keys = {side: f"{side} {name} {state.edits()}" for side in ("low", "high")}
    for place, side, value in ((left, "low", low), (right, "high", high)):
        most = "at least" if side == "low" else "at most"
        st.session_state.setdefault(keys[side], value)
        place.number_input(
            f"{label}, {most}",
            value=None,  # a field that starts from a number could not be emptied
            key=keys[side],
            help=words or None,
            on_change=_typed,
            args=(name, keys, (low, high)),
            format="%g",
        )


def _typed(name: str, keys: dict[str, str], shown: tuple[float | None, float | None]) -> None:
    ends = (st.session_state[keys["low"]], st.session_state[keys["high"]])
    if ends != shown:
        set_limit(name, *ends)


def _round_up(value: float) -> float:
    """The next of 1, 2, 5 times a power of ten: a scale a person can read."""
    return next(
        step for power in range(-3, 9) for step in (10.0**power, 2 * 10.0**power, 5 * 10.0**power) if step >= value
    )


def _add(found: Brief) -> None:
    taken = {limit.property.name for limit in found.limits}
    names = [name for name in OFFERED if name not in taken]
    with st.popover("Add a limit", icon=":material/add:"):
        name = st.selectbox("Property", names, accept_new_options=True, key="new-limit")
        low = st.number_input("at least", value=None, key="new-low", format="%g")
        high = st.number_input("at most", value=None, key="new-high", format="%g")
        if st.button("Add", key="add-limit", disabled=not name or (low is None and high is None)):
            _try(
                lambda document: document.setdefault("limits", {}).__setitem__(name, _ends(low, high)),
                f"limit on {name}",
            )


def _ends(low: float | None, high: float | None) -> dict[str, float]:
    return {side: end for side, end in (("low", low), ("high", high)) if end is not None}


def _try(edit: Callable[[state.Document], Any], words: str) -> None:
    """Make a change if the brief can still be read after it; else say why and leave everything as it was."""
    before = state.bench()
    state.change(words, edit)
    read = brief(state.bench())
    if isinstance(read, Refused) and not isinstance(brief(before), Refused):
        state.past().pop()
        st.session_state[state.Key.BENCH] = before
        for fault in read.faults:
            st.error(show.escape(fault))
    else:
        st.rerun()


# -- lines -------------------------------------------------------------------------------------------------------------


def lines(found: Brief) -> None:
    """Every candidate with its pin or range and whether it is left out; an edit counts at once."""
    document = state.bench().document
    out = {name.casefold() for name in document.get("exclude", [])}
    known = {item.name: item for item in found.mix.ingredients}
    names = [*known, *(name for name, why in found.left_out if why == "excluded by the brief")]
    rows = [_line(name, document.get("lines", {}).get(name), name.casefold() in out) for name in names]
    key = f"lines {state.edits()}"
    number: dict[str, Any] = {"min_value": 0, "max_value": 100, "format": "%g"}
    st.data_editor(
        pd.DataFrame(rows),
        key=key,
        hide_index=True,
        placeholder="",
        height="content",
        disabled=["ingredient"],
        column_config={
            "ingredient": st.column_config.TextColumn(width=156),
            "pin %": NUMBER("pin", help="exactly this much, % of the whole", width=58, **number),
            "at least %": NUMBER("least", help="at least this much, % of the whole", width=68, **number),
            "at most %": NUMBER("most", help="at most this much, % of the whole", width=68, **number),
            "leave out": st.column_config.CheckboxColumn("out", help="leave out", width=52),
        },
        on_change=_lines_edited,
        args=(key, names),
    )


def _line(name: str, given: Any, out: bool) -> dict[str, Any]:
    ends = given if isinstance(given, dict) else {"low": given, "high": given} if given is not None else {}
    low, high = (_percent(ends.get(side)) for side in ("low", "high"))
    pinned = low is not None and low == high
    return {
        "ingredient": name,
        "pin %": low if pinned else None,
        "at least %": None if pinned else low,
        "at most %": None if pinned else high,
        "leave out": out,
    }


def _percent(given: Any) -> float | None:
    from optiform.reading.units import parse_quantity

    return None if given is None else parse_quantity(given, "%")


def _lines_edited(key: str, names: list[str]) -> None:
    edited = st.session_state[key]["edited_rows"]

    def edit(document: state.Document) -> None:
        for row, cells in edited.items():
            _edit_line(document, names[int(row)], cells)

    changed = ", ".join(names[int(row)] for row in edited)
    state.change(f"line {changed}", edit, redraw=False)


def _edit_line(document: state.Document, name: str, cells: dict[str, Any]) -> None:
    out = [each for each in document.get("exclude", []) if each.casefold() != name.casefold()]
    was_out = len(out) < len(document.get("exclude", []))
    if cells.get("leave out", was_out):
        out.append(name)
    document["exclude"] = out
    table = document.setdefault("lines", {})
    if cells.get("leave out"):  # an amount asked of what is left out would be a fault
        table.pop(name, None)
        return
    now = _line(name, table.get(name), False) | cells
    phase = table[name].get("phase") if isinstance(table.get(name), dict) else None
    pinned = now["pin %"] if "at least %" not in cells and "at most %" not in cells else None
    low, high = (pinned, pinned) if pinned is not None else (now["at least %"], now["at most %"])
    ends: dict[str, Any] = _ends(low, high) | ({"phase": phase} if phase else {})
    if ends:
        table[name] = ends
    else:
        table.pop(name, None)


# -- goal and scope ----------------------------------------------------------------------------------------------------


def scope(found: Brief) -> None:
    """Kind, use, area, markets, date, batch: what brings law and usual ranges."""
    show.stock()
    n = state.edits()
    left, right = st.columns(2)
    _choice(left, "Kind of product", "kind", list(KINDS), found.kind, n)
    _choice(right, "Use", "use", list(USES), found.scope.use, n)
    _choice(left, "Area", "area", list(AREAS), found.scope.area, n)
    key = f"markets {n}"
    right.multiselect(
        "Markets", MARKETS, list(found.scope.markets), key=key, on_change=_set,
        args=("markets", key, list(found.scope.markets)),
        help="legal limits of these markets are hard",
    )  # fmt: skip
    key = f"date {n}"
    day = found.scope.date
    left.date_input("Law as on", day, key=key, on_change=_set, args=("date", key, day))
    key = f"batch {n}"
    right.number_input(
        "Batch, kg", min_value=0.001, value=found.batch, key=key, on_change=_set, format="%g",
        args=("batch", key, found.batch),
    )  # fmt: skip


def _choice(place: Any, label: str, name: str, options: list[str], now: str, n: int) -> None:
    key = f"{name} {n}"
    index = options.index(now) if now in options else None
    place.selectbox(label, options, index, key=key, on_change=_set, args=(name, key, now))


def _set(name: str, key: str, shown: Any) -> None:
    value = st.session_state[key]
    if value is None or value == shown or isinstance(value, datetime.datetime):
        return
    state.change(name, lambda document: document.__setitem__(name, value), redraw=False)
