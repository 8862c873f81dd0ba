"""The forms of the Trials page: a trial with its weighings, and readings of it."""

from collections import Counter
from collections.abc import Sequence

import pandas as pd
import streamlit as st

from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.trials.cells import refuse_none
from optiform.trials.instruments import INSTRUMENTS, misspelt
from optiform.workshop.columns import CONDITIONS
from optiform.workshop.decisions import Kept, logged, read
from optiform.workshop.keeping import own_lines, split_readings, values_of, weights_of
from optiform.workshop.log import Log
from optiform.workshop.records import Reading, Trial, TrialWeight, VersionLine
from optiform.workshop.store import Reader
from workbench import forms, show, typed
from workbench.forms import Form, key

MAKING = ("hot_water", "hot_oil", "cooling", "added_at", "room")
WEIGHED = "weighed, g"
OTHER = "another one: say which below"
ALIKE = "the same as before, if you can: only readings made alike can be compared"


@st.fragment
def trial(log: Log) -> None:
    """Log a trial: what changed and why, what was weighed, how it was made."""
    if not log.versions:
        st.info("A trial is of a version. Save one first: on Drafts, “Save as a version”.")
        show.way("Drafts", "variants", "layers")
        return
    with st.expander("Log a trial", not log.trials, icon=":material/add_box:", key="log-trial"):
        named = {f"{each.product}, {each.name}": each for each in log.versions}
        of = named[st.selectbox("Version that was made", list(named), len(named) - 1,
                                **typed.field("trial-version", named))]  # fmt: skip
        lines = own_lines(log.lines, of.product, of.name)
        form = Form("trial", (Trial, TrialWeight), {"trial": "Name of the trial"}, hints={"name": "F-7"})
        with form.body("Save the trial"):
            form.row("name", "made", "mass", made=clock.today())
            form.ask("aim")
            form.ask("changed")
            form.row(*MAKING, of=5)
            form.ask("outcome")
            form.ask("note")
            grams = _weighed(lines, f"{of.product}, {of.name}")

    def decided(_: Reader) -> Kept:
        new = form.record(Trial, product=of.product, version=of.name)
        return logged(new, weights_of(new.name, lines, grams, "form"), clock.today(), form.where)

    form.keep(("name", "made", "aim"), decided)


def _weighed(lines: Sequence[VersionLine], of: str) -> dict[int, float | None]:
    """Grams by position, from a table beside the version's percentages."""
    st.caption("Fill in what you weighed of every line, or nothing: then the version's percentages count.")
    number, text = st.column_config.NumberColumn, st.column_config.TextColumn()
    columns = {"ingredient": text, "phase": text, "%": number(format="%.2f"), WEIGHED: number(min_value=0, format="%g")}
    rows = [(x.ingredient, x.phase, x.percent, None) for x in lines]
    table = key("trial", f"weighed {of}")
    edited = typed.table(st.container(), rows, table, table, columns, ["ingredient", "phase", "%"], more=False)
    grams = zip(lines, edited[WEIGHED].tolist(), strict=True)
    return {line.position: None if pd.isna(g) else float(g) for line, g in grams}


@st.fragment
def readings(log: Log) -> None:
    """Log readings of a trial, one value for each jar."""
    if not log.trials:
        return
    used = Counter((each.instrument, each.geometry) for each in log.readings)
    gauges = {", ".join(word for word in gauge if word): gauge for gauge, _ in used.most_common()}
    last = log.readings[-1] if log.readings else None
    form = Form(
        "readings",
        (Reading,),
        options={"condition": CONDITIONS},
        hints={"age": "7 days are 168", "condition": "only plain is fitted"},
    )
    with form.box("Log readings", "add_box", "log-readings", "Save the readings"):
        names = [each.name for each in log.trials]
        one, two = st.columns([1, 2])
        # After a trial was logged here its readings come next; one that is logged elsewhere changes no choice.
        form.choose("trial", names, one, len(names) - 1, key=key("readings", f"trial {forms.times('trial')}"))
        ways = [*gauges, OTHER]
        gauge = two.selectbox("Read by", ways, help=ALIKE, **typed.field(key("readings", "gauge"), ways))
        one, two = st.columns([1, 2])
        form.choose("instrument", list(INSTRUMENTS), one, accept_new_options=True)
        form.ask("geometry", two)
        form.row("age", "temperature", "held", age=168.0, temperature=20.0)
        form.row("condition", "tester", "excluded", condition=0, tester=last.tester if last else "")
        per_jar = "Values, one for each jar: g of a push, mm of depth or width, a score of 1 to 5"
        values = st.text_input(per_jar, placeholder="210 g, 198 g, 205 g", **typed.field(key("readings", "values")))
        form.ask("note")
    word, size = gauges.get(gauge, (form.values["instrument"], form.values["geometry"]))
    form.values |= {"instrument": word, "geometry": size, "value": values.strip()}

    def decided(now: Reader) -> Kept:
        if misspelt(word):
            raise BadInput([Fault("form", "instrument", word, f"one of: {', '.join(INSTRUMENTS)}")])
        numbered = enumerate(values_of(split_readings(values), "form"), 1)
        new = [form.record(Reading, number=k, value=x, unit=unit or _unit(word)) for k, (x, unit) in numbered]
        refuse_none(new, form.where)
        return read(now, new)

    form.keep(("instrument", "age", "temperature", "value"), decided)


def _unit(instrument: str) -> str:
    return INSTRUMENTS[instrument].unit if instrument in INSTRUMENTS else ""
