"""What the three question pages have in common: run a job, and ask for today's formula."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

import streamlit as st

from optiform.brief.brief import Brief
from optiform.reading.progress import Progress
from workbench import proposals, show, state, work

T = TypeVar("T")
WAITING = "Working; any other click cancels."


def asked(
    name: str, settings: tuple[object, ...], job: Callable[[Brief], T],
    faulty: str = show.FAULTY, waiting: str = WAITING,
) -> T | None:  # fmt: skip
    """The job's result for the bench, or None after its faults were shown. Cached; any click cancels a long one.

    `faulty`: what stands above the faults. `waiting`: what is said while it works.
    """
    with st.spinner(waiting):
        outcome = work.job(name, state.bench(), settings, job)
    if isinstance(outcome, work.Refused):
        show.refused(outcome, faulty)
        return None
    return outcome


@contextmanager
def bar(first: str, told: Callable[[int, int], str]) -> Iterator[Progress]:
    """A bar for as long as a job takes; `told`: what stands above it, by what is done and how much there is."""
    shown = st.progress(0.0, first)

    def followed(done: int, total: int) -> None:
        of = max(total, 1)
        if done * 100 // of > (done - 1) * 100 // of:  # once for each per cent
            shown.progress(min(1.0, done / of), told(done, total))

    yield followed
    shown.empty()


def needs_today() -> bool:
    """Whether the bench has a formula made today; if not, says how to give one."""
    if "reference" in state.bench().document:
        return True
    st.info("This page starts from the formula you make today. Load it on the Workbench, under Files, or take the one "
            "that stands on the bench.")  # fmt: skip
    best = work.found(state.bench())
    if isinstance(best, work.Found) and st.button("Take the one on the bench", key="take-bench", type="primary"):
        proposals.take(best.best.formula, "the best on the bench taken")
        st.rerun()
    return False
