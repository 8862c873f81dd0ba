"""History: every step of the product, and the way back to any of them."""

import streamlit as st
from workbench import show, state, stepping

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
    format_func=lambda n: f"{n}: {trail.steps[n].words}",
)
row.button(
    "Go to this step",
    key="go-to-step",
    type="primary",
    disabled=number == trail.at,
    on_click=stepping.go,
    args=(number, f"At step {number}: {trail.steps[number].words}."),
)
st.dataframe(
    {
        "step": numbers[:MOST],
        "": ["here" if n == trail.at else "" for n in numbers[:MOST]],
        "what was done": [trail.steps[n].words for n in numbers[:MOST]],
        "when": [trail.steps[n].when for n in numbers[:MOST]],
        "made from step": [trail.steps[n].before or None for n in numbers[:MOST]],
    },
    hide_index=True,
    placeholder="",
    height="content",
    key="steps",
    column_config={"when": st.column_config.DatetimeColumn(format="YYYY-MM-DD HH:mm")},
)
if len(numbers) > MOST:
    st.caption(show.escape(f"The last {MOST} of {len(numbers)}; the field above finds every step."))
