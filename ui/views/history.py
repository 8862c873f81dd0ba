"""History: every step of the product, and the way back to any of them."""

import streamlit as st
from workbench import parts, show, state, stepping

from optiform.telling.parts import Column, Table, readable

MOST = 200  # steps in the list; the last ones

st.title("History", anchor=False)
st.markdown("Every change of this product, the newest first. Going to a step loses nothing: the others stay here.")
trail = state.trail()
numbers = sorted(trail.steps, reverse=True)
row = st.container(horizontal=True, vertical_alignment="bottom")
number = row.selectbox(
    "Step",
    numbers,
    numbers.index(trail.at),
    key=f"step-{trail.at}-{len(numbers)}",
    format_func=lambda n: readable(f"{n}: {trail.steps[n].words}"),
)
row.button(
    "Go to this step",
    key="go-to-step",
    type="primary",
    disabled=number == trail.at,
    on_click=stepping.go,
    args=(number, f"At step {number}: {trail.steps[number].words}."),
)
rows = [
    (n, "here" if n == trail.at else "", step.words, f"{step.when:%Y-%m-%d %H:%M}", step.before or None)
    for n, step in ((n, trail.steps[n]) for n in numbers[:MOST])
]
heads = ("step", "at", "what was done", "when", "made from step")
parts.table(Table(tuple(map(Column, heads)), tuple(rows)), "steps")
if len(numbers) > MOST:
    st.caption(show.escape(f"The last {MOST} of {len(numbers)}; the field above finds every step."))
