"""Trials: what was made and read, what it teaches about firmness, and which trial to make next."""

from math import inf

import streamlit as st
from workbench import charts, forms, question, shop, show, state, trialforms, work
from workbench.shop import Shop

from optiform.ingredients.formula import Formula
from optiform.ingredients.recorded import formula_from
from optiform.telling import trial as plain
from optiform.telling.report import NOT_A_RELEASE, PROCESS
from optiform.trials.curve import Curve, Point, curve, points
from optiform.trials.fit import Fitted, fit
from optiform.trials.next_trial import Next, Proposal, Question, next_trial
from optiform.trials.weighable import Weighings, weighable
from optiform.workshop.log import Log

#: What is shown of the log's readings, in this order, and how it is called here.
READINGS = {
    "trial": "trial", "version": "version", "instrument": "instrument", "degC": "°C", "age h": "age, h",
    "readings": "readings", "unit": "unit", "condition": "condition", "geometry": "size, travel, mass",
    "not counted": "not counted, because",
}  # fmt: skip


def log(found: Shop) -> None:
    """Every trial and every reading, and the forms for more."""
    kept = found.log
    if kept.trials:
        shop.table([
            {"trial": x.name, "made": str(x.made), "version": x.version, "why": x.aim, "what changed": x.changed,
             "outcome": x.outcome, "g": x.mass, "water °C": x.hot_water, "oil °C": x.hot_oil,
             "min to grains": x.cooling, "grains at °C": x.added_at, "room °C": x.room, "product": x.product,
             "note": x.note}
            for x in kept.trials
        ], "trials")  # fmt: skip
        st.subheader("Readings")
        head, *rows = plain.rows(kept)
        cells = [dict(zip(map(str, head), map(_cell, row), strict=True)) for row in rows]
        shop.table([{shown: row[name] for name, shown in READINGS.items()} for row in cells], "readings")
    else:
        st.info("No trial is kept yet. The first one comes here, then what was read of its jars.")
    trialforms.trial(kept)
    trialforms.readings(kept)


def _cell(cell: object) -> str:
    return f"{cell:g}" if isinstance(cell, float) else str(cell)


# -- what they teach ---------------------------------------------------------------------------------------------------


def fitted(kept: Log) -> Fitted | None:
    """The fit, or None after it was said why there is none."""
    if not any(not reading.excluded for reading in kept.readings):
        st.info("Nothing has been read yet. Log a trial and readings of it; a fit needs one plain reading at least.")
        return None
    found: Fitted | None = question.asked(
        "trial fit", (kept,), lambda brief: fit(kept, brief.catalogue, brief.reference)
    )
    return found


def teach(found: Shop) -> None:
    """The scale before and after, firmness over temperature, each trial against the others."""
    kept = found.log
    scale = fitted(kept)
    if scale is None:
        return
    st.markdown(f"Fitted to {show.escape(scale.basis.words)}; **{show.escape(scale.reference.name)}** at 20 °C is 100.")
    learned(scale)
    over_temperature(scale, kept)
    residuals(scale)
    closing()


def closing() -> None:
    """What no fit settles."""
    st.caption(f"{plain.NINE_IN_TEN} {plain.SCALE} {PROCESS} {NOT_A_RELEASE}")


def learned(scale: Fitted) -> None:
    """What was assumed and what the readings made of it: first the two exponents, then everything."""
    for column, each in zip(st.columns(2), scale.learned[:2], strict=True):
        column.metric(f"{show.escape(each.name)}, fitted", f"{plain.whole(each.fitted)} {each.unit}".strip())
        column.caption("" if each.prior is None else f"assumed before {plain.whole(each.prior)} {each.unit}")
    shop.table([
        {"of the scale": x.name, "assumed, before": "not known" if x.prior is None else plain.whole(x.prior),
         "fitted, after": plain.whole(x.fitted), "unit": x.unit}
        for x in scale.learned
    ], "learned", whole=True)  # fmt: skip
    for note in scale.notes:
        st.caption(show.escape(note))


def over_temperature(scale: Fitted, kept: Log) -> None:
    """One formula's firmness with its bands, and what was read of it."""
    st.subheader("Firmness over temperature")
    offered = formulas(kept)
    names = list(offered)
    if not names:
        st.info("No formula of the workshop or the Workbench can be looked at: an ingredient of each is not known.")
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
        shop.table([
            {"°C": f"{x.temperature:g}", "assumed": plain.whole(x.before), "fitted": plain.whole(x.after),
             "the next batch": plain.whole(x.batch)}
            for x in drawn.predicted
        ], "predicted", whole=True)  # fmt: skip
    show.warnings(f"No firmness at {words}." for words in drawn.left_out)
    if read:
        of_trials = f"Points: means of the jars of {', '.join(sorted({x.trial for x in read}))}, on this scale"
        st.caption(show.escape(f"{of_trials}, by {'; '.join(charts.gauges_of(read))}."))
    else:
        st.caption("No trial of this formula has readings that count: this is what the others say of it.")


def residuals(scale: Fitted) -> None:
    """Each trial against what the others say, and which disagree."""
    st.subheader("Each trial against the others")
    (st.warning if scale.disagreeing else st.success)(
        show.escape(plain.verdict(scale)),
        icon=":material/warning:" if scale.disagreeing else ":material/check:",
    )
    shop.table([
        {"trial": x.trial, "": "DISAGREES" if x.disagrees else "agrees", "readings": x.readings,
         "°C": ", ".join(f"{at:g}" for at in x.temperatures), "firmer than fitted": f"{x.off:+.0f} %",
         "than the others say": f"{x.expected_alone:+.0f} %", "that far off by chance": plain.chance(x.likelihood)}
        for x in scale.seen
    ], "residuals", whole=True)  # fmt: skip
    if scale.left_out:
        with st.expander(f"Readings that did not count ({len(scale.left_out)})"):
            shop.table([{"trial": x.trial, "reading": x.number, "because": x.why} for x in scale.left_out], "left-out")


def of(product: str, version: str) -> str:
    """How a version is called in a list of formulas."""
    return f"{product}, version {version}"


def formulas(kept: Log) -> dict[str, Formula]:
    """Today's formula, the versions of the workshop and this session's variants, where every ingredient is known."""
    read = work.brief(state.bench())
    if isinstance(read, work.Refused):
        return {}
    found = {} if read.reference is None else {"today's formula": read.reference}
    lines: dict[str, list[tuple[str, float, str]]] = {of(x.product, x.name): [] for x in kept.versions}
    for line in sorted(kept.lines, key=lambda line: line.position):
        lines[of(line.product, line.version)].append((line.ingredient, line.percent, line.phase))
    lines |= {f"variant {x.name}": list(x.lines) for x in state.variants()}
    made = {name: formula_from(name, each, read.catalogue) for name, each in lines.items()}
    return found | {name: formula for name, formula in made.items() if formula is not None}


# -- the next one ------------------------------------------------------------------------------------------------------


def ahead(found: Shop) -> None:
    """A question, and whether one more trial would change its answer."""
    kept = found.log
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
        answered(answer, kept)
        st.caption(f"Fitted to {show.escape(scale.basis.words)}.")
        closing()


def asked(names: list[str]) -> tuple[str, float, bool, float]:
    """Of which formula, at what temperature, at most or at least, and which firmness."""
    name = st.selectbox("Is the firmness of", names, key="ask-of")
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    at = left.number_input("at, °C", 0.0, 60.0, 10.0, 1.0, format="%g", key="ask-at")
    most = middle.segmented_control("limit", ["at most", "at least"], default="at most", required=True, key="ask-limit")
    value = right.number_input("firmness (today's at 20 °C is 100)", 1.0, 1e6, 140.0, 5.0, format="%g", key="ask-value")
    return name, float(at), most == "at most", float(value)


def trial_size() -> tuple[float | None, float | None]:
    """Grams of a trial and what its scale shows, where they are said."""
    left, right = st.columns(2)
    mass = left.number_input("Mass of a trial, g", 1.0, None, None, format="%g", key="trial-mass",
                             placeholder="as the last one")  # fmt: skip
    step = right.number_input("Your scale shows, g", 0.001, None, None, format="%g", key="trial-step",
                              placeholder="as in the brief")  # fmt: skip
    return mass, step


def answered(answer: Next, kept: Log) -> None:
    """Yes or no first, then why, then which trial to make."""
    st.markdown(f"**{show.escape(answer.question.words[0].upper() + answer.question.words[1:])}**")
    words = f"Now: **{answer.now.answer}**, firmness {plain.whole(answer.now.band)}."
    verdict = f"{words} **{plain.whether(answer)}**: {show.escape(answer.reason)}."
    if answer.worth_it or answer.beyond:
        told = "\n".join(f"- {show.escape(each)}" for each in answer.beyond)
        st.warning(f"{verdict}\n\n{told}", icon=":material/science:")
    else:
        st.success(verdict, icon=":material/check:")
    if not answer.proposals:
        return
    st.subheader("Trials that teach most about this")
    shop.table([
        {"trial": f"{k}", "narrows the band by": plain.narrows(x),
         "band after": plain.whole(x.band_after), "would change the answer": f"{100 * x.flips:.0f} in 100",
         "still wrong": f"{100 * x.wrong_after:.0f} in 100",
         "what changes": x.words}
        for k, x in enumerate(answer.proposals, 1)
    ], "proposals")  # fmt: skip
    left, right = st.columns([3, 2], gap="large")
    with left:
        to_weigh(answer, kept)
    with right:
        st.markdown("**Hold equal**\n" + "\n".join(f"- {show.escape(each)}" for each in answer.equal))


def to_weigh(answer: Next, kept: Log) -> None:
    """One proposal as lines for the scale, and which lines that scale distorts."""
    called = [f"trial {k}: {each.words}" for k, each in enumerate(answer.proposals, 1)]
    which = called.index(st.selectbox("Weigh", called, key="proposal"))
    chosen: Proposal = answer.proposals[which]
    found: Weighings | None = question.asked(
        "trial weighings",
        (kept, answer.question, answer.mass, answer.step, which),
        lambda brief: weighable(chosen, answer.mass, answer.step, brief),
    )
    if found is None:
        return
    if found.warning:
        st.warning(show.escape(found.warning), icon=":material/balance:")
    shop.table([
        {"ingredient": x.ingredient, "weigh, g": f"{x.grams:g}", "due, g": f"{x.due:.4g}",
         "against today": x.against, "phase": x.phase}
        for x in found.lines
    ], "weigh", whole=True)  # fmt: skip
    st.caption(f"{sum(x.grams for x in found.lines):g} g in whole steps of {answer.step:g} g. No line is rounded up "
               "above its own range, the law or a certificate.")  # fmt: skip
    helps = [f"- {show.escape(x.ingredient)}: {show.escape(x.small.helps)}." for x in found.lines if x.small]
    if helps:
        with st.expander(f"What helps with the smallest doses ({len(helps)})"):
            st.markdown("\n".join(helps))


PARTS = {"Log": log, "What they teach": teach, "Next trial": ahead}

st.title("Trials")
here = shop.opened()
if here is not None:
    forms.told()
    for tab, part in zip(st.tabs(list(PARTS), key="trials-tab", on_change="rerun"), PARTS.values(), strict=True):
        if tab.open:
            with tab:
                part(here)
