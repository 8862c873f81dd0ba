"""What stands always in sight beside the formula: cost, firmness, law, what is only just met, the last step."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.design.answer import NoFormula
from optiform.rules.network import without_network
from optiform.telling.design import at_once
from optiform.telling.parts import Section
from optiform.telling.standing import firmness as how_firm
from optiform.telling.standing import last_step
from workbench import answers, parts, proposals, show, state, work
from workbench import firmness as scale
from workbench.easing import easing
from workbench.work import Answered, Found, Refused

Outcome = Found | NoFormula | Refused


def at_first(outcome: Outcome) -> tuple[DeltaGenerator, DeltaGenerator]:
    """What is known before anything else is worked out: cost and proof, or why there is no formula.

    Gives the places for the rest and for firmness.
    """
    rest = firmly = st.container()
    if isinstance(outcome, Refused):
        show.refused(outcome)
    elif isinstance(outcome, NoFormula):
        answers.impossible(outcome)
    else:
        _money(outcome)
        _last(outcome)
        firmly = st.container()
        facts, *others = at_once(outcome.best)[0].parts
        parts.body(Section("answer", "", tuple(others)), "answer")
        rest = st.container()
        parts.body(Section("facts", "", (facts,)), "facts")
    return rest, firmly


def _money(answered: Found) -> None:
    """What a kg and a jar cost."""
    cost, brief = answered.data["cost"], answered.best.brief
    if cost["value"] is None:
        return
    kg, jar = st.columns([3, 2])  # the first has a second line
    against = show.against(answered) or None
    kg.metric(f"1 kg, {brief.currency}", f"{cost['value']:.3f}", against, delta_color="inverse")
    if brief.jar:
        jar.metric(f"A jar of {1000 * brief.jar:g} g, {brief.currency}", f"{cost['value'] * brief.jar:.2f}")


def _last(now: Found) -> None:
    """What the last step of the history changed."""
    before = state.trail().earlier
    if before is None or before.bench is None:
        return
    was = work.found(before.bench)
    if isinstance(was, Found):
        section = last_step(was.best.formula, now.best.formula, now.best.brief.currency, state.trail().here.words)
        parts.body(section, "last-step")


def then(answered: Answered) -> None:
    """The rest: law, limits, what is only just met and its price, and what can be done with the formula."""
    for section in answered.telling.only("summary").sections:
        parts.body(section, section.name)
    easing(answered)
    formula = answered.answer.report.formula
    proposals.actions(formula, "today", "cheapest", answered.answer.brief.goal.words, "bench")


def firmness(answered: Answered) -> None:
    """How firm it is at three temperatures, and what the maker reads of it herself."""
    brief, formula = answered.answer.brief, answered.answer.report.formula
    if refusal := without_network(brief.kind):
        parts.body(how_firm((), False, refusal), "firm")
        return
    parts.body(how_firm(scale.of(brief, formula), brief.reference is not None), "firm", wrap=True)
