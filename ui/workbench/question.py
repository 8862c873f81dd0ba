"""What the three question pages have in common: run a job with progress, and show what moved."""

from collections.abc import Callable, Iterable
from typing import TypeVar

import pandas as pd
import streamlit as st

from optiform.brief.brief import Brief
from optiform.design.cheaper import Move
from workbench import show, state, work

T = TypeVar("T")


def asked(name: str, settings: tuple[object, ...], job: Callable[[Brief], T]) -> T | None:
    """The job's result for the bench, or None after its faults were shown. Cached; any click cancels a long one."""
    with st.spinner("Working; any other click cancels."):
        found = work.job(name, state.bench(), settings, job)
    if isinstance(found, work.Refused):
        show.refused(found)
        return None
    return found


def moves(rows: Iterable[Move]) -> None:
    """What changed, before and after, in % of the whole."""
    frame = pd.DataFrame([{"ingredient": m.ingredient, "before %": m.before, "after %": m.after} for m in rows])
    number = st.column_config.NumberColumn(format="%.2f")
    st.dataframe(frame, hide_index=True, placeholder="", column_config={"before %": number, "after %": number})


def needs_today() -> bool:
    """Whether the bench has a formula made today; if not, says how to give one."""
    if "reference" in state.bench().document:
        return True
    st.info("This page starts from the formula you make today. Load it on the Workbench, under Files.")
    return False
