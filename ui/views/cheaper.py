"""Cheaper: today's formula at less cost, one changed line after another."""

import pandas as pd
import streamlit as st
from workbench import show, state
from workbench.charts import solid_fat_curves
from workbench.question import asked, moves, needs_today

from optiform.brief.brief import Brief
from optiform.design.cheaper import CheaperOptions, cheaper
from optiform.telling.around import gone_lines, nothing_fits


def settings() -> tuple[float, float, bool]:
    """What the maker wishes: least saving, most change of one line, whether new ingredients may come in."""
    left, middle, right = st.columns(3, vertical_alignment="bottom")
    unit = show.escape(f"{state.bench().document.get('currency', 'EUR')}/kg")
    saving = left.number_input(f"Least saving per changed line, {unit}", 0.0, value=0.03, step=0.01, key="least-saving")
    most = middle.number_input("Most a line may change, %", 0.0, 100.0, 100.0, 1.0, key="most-change")
    new = right.toggle("New ingredients may come in", value=True, key="new-ingredients")
    return saving, most, new


def ladder(found: CheaperOptions) -> None:
    """The rungs as a table, one in detail."""
    st.markdown(
        f"Today's formula costs **{found.cost:.3f} {found.brief.currency}/kg**. Its line of "
        f"{show.escape(found.balance)} makes up 100 % and is not counted as changed."
    )
    if found.gone:
        st.caption(show.escape(gone_lines(found)))
    if found.impossible is not None:
        st.warning(show.escape(nothing_fits(found)), icon=":material/block:")
        show.impossible(found.impossible)
        return
    if not found.rungs:
        st.info(show.escape(found.note[0].upper() + found.note[1:] + "."))
        return
    rows = [
        {"lines changed": r.lines, "cost per kg": r.cost, "saves per kg": r.saving, "saves per jar": r.saving_per_jar}
        for r in found.rungs
    ]
    number = st.column_config.NumberColumn(format="%.3f")
    names = ["cost per kg", "saves per kg", "saves per jar"]
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="", column_config=dict.fromkeys(names, number))
    st.caption(f"The ladder ends here: {show.escape(found.note)}.")
    counts = [r.lines for r in found.rungs]
    words = "Look at the one with this many lines changed"
    count = st.select_slider(words, counts, key="rung") if len(counts) > 1 else counts[0]
    rung = next(r for r in found.rungs if r.lines == count)
    left, right = st.columns(2)
    with left:
        moves(rung.moves)
        stops = "; ".join(demand.words for demand in rung.stops[:3]) or "nothing in the brief"
        st.caption(f"Stopped by: {show.escape(stops)}.")
    with right:
        st.altair_chart(solid_fat_curves([found.today.formula, rung.report.formula]), key="curves")
    show.warnings(rung.report.warnings)
    show.keep(rung.report.formula, "today", f"cheaper, {count} changed", f"saves {rung.saving:.2f} per kg", "cheaper")


def work(brief: Brief) -> CheaperOptions:
    """The job, with a bar."""
    bar = st.progress(0.0, "Trying one more line")

    def told(done: int, total: int) -> None:
        bar.progress(min(1.0, done / max(total, 1)), f"Tried {done} changed lines")

    found = cheaper(
        brief, least_saving=wishes[0], most_change=wishes[1] / 100, new_ingredients=wishes[2], progress=told
    )
    bar.empty()
    return found


st.title("Cheaper")
st.markdown("Holds what customers notice (texture warm and cold, grains, foam, feel), and lowers the cost.")
if needs_today():
    wishes = settings()
    answer = asked("cheaper", wishes, work)
    if answer is not None:
        ladder(answer)
