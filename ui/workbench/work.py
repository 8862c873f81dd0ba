"""Jobs for the pages, each cached on the content it was asked about. Results are values and hold no solver."""

import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import streamlit as st

from optiform import jsonform
from optiform.brief import Brief
from optiform.brieffile import brief_of
from optiform.faults import BadInput, Fault, Unproven
from optiform.jobs.answer import Designed, Impossible
from optiform.jobs.design import design
from workbench.state import BRIEF_FILE, Bench, Key

KEPT = 64  # answers per cache, over all sessions; they are keyed on content, so sharing them shows nobody else's work


@dataclass(frozen=True)
class Refused:
    """What was asked cannot be read or did not pass its own check: the faults, in words."""

    faults: tuple[str, ...]


@dataclass(frozen=True)
class Answered:
    """A brief and its answer, with the answer as plain data to show."""

    brief: Brief
    answer: Designed | Impossible
    data: dict[str, Any]


def brief(bench: Bench) -> Brief | Refused:
    """The brief on the bench, or everything that is wrong with it."""
    return _brief(bench.content, bench)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _brief(content: str, _bench: Bench) -> Brief | Refused:
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        for name, text in _bench.files.items():
            (place / Path(name).name).write_text(text, encoding="utf-8")
        try:
            found = brief_of(place / BRIEF_FILE, _bench.document)
        except BadInput as bad:
            return Refused(tuple(_words(fault, folder) for fault in bad.faults))
    names = Counter(limit.property.name for limit in found.limits)
    twice = [
        f"{BRIEF_FILE}: [limits] {name}: read {n} limits, expected each property once"
        for name, n in names.items()
        if n > 1
    ]
    return Refused(tuple(twice)) if twice else found  # a control stands for one limit and edits that one


def _words(fault: Fault, folder: str) -> str:
    """A fault without the folder that only this program knows."""
    return str(fault).replace(f"{folder}/", "")


def answer(bench: Bench) -> Answered | Refused:
    """The best formula for the bench, or why there is none."""
    return _answer(bench.content, bench)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _answer(content: str, _bench: Bench) -> Answered | Refused:
    read = brief(_bench)
    if isinstance(read, Refused):
        return read
    try:
        found = design(read)
    except Unproven as error:
        return Refused((f"The answer did not pass its own check and is not shown ({error}).",))
    data = jsonform.designed(found) if isinstance(found, Designed) else jsonform.impossible(found)
    return Answered(read, found, data)


def job(name: str, bench: Bench, asked: tuple[Any, ...], work: Callable[[Brief], Any]) -> Any:
    """The result of another job on the bench, kept in the session while neither the bench nor what is asked changes.

    Not through Streamlit's caches, because the job shows its progress while it works.
    """
    done: dict[Any, Any] = st.session_state.setdefault(Key.JOBS, {})
    key = name, bench.content, asked
    if key not in done:
        found = _job(bench, work)
        while len(done) >= KEPT:
            done.pop(next(iter(done)))
        done[key] = found
    return done[key]


def _job(bench: Bench, work: Callable[[Brief], Any]) -> Any:
    read = brief(bench)
    if isinstance(read, Refused):
        return read
    try:
        return work(read)
    except BadInput as bad:
        return Refused(tuple(map(str, bad.faults)))
    except (Unproven, ValueError) as error:
        return Refused((str(error),))
