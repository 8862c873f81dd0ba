"""A formula typed in as it stands: a table to type into, on a phone a card for each ingredient."""

from collections.abc import Sequence
from typing import Literal

import pandas as pd
import streamlit as st

from workbench import lines, proposals, show, state, touch
from workbench.cards import card
from workbench.state import Key
from workbench.which import Chosen

Line = tuple[str, float, str]
Of = Literal["jar", "base"]
GRAINS = "grains"
TYPED = "%.6g"  # what was typed, not rounded: a table and a card then say the same
DIGITS = 12  # of a percentage: beyond them stands only what floating point leaves


def shares(lines: Sequence[Line], of: Of) -> list[Line]:
    """The same lines in % of the jar, or of the base: then grains are per 100 of all else.

    >>> shares([("olive oil", 40.0, "oil phase"), ("salt", 60.0, "grains")], "base")
    [('olive oil', 100.0, 'oil phase'), ('salt', 150.0, 'grains')]
    """
    whole = sum(share for _, share, phase in lines if of == "jar" or phase != GRAINS)
    return [(name, round(100 * share / whole, DIGITS) if whole else share, phase) for name, share, phase in lines]


def of_what() -> Of:
    """What the numbers are a share of; what stands there is written anew where that changes."""
    words: dict[Of, str] = {"jar": "the jar", "base": "the base, grains per 100 of it"}
    before: Of = st.session_state.get(Key.OF, "jar")
    chosen = st.segmented_control("Numbers are % of", list(words), format_func=words.__getitem__, default=before,
                                  required=True, key="typed-of")  # fmt: skip
    of: Of = chosen or before
    if of != before:
        st.session_state[Key.OF] = of
        begun, lines = st.session_state.get(Key.TYPED, ([], []))
        st.session_state[Key.TYPED] = (begun, shares(lines, of))
    return of


def typed(choice: Chosen, of: Of) -> list[Line]:
    """The lines, begun from the formula that is chosen; what was typed is there again after a reload."""
    whole = [(name, round(share, DIGITS), phase) for name, share, phase in proposals.lines_of(choice.formula)]
    begun, before = st.session_state.get(Key.TYPED, ([], []))
    base = before if begun == whole else shares(whole, of) if of == "base" else whole  # of another one it begins anew
    key = f"typed {choice.name} {state.edits()}{'' if of == 'jar' else ' of the base'}"
    names = [item.name for item in choice.brief.catalogue.ingredients.values()]
    phases = {item.name: item.phase for item in choice.brief.catalogue.ingredients.values()}
    now = _cards(base, names, phases, of, key) if touch.narrow() else _table(base, names, of, key)
    st.session_state[Key.TYPED] = (whole, now)
    return now


def _table(base: Sequence[Line], names: Sequence[str], of: Of, key: str) -> list[Line]:
    width = lines.name_width(max((len(name) for name, *_ in base), default=0))
    table = st.session_state.setdefault(f"{key} base", pd.DataFrame(base, columns=["ingredient", "%", "phase"]))
    edited = st.data_editor(
        table,
        key=key,
        num_rows="dynamic",
        hide_index=True,
        placeholder="",
        height="content",
        disabled=["phase"],
        alt="The formula to check, a row an ingredient",
        column_config={
            "ingredient": st.column_config.SelectboxColumn(options=names, required=True, width=width),
            "%": st.column_config.NumberColumn(f"% of the {of}", min_value=0, max_value=1000, format=TYPED),
        },
    )
    rows = [tuple(row) for row in edited.itertuples(index=False) if row[0] and pd.notna(row[1])]
    return [(str(name), float(share), str(phase) if pd.notna(phase) else "") for name, share, phase in rows]


def _cards(base: Sequence[Line], names: Sequence[str], phases: dict[str, str], of: Of, key: str) -> list[Line]:
    cards = f"{key} cards"
    begun: list[Line] = st.session_state.setdefault(cards, list(base))
    kept: list[Line] = []
    for number, (name, share, phase) in enumerate(begun):
        at = f"{number} {name} {key}"
        now = share
        if inside := card(f"**{show.escape(name)}**  \n{share:.6g} % of the {of}", f"card {at}"):
            with inside:
                field, label = f"share {at}", f"{show.escape(name)}, % of the {of}"
                now = st.number_input(label, 0.0, 1000.0, share, None, TYPED, key=field, on_change=_typed,
                                      args=(cards, number, field))  # fmt: skip
                st.button(f"Take out {show.escape(name)}", key=f"drop {at}", icon=":material/close:",
                          on_click=_dropped, args=(cards, number))  # fmt: skip
        kept.append((name, float(now), phase))
    st.session_state[cards] = kept
    left = [name for name in names if name not in {line[0] for line in kept}]
    more = f"more {len(kept)} {key}"
    st.selectbox("Add an ingredient", left, None, key=more, placeholder="choose",
                 on_change=_added, args=(cards, more, phases))  # fmt: skip
    return kept


def _typed(cards: str, number: int, field: str) -> None:
    """Take what was typed before the card is drawn, which says it too."""
    now: list[Line] = list(st.session_state[cards])
    name, _, phase = now[number]
    now[number] = (name, float(st.session_state[field]), phase)
    st.session_state[cards] = now


def _dropped(cards: str, number: int) -> None:
    st.session_state[cards] = [line for k, line in enumerate(st.session_state[cards]) if k != number]


def _added(cards: str, more: str, phases: dict[str, str]) -> None:
    if name := st.session_state[more]:
        st.session_state[cards] = [*st.session_state[cards], (name, 0.0, phases.get(name, ""))]
