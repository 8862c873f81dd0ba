"""Batch: the sheet to make a batch by."""

import streamlit as st
from workbench import bar, batchform, forms, going_on, making, papers, parts
from workbench.question import asked
from workbench.state import MAKING_FILE, bench
from workbench.which import chosen

from optiform.batch.batch import Amounts, BatchSheet, batch_sheet
from optiform.telling.batch import batch, running
from optiform.telling.document import document
from optiform.telling.parts import Telling

SIZES = ("as planned", "jars", "kg")
PLANNED = "The jars of the parts in the making, else the batch of the brief."


def size(planned: float) -> tuple[float | None, int | None]:
    """What is to come out: grams or jars; neither is as planned, where `planned` is the brief's batch in kg."""
    left, right = st.columns(2, vertical_alignment="bottom")
    way = left.segmented_control("How much", SIZES, default=SIZES[0], required=True, key="batch-way", help=PLANNED)
    if way == "jars":
        return None, int(right.number_input("Jars to come out", 1, value=24, step=1, key="batch-jars"))
    if way == "kg":
        return 1000 * right.number_input(
            "To come out, kg", 0.001, value=planned, step=0.5, format="%g", key="batch-kg"
        ), None
    return None, None


@st.fragment
@going_on.lasting
def body() -> None:
    """Choices and sheet, redrawn without the rest of the page."""
    forms.told()
    bar.bar()
    left, right = st.columns([1, 1], gap="medium")
    with left:
        formula = chosen()
    if formula is None:
        return
    with right:
        grams, jars = size(formula.brief.batch)
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
    shown(with_lots)
    if records is not None:
        batchform.keep(sheet, formula, records)


def shown(sheet: BatchSheet) -> None:
    """The sheet: amounts, what to watch out for, what to weigh, what to do."""
    amounts(sheet.batch)
    telling = batch(sheet)
    papers.downloads("batch", lambda: document(telling, running(sheet), sheet=True), telling.table)
    sections(telling, "amounts", "warnings")
    left, right = st.columns([6, 7], gap="large")
    with left:
        sections(telling, "weigh", "parts", "small", "notes")
    with right:
        sections(telling, "steps")


def sections(telling: Telling, *names: str) -> None:
    """The sections of these names, below one another."""
    for section in telling.only(*names).sections:
        parts.body(section, f"batch-{section.name}")


def amounts(batch: Amounts) -> None:
    """How much goes in, comes out and is left."""
    figures = [("To weigh", f"{batch.weighed_g} g"), ("To come out", f"{batch.planned_g:g} g")]
    if batch.jars is not None:
        figures += [(f"Jars of {batch.fill_g:g} g", str(batch.jars)), ("Left over", f"{batch.left_g:.1f} g")]
    with st.container(horizontal=True, gap="large"):
        for label, value in figures:
            st.metric(label, value, width="content")


st.title("Batch")
st.markdown("The sheet to make a formula by: whole steps of your scale, and the steps of the work.")
body()
