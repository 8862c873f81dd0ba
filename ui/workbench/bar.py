"""At the head of every page: the product, where it is saved, undo and redo, and what another window did meanwhile."""

from collections.abc import Callable

import streamlit as st

from optiform.telling.parts import readable
from workbench import guide, places, products, show, state, stepping
from workbench.products import Clash
from workbench.state import Key
from workbench.wording import on_page


def bar() -> None:
    """All of it; each part has a place of its own, so that nothing below moves when one comes or goes."""
    words = state.told()
    if words:
        st.toast(show.escape(readable(on_page(words))), icon=":material/info:")
    row = st.container(horizontal=True, vertical_alignment="center", key="head-bar")
    _step(row, "undo", "Undo", stepping.undoable(), stepping.undo)
    _step(row, "redo", "Redo", stepping.redoable(), stepping.redo)
    if page := st.session_state.get(Key.PAGE):
        with row:
            st.space("stretch")
            guide.behind(page)
    with st.container():
        _saved()
        _clash()


def named() -> None:
    """The product's name and the bar, where the page has another title."""
    st.caption(f"**{show.escape(products.title())}**")
    bar()


def above(draw: Callable[[], None]) -> Callable[[], None]:
    """A page with the name and the bar at its head."""

    def drawn() -> None:
        named()
        draw()

    return drawn


def _step(place: "st.delta_generator.DeltaGenerator", key: str, word: str, what: str, do: Callable[[], None]) -> None:
    place.button(
        f"{word}: {show.escape(readable(what))}" if what else word,
        icon=f":material/{key}:",
        key=key,
        on_click=do,
        disabled=not what,
        type="tertiary",
    )


def _saved() -> None:
    """Where the product is saved, or why it is not."""
    where = show.escape(places.told(products.place()))
    if faults := st.session_state.get(Key.UNSAVED):
        st.error(
            f"What is changed here cannot be saved in {where} now. It lasts while the workbench runs, and is saved as "
            "soon as that can be written; a download under Files takes it along.",
            icon=":material/cloud_off:",
        )
        show.listed(faults)
    elif products.home() is None:
        name = show.escape(state.bench().name)
        what = "The demo: a copy" if products.is_demo() else f"{name} itself is not changed: the product"
        st.caption(f"{what} is saved in {where} from your first change on.")
    else:
        trail = state.trail()
        saved = "A copy of the demo, saved" if products.is_demo() else "Saved"
        st.caption(f"{saved} in {where}: step {trail.at} of {max(trail.steps)}.")
    began = state.began()
    if began.faults and products.home() is None:
        st.error("The brief given to `optiform app` could not be read when this session began; this is the demo.")
        show.listed(began.faults)


def _clash() -> None:
    clash: Clash | None = st.session_state.get(Key.CLASH)
    if clash is None:
        return
    theirs = readable(f"This product was changed in another window at {clash.when:%H:%M}: {clash.theirs}.")
    if not clash.mine:
        st.warning(
            show.escape(f"{theirs} It stands here now; nothing of yours was waiting."),
            icon=":material/call_split:",
        )
        st.button("Go on with it", key="take-theirs", on_click=stepping.take_theirs)
        return
    mine = f"Your change here ({clash.words}) was not written over it: it is step {clash.mine} of the history."
    st.warning(show.escape(readable(f"{theirs} {mine}")), icon=":material/call_split:")
    row = st.container(horizontal=True)
    row.button("Go on with theirs", key="take-theirs", on_click=stepping.take_theirs)
    row.button("Go on with mine", key="take-mine", on_click=stepping.take_mine)
