"""Variants: what was kept, side by side, to download and to print."""

import streamlit as st
from workbench import firmness, keeping, papers, parts, show, state, work
from workbench.state import Key
from workbench.which import variants

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.review.compare import compare
from optiform.review.measures import setting_of
from optiform.telling import json
from optiform.telling.charts import solid_fat_chart
from optiform.telling.compare import compared
from optiform.telling.parts import Column, Table

MOST = 4


def kept() -> None:
    """Everything that was kept, with parent and reason."""
    rows = [(draft.name, draft.parent, draft.reason, len(draft.lines)) for draft in state.variants()]
    heads = ("name", "from", "why", "lines")
    parts.table(Table(tuple(map(Column, heads)), tuple(rows)), "drafts")


def side_by_side(brief: Brief, chosen: list[Formula]) -> None:
    """Differences first; then curves, properties and the declaration; all of it to take along."""
    hundred = state.TODAY if brief.reference else chosen[0].name
    firms = firmness.beside(brief, chosen)
    comparison = compare(chosen, setting_of(brief), brief.step)
    telling = compared(comparison, firms=firms, hundred=hundred)
    for section in telling.only("answer", "lines").sections:
        parts.body(section, f"compare-{section.name}")
    st.header("Solid fat, cold and hot", anchor=False)
    parts.chart(solid_fat_chart(chosen), "curves")
    for section in telling.only("firmness", "properties", "why", "label").sections:
        parts.body(section, f"compare-{section.name}")
    papers.downloads("variants", telling, lambda: json.compared(comparison))


st.title("Drafts", anchor=False)
read = work.brief(state.bench())
if not state.variants():
    st.info(
        "No draft is here yet. On the Workbench, and wherever a formula is proposed, “Save as draft” puts one here."
    )
    show.way("the Workbench", "bench", "experiment")
elif isinstance(read, work.Refused):
    st.error("The brief on the Workbench cannot be read; mend it there first.")
    show.way("the Workbench", "bench", "experiment")
else:
    kept()
    keeping.variants()
    offered = variants(read)
    first = [name for name in st.session_state.get(Key.PICKED) or [] if name in offered] or list(offered)[:3]
    picked = st.multiselect("Put side by side, two to four", list(offered), first, max_selections=MOST, key="picked")
    if len(picked) >= 2:
        side_by_side(read, [offered[name] for name in picked])
    else:
        st.caption("Choose at least two.")
