"""What the three question pages have in common: run a job, and ask for today's formula."""

from collections.abc import Callable
from typing import TypeVar

import streamlit as st

from optiform.brief.brief import Brief
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


def needs_today() -> bool:
    """Whether the bench has a formula made today; if not, says how to give one."""
    if "reference" in state.bench().document:
        return True
    st.info("This page starts from the formula you make today. Load it on the Workbench, under Files.")
    return False
