"""What the browser alone can tell and do: whether fingers work here, how narrow it is; menus closed; decimal commas."""

from collections.abc import Sequence

import streamlit as st

from workbench import typed

_ASK = """
export default ({ setStateValue }) => {
    const finger = matchMedia("(pointer: coarse)"), narrow = matchMedia("(max-width: 640px)")
    if (finger.matches) setStateValue("coarse", true)
    const tell = () => setStateValue("narrow", narrow.matches)
    if (narrow.matches) tell()
    narrow.addEventListener("change", tell)
    const chosen = event => {  // on a phone the menu lies over the page that was chosen in it
        const menu = event.target.closest('[data-testid="stSidebar"]')
        if (narrow.matches && menu && event.target.closest("a")) setTimeout(() => {
            if (menu.getBoundingClientRect().right > 10)
                menu.querySelector('[data-testid="stSidebarCollapseButton"] button')?.click()
        }, 600)
    }
    const comma = event => {  // a field of numbers would drop it without a word, so that 0,4 became 4
        const field = event.target
        if (event.data?.includes(",") && field.matches?.('input[type="number"], input.gdg-input')) {
            event.preventDefault()
            document.execCommand("insertText", false, event.data.replace(",", "."))
        }
    }
    document.addEventListener("click", chosen)
    document.addEventListener("beforeinput", comma, true)
    return () => {
        narrow.removeEventListener("change", tell)
        document.removeEventListener("click", chosen)
        document.removeEventListener("beforeinput", comma, true)
    }
}
"""
#: What a screen reader says when its words change: in place, so that it is known as the same region.
_SAY = """
export default ({ parentElement, data }) => {
    const region = parentElement.querySelector("p")
    if (region.textContent !== data) region.textContent = data
}
"""
EXACT = "exact"
KEY, NARROW, COARSE = "touch", "is-narrow", "is-coarse"


def ask() -> None:
    """Ask the browser. On a screen for fingers numbers are typed: a finger hardly hits the ends of a slider."""
    with st.container(key="unseen"):
        component = st.components.v2.component(KEY, js=_ASK)
        component(key=KEY, on_coarse_change=_coarse, on_narrow_change=_narrow)


def say(words: str) -> None:
    """Words that a screen reader says when they change, and that nobody sees."""
    with st.container(key="unseen-words"):
        st.components.v2.component("said", html='<p role="status"></p>', js=_SAY)(key="said", data=words)


def _coarse() -> None:
    st.session_state[EXACT] = True
    st.session_state[COARSE] = True


def _narrow() -> None:
    st.session_state[NARROW] = bool(st.session_state[KEY].narrow)


def narrow() -> bool:
    """Whether the window is as narrow as a phone."""
    return _told(NARROW)


def _told(key: str) -> bool:
    """What the browser told when it was asked; until then, and asked for once, whether it is a phone's."""
    if key not in st.session_state:
        st.session_state[key] = _phone()
    return bool(st.session_state[key])


def _phone() -> bool:
    """What the browser says of itself before it is asked, so that a phone is not drawn twice."""
    return "Mobi" in (st.context.headers.get("User-Agent") or "")


def number(label: str, low: float, high: float, value: float, step: float, key: str, words: str = "") -> float:
    """A figure: by a slider, on a screen for fingers by a field that scrolling does not move."""
    wide = not _told(COARSE)
    put, key = (st.slider, key) if wide else (st.number_input, f"{key}-typed")
    typed.begin(key)
    return float(put(label, low, high, value, step, "%g", key, words or None, typed.hold, (key,)))


def choice(label: str, options: Sequence[int], value: int, key: str) -> int:
    """One of some numbers: by a slider, on a screen for fingers from a list."""
    if _told(COARSE):
        held = typed.field(f"{key}-listed", options)
        return int(st.selectbox(label, options, options.index(value), **held))
    return int(st.select_slider(label, options, value, **typed.field(key, options)))
