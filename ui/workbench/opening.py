"""How a session begins: where another one ended, or with the brief given to `optiform app`, else with the demo."""

import os
from dataclasses import replace
from pathlib import Path

import streamlit as st

from optiform.reading.faults import BadInput
from optiform.reading.paths import BRIEF_VARIABLE
from workbench import going_on, places, products, state, work
from workbench.load import spelling
from workbench.state import Began, Key


def begin() -> None:
    """Put on the bench what this session starts from.

    That is what the session of its address held, else the product that the address names, else the brief given, else
    the maker's own product that was last worked on, else the demo. Files are read once and never written.
    """
    if Key.BENCH in st.session_state:
        return
    if not going_on.recalled():
        brief = os.environ.get(BRIEF_VARIABLE, "")
        state.begin(_given(Path(brief)) if brief else Began(state.demo()))
        if version := st.query_params.get(going_on.VERSION):
            st.session_state[Key.FORMULA] = version
        if not _named() and not _of_the_brief():
            _last()
    state.fresh_controls()


def _named() -> bool:
    """Open what the address names; whether it names anything."""
    for key, place in ((going_on.PRODUCT, places.own()), (going_on.COPY, places.demos())):
        if name := st.query_params.get(key):
            if not products.open_product(place, name):
                state.tell(f"{name}: there is no product of this name in {places.told(place)}.")
            products.visited().clear()
            return True
    return False


def _of_the_brief() -> bool:
    """Go on with the product of the brief that was given, where the records have one; whether a brief was given."""
    began = state.began()
    if not began.given:
        return False
    on_disk, name = began.bench, products.title()
    if places.there(places.own()) and products.open_product(places.own(), name):
        products.visited().clear()
        if not products.ever_held(on_disk):
            state.replace_bench(on_disk, f"{on_disk.name} as it is on the disk now")
    else:
        st.session_state[Key.UNSAVED] = ()
    return True


def _last() -> None:
    """Go on with the maker's own product that was last worked on, if there is any."""
    listed = products.listed(places.own()) if not state.began().faults else []
    if listed:
        products.open_product(places.own(), listed[0].name)
        products.visited().clear()


def _given(path: Path) -> Began:
    """The brief at the path, or the demo with what is wrong: the files may have changed since the app was started."""
    try:
        bench = state.on_disk(path)
    except BadInput as bad:
        return Began(state.demo(), faults=tuple(map(str, bad.faults)))
    read = work.brief(bench)
    known = bench if isinstance(read, work.Refused) else replace(bench, spelling=spelling(bench.document, read))
    return Began(known, given=True)
