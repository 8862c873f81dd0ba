"""Declaration: a draft of the label's ingredient list for one market."""

from collections.abc import Sequence
from dataclasses import replace

import pandas as pd
import streamlit as st
from workbench import going_on, papers, show
from workbench.question import asked
from workbench.state import Key
from workbench.which import Chosen, chosen, remembered

from optiform.brief.brief import Brief, called
from optiform.label.declare import Declaration, declare
from optiform.label.items import Item
from optiform.label.net_content import NetContent, figure, net_mass
from optiform.rules.law import MARKETS
from optiform.telling.declare import DRAFT, drafted
from optiform.telling.papers.declaration import declaration_table, document

NUMBER = st.column_config.NumberColumn


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and draft, redrawn without the rest of the page."""
    left, right = st.columns(2)
    with left:
        found = chosen()
    if found is None:
        return
    with right:
        first = next(iter(found.brief.scope.markets), MARKETS[0])
        market = remembered("Market", list(MARKETS), Key.MARKET, first)
    draft = asked("declare", (found.name, market), lambda brief: drafting(found, brief, market))
    if draft is not None:
        shown(draft, found.brief)


def drafting(found: Chosen, brief: Brief, market: str) -> Declaration:
    """The job for one market."""
    net = net_mass(brief.jar, market) if brief.jar else None
    formula = replace(found.formula, name=f"{brief.title}: {called(found.formula, brief)}")
    return declare(formula, replace(brief.scope, markets=(market,)), net)


def shown(draft: Declaration, brief: Brief) -> None:
    """The list, what has to be settled first, and where everything comes from."""
    st.caption(f"{draft.use}, {draft.area}, {draft.market}; rules as on {draft.date}. {DRAFT}")
    st.code(draft.text, language=None, wrap_lines=True)
    for words in places(draft):
        st.caption(words)
    name = f"declaration-{draft.market}"
    papers.downloads(name, lambda: document(draft, brief.catalogue.sources), declaration_table(draft), drafted(draft))
    show.warnings((*draft.notes, *draft.warnings))
    st.subheader("Where each name comes from")
    st.caption("Per cent are not for print.")
    names(draft)
    st.subheader("Allergens against their thresholds")
    allergens(draft)
    net_content(draft.net)
    tabs = st.tabs(["A person decides", "Rules add", "Cautions", "Made by these rules"])
    with tabs[0]:
        items(draft.decisions)
    with tabs[1]:
        bullets(draft.statements)
    with tabs[2]:
        bullets(draft.precautions)
    with tabs[3]:
        items(draft.rules)


def places(draft: Declaration) -> list[str]:
    """Where the parts of the list begin that may stand in any order."""
    told = []
    if draft.free_from is not None:
        name = show.escape(draft.entries[draft.free_from - 1].name)
        told.append(f"From {name} on, names may stand in any order; here by weight.")
    if draft.colourants_from is not None:
        told.append(f"Colourants begin with {show.escape(draft.entries[draft.colourants_from - 1].name)}.")
    return told


def names(draft: Declaration) -> None:
    """Every name with its content and what brings it."""
    rows = [
        {
            "place": place,
            "name": entry.name,
            "%": entry.percent,
            "range %": f"{entry.least:.3g} to {entry.most:.3g}" if entry.most - entry.least > 1e-9 else "",
            "order": "colourant" if entry.colourant else "any" if entry.free else "by weight",
            "allergen": "allergen" if entry.allergen else "",
            "from": _from(entry.carriers),
            "known how": str(entry.known),
        }
        for place, entry in enumerate(draft.entries, 1)
    ]
    config = {
        "place": NUMBER(width=50),
        "name": st.column_config.TextColumn(width=200),
        "%": NUMBER(format="%.3g", width=70),
    }
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="", height="content", column_config=config)


def _from(carriers: Sequence[tuple[str, float]]) -> str:
    return "; ".join(f"{name} {part:.3g} %" for name, part in carriers)


def allergens(draft: Declaration) -> None:
    """What is known to be in it, against what the market asks to be named."""
    if not draft.allergens_known:
        silent = show.escape(", ".join(draft.without_allergen_list))
        st.markdown(f"No supplier's list of allergens in your table for: **{silent}**. What they bring is not known.")
    if not draft.allergen_details:
        st.caption("No allergen of the lists is known to be in it.")
        return
    rows = [
        {
            "allergen": each.name,
            "content %": each.percent,
            "named above %": each.threshold,
            "named": "yes" if each.declared else "no",
            "rule": each.reference if each.listed else "not in this market's list",
            "from": _from(each.carriers),
            "known how": str(each.known),
        }
        for each in draft.allergen_details
    ]
    config = {"content %": NUMBER(format="%.3g"), "named above %": NUMBER(format="%g")}
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="", column_config=config)


def net_content(net: NetContent | None) -> None:
    """What the label says of the content, and what a pack may be off."""
    st.subheader("Net content")
    if net is None:
        st.caption("The brief names no jar, so no net content is known.")
        return
    st.markdown(f"**{show.escape(net.words)}**. {show.escape(net.note)}")
    if (found := net.tolerance) is not None:
        error, first, second = (f"{figure(each)} {net.unit}" for each in (found.error, found.first, found.second))
        st.caption(f"Tolerable error of a pack {error}; T1 {first}, T2 {second} ({found.evidence}).")


def items(found: Sequence[Item]) -> None:
    """Rules or decisions, each with how it is known."""
    for item in found:
        known = f" *({item.evidence})*" if item.evidence else ""
        st.markdown(f"- **{show.escape(item.about)}**: {show.escape(item.text)}{known}")


def bullets(texts: Sequence[str]) -> None:
    """Lines of text, or that there are none."""
    st.markdown("\n".join(f"- {show.escape(text)}" for text in texts) or "Nothing of the tables applies.")


st.title("Declaration")
st.markdown("A draft of the label's ingredient list, to check, complete and sign.")
body()
