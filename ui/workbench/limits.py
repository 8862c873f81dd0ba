"""The brief's controls for limits, as sliders or numbers."""

from collections.abc import Callable, Collection, Sequence
from math import inf

import streamlit as st

from optiform.brief.brief import Brief, Limit
from optiform.brief.usual import grain_of
from optiform.design.answer import NoFormula
from optiform.properties.registry import PLAIN
from optiform.rules.law import HARD as BY_LAW
from optiform.rules.usual import usual_ranges
from optiform.telling.measured import SURE, of_what
from optiform.telling.parts import readable
from workbench import answers, scales, show, state, touch, typed
from workbench.state import Key
from workbench.work import Refused, brief

HARD = (*BY_LAW, "positive list", "certificate")
OFFERED = [
    "water phase", "oil phase", "cool-down", "grains", *PLAIN, "solid fat at 10 degC", "solid fat at 20 degC",
    "solid fat at 30 degC", "structuring solids at 20 degC", "structuring solids at 35 degC",
    "undissolved grains at 20 degC", "undissolved salt at 20 degC", "undissolved sugar at 20 degC",
    "melted oil per 100 of solids at 35 degC", "firmness at 10 degC", "firmness at 20 degC", "share of butter",
    "share of oil", "share of wax", "share of fatty alcohol and fatty acid", "cost",
]  # fmt: skip


def set_end(name: str, side: str, end: float | None) -> None:
    """Put one end of a limit into the brief, or take it out; the other end stays as the brief writes it."""
    words = f"{_moving(name)}, {_end(side, end)}"
    state.change(words, lambda document: _put(document, name, side, end), redraw=False)


def set_ends(moved: Sequence[tuple[str, str, float]]) -> None:
    """Put ends of limits into the brief, each a name, a side and where it stands now, as one step of the history."""

    def edit(document: state.Document) -> None:
        for name, side, end in moved:
            _put(document, name, side, end)

    words = "; ".join(f"{name}, {_end(side, end)}" for name, side, end in moved)
    state.change(_moving(words) if len(moved) == 1 else f"limits on {words}", edit)


def _put(document: state.Document, name: str, side: str, end: float | None) -> None:
    table = document.setdefault("limits", {})
    given = table.get(name, {})
    ends = dict(given) if isinstance(given, dict) else {"low": given, "high": given}
    if any(isinstance(other, str) and "base" in other for other in ends.values()):
        ends = _ends(*now(name))  # the name says that it is of the base; a number beside these words would clash
    ends.pop(side, None)
    ends |= {} if end is None else {side: end}
    if ends:
        table[name] = ends
    else:
        table.pop(name, None)


def _end(side: str, end: float | None) -> str:
    """Where an end stands, in words."""
    return f"{'at least' if side == 'low' else 'at most'} {'nothing' if end is None else f'{end:g}'}"


def _moving(name: str) -> str:
    """What is done to a limit, for the history, before the end that is moved."""
    return f"limit on {name}"


def now(name: str) -> tuple[float | None, float | None]:
    """Both ends of a limit as the bench has them."""
    read = brief(state.bench())
    if not isinstance(read, Refused):
        for limit in read.limits:
            if limit.property.name == name:
                return limit.low, limit.high
    return None, None


def move(name: str, low: float | None, high: float | None) -> None:
    """Write the end of a limit that stands elsewhere than on the bench, and no other.

    A control that only came into being while the page was redrawn calls too, and changes nothing.
    """
    for side, end, before in zip(("low", "high"), (low, high), now(name), strict=True):
        if end != before:
            set_end(name, side, end)


def limits(brief: Brief, outcome: object, tight: Collection[str] = ()) -> None:
    """A row for each limit of the brief, on a phone a card, and a way to add one; `tight`: those only just met."""
    exact = st.toggle("Exact numbers instead of sliders", **typed.field(touch.EXACT))
    grain = grain_of(brief.kind, brief.mix, brief.ranges, brief.limits, brief.reference)
    usual = {row.property: row for row in usual_ranges(brief.kind, grain)}
    why = "only just met"
    if isinstance(outcome, NoFormula):
        tight, why = {demand.name for demand in outcome.conflict}, "cannot be met beside the others"
    for limit in _in_order(brief.limits, tight) if touch.narrow() else brief.limits:
        name = limit.property.name
        known = usual.get(name)
        words = f"usual {known.low:g} to {known.high:g} ({SURE[known.evidence]})" if known else ""
        if touch.narrow():
            _card(limit, words, exact, why if name in tight else "")
        else:
            _control(limit, words, exact)
        if isinstance(outcome, NoFormula) and state.trail().here.words.startswith(f"{_moving(name)}, "):
            answers.contradicted(outcome, name, "beside")
    _add(brief)


def _in_order(every: Sequence[Limit], tight: Collection[str]) -> list[Limit]:
    """Those that hold the formula first; they stay where they are while they are worked on."""
    names = sorted((limit.property.name for limit in every), key=lambda name: name not in tight)
    order: list[str] = st.session_state.setdefault(f"limits {state.edits()} order", names)
    order += [name for name in names if name not in order]
    return sorted(every, key=lambda limit: order.index(limit.property.name))


def _card(limit: Limit, words: str, exact: bool, held: str) -> None:
    """A limit as a card that opens on its control; `held`: why it stands among the first."""
    name, unit = limit.property.name, of_what(limit.property.unit, limit.property.basis)
    stands = " · ".join(filter(None, (f"{_stands(limit)} {unit}".strip(), held)))
    head = f"**{show.escape(readable(name))}**  \n{show.escape(readable(stands))}"
    with st.expander(head, key=f"limit-card {name}"):  # always drawn: so it stays, and its field, when the head changes
        _control(limit, words, exact)


def _stands(limit: Limit) -> str:
    """Where a limit stands, in words."""
    if limit.low is None or limit.high is None:
        return f"at most {limit.high:g}" if limit.low is None else f"at least {limit.low:g}"
    return f"{limit.low:g} to {limit.high:g}" if limit.low < limit.high else f"{limit.low:g}"


def _control(limit: Limit, words: str, exact: bool) -> None:
    """A limit as a slider or as two numbers; `words`: what is usual."""
    name, unit = limit.property.name, of_what(limit.property.unit, limit.property.basis)
    label = show.escape(readable(f"{name}, {unit}" if unit else name))
    points = scales.scale(limit.property)
    if exact or not points:
        _numbers(name, label, words, limit.low, limit.high)
    else:
        _slider(name, label, words, limit.low, limit.high, points)


def locked(data: state.Document) -> None:
    """The limits that are not the maker's to move: law and certificates, shown where the others are set."""
    rules = [rule for rule in data.get("rules", []) if rule["limit"] is not None and rule["kind"] in HARD]
    if rules:
        st.markdown("**Locked by law or certificate**")
    words = [
        f":material/lock: {show.escape(rule['group'])}: at most {rule['limit']:g} % ({rule['market']}), "
        f"now {rule['content']:.3g} %"
        for rule in rules
    ]
    if words:
        st.caption("  \n".join(words))


def _slider(name: str, label: str, words: str, low: float | None, high: float | None, points: scales.Scale) -> None:
    """A slider with two ends, each of which can stand at no limit."""
    key = f"limit {name} {state.edits()}"
    st.select_slider(
        f"{label} :small[· {words}]" if words else label,
        scales.options(points, _between(key, low, high)),
        (-inf if low is None else low, inf if high is None else high),
        format_func=scales.words,
        key=key,
        on_change=_moved,
        args=(name, key),
    )


def _between(key: str, *ends: float | None) -> set[float]:
    """Every end that this slider has had: what was left can be gone back to, and its scale does not change in use."""
    had: set[float] = st.session_state.setdefault(Key.ENDS, {}).setdefault(key, set())
    had.update(end for end in ends if end is not None)
    return had


def _moved(name: str, key: str) -> None:
    low, high = st.session_state[key]
    move(name, None if low == -inf else low, None if high == inf else high)


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
            args=(name, keys),
            format="%g",
        )


def _typed(name: str, keys: dict[str, str]) -> None:
    move(name, *(st.session_state[keys[side]] for side in ("low", "high")))


def _add(brief: Brief) -> None:
    taken = {limit.property.name for limit in brief.limits}
    names = [name for name in OFFERED if name not in taken]
    with st.popover("Add a limit", icon=":material/add:"):
        name = st.selectbox("Property", names, accept_new_options=True, **_new("limit"))
        low = st.number_input("at least", value=None, format="%g", **_new("low"))
        high = st.number_input("at most", value=None, format="%g", **_new("high"))
        if st.button("Add", key="add-limit", disabled=not name or (low is None and high is None)):
            _try(
                lambda document: document.setdefault("limits", {}).__setitem__(name, _ends(low, high)),
                _moving(name),
            )


def _new(field: str) -> typed.Held:
    """A field of a limit that is not added yet."""
    return typed.field(f"new-{field}", name=typed.of_product(f"new limit, {field}"))


def _ends(low: float | None, high: float | None) -> dict[str, float]:
    return {side: end for side, end in (("low", low), ("high", high)) if end is not None}


def _try(edit: Callable[[state.Document], None], words: str) -> None:
    """Make a change if the brief can still be read after it; else say why and leave everything as it was."""
    before = state.bench()
    state.change(words, edit)
    read = brief(state.bench())
    if isinstance(read, Refused) and not isinstance(brief(before), Refused):
        state.take_back()
        for fault in read.faults:
            st.error(show.escape(fault))
    else:
        typed.forget(typed.of_product("new limit, "))
        st.rerun()
