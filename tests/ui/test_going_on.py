"""After a reload, a lost connection and the end of a session the maker's work is there; controls and answer agree."""

import socket
import threading
from collections.abc import Iterator
from contextlib import suppress
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

import pytest
from streamlit.testing.v1 import AppTest
from workbench import going_on
from workbench.state import Key, demo

from optiform.reading.paths import UI

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

FORGETS = 1  # seconds after which this server ends a session that no window is connected to


class Line:
    """A connection to a server that can be cut and mended."""

    def __init__(self, port: int) -> None:
        self.up = True
        self._server = port
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._door.getsockname()[1]
        self._open: list[socket.socket] = []
        threading.Thread(target=self._wait, daemon=True).start()

    def cut(self) -> None:
        self.up = False
        for end in self._open:
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
        self._open.clear()

    def close(self) -> None:
        self.cut()
        self._door.close()

    def _wait(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._door.accept()
                if not self.up:
                    near.close()
                    continue
                far = socket.create_connection(("127.0.0.1", self._server))
                self._open += [near, far]
                threading.Thread(target=_join, args=(near, far), daemon=True).start()


def _join(near: socket.socket, far: socket.socket) -> None:
    """What comes in at one end goes out at the other, both ways, until one of them ends."""
    with near, far:
        back = threading.Thread(target=_carry, args=(far, near), daemon=True)
        back.start()
        _carry(near, far)
        back.join()


def _carry(one: socket.socket, other: socket.socket) -> None:
    with suppress(OSError):
        while part := one.recv(65536):
            other.sendall(part)
    for end in (one, other):
        with suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)


@pytest.fixture
def line(chromium: "Browser") -> Iterator[Line]:
    """A line to a workbench that forgets sessions at once."""
    from tests.ui.browser import workbench

    assert chromium.is_connected()
    with workbench(STREAMLIT_SERVER_DISCONNECTED_SESSION_TTL=str(FORGETS)) as url:
        port = urlsplit(url).port
        assert port is not None
        opened = Line(port)
        yield opened
        opened.close()


def ends(page: "Page", name: str) -> list[str | None]:
    """Where both ends of a slider stand, in words."""
    from tests.ui.browser import keyed_from

    handles = keyed_from(page, f"limit-{name}").get_by_role("slider")
    return [handles.nth(number).get_attribute("aria-valuetext") for number in (0, 1)]


def lowered(page: "Page", times: int = 10) -> str:
    """The most of the water phase lowered by so many steps; the cost that is then shown."""
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed_from, settled

    before = cost(page).inner_text()
    handle = keyed_from(page, "limit-water-phase").get_by_role("slider").last
    for _ in range(times):
        handle.press("ArrowLeft")
    expect(cost(page)).not_to_have_text(before, timeout=PATIENCE)
    page.wait_for_timeout(500)
    settled(page)
    return cost(page).inner_text()


def test_after_a_session_has_ended_controls_and_answer_are_what_the_maker_had(chromium: "Browser", line: Line) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, go, keep, keyed, opened, settled, sound

    context = chromium.new_context(viewport={"width": 1280, "height": 900})
    page = opened(context.new_page(), f"http://127.0.0.1:{line.port}")
    first = cost(page).inner_text()
    shown = lowered(page)
    assert shown != first
    keep(page, "bench", "mine")
    session = parse_qs(urlsplit(page.url).query)["work"]
    for words in ("43", "42"):  # twice: what goes on can be cut off again
        line.cut()
        expect(keyed(page, "exact").get_by_role("switch")).to_be_disabled(timeout=PATIENCE)  # nothing can be changed
        page.wait_for_timeout(3000 * FORGETS)
        line.up = True
        page.wait_for_function(
            "was => new URLSearchParams(location.search).get('work') !== was", arg=session[0], timeout=60_000
        )
        settled(page)
        session = parse_qs(urlsplit(page.url).query)["work"]
        assert ends(page, "water-phase") == ["38", words]
        expect(cost(page)).to_have_text(shown)
        expect(keyed(page, "undo")).to_contain_text("limit on water phase")
        shown = lowered(page, 2)  # and the controls still work
    go(page, "Variants")
    expect(keyed(page, "picked")).to_contain_text("mine", timeout=PATIENCE)
    go(page, "Workbench")
    expect(cost(page)).to_have_text(shown)
    sound(page)
    context.close()


def test_a_reload_keeps_the_work_and_undo_goes_on_from_there(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, settled

    first = cost(page).inner_text()
    shown = lowered(page)
    page.reload()
    settled(page)
    expect(cost(page)).to_have_text(shown, timeout=PATIENCE)
    assert ends(page, "water-phase") == ["38", "43"]
    while ends(page, "water-phase")[1] != "48":  # some of the steps went together
        keyed(page, "undo").get_by_role("button").click()
        page.wait_for_timeout(300)
        settled(page)
    expect(cost(page)).to_have_text(first, timeout=PATIENCE)
    assert ends(page, "water-phase") == ["38", "48"]


def test_two_windows_of_one_address_do_not_write_over_each_other(page: "Page") -> None:
    from tests.ui.browser import cost, settled

    shown = lowered(page)
    other = page.context.new_page()
    other.goto(page.url, wait_until="domcontentloaded")
    settled(other)
    assert cost(other).inner_text() == shown
    assert lowered(other, 4) != shown
    page.reload()
    settled(page)
    assert cost(page).inner_text() == shown
    assert ends(page, "water-phase") == ["38", "43"]


# -- without a browser -------------------------------------------------------------------------------------------------


def begun(word: str = "") -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    if word:
        at.query_params[going_on.ADDRESS] = word
    at.run()
    assert not at.exception, at.exception
    return at


def word_of(at: AppTest) -> str:
    word = at.query_params[going_on.ADDRESS]
    return word if isinstance(word, str) else word[0]


def test_an_address_that_nothing_is_known_of_says_that_it_begins_anew() -> None:
    at = begun("unknown")
    assert any("begins anew from the demo" in each.value for each in at.warning)
    assert at.session_state[Key.BENCH].content == demo().content
    assert not any("begins anew" in each.value for each in begun().warning)
    assert not any("begins anew" in each.value for each in begun(word_of(at)).warning)


def test_each_session_has_a_word_and_controls_of_its_own() -> None:
    one = begun()
    other = begun(word_of(one))
    assert word_of(one) != word_of(other)
    assert not {each.key for each in one.select_slider} & {each.key for each in other.select_slider}


def test_what_is_held_is_a_copy_and_the_oldest_of_many_goes() -> None:
    first = begun()
    first.button("keep-do-bench").click().run()
    second = begun(word_of(first))
    second.button("keep-do-bench").click().run()
    assert [len(at.session_state[Key.VARIANTS]) for at in (first, second)] == [1, 2]
    assert len(begun(word_of(first)).session_state[Key.VARIANTS]) == 1
    assert len(going_on._sessions) <= going_on.MOST
