"""By hand: the living sheet of the brief. Formula, cost and properties follow the limits in the browser alone."""

from functools import cache
from pathlib import Path
from typing import NamedTuple

import streamlit as st

from optiform.brief.brief import Brief
from optiform.design import sheet as job
from optiform.design.answer import NoFormula
from optiform.telling import living
from workbench import limits, question, show, state, work
from workbench.state import Document

KEY, NAME = "by-hand", "by hand"
OPEN, DUE = "by-hand is open", "by-hand is due"  # in the session
ABOUT = "Move a limit: formula, cost and properties follow at once. The brief stays as it is until you take the limits."
NONE = "The brief has no limit that the hand could move: the sheet shows its formula alone."
FAULTY = "This brief cannot be followed by hand:"
#: A part of a page is not cut short for another run of it; another page can be gone to.
WAITING = "Working out how far the limits go, once for this brief. What you do here meanwhile is done after it."
LATER = "The brief has changed since its sheet was worked out. What you do goes on without it until you want it anew."
TAKEN = "The limits are taken into the brief."
CHANGED = "The brief has changed meanwhile, so nothing was taken. Move the limits on the sheet as it is now."
#: The button, by what the sheet says of where the limits stand. Where it has proven nothing, taking the limits is how a
#: maker asks the workbench; where it has proven that nothing fits, that would only leave the brief without a formula.
TAKE = {
    "best": "Take these limits",
    "open": "Take and work out",
    "unknown": "Take and work out",
    "none": "No formula fits",
}


class Page(NamedTuple):
    """What is kept of a sheet: its telling, and the limit and the side that each slider moves."""

    told: living.Living
    ends: tuple[tuple[str, str], ...]


@cache
def _file(kind: str) -> str:
    return Path(__file__).with_suffix(f".{kind}").read_text(encoding="utf-8")


def note(is_open: bool) -> None:
    """Note whether the tab stands open: who opens it has the map worked out."""
    if is_open and not st.session_state.get(OPEN):
        _due()
    st.session_state[OPEN] = is_open


def _due() -> None:
    st.session_state[DUE] = True


def hand() -> None:
    """The sheet of the brief on the bench, the way to take its limits over, and the file to take along.

    A map takes seconds, in which the page does nothing else. So while the tab stays open and the brief changes, none is
    worked out before it is asked for.
    """
    bench = state.bench()
    if (
        not st.session_state.get(DUE)
        and isinstance(work.found(bench), work.Found)
        and not work.at_hand(NAME, bench, ())
    ):
        st.markdown(LATER)
        st.button("Work it out anew", key="by-hand-anew", icon=":material/refresh:", on_click=_due)
        return
    page = question.asked(NAME, (), _work, FAULTY, WAITING)
    st.session_state[DUE] = False  # not before: what is cut short is due still
    if isinstance(page, NoFormula):
        st.markdown(show.lacking(page))
    elif page is not None:
        _sheet(page)


def _work(brief: Brief) -> Page | NoFormula:
    """The job, with a bar."""
    words = "Following each limit as far as it goes"
    with question.bar(words, lambda done, total: words) as followed:
        answer = job.sheet(brief, followed)
    if isinstance(answer, NoFormula):
        return answer
    return Page(living.told(answer), tuple((slider.demand.name, slider.demand.side) for slider in answer.sliders))


def _sheet(page: Page) -> None:
    st.markdown(ABOUT if page.ends else NONE)
    of, told = state.bench().content, page.told
    component = st.components.v2.component(
        KEY, html='<section class="living" aria-label="By hand"></section>',
        css=living.style() + _file("css"), js=living.script() + _file("js"),
    )  # fmt: skip
    data = {
        "id": of, "title": told.title, "body": told.body, "numbers": told.numbers, "words": living.BESIDE, "take": TAKE
    }  # fmt: skip
    component(key=KEY, data=data, on_taken_change=lambda: _take(of, page.ends))
    st.caption(living.FOOT_BESIDE)
    st.container(horizontal=True).download_button(
        "Sheet (HTML)", lambda: living.as_file(told), "sheet.html", "text/html", key="sheet", on_click="ignore",
        help="One file that follows the limits without a network, for a phone or a partner",
    )  # fmt: skip


def _take(of: str, ends: tuple[tuple[str, str], ...]) -> None:
    """Put the limits that were moved on the sheet of this content into the brief."""
    taken: Document = st.session_state[KEY].taken
    if not taken["id"] == of == state.bench().content:
        state.tell(CHANGED)
        return
    limits.set_ends([(*ends[number], round(float(target), 2)) for number, target in taken["ends"]])
    read = work.brief(state.bench())
    if isinstance(read, work.Refused):  # a least above its most, say
        state.take_back()
    state.tell(read.faults[0] if isinstance(read, work.Refused) else TAKEN)
