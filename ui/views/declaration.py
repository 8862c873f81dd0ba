"""Declaration: a draft of the label's ingredient list for one market."""

from dataclasses import replace

import streamlit as st
from workbench import going_on, papers, parts
from workbench.question import asked
from workbench.state import Key
from workbench.which import Chosen, chosen, remembered

from optiform.brief.brief import Brief, titled
from optiform.label.declare import Declaration, declare
from optiform.label.net_content import stated_or_jar
from optiform.review.measures import setting_of
from optiform.rules.law import MARKETS
from optiform.telling.declare import declaration
from optiform.telling.json.label import declared
from optiform.telling.terminal import terminal

LINE = 100  # columns of the plain text that can be taken along


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and draft, redrawn without the rest of the page."""
    left, right = st.columns(2)
    with left:
        formula = chosen()
    if formula is None:
        return
    with right:
        first = next(iter(formula.brief.scope.markets), MARKETS[0])
        market = remembered("Market", list(MARKETS), Key.MARKET, first)
    draft = asked("declare", (formula.name, market), lambda brief: drafting(formula, brief, market))
    if draft is not None:
        shown(draft, formula.brief)


def drafting(subject: Chosen, brief: Brief, market: str) -> Declaration:
    """The job for one market."""
    net = stated_or_jar(None, brief, market)
    return declare(
        titled(subject.formula, brief), replace(brief.scope, markets=(market,)), net, setting=setting_of(brief)
    )


def shown(draft: Declaration, brief: Brief) -> None:
    """The list to copy, what has to be settled first, and where everything comes from."""
    telling = declaration(draft, brief.catalogue.sources)
    scope, *rest = telling.sections
    parts.body(scope, "declaration-for")
    st.code(draft.text, language=None, wrap_lines=True)
    name = f"declaration-{draft.market}"
    papers.downloads(name, telling, lambda: declared(draft), text=terminal(telling, LINE))
    after = tuple(section for section in rest if section.name != "list")
    parts.told(replace(telling, sections=after), "declaration")


st.title("Declaration", anchor=False)
st.markdown("A draft of the label's ingredient list, to check, complete and sign.")
body()
