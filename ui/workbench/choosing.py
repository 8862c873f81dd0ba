"""What a brief asks of the choice of its ingredients: how many lines, which of several, what goes together, how little.

Each is listed in the brief's own words with a way to take it out, and a form adds another.
"""

from collections.abc import Callable, Collection, Sequence
from functools import partial

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.brief.brief import Brief
from optiform.brief.choices import LEAST
from optiform.ingredients.phases import PHASES
from workbench import forms, show, state, typed
from workbench.scope import attempt

HOW = {"exactly": "exactly", "most": "at most", "least": "at least"}
OF_A_LINE = {"if_used": "none, or at least", "phase": "goes into the"}  # keys of a line beside its ends
Edit = Callable[[state.Document], None]


def choosing(wish: Brief) -> None:
    """All of it."""
    st.markdown("**Which of them**")
    _count(wish)
    document = state.bench().document
    for key in ("choose", "when"):
        for number, table in enumerate(document.get(key, [])):
            words = _chosen(table) if key == "choose" else _together(table)
            _listed(f"{key} {number}", words, partial(_without, key=key, number=number))
    for name, line in document.get("lines", {}).items():
        for key, words in OF_A_LINE.items():
            if isinstance(line, dict) and key in line:
                _listed(f"{key} {name}", f"{name}: {words} {_percent(line[key])}",
                        partial(_without_word, name=name, key=key))  # fmt: skip
    names = [item.name for item in wish.catalogue.ingredients.values()]
    row = st.container(horizontal=True)
    with row:
        _add_choice(names)
        _add_together(names)
        _add_dose([item.name for item in wish.mix.ingredients])
        _add_phase([item.name for item in wish.mix.ingredients])


def _count(wish: Brief) -> None:
    key = f"most ingredients {state.edits()}"
    st.session_state.setdefault(key, wish.most_ingredients)
    st.number_input("Ingredients at most", 1, None, None, 1, key=key, placeholder="as many as it takes",
                    on_change=_counted, args=(key,))  # fmt: skip


def _counted(key: str) -> None:
    value = st.session_state[key]

    def edit(document: state.Document) -> None:
        document.pop("most_ingredients", None)
        document |= {} if value is None else {"most_ingredients": int(value)}

    attempt("ingredients at most", edit)


# -- what is there -----------------------------------------------------------------------------------------------------


def _chosen(table: state.Document) -> str:
    how = next((key for key in HOW if key in table), "most")
    dose = f", each at least {_percent(table['dose'])}" if "dose" in table else ""
    return f"{HOW[how]} {table.get(how)} of {_names(table.get('of'))}{dose}"


def _together(table: state.Document) -> str:
    above = f"more than {_percent(table['above'])} of " if "above" in table else ""
    return (
        f"with {above}{_names(table.get('uses'))}: at least {_percent(table['at_least'])} {_names(table.get('also'))}"
    )


def _names(written: object) -> str:
    return written if isinstance(written, str) else ", ".join(map(str, written)) if isinstance(written, list) else ""


def _percent(written: object) -> str:
    return f"{written:g} %" if isinstance(written, int | float) else str(written)


def _listed(key: str, words: str, edit: Edit) -> None:
    row = st.container(horizontal=True, vertical_alignment="center")
    row.markdown(show.escape(words[0].upper() + words[1:]))
    row.button(f"Take out: {show.escape(words)}", key=f"out {key} {state.edits()}", icon=":material/close:",
               type="tertiary", on_click=_change, args=(f"taken out: {words}", edit))  # fmt: skip


def _change(words: str, edit: Edit) -> None:
    attempt(words, edit)
    state.lay_anew()


def _without(document: state.Document, key: str, number: int) -> None:
    document[key] = [table for k, table in enumerate(document[key]) if k != number]
    if not document[key]:
        del document[key]


def _without_word(document: state.Document, name: str, key: str) -> None:
    document["lines"][name].pop(key)
    if not document["lines"][name]:
        del document["lines"][name]


# -- another -----------------------------------------------------------------------------------------------------------


def _add_choice(names: Sequence[str]) -> None:
    with st.popover("So many of these", icon=":material/add:"):
        of = st.multiselect("Of these", names, **_field("choose", "of", names))
        left, right = st.columns(2)
        how = left.selectbox("How many", list(HOW), format_func=HOW.__getitem__, **_field("choose", "how", list(HOW)))
        count = right.number_input("Number", 0, None, 1, 1, **_field("choose", "count"))
        dose = _dose(st.container(), "Of one that is taken at least, %", "choose", "dose")
        if _asked("choose"):
            _add("choose", {"of": of, how: int(count)} | ({} if dose is None else {"dose": dose}), _chosen)


def _add_together(names: Sequence[str]) -> None:
    with st.popover("What goes together", icon=":material/add:"):
        uses = st.multiselect("Where there is", names, help="of several: of all of them together",
                              **_field("when", "uses", names))  # fmt: skip
        above = _dose(st.container(), "More of it than, %", "when", "above", "any")
        also = st.multiselect("Then also", names, **_field("when", "also", names))
        least = _dose(st.container(), "At least, %", "when", "least", f"{LEAST:g}")
        if _asked("when"):
            more = {} if above is None else {"above": above}
            then = {"also": also, "at_least": LEAST if least is None else least}
            _add("when", {"uses": uses} | more | then, _together)


def _add_dose(names: Sequence[str]) -> None:
    with st.popover("None or enough", icon=":material/add:"):
        name = st.selectbox("Ingredient", names, None, placeholder="choose", **_field("dose", "of", names))
        least = _dose(st.container(), "If it is used at all, at least, %", "dose", "least")
        if _asked("dose") and name and least is not None:
            words = f"{name}: none, or at least {least:g} %"
            _added("dose", words, lambda now: _with_word(now, name, "if_used", least))


def _add_phase(names: Sequence[str]) -> None:
    with st.popover("Another phase", icon=":material/add:"):
        name = st.selectbox("Ingredient", names, None, placeholder="choose", **_field("phase", "of", names))
        phase = st.selectbox("Goes into the", PHASES, None, placeholder="choose", **_field("phase", "which", PHASES))
        if _asked("phase") and name and phase:
            _added("phase", f"{name}: goes into the {phase}", lambda now: _with_word(now, name, "phase", phase))


def _field(form: str, field: str, options: Collection[object] | None = None) -> typed.Held:
    """A field of what is not asked for yet: it is held until it is."""
    return typed.field(forms.key(form, field), options)


def _asked(form: str) -> bool:
    return st.button("Ask for it", type="primary", key=f"{form}-add")


def _dose(place: DeltaGenerator, label: str, form: str, field: str, empty: str = "") -> float | None:
    return place.number_input(label, 0.0, 100.0, None, format="%g", placeholder=empty or None, **_field(form, field))


def _with_word(document: state.Document, name: str, key: str, value: float | str) -> None:
    lines = document.setdefault("lines", {})
    line = lines.get(name, {})
    ends = dict(line) if isinstance(line, dict) else {"low": line, "high": line}
    lines[name] = ends | {key: value}


def _add(key: str, table: state.Document, words: Callable[[state.Document], str]) -> None:
    _added(key, words(table), lambda document: document.__setitem__(key, [*document.get(key, []), table]))


def _added(form: str, words: str, edit: Edit) -> None:
    """Ask for it; where it is refused, what was typed stays."""
    before = state.bench().content
    _change(words, edit)
    if state.bench().content != before:
        forms.afresh(form)
    st.rerun()
