"""As typed: a formula in a table to type into, and what is to be said of it just as it stands."""

import streamlit as st
from workbench import papers, parts, proposals, show, touch, typing_in, work
from workbench.which import Chosen, chosen
from workbench.wording import on_page

from optiform.ingredients.formula import Basis
from optiform.reading.tables import csv_text
from optiform.review.check import check_against
from optiform.review.measures import setting_of
from optiform.telling import json
from optiform.telling.check import checked
from optiform.telling.parts import Sentence

FILE = "typed.csv"


def looked_at(choice: Chosen, lines: list[typing_in.Line], of: typing_in.Of) -> None:
    """What is to be said of it as it stands, and what can be done with it."""
    text = csv_text([("ingredient", "percent", "phase"), *lines], exact=True)
    basis = Basis.BASE if of == "base" else None
    answer = work.reading(FILE, text, lambda path: check_against(path, choice.brief, basis))
    if isinstance(answer, work.Refused):
        show.refused(answer)
        return
    telling = checked(answer, setting_of(choice.brief))
    proposals.actions(
        answer.reading.formula, choice.name, f"{choice.name}, typed", "typed by hand", "check", "what is typed"
    )
    verdict, *_ = telling.sections[0].parts
    if touch.narrow() and isinstance(verdict, Sentence):  # in sight of every card
        st.bottom.markdown(show.escape(on_page(verdict.text)))
    parts.told(telling, "check")
    papers.downloads("check", telling, lambda: json.checked(answer, choice.brief.currency, choice.brief.batch))


st.title("As typed", anchor=False)
st.markdown("Type the percentages: the formula is checked just as it stands, nothing is moved to make it fit.")
formula = chosen()
if formula is not None:
    left, right = st.columns([6, 7], gap="large")
    with left:
        of = typing_in.of_what()
        now = typing_in.typed(formula, of)
    with right:
        if now:
            looked_at(formula, now, of)
