"""What stands always in sight beside the formula: cost, firmness, law, what is only just met, the last step."""

from dataclasses import dataclass

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from optiform.brief.goal import Lowest
from optiform.design.answer import NoFormula
from optiform.properties.firmness import REFERENCE_TEMPERATURE
from optiform.rules.network import without_network
from optiform.telling.design import at_once
from optiform.telling.formula import money_sentence
from optiform.telling.parts import Section, Sentence, number
from optiform.telling.standing import firmness as how_firm
from optiform.telling.standing import firmness_unknown, last_step
from workbench import answers, parts, proposals, show, state, touch, work
from workbench import firmness as scale
from workbench.easing import easing
from workbench.work import Answered, Found, Refused

Outcome = Found | NoFormula | Refused
SAME = 5e-4  # of the currency a kg: less is no change that three decimals show


@dataclass(frozen=True)
class Later:
    """Places for what is worked out later: firmness, on a phone in one figure beside the cost too, and the rest."""

    rest: DeltaGenerator
    firmly: DeltaGenerator
    figures: DeltaGenerator


def at_first(outcome: Outcome, after: DeltaGenerator) -> Later:
    """What is known before anything else is worked out: cost here and proof in `after`, or why there is no formula."""
    if isinstance(outcome, Refused):
        show.refused(outcome)
    elif isinstance(outcome, NoFormula):
        answers.impossible(outcome)
    else:
        return _found(outcome, after)
    return Later(st.container(), st.container(), st.container())


def _found(answered: Found, after: DeltaGenerator) -> Later:
    """What is known of a formula at first."""
    figures = st.container(horizontal=True)
    shown = _money(answered, figures)
    _last(answered)
    firmly = after.container() if touch.narrow() else st.container()
    best = answered.best
    facts, *others = at_once(best)[0].parts
    with after:
        parts.body(Section("answer", "", tuple(part for part in others if part != shown)), "answer")
        rest = st.container()
        parts.body(Section("facts", "", (facts,)), "facts")
    return Later(rest, firmly, figures)


def _money(answered: Found, beside: DeltaGenerator) -> Sentence | None:
    """What a kg and a jar cost, as figures; the sentence that says the same."""
    cost, brief = answered.data["cost"]["value"], answered.best.brief
    if cost is None:
        return None
    before = show.before(answered)
    moved = 0.0 if before is None or abs(cost - before) < SAME else cost - before
    figures = [(f"1 kg, {brief.currency}", number(cost, 3), _moved(moved, before, 1.0, 3))]
    if brief.jar:
        words = f"A jar of {1000 * brief.jar:g} g, {brief.currency}"
        figures.append((words, number(cost * brief.jar, 2), _moved(moved, before, brief.jar, 2)))
    for label, value, change in figures:
        beside.metric(label, value, change, "inverse" if moved else "off", width="content",
                      delta_arrow="auto" if moved else "off")  # fmt: skip
    return money_sentence(brief, answered.best.formula)


def _moved(by: float, before: float | None, mass: float, places: int) -> str | None:
    """What a mass, kg, costs more or less than today's `before` a kg, of which it differs `by`; None without one."""
    if before is None or not by:
        return None if before is None else "as today"
    share = f", {100 * by / before:+.1f} %" if mass == 1 else " against today"
    return f"{number(by * mass, places, sign=True)}{share}"


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
    goal = answered.answer.brief.goal
    name = "cheapest" if isinstance(goal, Lowest) and goal.wanted.name == "cost" else "best"
    proposals.actions(formula, "today", name, goal.words, "bench", f"the {name}")


def firmness(answered: Answered, places: Later) -> None:
    """How firm it is at three temperatures, and what the maker reads of it herself."""
    brief, formula = answered.answer.brief, answered.answer.report.formula
    refusal = without_network(brief.kind)
    firms = () if refusal else scale.of(brief, formula)
    why = "" if firms else refusal or firmness_unknown(formula, brief.reference)
    with places.firmly:
        parts.body(how_firm(firms, brief.reference is not None, why), "firm", wrap=bool(firms))
    for firm in firms:
        if touch.narrow() and firm.temperature == REFERENCE_TEMPERATURE:
            low, typical, high = (f"{end:.0f}" for end in (firm.band.low, firm.band.typical, firm.band.high))
            could_be = f"could be {low} to {high}" if low != high else None  # it is what all others are measured by
            places.figures.metric(f"Firmness at {firm.temperature:g} °C", typical, could_be, delta_color="off",
                                  delta_arrow="off", width="content")  # fmt: skip
