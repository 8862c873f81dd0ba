"""Batch: the sheet to make a batch by."""

from collections.abc import Iterator, Sequence

import pandas as pd
import streamlit as st
from workbench import batchform, forms, going_on, making, papers, show
from workbench.question import asked
from workbench.state import MAKING_FILE, bench
from workbench.which import chosen

from optiform.batch.batch import ROUNDING, SMALL, Amounts, BatchSheet, SheetPhase, batch_sheet
from optiform.batch.method import Step
from optiform.telling.papers.batch import batch_page, batch_table

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
    show.notice()
    left, right = st.columns([1, 1], gap="medium")
    with left:
        found = chosen()
    if found is None:
        return
    with right:
        grams, jars = size(found.brief.batch)
    how = making.made(found)
    making.details(found, how)
    if how is None:
        return
    text = bench().papers.get(MAKING_FILE, "")
    sheet = asked(
        "batch",
        (found.name, text, grams, jars),
        lambda brief: batch_sheet(found.formula, brief, how, grams, jars),
    )
    if sheet is None:
        return
    with_lots, records = batchform.with_lots(sheet, found)
    shown(with_lots)
    if records is not None:
        batchform.keep(sheet, found, records)


def shown(sheet: BatchSheet) -> None:
    """The sheet: amounts, what to mind, what to weigh, what to do."""
    amounts(sheet.batch)
    papers.downloads("batch", lambda: batch_page(sheet), batch_table(sheet))
    if sheet.short:
        st.warning(bullets(sheet.short), icon=":material/shopping_cart:")
    rest = [words for words in sheet.warnings if words not in sheet.short]
    if rest:
        with st.expander(f"To mind ({len(rest)})", icon=":material/warning:"):
            st.markdown("\n".join(f"- {show.escape(words)}" for words in rest))
    left, right = st.columns([6, 7], gap="large")
    with left:
        st.subheader("Weigh")
        for phase in sheet.phases:
            weighing(phase, sheet.batch)
        small(sheet)
        parts(sheet)
        st.caption(ROUNDING)
    with right:
        st.subheader("Steps")
        for number, step in enumerate(sheet.steps, 1):
            one(number, step, [caution.text for caution in sheet.cautions if caution.step == number])
    for where in ("using", "selling"):
        texts = [caution.text for caution in sheet.cautions if caution.where == where]
        if texts:
            st.markdown(f"**When {where}**\n{bullets(texts)}")


def bullets(texts: Sequence[str]) -> str:
    """Lines of text as a list; one alone stands as it is."""
    return show.escape(texts[0]) if len(texts) == 1 else "\n".join(f"- {show.escape(text)}" for text in texts)


def amounts(batch: Amounts) -> None:
    """How much goes in, comes out and is left."""
    told = [("To weigh", f"{batch.weighed_g} g"), ("To come out", f"{batch.planned_g:g} g")]
    if batch.jars is not None:
        told += [(f"Jars of {batch.fill_g:g} g", str(batch.jars)), ("Left over", f"{batch.left_g:.1f} g")]
    with st.container(horizontal=True, gap="large"):
        for label, value in told:
            st.metric(label, value, width="content")
    net = "No net mass of a jar is known." if batch.jars is None else f"Net {batch.jar_g:g} g on the label."
    st.caption(f"Planned loss {batch.loss:g} % of what is weighed. The scale shows {batch.scale_g} g. {net}")


def weighing(phase: SheetPhase, batch: Amounts) -> None:
    """What is weighed together, in working order, and what to mind of it."""
    where = f"{phase.phase}, {phase.part}" if phase.part else phase.phase
    st.markdown(f"**{show.escape(where.capitalize())}**, {phase.grams} g together")
    places = max(0, -int(batch.scale_g.as_tuple().exponent))
    lots = any(x.lot for x in phase.lines)
    rows = [
        {"ingredient": x.ingredient, "g": float(x.grams), "%": x.percent} | ({"lot, expiry": x.lot} if lots else {})
        for x in phase.lines
    ]
    number = st.column_config.NumberColumn
    st.dataframe(
        pd.DataFrame(rows),
        hide_index=True,
        placeholder="",
        height="content",
        column_config={
            "ingredient": st.column_config.TextColumn(width=190),
            "g": number(format=f"%.{places}f", width=82),
            "%": number(format="%.2f", width=62),
        },
    )
    notes = [f"- {show.escape(x.ingredient)}: {show.escape(x.mind)}" for x in phase.lines if x.mind]
    if notes:
        st.caption("\n".join(notes))


def small(sheet: BatchSheet) -> None:
    """Doses of few steps of the scale, folded: how far off each is, and what helps."""
    if not sheet.small:
        return
    with st.expander(f"Small doses ({len(sheet.small)})", icon=":material/balance:"):
        rows = [
            {"dose": f"{dose.ingredient}, {part}" if part else dose.ingredient, "due g": f"{dose.due:.3g}",
             "weighed g": str(dose.weighed), "off": f"{dose.off:+g} %"}
            for part, dose in sheet.small
        ]  # fmt: skip
        st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="", height="content")
        st.markdown("\n".join(f"- {show.escape(x.ingredient)}: {show.escape(x.helps)}" for _, x in sheet.small))
        st.caption(SMALL)


def parts(sheet: BatchSheet) -> None:
    """What the common mass is divided into."""
    if sheet.parts:
        st.markdown("**Parts**")
        rows = [
            {"part": p.name, "common mass g": float(p.shared_g), "in all g": float(p.weighed_g), "jars": p.jars}
            for p in sheet.parts
        ]
        st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="")


def one(number: int, step: Step, cautions: list[str]) -> None:
    """A step with its temperature, time and source, and the cautions that stand at it."""
    where = f"{show.escape(step.part)}: " if step.part else ""
    st.markdown(f"{number}\\. {where}{show.escape(step.words)} {' '.join(_figures(step))}")
    if cautions:
        st.warning(f"**Caution at step {number}**\n\n{bullets(cautions)}", icon=":material/warning:")


def _figures(step: Step) -> Iterator[str]:
    if step.temperature is not None:
        yield f"**{step.temperature:g} °C.**"
    if step.time:
        yield f"**{show.escape(step.time)}.**"
    yield f"*({show.escape(step.source)})*"


st.title("Batch")
st.markdown("The sheet to make a formula by: whole steps of your scale, and the steps of the work.")
body()
