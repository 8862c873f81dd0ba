"""The brief's other keys, each with a control: what the product is, what it may be made of, what is reached for."""

import datetime
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TypeVar

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.brief.brief import KINDS, Brief
from optiform.brief.goal import Highest, Lowest, NearestUsual
from optiform.ingredients.formula import Formula
from optiform.rules.chemistry import rule_ids
from optiform.rules.claims import CLAIMS
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.rules.packs import PACKS
from workbench import proposals, show, state, which
from workbench.limits import OFFERED
from workbench.work import Refused, brief

T = TypeVar("T", str, str | bool)
LISTED, OWNED, IN_STOCK = "these", "all of my table", "what is in stock"
CANDIDATES = {OWNED: "owned", IN_STOCK: "in stock"}
LOWEST, HIGHEST, TODAY, USUAL = "the lowest", "the highest", "nearest to today's formula", "nearest to usual"
MISSING = {"refuse": "say so and stop", "leave out": "leave it out, and say so"}
UNSAID = "not said"
WET: dict[str | bool, str] = {"": UNSAID, True: "yes", False: "no"}
#: What keys are called where the key itself says too little.
DONE = {
    "kind": "kind of product", "date": "law in force on", "batch": "batch, kg", "jar": "net mass of a jar",
    "scale": "your scale shows", "ph": "pH", "wet_fingers": "wet fingers reach into it", "usual": "usual ranges",
    "missing": "a figure is missing", "count_as_oil": "counted with the oils", "overrule": "rules it may break",
}  # fmt: skip
USUALLY = {"hold": "hold", "warn": "are only warned of"}


def scope(wish: Brief) -> None:
    """What the product is: what brings law and usual ranges, and how much is made."""
    show.stock()
    document = state.bench().document
    _text("Title", "title", document, st.container())
    left, right = st.columns(2)
    _choice(left, "Kind of product", "kind", list(KINDS), wish.kind)
    _choice(right, "Use", "use", list(USES), wish.scope.use)
    _choice(left, "Area", "area", list(AREAS), wish.scope.area)
    _several(right, "Markets", "markets", list(MARKETS), list(wish.scope.markets), "legal limits of these are hard")
    key, day = _key("date"), wish.scope.date
    left.date_input("Law in force on", day, key=key, on_change=_take, args=("date", key, day))
    key = _key("batch")
    right.number_input("Batch, kg", min_value=0.001, value=wish.batch, key=key, on_change=_take, format="%g",
                       args=("batch", key, wish.batch))  # fmt: skip
    _text("Net mass of a jar", "jar", document, left, "150 g")
    _text("Your scale shows", "scale", document, right, "0.1 g")
    _text("Currency", "currency", document, left, "EUR")
    _text("pH it is made to", "ph", document, left, "5.2")
    _mapped(left, "Pack", "pack", {"": UNSAID, **{pack: pack for pack in PACKS}}, wish.pack)
    _mapped(right, "Wet fingers reach into it", "wet_fingers", WET, document.get("wet_fingers", ""))
    _mapped(left, "Usual ranges", "usual", USUALLY, str(document.get("usual", "hold")))
    goal(wish)
    candidates(wish)


def goal(wish: Brief) -> None:
    """What is reached for."""
    st.markdown("**Reach for**")
    now, others = _way(wish), _others(wish)
    begun = [LOWEST, HIGHEST, *([TODAY] if wish.reference else []), *([USUAL] if wish.kind else [])]
    ways = list(dict.fromkeys([*begun, *others, now]))
    left, right = st.columns(2)
    key = _key("goal")
    left.selectbox("Goal", ways, ways.index(now), key=key, on_change=_reach, args=(key, "", others),
                   help="a draft can be reached for too: save one, and it stands here")  # fmt: skip
    if now in (LOWEST, HIGHEST):
        wanted = wish.goal.wanted.name if isinstance(wish.goal, Lowest | Highest) else "cost"
        names = list(dict.fromkeys([wanted, *OFFERED]))
        of = _key("goal of")
        right.selectbox("of", names, 0, key=of, on_change=_reach, args=(key, of, others),
                        accept_new_options=True)  # fmt: skip


def _way(wish: Brief) -> str:
    if isinstance(wish.goal, Lowest | Highest):
        return LOWEST if isinstance(wish.goal, Lowest) else HIGHEST
    document = state.bench().document
    unsaid = {"nearest": "usual" if isinstance(wish.goal, NearestUsual) else "reference"}
    written = str(document.get("goal", unsaid).get("nearest"))
    known = {"reference": TODAY, str(document.get("reference")): TODAY, "usual": USUAL}
    return known.get(written) or _nearest(Path(written).stem)


def _nearest(name: str) -> str:
    return f"nearest to {name}"


def _others(wish: Brief) -> dict[str, str | Formula]:
    """Other formulas to reach for, as the choice says it: drafts, and files that stand beside the brief already."""
    bench = state.bench()
    named = [*bench.document.get("own_files", []), bench.document.get("reference")]
    drafts: dict[str, str | Formula] = {
        _nearest(name): formula for name, formula in which.variants(wish).items() if name != state.TODAY
    }
    return drafts | {_nearest(Path(file).stem): file for file in bench.files if file not in named}


def _reach(key: str, of: str, others: Mapping[str, str | Formula]) -> None:
    way, wanted = st.session_state[key], (st.session_state[of] if of else "") or "cost"
    other = others.get(way)
    if isinstance(other, Formula):
        proposals.reach_for(way.removeprefix(_nearest("")), other, way)
        return
    if other:
        put("goal", {"nearest": other}, f"goal: {way}")
        return
    goals = {LOWEST: {"lowest": wanted}, HIGHEST: {"highest": wanted}, TODAY: {"nearest": "reference"}}
    put("goal", goals.get(way, {"nearest": "usual"}), "goal")


def candidates(wish: Brief) -> None:
    """What it may be made of; what is left out stands under Lines."""
    st.markdown("**Made of**")
    document = state.bench().document
    written = document.get("candidates", "owned" if document.get("own_files") else [])
    tables = [OWNED, IN_STOCK] if document.get("own_files") else []
    now = next((words for words, value in CANDIDATES.items() if value == written), LISTED)
    key = _key("candidates")
    st.segmented_control("Candidates", [*tables, LISTED], default=now, key=key, required=True, on_change=_made_of,
                         args=(key, [item.name for item in wish.mix.ingredients]))  # fmt: skip
    every = [item.name for item in wish.catalogue.ingredients.values()]
    if isinstance(written, list):
        listed = [item.name for name in written if (item := wish.catalogue.find(str(name)))]
        _several(st.container(), "These ingredients", "candidates", every, listed)
    _several(st.container(), "Rules that it may break", "overrule", sorted(rule_ids()), list(wish.overrule),
             "what breaks them is told all the same; a law cannot be overruled")  # fmt: skip
    left, right = st.columns(2)
    _several(left, "Claims of the label", "claims", list(CLAIMS), list(wish.claims), "what breaks them is left out")
    _mapped(right, "A figure that a limit needs is missing", "missing", MISSING, str(document.get("missing", "refuse")))
    counted = [item.name for name in document.get("count_as_oil", []) if (item := wish.catalogue.find(str(name)))]
    carriers = [item.name for item in wish.catalogue.ingredients.values() if "emulsifier" in item.functions]
    every = list(dict.fromkeys([*counted, *carriers]))
    _several(st.container(), "Emulsifiers counted with the oils", "count_as_oil", every, counted)


def _made_of(key: str, now: list[str]) -> None:
    chosen = st.session_state[key]
    put("candidates", CANDIDATES.get(chosen, now), "candidates")


# -- controls ----------------------------------------------------------------------------------------------------------


def _key(name: str) -> str:
    return f"{name} {state.edits()}"


def _text(label: str, name: str, document: state.Document, place: DeltaGenerator, example: str = "") -> None:
    key, now = _key(name), str(document.get(name, ""))
    place.text_input(label, now, key=key, placeholder=example, on_change=_take, args=(name, key, now))


def _choice(place: DeltaGenerator, label: str, name: str, options: list[str], now: str) -> None:
    key = _key(name)
    index = options.index(now) if now in options else None
    place.selectbox(label, options, index, key=key, on_change=_take, args=(name, key, now))


def _mapped(place: DeltaGenerator, label: str, name: str, words: Mapping[T, str], now: T) -> None:
    key, options = _key(name), list(words)
    index = options.index(now) if now in options else None
    place.selectbox(label, options, index, key=key, format_func=words.__getitem__, on_change=_take,
                    args=(name, key, now))  # fmt: skip


def _several(place: DeltaGenerator, label: str, name: str, options: list[str], now: list[str], words: str = "") -> None:
    key = _key(f"several {name}")
    place.multiselect(label, options, now, key=key, on_change=_take, args=(name, key, now), help=words or None)


def _take(name: str, key: str, shown: object) -> None:
    value = st.session_state[key]
    if value != shown and value is not None and not isinstance(value, datetime.datetime):
        put(name, value, done(name, value))


def done(name: str, value: object) -> str:
    """What was done to a key of the brief, for undo and history.

    >>> done("jar", "200 g"), done("claims", ["vegan"]), done("ph", ""), done("batch", 1.0)
    ('net mass of a jar: 200 g', 'claims: vegan', 'pH: not said', 'batch, kg: 1')
    """
    if isinstance(value, list):
        told = ", ".join(map(str, value))
    elif isinstance(value, bool):
        told = "yes" if value else "no"
    else:
        told = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{DONE.get(name, name)}: {told or UNSAID}"


def put(name: str, value: object, words: str) -> None:
    """Write a key of the brief, or take it out where nothing is left of it; what cannot be read is told and undone."""

    def edit(document: state.Document) -> None:
        if value in ("", []) and name != "markets":
            document.pop(name, None)
        else:
            document[name] = value

    attempt(words, edit)


def attempt(words: str, edit: Callable[[state.Document], None]) -> None:
    """Change the brief if it can still be read after it; else say why, and leave everything as it was."""
    before = state.bench()
    state.change(words, edit, redraw=False)
    if state.bench() is before:
        return
    read = brief(state.bench())
    if isinstance(read, Refused) and not isinstance(brief(before), Refused):
        state.take_back()
        state.tell(f"Not taken: {read.faults[0].removeprefix(f'{before.name}: ')}")
