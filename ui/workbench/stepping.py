"""Undo, redo and any step of a product's history; and the way out of a clash with another window."""

import streamlit as st

from optiform.workshop import products as records
from optiform.workshop.records import Step
from optiform.workshop.store import Workshop
from workbench import places, state
from workbench.products import Clash, bench_of, home, leave, visited
from workbench.state import Key
from workbench.work import Refused


def undoable() -> str:
    """What undoing takes back; empty where there is nothing."""
    trail = state.trail()
    if trail.earlier:
        return trail.here.words
    return visited()[-1].words if visited() else ""


def redoable() -> str:
    """What redoing does again; empty where there is nothing."""
    later = state.trail().later
    return later.words if later else ""


def undo() -> None:
    """Go back to the step before, or to what was on the bench before this product."""
    trail = state.trail()
    if trail.earlier:
        go(trail.earlier.number, f"Undone: {trail.here.words}.")
    elif visited():
        state.tell(f"Undone: {leave()}.")


def redo() -> None:
    """Go on to the latest step that was made from this one."""
    later = state.trail().later
    if later:
        go(later.number, f"Done again: {later.words}.")


def go(number: int, words: str) -> None:
    """Stand at a step of the history, with words on it."""
    step, known = state.trail().steps[number], home()
    bench = step.bench
    if bench is None and known is not None:
        kept = places.within(known.place, lambda workshop: _content(workshop, known.name, number))
        if isinstance(kept, Refused):
            st.session_state[Key.UNSAVED] = kept.faults
            return
        bench = bench_of(kept)
    if bench is not None:
        state.step_to(number, bench, words)


def _content(workshop: Workshop, name: str, number: int) -> records.State:
    (step,) = workshop.read(Step, product=name, number=number)
    return records.state_of(workshop, step)


def take_mine() -> None:
    """After a clash: go on with what was done here."""
    clash: Clash = st.session_state[Key.CLASH]
    st.session_state[Key.CLASH] = None
    go(clash.mine, f"Gone on with: {clash.words}.")


def take_theirs() -> None:
    """After a clash: go on with what stands in the records."""
    st.session_state[Key.CLASH] = None
