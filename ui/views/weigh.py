"""Weighable: the best formula that your scale can show, of few lines if that is wished."""

import streamlit as st
from workbench import answers, papers, parts, proposals
from workbench.question import asked
from workbench.typed import field

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.scale import least_shown
from optiform.design.steps import Unweighable, Weighed
from optiform.design.weigh import weigh
from optiform.telling.json.weigh import weighed as as_json
from optiform.telling.weigh import unweighable, weighed

st.title("Weighable", anchor=False)
st.markdown("The best formula for the brief on the bench in whole steps of your scale; with fewer lines, if you wish.")
left, middle, right = st.columns(3, vertical_alignment="bottom")
most = left.number_input("Lines at most", 1, None, None, placeholder="as many as it takes", **field("most-lines"))
step = middle.number_input("Your scale shows, g", 0.001, None, None, format="%g", **field("weigh-step"),
                           placeholder="as in the brief")  # fmt: skip
fine = right.number_input("A fine scale shows, g", 0.001, None, None, format="%g", **field("fine-step"),
                          placeholder="none")  # fmt: skip


def work(brief: Brief) -> Weighed | Unweighable | NoFormula:
    """The job."""
    return weigh(brief, most, least_shown(brief, step, fine), (), step, fine)


def shown(answer: Weighed) -> None:
    """The grams, what can be done with the formula, and what is to be said of it."""
    telling = weighed(answer)
    parts.told(telling.only(*telling.names[:2]), "weigh")
    proposals.actions(
        answer.report.formula, "the best", "weighable", "in whole steps of the scale", "weigh", "the weighable"
    )
    papers.downloads("weigh", telling, lambda: as_json(answer))
    parts.told(telling.only(*telling.names[2:]), "weigh-more")


found: Weighed | Unweighable | NoFormula | None = asked("weigh", (most, step, fine), work)
if isinstance(found, NoFormula):
    answers.impossible(found)
elif isinstance(found, Unweighable):
    parts.told(unweighable(found), "weigh")
elif found is not None:
    shown(found)
