"""The forms of the Trials page: a trial with its weighings, and readings of it."""

from collections import Counter
from collections.abc import Sequence
from math import isnan

import pandas as pd
import streamlit as st

from optiform.reading import clock
from optiform.trials.instruments import INSTRUMENTS
from optiform.workshop.columns import CONDITIONS
from optiform.workshop.decisions import Kept, logged, read
from optiform.workshop.keeping import split_readings, values_of, weights_of
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Trial, VersionLine
from optiform.workshop.store import Reader
from workbench import forms
from workbench.forms import key

MAKING = {
    "hot_water": "Hot water phase, °C", "hot_oil": "Hot oil phase, °C", "cooling": "From heat to grains, minutes",
    "added_at": "Grains added at, °C", "room": "Room, °C",
}  # fmt: skip
OF_TRIAL = forms.written(
    name="Name of the trial", trial="Name of the trial", made="Made on", aim="Why it was made", mass="Made in all, g",
    changed="What changed against the one before", outcome="Outcome", note="Note", actual="weighed, g", **MAKING,
)  # fmt: skip
OF_READING = forms.written(
    trial="Trial", instrument="Another instrument", geometry="Its size, travel and mass", age="Age, hours",
    temperature="Product's core, °C", held="Hours at that temperature", condition="Condition", tester="Who read",
    excluded="Does not count, because", value="Values", unit="Values", note="Note",
)  # fmt: skip
WEIGHED = "weighed, g"
OTHER = "another, told below"
ALIKE = "as with the readings before: only readings made alike compare"


def trial(log: Log) -> None:
    """Log a trial: what changed and why, what was weighed, how it was made."""
    if not log.versions:
        st.info("A trial is of a version. Keep one first: on Variants, “Keep in the workshop”.")
        return
    with st.expander("Log a trial", not log.trials, icon=":material/add_box:", key="log-trial"):
        named = {f"{each.product}, {each.name}": each for each in log.versions}
        of = named[st.selectbox("Version that was made", list(named), len(named) - 1, key="trial-version")]
        lines = [x for x in log.lines if (x.product, x.version) == (of.product, of.name)]
        lines.sort(key=lambda line: line.position)
        with st.form(key("trial", "form"), border=False):
            one, two, three = st.columns(3)
            name = one.text_input("Name of the trial", key=key("trial", "name"), placeholder="F-7")
            made = two.date_input("Made on", clock.today(), key=key("trial", "made"))
            mass = three.number_input("Made in all, g", 0.0, None, None, format="%g", key=key("trial", "mass"))
            aim = st.text_input("Why it was made", key=key("trial", "aim"))
            changed = st.text_input("What changed against the one before", key=key("trial", "changed"))
            making = _making()
            outcome = st.text_input("Outcome", key=key("trial", "outcome"))
            note = st.text_input("Note", key=key("trial", "note"))
            grams = _weighed(lines, f"{of.product}, {of.name}")
            sent = st.form_submit_button("Keep the trial", type="primary", key="trial")
    if sent:

        def decided(_: Reader) -> Kept:
            new = Trial(
                name=name.strip(), product=of.product, version=of.name, made=made, aim=aim.strip(), changed=changed,
                mass=mass, outcome=outcome, note=note, **making,
            )  # fmt: skip
            weights = weights_of(new.name, lines, grams, "form")
            return logged(new, weights, clock.today(), OF_TRIAL)

        needed = {"Name of the trial": name.strip(), "Made on": made, "Why it was made": aim.strip()}
        forms.keep("trial", needed, decided, OF_TRIAL)


def _making() -> dict[str, float | None]:
    """Temperatures and minutes, each where it was noted."""
    columns = st.columns(5)
    return {
        field: column.number_input(label, value=None, format="%g", key=key("trial", field))
        for column, (field, label) in zip(columns, MAKING.items(), strict=True)
    }


def _weighed(lines: Sequence[VersionLine], of: str) -> dict[int, float | None]:
    """Grams by position, from a table beside the version's percentages."""
    st.caption("What was really weighed: every line, or none, and then the version's percentages count.")
    rows = [{"ingredient": x.ingredient, "phase": x.phase, "%": x.percent} for x in lines]
    number = st.column_config.NumberColumn
    edited = st.data_editor(
        pd.DataFrame(rows).assign(**{WEIGHED: float("nan")}),
        hide_index=True,
        placeholder="",
        height="content",
        disabled=["ingredient", "phase", "%"],
        key=key("trial", f"weighed {of}"),
        column_config={"%": number(format="%.2f"), WEIGHED: number(min_value=0, format="%g")},
    )
    grams = edited[WEIGHED].tolist()
    return {line.position: None if isnan(g) else float(g) for line, g in zip(lines, grams, strict=True)}


def readings(log: Log) -> None:
    """Log readings of a trial, one value for each jar."""
    if not log.trials:
        return
    used = Counter((each.instrument, each.geometry) for each in log.readings)
    gauges = {", ".join(word for word in gauge if word): gauge for gauge, _ in used.most_common()}
    last = log.readings[-1] if log.readings else None
    with (
        st.expander("Log readings", icon=":material/add_box:", key="log-readings"),
        st.form(key("readings", "form"), border=False),
    ):
        names = [each.name for each in log.trials]
        one, two = st.columns([1, 2])
        # After a trial was logged here its readings come next; one that is logged elsewhere changes no choice.
        last_one = key("readings", f"trial {forms.times('trial')}")
        of = one.selectbox("Trial", names, len(names) - 1, key=last_one)
        gauge = two.selectbox("Read by", [*gauges, OTHER], key=key("readings", "gauge"), help=ALIKE)
        one, two = st.columns([1, 2])
        instrument = one.selectbox("Another instrument", list(INSTRUMENTS), None, accept_new_options=True,
                                   key=key("readings", "instrument"))  # fmt: skip
        geometry = two.text_input("Its size, travel and mass", key=key("readings", "geometry"))
        one, two, three = st.columns(3)
        age = one.number_input("Age, hours (7 days are 168)", 0.0, None, 168.0, format="%g", key=key("readings", "age"))
        at = two.number_input("Product's core, °C", value=20.0, format="%g", key=key("readings", "at"))
        held = three.number_input("Hours at that temperature", 0.0, None, None, format="%g",
                                  key=key("readings", "held"))  # fmt: skip
        one, two, three = st.columns(3)
        condition = one.selectbox("Condition (only plain is fitted)", CONDITIONS, key=key("readings", "condition"))
        tester = two.text_input("Who read", last.tester if last else "", key=key("readings", "tester"))
        excluded = three.text_input("Does not count, because", key=key("readings", "excluded"))
        per_jar = "Values, one for each jar: g of a push, mm of depth, a score of 1 to 5"
        values = st.text_input(per_jar, key=key("readings", "values"), placeholder="210 g, 198 g, 205 g")
        note = st.text_input("Note", key=key("readings", "note"))
        sent = st.form_submit_button("Keep the readings", type="primary", key="readings")
    if sent:
        word, size = gauges.get(gauge, (str(instrument or ""), geometry.strip()))

        def decided(now: Reader) -> Kept:
            new = [
                Reading(
                    trial=of, number=k, age=float(age or 0.0), temperature=float(at or 0.0), instrument=word,
                    value=value, unit=unit or _unit(word), geometry=size, held=held, condition=condition,
                    tester=tester.strip(), excluded=excluded, note=note,
                )
                for k, (value, unit) in enumerate(values_of(split_readings(values), "form"), 1)
            ]  # fmt: skip
            return read(now, new)

        needed = {"Another instrument": word, "Age": age, "Product's core": at, "Values": values.strip()}
        forms.keep("readings", needed, decided, OF_READING)


def _unit(instrument: str) -> str:
    return INSTRUMENTS[instrument].unit if instrument in INSTRUMENTS else ""
