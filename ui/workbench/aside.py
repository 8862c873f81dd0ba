"""What stands always in sight beside the formula: cost, firmness, law, what is only just met, the last step."""

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.design.answer import NoFormula
from optiform.rules.network import without_network
from optiform.telling.design import at_once
from optiform.telling.formula import money_sentence
from optiform.telling.parts import Section, Sentence
from optiform.telling.standing import firmness as how_firm
from optiform.telling.standing import last_step
from workbench import answers, parts, proposals, show, state, work
from workbench import firmness as scale
from workbench.easing import easing
from workbench.work import Answered, Found, Refused

Outcome = Found | NoFormula | Refused


def at_first(outcome: Outcome, after: DeltaGenerator) -> tuple[DeltaGenerator, DeltaGenerator]:
    """What is known before anything else is worked out: cost here and proof in `after`, or why there is no formula.

    Gives the places for the rest and for firmness.
    """
    rest = firmly = st.container()
    if isinstance(outcome, Refused):
        show.refused(outcome)
    elif isinstance(outcome, NoFormula):
        answers.impossible(outcome)
    else:
        shown = _money(outcome)
        _last(outcome)
        firmly = st.container()
        facts, *others = at_once(outcome.best)[0].parts
        with after:
            parts.body(Section("answer", "", tuple(part for part in others if part not in shown)), "answer")
            rest = st.container()
            parts.body(Section("facts", "", (facts,)), "facts")
    return rest, firmly


def _money(answered: Found) -> tuple[Sentence, ...]:
    """What a kg and a jar cost, as figures; the sentences that say the same."""
    cost, brief = answered.data["cost"]["value"], answered.best.brief
    if cost is None:
        return ()
    beside = st.container(horizontal=True)
    before = show.before(answered)
    change = None if before is None else f"{cost - before:+.3f}, {100 * (cost - before) / before:+.1f} %"
    beside.metric(f"1 kg, {brief.currency}", f"{cost:.3f}", change, delta_color="inverse", width="content")
    if brief.jar:
        less = None if before is None else f"{(cost - before) * brief.jar:+.2f} against today"
        words = f"A jar of {1000 * brief.jar:g} g, {brief.currency}"
        beside.metric(words, f"{cost * brief.jar:.2f}", less, delta_color="inverse", width="content")
    return (money_sentence(brief, answered.best.formula),)


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
