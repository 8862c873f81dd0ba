"""The answer to the brief on the bench: the formula at once, then everything else there is to say of it."""

from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from optiform.design.answer import Change, NoFormula
from optiform.reading.rounded import outward
from optiform.telling.begin import next_to_decide
from optiform.telling.impossible import impossible as impossible_told
from optiform.telling.impossible import repaired, repairs_head
from optiform.telling.measured import demanded
from optiform.telling.parts import Section, readable
from workbench import parts, show, state, touch, work
from workbench.charts import ink, limit_bars, limit_rows
from workbench.work import Answered

#: What stands in a tab of its own: parts of the telling by name.
TABS = {
    "On the scale": ("formula",),
    "What limits cost": ("prices",),
    "Not used": ("unused",),
    "Law": ("law",),
    "Cautions": ("cautions",),
    "How sure": ("limits", "properties"),
    "Costs by line": ("cost",),
    "Proof": ("proof", "notice"),
}
RANGED = ("prices", "unused")  # worked out when they are looked at


def explained(answered: Answered) -> None:
    """What else there is to say of the formula."""
    brief = answered.answer.brief
    if not brief.limits and (open_still := next_to_decide(brief)).parts:
        parts.body(open_still, "decide")
    for section in answered.telling.only("warnings").sections:
        parts.body(section, section.name)
    st.header("Why it is this formula", anchor=False)
    _bars(answered)
    for tab, names in zip(st.tabs(list(TABS), key="about", on_change="rerun"), TABS.values(), strict=True):
        if tab.open:  # the others are not drawn until they are opened
            with tab:
                _tab(_looked_at(answered, names).telling.only(*names).sections)


def _looked_at(answered: Answered, names: Sequence[str]) -> Answered:
    """The answer with what these parts need of it."""
    ranged = work.answer(state.bench(), ranged=True) if set(names) & set(RANGED) else None
    return ranged if isinstance(ranged, Answered) else answered


def _tab(sections: Sequence[Section]) -> None:
    for number, section in enumerate(sections):
        parts.body(section, f"{section.name}-{number}")
    if not sections:
        st.caption("Nothing to tell.")


def _bars(answered: Answered) -> None:
    """Every limit as a bar with the value in its range."""
    rows = limit_rows(answered.data["properties"])
    if not rows.empty:
        st.vega_lite_chart(rows, limit_bars(ink(), touch.narrow()), key="limit-bars")
        st.caption("From the least to the most that you allow; an end without a number has no limit.")


def impossible(answer: NoFormula) -> None:
    """The limits that contradict each other, and each repair as a button that can be undone."""
    for section in impossible_told(answer).only("answer").sections:
        about, *why = section.parts
        parts.body(replace(section, parts=tuple(why)), "impossible")
        repairs(answer, "repair")
        parts.body(replace(section, parts=(about,)), "impossible-about", heading=False)


def contradicted(answer: NoFormula, name: str, key: str) -> None:
    """Beside the control that was moved: what it contradicts, and the repairs."""
    others = [demanded(demand) for demand in answer.conflict if demand.name != name]
    against = f" It contradicts: {'; '.join(others)}." if others and len(others) < len(answer.conflict) else ""
    st.error(show.escape(f"With this no formula can meet the brief.{against}"), icon=":material/block:")
    repairs(answer, key)


def repairs(answer: NoFormula, key: str) -> None:
    """Each repair as a button that can be undone."""
    if answer.repairs:
        st.markdown(repairs_head(len(answer.repairs)))
    for number, changes in enumerate(answer.repairs):
        words = readable(repaired(changes))
        st.button(
            show.escape(f"{words[0].upper()}{words[1:]}"),
            key=f"{key}-{number}",
            icon=":material/build:",
            on_click=_repair,
            args=(changes, words),
        )


def _repair(changes: Sequence[Change], words: str) -> None:
    def edit(document: state.Document) -> None:
        for change in changes:
            table = "limits" if change.demand.kind == "limit" else "lines"
            target = float(outward(change.demand.side, change.target))
            ends = document.setdefault(table, {}).get(change.demand.name, {})
            ends = dict(ends) if isinstance(ends, dict) else {"low": ends, "high": ends}
            ends[change.demand.side] = target
            document[table][change.demand.name] = ends

    state.change(words, edit)
