"""One server and one browser for all tests of the pages; a browser context of its own for each."""

import importlib.util
import os
import shutil
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from streamlit import config
from streamlit.components.v2 import manifest_scanner
from streamlit.delta_generator import DeltaGenerator
from streamlit.runtime.scriptrunner import script_cache
from streamlit.testing.v1 import app_test, local_script_runner

from optiform.reading.paths import DATA_VARIABLE
from tests.answers import shared_by_pages
from tests.sweeps import is_long

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page, ViewportSize

    from tests.ui.browser import Log, Tour

Visit = Callable[..., "Page"]
LAPTOP: "ViewportSize" = {"width": 1280, "height": 900}
PHONE: "ViewportSize" = {"width": 390, "height": 844}


def without(reason: str) -> None:
    """No browser: a fault where every change is checked, a reason to skip on a user's machine."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session", autouse=True)
def server_of_pages() -> Iterator[None]:
    """What a server does once is done once, not for every run of a page without a browser.

    It looks through all installed packages for components and compiles the pages; and who waits for a run is woken at
    its end, instead of looking a thousand times a second, as a page that runs beside it waits for its turn each time.
    As where `optiform app` serves them, no statistics are taken of what the pages draw.
    """
    compiled, waiting = script_cache.ScriptCache(), local_script_runner.require_widgets_deltas

    def until_its_end(runner: local_script_runner.LocalScriptRunner, timeout: float = 3) -> None:
        if runner._script_thread:
            runner._script_thread.join(timeout)
        waiting(runner, timeout)

    config.set_option("browser.gatherUsageStats", False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(manifest_scanner, "scan_component_manifests", cache(manifest_scanner.scan_component_manifests))
        patch.setattr(app_test, "ScriptCache", lambda: compiled)
        patch.setattr(local_script_runner, "ScriptCache", lambda: compiled)
        patch.setattr(local_script_runner, "require_widgets_deltas", until_its_end)
        yield


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own for what is kept beside no brief."""
    monkeypatch.setenv(DATA_VARIABLE, str(tmp_path / "data"))
    return tmp_path / "data"


@pytest.fixture(autouse=True)
def shared_answers() -> Iterator[None]:
    """What pages ask of the demo is worked out once in a run; a browser's server is another process and asks anew."""
    with shared_by_pages():
        yield


@pytest.fixture
def given(monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """What the page offers to take along, by the key of its button."""
    found: dict[str, str] = {}

    def record(_self: DeltaGenerator, _label: str, data: str | Callable[[], str], *_rest: object, **how: Any) -> bool:
        found[how["key"]] = data if isinstance(data, str) else data()
        return False

    monkeypatch.setattr(DeltaGenerator, "download_button", record)
    return found


@pytest.fixture(scope="session")
def chromium() -> "Iterator[Browser]":
    if importlib.util.find_spec("playwright") is None:
        without("playwright is not installed")
    from playwright.sync_api import sync_playwright

    from tests.ui.browser import launch, missing

    if missing():
        without(missing())
    with sync_playwright() as playwright:
        browser = launch(playwright)
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder in which that server keeps products."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="session")
def address(chromium: "Browser", kept: Path) -> Iterator[str]:
    """Where `optiform app` serves the workbench."""
    assert chromium.is_connected()
    from tests.ui.browser import workbench

    with workbench(**{DATA_VARIABLE: str(kept)}) as url:
        yield url


@pytest.fixture(scope="session")
def watched(chromium: "Browser") -> "Iterator[tuple[BrowserContext, Log]]":
    """One context for all tests that need no other: it fetches and reads the workbench's scripts once."""
    from tests.ui.browser import Log

    opened = chromium.new_context(viewport=LAPTOP, accept_downloads=True)
    yield opened, Log(opened)
    opened.close()


@pytest.fixture(scope="session")
def tour(chromium: "Browser", address: str, kept: Path) -> "Iterator[Tour]":
    """A deep link once, then every page by its link; where that is all pages, with drafts for them to show.

    What measures every page is parametrized by `name` for the whole session, so that each is gone to once.
    """
    from tests.ui.browser import Log, Tour, go, keep, opened

    shutil.rmtree(kept, ignore_errors=True)  # products of other tests
    context = chromium.new_context()
    log = Log(context)
    page = opened(context.new_page(), address, "Drafts")
    for name, key, draft in (("Workbench", "bench", "cheapest"), ("Cheaper", "cheaper", "lean")) if is_long() else ():
        go(page, name)
        keep(page, key, draft)
    yield Tour(page, log)
    context.close()


@pytest.fixture
def context(watched: "tuple[BrowserContext, Log]", kept: Path) -> "Iterator[BrowserContext]":
    """Nothing in it of the test before: each meets the workbench as it comes."""
    yield from emptied(watched[0], kept)


@pytest.fixture(scope="session")
def hand(chromium: "Browser") -> "Iterator[tuple[BrowserContext, Log]]":
    """One context for all tests on a phone."""
    from tests.ui.browser import Log

    opened = chromium.new_context(viewport=PHONE, is_mobile=True, has_touch=True)
    yield opened, Log(opened)
    opened.close()


@pytest.fixture
def phone(hand: "tuple[BrowserContext, Log]", kept: Path) -> "Iterator[BrowserContext]":
    """A phone, likewise with nothing in it of the test before."""
    hand[1].forget()
    yield from emptied(hand[0], kept)


def emptied(context: "BrowserContext", kept: Path) -> "Iterator[BrowserContext]":
    """A context for one test; what it kept on the server or in the browser goes with it.

    One page stays, empty: what it has read and compiled of the workbench's scripts is used again (`window_of`).
    """
    shutil.rmtree(kept, ignore_errors=True)
    yield context
    for page in context.pages:
        if page.url != "about:blank":  # a page that went nowhere has nothing to forget, and no place for it
            page.evaluate("() => { localStorage.clear(); sessionStorage.clear(); }")
    for page in context.pages[1:]:
        page.close()
    if context.pages:
        context.pages[0].goto("about:blank")
    context.clear_cookies()


def window_of(context: "BrowserContext", size: "ViewportSize") -> "Page":
    """The page that stays in a context, or its first."""
    page = context.pages[0] if context.pages else context.new_page()
    page.set_viewport_size(size)
    return page


@pytest.fixture(scope="session")
def desk(chromium: "Browser") -> "Iterator[BrowserContext]":
    """One context for all files that are opened, as each is a window, which takes the browser half a second."""
    opened = chromium.new_context()
    yield opened
    opened.close()


@pytest.fixture
def blank(desk: "BrowserContext") -> "Iterator[Page]":
    """An empty page, to open a file on; a new one, as the size that a page once had stays with what it prints."""
    page = desk.new_page()
    yield page
    page.close()


@pytest.fixture
def log(watched: "tuple[BrowserContext, Log]") -> "Log":
    """What the context asks for from now on."""
    _, everything = watched
    everything.forget()
    return everything


@pytest.fixture
def page(context: "BrowserContext", log: "Log", address: str) -> "Iterator[Page]":
    """The workbench, drawn; at the end no page may have shown a traceback or complained."""
    from tests.ui.browser import opened, sound

    assert log.requests == []
    drawn = opened(window_of(context, LAPTOP), address)
    yield drawn
    sound(drawn)
    assert log.complaints() == []
