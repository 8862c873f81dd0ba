"""Substitute: what takes the place of an ingredient."""

import pandas as pd
import streamlit as st
from workbench import show, state, work
from workbench.charts import solid_fat_curves
from workbench.question import asked, needs_today

from optiform.brief.brief import Brief
from optiform.design.replacement import Replacement
from optiform.design.substitute import Substitutes, substitute


def settings(brief: Brief) -> tuple[tuple[str, ...], int, float]:
    """What is missing, how large a blend may be, how far other lines may follow."""
    assert brief.reference is not None
    lines = [line.ingredient.name for line in brief.reference.lines]
    gone = [name for name, why in brief.left_out if why == "out of stock" and name in lines]
    left, middle, right = st.columns([3, 1, 1])
    missing = left.multiselect("Out of stock, too dear or banned", lines, gone, key="missing")
    blend = middle.selectbox(
        "In its place at most", [1, 2, 3], 1, key="blend", format_func=lambda n: f"{n} of the shelf"
    )
    follow = right.number_input("Other lines may follow, %", 0.0, 20.0, 0.0, 0.5, key="follow")
    return tuple(missing), blend, follow


def swaps(found: Substitutes) -> None:
    """The ranking, and one in detail."""
    if found.any_close:
        st.success("At least one on the shelf comes close.", icon=":material/check:")
    else:
        st.warning("Nothing on the shelf comes close.", icon=":material/warning:")
    if found.swaps:
        distance = st.column_config.NumberColumn(
            format="%.2f", help="the moves of all properties together, each in what a hand can about tell"
        )
        unit = f"{found.brief.currency}/kg"
        rows = pd.DataFrame([_row(swap, unit) for swap in found.swaps])
        money = {
            unit: st.column_config.NumberColumn(format="%.3f"),
            "against today": st.column_config.NumberColumn(format="%+.3f"),
        }
        st.dataframe(rows, hide_index=True, placeholder="", column_config={"distance": distance, **money})
        names = [_parts(swap) for swap in found.swaps]
        chosen = st.selectbox("Look at", names, key="swap")
        detail(found, found.swaps[names.index(chosen)])
    if found.purchase is not None:
        best = f"{_parts(found.purchase)}, distance {found.purchase.distance:.2f} (cost not counted)"
        st.info(f"The single purchase that would help most: {show.escape(best)}.")
    if found.without_figures:
        missing = "; ".join(f"{name} (no {figure})" for name, figure in found.without_figures)
        st.caption(f"Not judged, a figure is missing: {show.escape(missing)}")


def _row(swap: Replacement, unit: str) -> dict[str, object]:
    return {
        "in its place, % of the whole": _parts(swap),
        "close": "yes" if swap.close else "no",
        "distance": swap.distance,
        unit: swap.cost,
        "against today": swap.cost_change,
        "moves furthest": f"{swap.worst.name} {swap.worst.before:.4g} → {swap.worst.after:.4g}",
        "new on the label": ", ".join(swap.new_names),
    }


def _parts(swap: Replacement) -> str:
    return " + ".join(f"{name} {share:.2f}" for name, share in swap.parts)


def detail(found: Substitutes, swap: Replacement) -> None:
    """One replacement: what moves, what it brings, how it melts."""
    left, right = st.columns(2)
    with left:
        rows = [{"property": s.name, "before": s.before, "after": s.after, "unit": s.unit} for s in swap.shifts]
        number = st.column_config.NumberColumn(format="%.4g")
        st.dataframe(
            pd.DataFrame(rows), hide_index=True, placeholder="", column_config={"before": number, "after": number}
        )
    with right:
        st.altair_chart(solid_fat_curves([found.today.formula, swap.formula]), key="curves")
    show.warnings([f"Melts lower together: {pair}." for pair in swap.eutectics])
    show.warnings([f"Breaks the brief: {words}." for words in swap.broken])
    show.warnings(swap.new_warnings)
    for text in swap.new_cautions:
        st.markdown(f"- {show.escape(text)}")
    show.keep(
        swap.formula, "today", f"with {swap.formula.name}", f"in place of {', '.join(found.missing)}", "substitute"
    )


def work_out(brief: Brief) -> Substitutes:
    """The job, with a bar."""
    bar = st.progress(0.0, "Judging what is on the shelf")

    def shown(done: int, total: int) -> None:
        if done * 100 // max(total, 1) > (done - 1) * 100 // max(total, 1):  # once for each per cent
            bar.progress(min(1.0, done / max(total, 1)), f"Judged {done} of {total} blends")

    ranking = substitute(brief, wishes[0], wishes[1], wishes[2] / 100, progress=shown)
    bar.empty()
    return ranking


st.title("Substitute")
st.markdown("Ranks what can take the place of an ingredient by how far the whole product moves.")
if needs_today():
    read = work.brief(state.bench())
    if isinstance(read, work.Refused):
        show.refused(read)
    else:
        wishes = settings(read)
        if wishes[0]:
            answer = asked("substitute", wishes, work_out)
            if answer is not None:
                swaps(answer)
        else:
            st.info("Choose what is missing.")
