"""Batch: the sheet to make a batch by."""

from dataclasses import dataclass

import streamlit as st
from workbench import bar, batchform, forms, going_on, making, papers, parts, weighing
from workbench.question import asked
from workbench.state import MAKING_FILE, Key, bench
from workbench.which import chosen, remembered

from optiform.batch.batch import Amounts, BatchSheet, batch_sheet
from optiform.telling.batch import batch, running
from optiform.telling.json.batch import batch as as_json
from optiform.telling.parts import Level, Sentence, Telling

SIZES = ("as planned", "jars", "kg")
WAYS = ("the whole sheet", "one thing at a time, to weigh by")
PLANNED = "The jars of the parts in the making, else the batch of the brief."


@dataclass(frozen=True)
class Size:
    """How much is to come out, as it was chosen last; it is there again after a reload."""

    way: str = SIZES[0]
    jars: int = 24
    kg: float | None = None


def size(planned: float) -> tuple[float | None, int | None]:
    """What is to come out: grams or jars; neither is as planned, where `planned` is the brief's batch in kg."""
    before: Size = st.session_state.get(Key.SIZE, Size())
    left, right = st.columns(2, vertical_alignment="bottom")
    way = left.segmented_control("How much", SIZES, default=before.way, required=True, key="batch-way", help=PLANNED)
    jars, kg = before.jars, before.kg or planned
    if way == "jars":
        jars = int(right.number_input("Jars to come out", 1, value=jars, step=1, key="batch-jars"))
    elif way == "kg":
        kg = right.number_input("To come out, kg", 0.001, value=kg, step=0.5, format="%g", key="batch-kg")
    st.session_state[Key.SIZE] = Size(way, jars, kg)
    return (1000 * kg if way == "kg" else None), (jars if way == "jars" else None)


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and sheet, redrawn without the rest of the page."""
    head = st.container()
    forms.told()  # what was saved is said here, not by the bar
    with head:
        bar.named()
        st.title("Batch", anchor=False)
        st.markdown("The sheet to make a formula by: whole steps of your scale, and the steps of the work.")
    weighed_by = remembered("Show it as", WAYS, Key.WAY) == WAYS[1]
    first = st.container()  # beside the scale nothing else stands above it
    left, right = st.columns([1, 1], gap="medium")
    with left:
        formula = chosen()
    if formula is None:
        return
    with right:
        grams, jars = size(formula.brief.batch)
    watch = st.container()  # where it is decided what is made, and of which formula
    how = making.made(formula)
    making.details(formula, how)
    if how is None:
        return
    text = bench().papers.get(MAKING_FILE, "")
    sheet = asked(
        "batch",
        (formula.name, text, grams, jars),
        lambda brief: batch_sheet(formula.formula, brief, how, grams, jars),
    )
    if sheet is None:
        return
    with_lots, records = batchform.with_lots(sheet, formula)
    telling = batch(with_lots)
    with watch:
        for sentence in warnings(telling):
            if sentence.level is not Level.NOTE:
                parts.sentence(sentence)
    if weighed_by:
        with first:
            weighing.weigh(with_lots)
    else:
        shown(with_lots, telling)
    if records is not None:
        batchform.keep(sheet, formula, records)


def warnings(telling: Telling) -> list[Sentence]:
    """What to watch out for. What weighs stands where it is decided what is made, the rest with the sheet."""
    sections = telling.only("warnings").sections
    return [part for section in sections for part in section.parts if isinstance(part, Sentence)]


def shown(sheet: BatchSheet, telling: Telling) -> None:
    """The sheet: amounts, what else to watch out for, what to weigh, what to do."""
    amounts(sheet.batch)
    papers.downloads("batch", telling, lambda: as_json(sheet), foot=running(sheet))
    sections(telling, "amounts", "jar", "larger")
    if notes := [sentence for sentence in warnings(telling) if sentence.level is Level.NOTE]:
        st.header("Good to know", anchor=False)
        parts.sentences(notes)
    left, right = st.columns([6, 7], gap="large")
    with left:
        sections(telling, "weigh", "parts", "small", "confirm", "notes", wrap=True)
    with right:
        sections(telling, "steps")


def sections(telling: Telling, *names: str, wrap: bool = False) -> None:
    """The sections of these names, below one another; `wrap`: where there is no room beside the rest."""
    for section in telling.only(*names).sections:
        parts.body(section, f"batch-{section.name}", wrap=wrap)


def amounts(batch: Amounts) -> None:
    """How much goes in, comes out and is left."""
    figures = [("To weigh", f"{batch.weighed_g} g"), ("To come out", f"{batch.planned_g:g} g")]
    if batch.jars is not None:
        figures += [(f"Jars of {batch.fill_g:g} g", str(batch.jars)), ("Left over", f"{batch.left_g:.1f} g")]
    with st.container(horizontal=True, gap="large"):
        for label, value in figures:
            st.metric(label, value, width="content")


body()
