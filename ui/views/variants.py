"""Variants: what was kept, side by side, to download and to print."""

import pandas as pd
import streamlit as st
from workbench import keeping, parts, show, state, work
from workbench.show import cells
from workbench.which import variants

from optiform.brief.brief import Brief
from optiform.ingredients.formula import Formula
from optiform.reading.tables import csv_text
from optiform.review.compare import Comparison, compare
from optiform.review.measures import setting_of
from optiform.telling.charts import solid_fat_chart
from optiform.telling.page import heading, page, table

MOST = 4


def kept() -> None:
    """Everything that was kept, with parent and reason."""
    rows = [{"name": v.name, "from": v.parent, "why": v.reason, "lines": len(v.lines)} for v in state.variants()]
    st.dataframe(pd.DataFrame(rows), hide_index=True, placeholder="")


def side_by_side(brief: Brief, chosen: list[Formula]) -> None:
    """Differences first; then curves, properties and the declaration."""
    found = compare(chosen, setting_of(brief), brief.step)
    names = [formula.name for formula in chosen]
    number = dict.fromkeys(names, st.column_config.NumberColumn(format="%.2f"))
    different = pd.DataFrame(
        [
            {"ingredient": row.ingredient, **dict(zip(names, row.percents, strict=True))}
            for row in found.lines
            if not row.same
        ]
    )
    st.subheader("Lines that differ, % of the whole")
    st.dataframe(different, hide_index=True, placeholder="", column_config=number)
    same = [row.ingredient for row in found.lines if row.same]
    if same:
        st.caption(
            f"Same to {found.resolution:.3g} points, which the scale cannot tell apart: {show.escape(', '.join(same))}."
        )
    st.subheader("Solid fat, cold and hot")
    parts.chart(solid_fat_chart(chosen), "curves")
    st.subheader("Properties that differ")
    properties = [
        {"property": row.name, "unit": row.unit, **dict(zip(names, row.values, strict=True))}
        for row in found.properties
        if not row.same
    ]
    st.dataframe(pd.DataFrame(properties), hide_index=True, placeholder="",
                 column_config=dict.fromkeys(names, st.column_config.NumberColumn(format="%.4g")))  # fmt: skip
    if found.label:
        st.subheader("Places in the declaration that change")
        places = [{"declared": row.inci, **dict(zip(names, row.places, strict=True))} for row in found.label]
        st.dataframe(pd.DataFrame(places), hide_index=True, placeholder="")
    left, right = st.columns(2)
    left.download_button("Download the table (CSV)", csv_text(cells(different)), "variants.csv", "text/csv", key="csv")
    right.download_button("A page to print (HTML)", printable(found, brief), "variants.html", "text/html", key="html")


def printable(found: Comparison, brief: Brief) -> str:
    """A page of its own that prints well."""
    names = [formula.name for formula in found.formulas]
    lines = [(row.ingredient, *(f"{p:.2f}" for p in row.percents)) for row in found.lines]
    rest = [(row.name, row.unit, *("" if v is None else f"{v:.4g}" for v in row.values)) for row in found.properties]
    return page(
        brief.title,
        heading("Formulas, % of the whole"),
        table(["ingredient", *names], lines, right=range(1, len(names) + 1)),
        heading("Properties"),
        table(["property", "unit", *names], rest, right=range(2, len(names) + 2)),
    )


st.title("Variants")
read = work.brief(state.bench())
if not state.variants():
    st.info(
        "Nothing is kept yet. On the Workbench and the three question pages, “Keep as variant” puts a formula here."
    )
elif isinstance(read, work.Refused):
    st.error("The brief on the Workbench cannot be read; mend it there first.")
else:
    kept()
    keeping.variants()
    offered = variants(read)
    picked = st.multiselect(
        "Put side by side, two to four", list(offered), list(offered)[:3], max_selections=MOST, key="picked"
    )
    if len(picked) >= 2:
        side_by_side(read, [offered[name] for name in picked])
    else:
        st.caption("Choose at least two.")
