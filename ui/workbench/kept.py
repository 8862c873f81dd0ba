"""Dated copies of the records: which there are, the way back to one, and the demo begun again."""

from pathlib import Path

import streamlit as st

from optiform.reading.faults import BadInput
from optiform.workshop.copies import DAILY, RESTORED, Copy, copies_of, put_away, restore
from optiform.workshop.engine import file_in
from workbench import places, products, show, state

WHY = {DAILY: "before the first change of that day", RESTORED: "before another copy was taken back"}


def copies(where: str, key: str) -> None:
    """The copies of a place with a button each; a server keeps its own."""
    if "://" in where or not (made := copies_of(file_in(Path(where)))):
        return
    with st.expander(f"Copies of the records ({len(made)})", icon=":material/history_toggle_off:"):
        st.markdown("Taking one back replaces all records of this place: products, stock, trials. What is there now is "
                    "copied first, so that this too can be taken back.")  # fmt: skip
        for number, copy in enumerate(made):
            row = st.container(horizontal=True, vertical_alignment="center")
            row.markdown(f"**{copy.made:%Y-%m-%d %H:%M}** {show.escape(why(copy))}")
            row.button("Take it back", key=f"restore-{key}-{number}", on_click=_restore, args=(where, copy))


def why(copy: Copy) -> str:
    """Why a copy was made, in words."""
    return WHY.get(copy.why) or f"before a newer form of the records ({copy.why})"


def _restore(where: str, copy: Copy) -> None:
    known = products.home()
    try:
        restore(file_in(Path(where)), copy.path)
    except BadInput as bad:
        state.tell(str(bad.faults[0]))
        return
    state.tell(f"The records are those of {copy.made:%Y-%m-%d %H:%M}.")
    if known is not None and known.place == where:
        products.reopen()


def reset_demo() -> None:
    """Put the demo's copies away, as a dated copy, and begin the demo again."""
    put_away(file_in(Path(places.demos())))
    products.visited().clear()
    products.start(state.demo(), "the demo again", demo=True)
    products.visited().clear()
    state.tell("The demo is as shipped.")
