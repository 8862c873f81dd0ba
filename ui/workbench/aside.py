"""What stands always in sight beside the formula: cost, firmness, law, what is only just met, the last step."""

from dataclasses import dataclass, field, replace
from functools import lru_cache

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.design.answer import NoFormula
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula
from optiform.reading.faults import BadInput
from optiform.rules.network import without_network
from optiform.telling.design import at_once, designed
from optiform.telling.parts import Section
from optiform.telling.standing import firmness as how_firm
from optiform.telling.standing import last_step
from optiform.trials.firm import firm
from optiform.trials.fit import Fitted, fit
from optiform.workshop.log import Log, log_of
from workbench import answers, parts, proposals, shop, show, state, work
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
    kg, jar = st.columns(2)
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
    telling = designed(answered.answer)
    for section in telling.only("summary").sections:
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
    reference = brief.reference or formula
    firms = firm(formula, reference, _fitted(reference))
    parts.body(how_firm(firms, brief.reference is not None), "firm")


def _fitted(reference: Formula) -> Fitted | None:
    """The scale as the readings in the records fit it; None where nothing was read."""
    log = shop.within(log_of)
    if isinstance(log, Refused) or all(reading.excluded for reading in log.readings):
        return None
    brief = work.brief(state.bench())
    anywhere = replace(log, place="")  # sessions on the demo share one fit
    return None if isinstance(brief, Refused) else _fit(_Asked(anywhere, reference, brief.catalogue))


@dataclass(frozen=True)
class _Asked:
    """What a fit hangs on: values, which compare quickly; the catalogue is that of the reference."""

    log: Log
    reference: Formula
    catalogue: Catalogue = field(compare=False)


@lru_cache(maxsize=8)
def _fit(asked: _Asked) -> Fitted | None:
    try:
        return fit(asked.log, asked.catalogue, asked.reference)
    except BadInput:
        return None
