"""After a reload, a lost connection and the end of a session the maker's work is there; controls and answer agree."""

import socket
import threading
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import parse_qs, urlsplit

import pytest
from streamlit.testing.v1 import AppTest
from workbench import going_on
from workbench.state import Key, demo

from optiform.reading.paths import DATA_VARIABLE, UI
from tests.ui.conftest import LAPTOP, window_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

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


def lowered(page: "Page", steps: int = 10) -> str:
    """The most of the water phase lowered by so many steps; the cost that is then shown."""
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed_from, settled, slide

    before = cost(page).inner_text()
    slide(keyed_from(page, "limit-water-phase").get_by_role("slider").last, steps)
    expect(cost(page)).not_to_have_text(before, timeout=PATIENCE)
    settled(page)
    return cost(page).inner_text()


@pytest.mark.parametrize(
    "most",
    [
        pytest.param(("43",), marks=pytest.mark.exhaustive, id="once"),
        pytest.param(("43", "42"), marks=pytest.mark.long, id="and what goes on is cut again"),
    ],
)
def test_after_a_session_has_ended_controls_and_answer_are_what_the_maker_had(
    context: "BrowserContext", line: Line, most: tuple[str, ...]
) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, go, keep, keyed, opened, settled, sound

    page = opened(window_of(context, LAPTOP), f"http://127.0.0.1:{line.port}")
    first = cost(page).inner_text()
    shown = lowered(page)
    assert shown != first
    keep(page, "bench", "mine")
    session = parse_qs(urlsplit(page.url).query)["work"]
    for words in most:
        line.cut()
        expect(keyed(page, "exact").get_by_role("switch")).to_be_disabled(timeout=PATIENCE)  # nothing can be changed
        page.wait_for_timeout(2000 * FORGETS)  # no longer than it takes: the page asks less and less often
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
    go(page, "Drafts")
    expect(keyed(page, "picked")).to_contain_text("mine", timeout=PATIENCE)
    go(page, "Workbench")
    expect(cost(page)).to_have_text(shown)
    sound(page)


@pytest.mark.long
def test_a_reload_keeps_the_work_and_undo_goes_on_from_there(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, press, settled

    first = cost(page).inner_text()
    lowered(page, 9)
    shown = lowered(page, 1)
    page.reload()
    settled(page)
    expect(cost(page)).to_have_text(shown, timeout=PATIENCE)
    assert ends(page, "water-phase") == ["38", "43"]
    for end in ("43.5", "48"):
        press(keyed(page, "undo").get_by_role("button"))
        settled(page)
        assert ends(page, "water-phase") == ["38", end]
    expect(cost(page)).to_have_text(first, timeout=PATIENCE)


@pytest.mark.long
def test_two_windows_follow_each_other_and_neither_writes_over_the_other(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, press, settled

    shown = lowered(page)
    other = page.context.new_page()
    other.goto(page.url, wait_until="domcontentloaded")
    settled(other)
    assert cost(other).inner_text() == shown
    theirs = lowered(other, 4)
    assert theirs != shown
    page.bring_to_front()  # a window that lies behind another is drawn once in a while
    lowered(page, 1)  # without having seen it
    expect(keyed(page, "take-mine")).to_be_visible(timeout=PATIENCE)
    expect(page.get_by_text("was changed in another window")).to_be_visible()
    expect(cost(page)).to_have_text(theirs, timeout=PATIENCE)
    press(keyed(page, "take-mine").get_by_role("button"))
    expect(keyed(page, "take-mine")).to_have_count(0, timeout=PATIENCE)
    settled(page)
    assert ends(page, "water-phase")[1] == "42.5"
    other.bring_to_front()
    other.reload()
    settled(other)
    assert ends(other, "water-phase")[1] == "42.5"


@pytest.mark.long
def test_the_work_is_there_when_the_workbench_is_started_again(context: "BrowserContext", tmp_path: Path) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, opened, press, settled, workbench, workbench_at

    with workbench(**{DATA_VARIABLE: str(tmp_path)}) as url:
        page = opened(window_of(context, LAPTOP), url)
        shown = lowered(page)
        query = urlsplit(page.url).query
    with workbench_at(urlsplit(url).port or pytest.fail(url), **{DATA_VARIABLE: str(tmp_path)}):
        page.goto(f"{url}/?{query}", wait_until="domcontentloaded")
        settled(page)
        expect(cost(page)).to_have_text(shown, timeout=PATIENCE)
        press(keyed(page, "undo").get_by_role("button"))
        expect(cost(page)).not_to_have_text(shown, timeout=PATIENCE)


# -- without a browser -------------------------------------------------------------------------------------------------


def begun(word: str = "", **address: str) -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    for name, value in address.items():
        at.query_params[name] = value
    if word:
        at.query_params[going_on.ADDRESS] = word
    at.run()
    assert not at.exception, at.exception
    return at


def word_of(at: AppTest) -> str:
    word = at.query_params[going_on.ADDRESS]
    return word if isinstance(word, str) else word[0]


def test_an_address_of_a_product_that_is_not_there_says_so() -> None:
    at = begun("unknown", product="no such balm")
    assert any("no product of this name" in each.value for each in at.toast)
    assert at.session_state[Key.BENCH].content == demo().content


def test_each_session_has_a_word_and_controls_of_its_own() -> None:
    one = begun()
    other = begun(word_of(one))
    assert word_of(one) != word_of(other)
    assert not {each.key for each in one.select_slider} & {each.key for each in other.select_slider}


def test_a_draft_kept_in_one_window_is_there_in_the_other() -> None:
    first = begun()
    first.button("keep-do-bench").click().run()
    second = begun(word_of(first))
    second.button("keep-do-bench").click().run()
    first.run()
    assert [draft.name for draft in first.session_state[Key.VARIANTS]] == ["cheapest", "cheapest 2"]


def test_of_many_sessions_the_oldest_goes() -> None:
    assert len(going_on._sessions) <= going_on.MOST


def test_what_was_typed_and_not_used_is_there_again_after_a_reload() -> None:
    one = begun()
    one.switch_page("views/new.py").run()
    one.text_input("new-title").set_value("Winter balm").run()
    again = begun(word_of(one))
    again.switch_page("views/new.py").run()
    assert again.text_input("new-title").value == "Winter balm"
    other = begun()
    other.switch_page("views/new.py").run()
    assert other.text_input("new-title").value == "", "it is nobody else's"
