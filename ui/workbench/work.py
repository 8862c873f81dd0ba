"""Jobs for the pages, each cached on the content it was asked about. Results are values and hold no solver."""

import tempfile
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import streamlit as st

from optiform.brief.brief import Brief
from optiform.brief.file import brief_of
from optiform.brief.scaled import asks_firmness, on_scale
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import Best, best, explained
from optiform.design.levers import Lever, levers
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.properties.firmness import ASSUMED, Exponents
from optiform.reading.faults import BadInput, Fault, Unproven
from optiform.telling import json as jsonform
from optiform.telling.design import designed
from optiform.telling.parts import Telling
from workbench.state import Bench, Key, near

T = TypeVar("T")
KEPT = 64  # answers per cache, over all sessions; they are keyed on content, so sharing them shows nobody else's work


@dataclass(frozen=True)
class Refused:
    """What was asked cannot be read or did not pass its own check: the faults, in words."""

    faults: tuple[str, ...]


@dataclass(frozen=True)
class Found:
    """The best formula for a brief, and what is known of it at once as plain data to show."""

    best: Best
    data: jsonform.Data

    @cached_property
    def levers(self) -> tuple[Lever, ...]:
        """What one point more of each line does, worked out once for all that redraws the page."""
        return levers(self.best)


@dataclass(frozen=True)
class Answered:
    """The answer to a brief, the same as plain data to show, and told once for all places of the page."""

    answer: Designed
    data: jsonform.Data
    telling: Telling


def brief(bench: Bench) -> Brief | Refused:
    """The brief on the bench, its limits on firmness as the maker's readings fit them; or all that is wrong with it."""
    read = _brief(bench.content, bench)
    return read if isinstance(read, Refused) else on_scale(read, _exponents(read))


def _exponents(read: Brief) -> Exponents:
    """Those of the scale of firmness: fitted where the brief asks for a firmness and there are readings of one."""
    fitted: Callable[[Brief], Exponents] | None = st.session_state.get(Key.EXPONENTS)
    return fitted(read) if fitted and asks_firmness(read) else ASSUMED


def _content(bench: Bench) -> str:
    """A text that is the same exactly when the bench is, and what its limits on firmness are held by."""
    read = _brief(bench.content, bench)
    known = ASSUMED if isinstance(read, Refused) else _exponents(read)
    return bench.content if known is ASSUMED else f"{bench.content} {known}"


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _brief(content: str, _bench: Bench) -> Brief | Refused:
    with laid_out(_bench.files) as folder:
        try:
            parsed = brief_of(folder / _bench.name, _bench.document, _catalogue(_bench))
        except BadInput as bad:
            return Refused(tuple(_words(fault, folder) for fault in bad.faults))
    names = Counter(limit.property.name for limit in parsed.limits)
    twice = [
        f"{_bench.name}: [limits] {name}: read {n} limits, expected each property once"
        for name, n in names.items()
        if n > 1
    ]
    return Refused(tuple(twice)) if twice else parsed  # a control stands for one limit and edits that one


@contextmanager
def laid_out(files: Mapping[str, str]) -> Iterator[Path]:
    """A folder with the session's files in it, for as long as it takes to read them.

    One that no disk takes (a name too long, or that of a folder) is not there, which its reader then tells.
    """
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = Path(folder, name)
            with suppress(OSError, ValueError):
                if near(name):
                    path.parent.mkdir(parents=True, exist_ok=True)
                    path.write_text(text, encoding="utf-8", newline="")
        yield Path(folder)


def _catalogue(bench: Bench) -> Catalogue | None:
    """What the bench's own tables give, read once while they stay as they are; None where they cannot be read."""
    names = bench.document.get("own_files", [])
    if not isinstance(names, list) or not all(isinstance(name, str) and name in bench.files for name in names):
        return None
    return _read_catalogue(tuple((name, bench.files[name]) for name in names))


@st.cache_resource(max_entries=8, show_spinner=False)
def _read_catalogue(files: tuple[tuple[str, str], ...]) -> Catalogue | None:
    with laid_out(dict(files)) as folder:
        try:
            return read_catalogue([folder / name for name, _ in files])
        except BadInput:
            return None  # told with everything else that is wrong when the brief is read


def _words(fault: Fault, folder: Path) -> str:
    """A fault without the folder that only this program knows."""
    return str(fault).replace(f"{folder}/", "")


def found(bench: Bench) -> Found | NoFormula | Refused:
    """The best formula for the bench, or why there is none."""
    return _found(_content(bench), bench)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _found(content: str, _bench: Bench) -> Found | NoFormula | Refused:
    read = brief(_bench)
    if isinstance(read, Refused):
        return read
    try:
        answer = best(read)
    except Unproven as error:
        return Refused((f"The answer did not pass its own check and is not shown ({error}).",))
    if isinstance(answer, NoFormula):
        return answer
    solution = answer.solution
    return Found(answer, jsonform.best(read, answer.formula, answer.certificate, solution.local, solution.gap))


def answer(bench: Bench, ranged: bool = False) -> Answered | Refused | None:
    """The best formula for the bench looked at from every side; None where there is none.

    `ranged`: also how far each price holds and what unused candidates would pay, for those who look.
    """
    return _answer(_content(bench), ranged, bench)


@st.cache_resource(max_entries=KEPT, show_spinner=False)
def _answer(content: str, ranged: bool, _bench: Bench) -> Answered | Refused | None:
    known = found(_bench)
    if not isinstance(known, Found):
        return None
    try:
        whole = explained(known.best, "whole" if ranged else "prices").settled()
    except Unproven as error:
        return Refused((f"The prices of the limits did not pass their own check and are not shown ({error}).",))
    return Answered(whole, jsonform.designed(whole), designed(whole))


def reading(name: str, text: str, reader: Callable[[Path], T]) -> T | Refused:
    """What a file beside the brief says by its reader, or everything that is wrong with it."""
    with laid_out({name: text}) as folder:
        try:
            return reader(folder / name)
        except BadInput as bad:
            return Refused(tuple(_words(fault, folder) for fault in bad.faults))


def job(name: str, bench: Bench, asked: tuple[object, ...], work: Callable[[Brief], T]) -> T | Refused:
    """The result of another job on the bench, kept in the session while neither the bench nor what is asked changes.

    Not through Streamlit's caches, because the job shows its progress while it works.
    """
    done: dict[tuple[str, object, object], Any] = st.session_state.setdefault(Key.JOBS, {})
    key = _asked(name, bench, asked)
    if key not in done:
        outcome = _job(bench, work)
        while len(done) >= KEPT:
            done.pop(next(iter(done)))
        done[key] = outcome
    result: T | Refused = done[key]
    return result


def at_hand(name: str, bench: Bench, asked: tuple[object, ...]) -> bool:
    """Whether the result of a job is kept, so that it takes no time."""
    return _asked(name, bench, asked) in st.session_state.get(Key.JOBS, {})


def _asked(name: str, bench: Bench, asked: tuple[object, ...]) -> tuple[str, object, object]:
    """What the result of a job hangs on."""
    return name, _content(bench), asked


def _job(bench: Bench, work: Callable[[Brief], T]) -> T | Refused:
    read = brief(bench)
    if isinstance(read, Refused):
        return read
    try:
        return work(read)
    except BadInput as bad:
        return Refused(tuple(map(str, bad.faults)))
    except Unproven as error:
        return Refused((f"{error.told[0].upper()}{error.told[1:]}: {error}",))
