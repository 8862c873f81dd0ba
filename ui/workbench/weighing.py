"""Weigh mode: one line or step of a batch a screen, in a component of our own that goes on while the server is away.

What is ticked goes into the records, tick by tick, so that every device on them shows it.
"""

import datetime
import secrets
from dataclasses import asdict
from functools import cache
from pathlib import Path

import streamlit as st

from optiform.batch.batch import BatchSheet
from optiform.batch.ticks import Run, ended, run_of, settled, ticked, word_of
from optiform.reading import clock
from optiform.telling.parts import Level, Section, Sentence
from optiform.telling.saved import kept_in_words
from optiform.telling.screens import Screen, in_words, screens, weighed
from optiform.workshop.decisions import Kept, written
from optiform.workshop.records import Tick
from workbench import parts, shop, show, state
from workbench.state import Document
from workbench.work import Refused

KEY = "weighing"
EVERY = 10.0  # seconds after which another device's ticks are looked for
LATER = "This is what the records have. What you ticked while the server was away follows by itself."


@cache
def _file(kind: str) -> str:
    return Path(__file__).with_suffix(f".{kind}").read_text(encoding="utf-8")


@st.fragment(run_every=EVERY)
def weigh(sheet: BatchSheet) -> None:
    """The screens, and below them what was weighed so far as the records have it."""
    shown, word = screens(sheet), word_of(sheet)
    run = shop.within(lambda kept: run_of(kept, word))
    if isinstance(run, Refused):
        show.refused(run)
        run = Run(0, {})  # what is ticked waits in the browser
    component = st.components.v2.component(
        KEY, html='<section class="weighing" aria-label="Weigh"></section>', css=_file("css"), js=_file("js")
    )
    component(
        key=f"{KEY} {word}",
        data={"id": word, "screens": [asdict(screen) for screen in shown], "held": _held(run, word)},
        on_weighed_change=lambda: _take(word, sheet.title, shown),
    )
    _clashes(run)
    _so_far(run, word)


def _held(run: Run, word: str) -> Document:
    """What the records have, for the browser: the last tick of each screen, and the words of all that are there."""
    ticks = {
        str(screen): {
            "number": tick.number,
            "words": in_words(tick) if tick.ingredient else f"Done, at {tick.when:%H:%M}",
            "clash": screen in run.clashes,
        }
        for screen, tick in run.last.items()
    }
    known = [tick.word for each in run.screens.values() for tick in each]
    return {"run": run.number, "ticks": ticks, "known": [*known, *st.session_state.get(f"{KEY} {word} came", ())]}


def _take(word: str, title: str, shown: tuple[Screen, ...]) -> None:
    """Put what the browser sends into the records."""
    came: list[Document] | None = st.session_state[f"{KEY} {word}"].weighed
    ticks = [_tick(word, entry, shown[entry["screen"]]) for entry in came or []]
    if _keep(lambda kept: ticked(kept, title, ticks, _now())):
        st.session_state[f"{KEY} {word} came"] = [tick.word for tick in ticks]  # of an earlier run too


def _tick(word: str, entry: Document, screen: Screen) -> Tick:
    return Tick(
        sheet=word, run=max(entry["run"], 1), screen=entry["screen"], number=1, over=entry["over"], word=entry["word"],
        ingredient=screen.name, place=screen.place if screen.name else "",
        planned=float(screen.grams) if screen.name else None, grams=entry["grams"], lot=entry["lot"],
        when=datetime.datetime.fromisoformat(entry["when"]),
    )  # fmt: skip


def _clashes(run: Run) -> None:
    """Lines of which two devices say different things, and the way to say which counts."""
    for screen, ticks in run.clashes.items():
        told = ", and ".join(in_words(tick) for tick in ticks)
        st.warning(show.escape(f"{ticks[0].ingredient} was weighed on two devices: {told}. Which counts?"),
                   icon=":material/call_split:")  # fmt: skip
        row = st.container(horizontal=True)
        for tick in ticks:
            row.button(
                show.escape(in_words(tick)), key=f"settle {screen} {tick.number}", on_click=_settle, args=(tick,)
            )


def _so_far(run: Run, word: str) -> None:
    told = tuple(weighed(run))
    if not run.screens:
        return
    with st.expander(f"Weighed so far ({len(told)})"):
        parts.body(Section("weighed", "", (*told, Sentence(LATER, Level.NOTE))), "weighed")
        st.caption("Weigh it again from the beginning: what was ticked stays in the records.")
        st.button("Begin another batch of it", key="weigh-anew", on_click=_anew, args=(word,))


def _settle(tick: Tick) -> None:
    _keep(lambda kept: settled(kept, tick, secrets.token_urlsafe(6), _now()))


def _anew(word: str) -> None:
    _keep(lambda kept: Kept(ended(kept, word, _now()), ""))


def _keep(decision: shop.Decision) -> bool:
    kept = shop.keep(decision, written("what was weighed"))
    state.tell(kept.faults[0] if isinstance(kept, Refused) else kept_in_words(kept))
    return not isinstance(kept, Refused)


def _now() -> datetime.datetime:
    return clock.now().replace(microsecond=0)
