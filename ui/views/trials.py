"""Trials: what was made and read, what it teaches about firmness, and which trial to make next."""

from collections.abc import Sequence
from math import inf

import streamlit as st
from workbench import charts, forms, papers, parts, proposals, question, shop, show, state, trialforms, wording, work
from workbench.shop import Shop
from workbench.typed import field

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.ingredients.recorded import formula_from
from optiform.telling import scale as told
from optiform.telling import trial as plain
from optiform.telling.between import between as mix_told
from optiform.telling.facts import in_words
from optiform.telling.json import Data
from optiform.telling.json import trial as as_json
from optiform.telling.parts import Telling
from optiform.telling.saved import kept_in_words
from optiform.telling.tried import figure, proposed
from optiform.trials import forecasts
from optiform.trials.between import Between, between
from optiform.trials.cells import formulas_of
from optiform.trials.curve import Curve, Point, curve, points
from optiform.trials.fit import Fitted, fit
from optiform.trials.next_trial import next_trial
from optiform.trials.prediction import predict
from optiform.trials.question import Next, Proposal, Question
from optiform.trials.weighable import Weighings, weighable
from optiform.workshop.decisions import Kept, written
from optiform.workshop.keeping import own_lines
from optiform.workshop.log import Log
from optiform.workshop.records import Forecast


def log(records: Shop) -> None:
    """Every trial and every reading, and the forms for more."""
    kept = records.log
    if kept.trials:
        outcomes = forecasts.record(kept, records.of(Forecast))
        telling = plain.trials(kept, outcomes)
        papers.downloads("trials", telling, lambda: as_json.shown(kept, outcomes))
        parts.told(telling, "trials")
    else:
        st.info("No trial is saved yet. Log the first one below, then what you read of its jars.")
    trialforms.trial(kept)
    trialforms.readings(kept)


# -- what they teach ---------------------------------------------------------------------------------------------------


def fitted(kept: Log) -> Fitted | None:
    """The fit, or None after it was said why there is none."""
    if not any(not reading.excluded for reading in kept.readings):
        st.info("Nothing has been read yet. Log a trial, and what you read of its jars after a day or later.")
        return None
    model: Fitted | None = question.asked(
        "trial fit", (kept,), lambda brief: fit(kept, brief.catalogue, brief.reference)
    )
    return model


def teach(records: Shop) -> None:
    """The scale before and after, firmness over temperature, each trial against the others."""
    kept = records.log
    scale = fitted(kept)
    if scale is None:
        return
    telling = told.fitted(scale)
    st.markdown(f"**{show.escape(telling.title)}**")
    papers.downloads("firmness", telling, lambda: as_json.fitted(scale))
    for column, learned in zip(st.columns(2), scale.learned[:2], strict=True):
        column.metric(show.escape(told.spoken(figure(learned))), f"{told.whole(learned.fitted)} {learned.unit}".strip())
    sections(telling, "verdict", "taught", "scale", "notes")
    over_temperature(scale, records)
    sections(telling, "trials", "without", "uncounted", "closing")


def sections(telling: Telling, *names: str) -> None:
    """The sections of these names, below one another."""
    for section in telling.only(*names).sections:
        parts.body(section, f"trials-{section.name}")


def over_temperature(scale: Fitted, records: Shop) -> None:
    """One formula's firmness with its bands, and what was read of it; before it is read this is sealed."""
    st.header("Firmness over temperature", anchor=False)
    kept = records.log
    offered = formulas(kept)
    names = list(offered)
    if not names:
        st.info("No formula here or on the Workbench can be looked at: each has an ingredient that is not known.")
        return
    first = next((of(x.product, x.version) for x in kept.trials if x.name in scale.taken.trials), names[0])
    name = st.selectbox("Formula", names, names.index(first) if first in names else 0, key="curve-of")
    drawn: Curve | None = question.asked("trial curve", (kept, name), lambda _: curve(scale, offered[name]))
    if drawn is None:
        return
    made = {x.name for x in kept.trials if of(x.product, x.version) == name}
    read: list[Point] = [each for each in points(scale) if each.trial in made]
    if drawn.predicted:
        st.altair_chart(charts.firmness_fitted(drawn, read, scale.reference.name), key="fitted-curve")
        parts.table(plain.firmness(drawn.predicted), "predicted")
        seal(scale, records, offered[name], [each.temperature for each in drawn.predicted])
    show.warnings(f"No firmness at {at:g} °C: {why}." for at, why in drawn.left_out)
    if read:
        of_trials = f"Points: means of the jars of {', '.join(sorted({x.trial for x in read}))}, on this scale"
        st.caption(show.escape(f"{of_trials}, by {'; '.join(charts.gauges_of(read))}."))
    else:
        st.caption("No trial of this formula has readings that count: this is what the others say of it.")


def seal(scale: Fitted, records: Shop, formula: Formula, temperatures: Sequence[float]) -> None:
    """What is foretold of a formula that nobody has read goes into the records, and that is told."""
    predictions = (predict(scale, formula, at) for at in temperatures)
    asked = forecasts.forecasts(scale, predictions, in_words(scale.basis))
    if forecasts.is_open(records.log, records.of(Forecast), asked):
        outcome = shop.keep(lambda now: forecasts.sealed(now, asked), written("records"))
        words = kept_in_words(outcome) if isinstance(outcome, Kept) else f"No forecast was sealed: {outcome.faults[0]}"
        st.caption(show.escape(wording.on_page(f"{words}.")))


def of(product: str, version: str) -> str:
    """How a version is called in a list of formulas."""
    return f"{product}, version {version}"


def formulas(kept: Log) -> dict[str, Formula]:
    """Today's formula, the versions of the workshop and this session's variants, where every ingredient is known."""
    read = work.brief(state.bench())
    if isinstance(read, work.Refused):
        return {}
    known = {} if read.reference is None else {"today's formula": read.reference}
    lines = {
        of(*version): [(x.ingredient, x.percent, x.phase) for x in own_lines(kept.lines, *version)]
        for version in ((x.product, x.name) for x in kept.versions)
    }
    lines |= {f"draft {x.name}": list(x.lines) for x in state.variants()}
    made = {name: formula_from(name, each, read.catalogue) for name, each in lines.items()}
    return known | {name: formula for name, formula in made.items() if formula is not None}


# -- the next one ------------------------------------------------------------------------------------------------------


def ahead(records: Shop) -> None:
    """A question, and whether one more trial would change its answer."""
    kept = records.log
    scale = fitted(kept) if question.needs_today() else None
    if scale is None:
        return
    offered = formulas(kept)
    name, at, most, value = asked(list(offered))
    mass, step = trial_size()
    wish = Question(offered[name], at, *((0.0, value) if most else (value, inf)))
    answer: Next | None = question.asked(
        "next trial",
        (kept, name, at, most, value, mass, step),
        lambda brief: next_trial(scale, wish, brief, kept.trials, mass, step),
    )
    if answer is not None:
        answered(answer, scale, kept)


def asked(names: list[str]) -> tuple[str, float, bool, float]:
    """Of which formula, at what temperature, at most or at least, and which firmness."""
    name = st.selectbox("Is the firmness of", names, **field("ask-of", names))
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    at = left.number_input("at, °C", 0.0, 60.0, 10.0, 1.0, format="%g", **field("ask-at"))
    most = middle.segmented_control("limit", ["at most", "at least"], default="at most", required=True,
                                     **field("ask-limit"))  # fmt: skip
    value = right.number_input("firmness (today's at 20 °C is 100)", 1.0, 1e6, 140.0, 5.0, format="%g",
                               **field("ask-value"))  # fmt: skip
    return name, float(at), most == "at most", float(value)


def trial_size() -> tuple[float | None, float | None]:
    """Grams of a trial and what its scale shows, where they are said."""
    left, right = st.columns(2)
    mass = left.number_input("Mass of a trial, g", 1.0, None, None, format="%g", **field("trial-mass"),
                             placeholder="as the last one")  # fmt: skip
    step = right.number_input("Your scale shows, g", 0.001, None, None, format="%g", **field("trial-step"),
                              placeholder="as in the brief")  # fmt: skip
    return mass, step


def answered(answer: Next, scale: Fitted, kept: Log) -> None:
    """Yes or no first, then why, then which trial to make."""
    telling = plain.next_one(answer, scale)
    st.markdown(f"**{show.escape(telling.title)}**")
    papers.downloads("next-trial", telling, lambda: data(answer))
    sections(telling, "answer", "trials")
    if answer.proposals:
        left, right = st.columns([3, 2], gap="large")
        with left:
            to_weigh(answer, kept)
        with right:
            sections(telling, "equal")
    sections(telling, "notes", "closing")


def data(answer: Next) -> Data:
    """The answer for other programs, with each proposal as it can be weighed."""
    brief = work.brief(state.bench())
    assert isinstance(brief, Brief)  # it is what was asked of
    return as_json.next_trial(answer, [weighable(each, answer.mass, answer.step, brief) for each in answer.proposals])


def to_weigh(answer: Next, kept: Log) -> None:
    """One proposal as lines for the scale, and which lines that scale distorts."""
    called = [f"trial {k}: {proposed(each, answer.question)}" for k, each in enumerate(answer.proposals, 1)]
    which = called.index(st.selectbox("Weigh", called, key="proposal"))
    chosen: Proposal = answer.proposals[which]
    weighings: Weighings | None = question.asked(
        "trial weighings",
        (kept, answer.question, answer.mass, answer.step, which),
        lambda brief: weighable(chosen, answer.mass, answer.step, brief),
    )
    if weighings is None:
        return
    for section in plain.weighings_of(weighings, which + 1):
        parts.body(section, f"weigh-{section.name}")
    grams = sum(x.grams for x in weighings.lines)
    st.caption(
        f"{grams:g} g in whole steps of {answer.step:g} g. No line is rounded up above its own range, the law or a "
        "certificate."
    )


# -- two made one ------------------------------------------------------------------------------------------------------


def of_two(records: Shop) -> None:
    """Two trials, a firmness, and the formula on the way from one to the other that should have it."""
    kept = records.log
    names = [trial.name for trial in kept.trials]
    if len(names) < 2:
        st.info("This takes two trials. Log the second one first.")
        return
    scale = fitted(kept) if question.needs_today() else None
    if scale is None:
        return
    left, right = st.columns(2)
    first = left.selectbox("Between trial", names, 0, **field("between-first", names))
    second = right.selectbox("and trial", names, 1, **field("between-second", names))
    wished = left.number_input("Firmness (today's at 20 °C is 100)", 1.0, 1e6, 100.0, 5.0, format="%g",
                               **field("between-firmness"))  # fmt: skip
    at = right.number_input("at, °C", 0.0, 60.0, 20.0, 1.0, format="%g", **field("between-at"))

    def mixed(brief: Brief) -> tuple[Between, Telling]:
        mix = between(scale, formulas_of(kept, brief.catalogue), (first, second), wished, brief, at)
        return mix, mix_told(mix, scale, brief)

    answer = question.asked("trial between", (kept, first, second, wished, at), mixed)
    if answer is not None:
        mix, telling = answer
        st.markdown(f"**{show.escape(telling.title)}**")
        papers.downloads("between-trials", telling, lambda: as_json.between(mix))
        parts.told(telling, "between")
        proposals.actions(mix.formula, "", mix.formula.name, f"as firm as {wished:g} at {at:g} °C", "between")


PARTS = {"Log": log, "What they teach": teach, "Next trial": ahead, "Between two": of_two}

forms.on_records("Trials", PARTS)
