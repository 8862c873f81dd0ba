"""Which formula a document is made for: today's, the bench's best, or one that was kept. All documents share it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import streamlit as st

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.ingredients.formula import Formula
from optiform.ingredients.recorded import formula_from
from workbench import show, state, work
from workbench.state import BEST, TODAY, Key


@dataclass(frozen=True)
class Chosen:
    """A formula with the brief it stands under, and the name it was chosen by."""

    name: str
    brief: Brief
    formula: Formula


def variants(brief: Brief) -> dict[str, Formula]:
    """Today's formula and the variants whose ingredients the bench knows, by name."""
    known = {TODAY: brief.reference} if brief.reference is not None else {}
    made = [formula_from(variant.name, variant.lines, brief.catalogue) for variant in state.variants()]
    return known | {each.name: replace(each, origin="a draft") for each in made if each is not None}


def names(known: Mapping[str, Formula]) -> list[str]:
    """What can be chosen: today's formula if there is one, the best on the bench, then the variants."""
    today = [TODAY] if TODAY in known else []
    return [*today, BEST, *(each for each in known if each != TODAY)]


def chosen() -> Chosen | None:
    """The formula that is chosen; None after the reason was shown why there is none."""
    brief = work.brief(state.bench())
    if isinstance(brief, work.Refused):
        show.refused(brief)
        return None
    known = variants(brief)
    name = remembered("Formula", names(known), Key.FORMULA)
    unknown = [each.name for each in state.variants() if each.name not in known]
    if unknown:
        st.caption(f"Not offered, an ingredient is not on the bench: {show.escape(', '.join(unknown))}.")
    return Chosen(name, brief, known[name]) if name != BEST else best(brief)


def best(brief: Brief) -> Chosen | None:
    """The best formula for the bench; None after the reason was shown why there is none."""
    outcome = work.found(state.bench())
    if isinstance(outcome, work.Found):
        return Chosen(BEST, brief, replace(outcome.best.formula, name=BEST, origin="the best one for this brief"))
    if isinstance(outcome, NoFormula):
        st.error("No formula can meet the brief on the Workbench; mend it there first.", icon=":material/block:")
    else:
        show.refused(outcome)
    return None


def remembered(label: str, options: Sequence[str], key: Key, first: str = "") -> str:
    """A choice that is still there after another page was looked at; one that is gone falls back to the first."""
    widget = f"choose-{key}"
    before = st.session_state.get(key, first)
    st.session_state[widget] = before if before in options else options[0]  # each page has a widget of its own
    return str(st.selectbox(label, options, key=widget, on_change=_remember, args=(key, widget)))


def _remember(key: Key, widget: str) -> None:
    st.session_state[key] = st.session_state[widget]
