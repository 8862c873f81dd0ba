"""The workbench in a real browser: the server as a process of its own, chromium, and small steps on its pages."""

import contextlib
import itertools
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from urllib.parse import urlsplit

from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Locator, Page, Playwright, expect

from optiform.reading.paths import DATA_VARIABLE

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = "/usr/bin/chromium"
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--in-process-gpu",  # what draws is no process of its own: less to hand over
    "--disable-background-networking", "--no-first-run", "--disable-component-update", "--disable-sync",
    "--js-flags=--min-semi-space-size=32",  # MB: less to clear away
]  # fmt: skip
PAGES = {
    "Products": "products",
    "New product": "new",
    "History": "history",
    "Workbench": "",
    "As typed": "check",
    "Cheaper": "cheaper",
    "Substitute": "substitute",
    "Firmer or softer": "texture",
    "Nearly as good": "nearly",
    "Weighable": "weigh",
    "Drafts": "variants",
    "Batch": "batch",
    "Declaration": "declaration",
    "Costs": "costs",
    "Buying": "buying",
    "Range": "range",
    "Stock": "stock",
    "Trials": "trials",
    "Ingredients": "ingredients",
}
SECTIONS = dict.fromkeys(PAGES, "Formula") | {
    "Batch": "Make and sell",
    "Declaration": "Make and sell",
    "Costs": "Make and sell",
    "Buying": "Make and sell",
    "Range": "Make and sell",
    **dict.fromkeys(("Products", "New product", "History"), "Products"),
    **dict.fromkeys(("Stock", "Trials", "Ingredients"), "Workshop"),
}
PHONE = 640  # pixels; no window of a phone is wider
PATIENCE = 20_000  # milliseconds; a first answer on a slow machine
expect.set_options(timeout=PATIENCE)
WAITS = itertools.count(1)  # each wait for a page to come to rest counts its own pictures

#: Complains when a table or a chart draws a value that is none.
NO_VALUE = """(() => {
    const draw = CanvasRenderingContext2D.prototype.fillText;
    CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
        if (['undefined', 'null', 'NaN', 'None'].includes(String(text))) console.error(`drew ${text}`);
        return draw.call(this, text, ...rest);
    };
})()"""

#: Keeps in `optiformRuns` whether the server was asked for a run that has not begun, and whether one goes on. The page
#: itself says so only later, so what is pressed between a change and its run meets a page that is drawn anew under it.
#: Of the messages only the first bytes are read: 0x5a asks for a run; a run's beginning and end are parts 4 and 6.
RUNS = """(() => {
    if (window.optiformRuns) return;
    const runs = window.optiformRuns = {asked: false, going: false, looked: false, drawn: false};
    new MutationObserver(() => { runs.drawn = true })
        .observe(document, {childList: true, characterData: true, subtree: true});
    const look = window.matchMedia;  // a page asks the browser once drawn how wide it is, and may follow by a run
    window.matchMedia = query => {
        runs.looked ||= query === '(max-width: 640px)';
        return look.call(window, query);
    };
    const part = bytes => {  // past its name and what is said about it (parts 1 and 2, which say how long they are)
        let at = 0;
        while (bytes[at] >> 3 < 3) {
            let length = 0, shift = 0;
            do length |= (bytes[++at] & 127) << shift, shift += 7; while (bytes[at] & 128);
            at += length + 1;
        }
        return [bytes[at] >> 3, bytes[at + 1]];
    };
    const told = event => {
        const [kind, how] = part(new Uint8Array(event.data));
        if (kind === 4) Object.assign(runs, {asked: false, going: true});
        if (kind === 6) Object.assign(runs, {asked: runs.asked || how === 2, going: false});  // 2: another run follows
    };
    window.WebSocket = class extends WebSocket {
        constructor(...how) {
            super(...how);
            this.addEventListener('message', told);
            this.addEventListener('close', () => Object.assign(runs, {asked: false, going: false}));
        }
        send(message) {
            if (message[0] === 0x5a) runs.asked = true;
            super.send(message);
        }
    };
})()"""

#: Nothing is asked for, nothing runs, and for three pictures nothing in the page has changed, nor how wide it is.
SETTLED = """asked => {
    const runs = window.optiformRuns;
    if (!runs) throw new Error('a page whose runs nobody watches: open it by `opened`');
    const calm = !runs.asked && !runs.going && document.querySelector('h1')
        && document.querySelector('[data-testid=stApp][data-test-script-state=notRunning]')
        && !document.querySelector('[data-testid=stSkeleton], [data-stale=true]')
        && (runs.looked || !document.querySelector('.st-key-unseen'));
    if (runs.waits !== asked || runs.drawn || runs.width !== innerWidth)
        Object.assign(runs, {waits: asked, drawn: false, width: innerWidth, pictures: 0});
    runs.pictures = calm ? runs.pictures + 1 : 0;
    return runs.pictures > 3;
}"""

#: The only requests that may fail: on a deep link Streamlit's frontend first asks for these under the page's own path.
PAGE_PATHS = re.compile(rf"/(?:{'|'.join(filter(None, PAGES.values()))})/_stcore/(?:health|host-config)$")


def free_port() -> int:
    """A port nobody listens on at this moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def served(
    command: Sequence[str], port: int, folder: Path, more: Mapping[str, str] = MappingProxyType({})
) -> Iterator[str]:
    """A Streamlit server while the block lasts; gives its address once it answers."""
    path = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    environment = os.environ | {"PYTHONPATH": path} | dict(more)
    process = subprocess.Popen(
        [sys.executable, *command], cwd=folder, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        url = f"http://127.0.0.1:{port}"
        wait_for(f"{url}/_stcore/health", process)
        yield url
    finally:
        process.terminate()
        try:
            process.wait(10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


def wait_for(url: str, process: "subprocess.Popen[bytes]", seconds: float = 60.0) -> None:
    """Return when the server says it is well; raise when it ended or took too long."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if process.poll() is not None:
            raise RuntimeError(f"the server ended with code {process.returncode}")
        with (
            contextlib.suppress(urllib.error.URLError, ConnectionError),
            urllib.request.urlopen(url, timeout=2) as answer,
        ):
            if answer.status == 200:
                return
        time.sleep(0.1)
    raise TimeoutError(f"{url} did not answer within {seconds:g} s")


def workbench(*options: str, **environment: str) -> contextlib.AbstractContextManager[str]:
    """`optiform app` on a free port."""
    return workbench_at(free_port(), *options, **environment)


@contextlib.contextmanager
def workbench_at(port: int, /, *options: str, **environment: str) -> Iterator[str]:
    """`optiform app` on this port."""
    command = ["-m", "optiform", "app", "--port", str(port), "--no-browser", *options]
    with (
        tempfile.TemporaryDirectory() as data,
        served(command, port, ROOT, {DATA_VARIABLE: data, **environment}) as url,
    ):
        yield url


def missing() -> str:
    """Why there is no browser to test with; empty if there is one."""
    return "" if Path(CHROMIUM).exists() else f"no browser at {CHROMIUM}"


def launch(playwright: Playwright) -> Browser:
    """Chromium with nothing of its own to say to the outside."""
    return playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)


class Log:
    """What a browser context asked for, and what it complained of."""

    def __init__(self, context: BrowserContext) -> None:
        self.requests: list[str] = []
        self.failed: list[str] = []
        self.errors: list[tuple[str, str]] = []  # where and what
        context.on("request", lambda request: self.requests.append(request.url))
        context.on("response", lambda answer: self.failed.append(answer.url) if answer.status >= 400 else None)
        context.on("page", self._watch)
        context.add_init_script(NO_VALUE)
        context.add_init_script(RUNS)

    def _watch(self, page: Page) -> None:
        page.on("websocket", lambda socket: self.requests.append(socket.url))
        page.on("pageerror", lambda error: self.errors.append(("page", str(error))))
        page.on("console", self._said)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.errors.append((message.location["url"], message.text))

    def forget(self) -> None:
        """Begin anew."""
        for seen in (self.requests, self.failed, self.errors):
            seen.clear()

    def outside(self) -> set[str]:
        """What was asked of another machine; a blob is the page's own, whatever machine its name has."""
        asked = {url.removeprefix("blob:") for url in self.requests if not url.startswith("data:")}
        return {url for url in asked if urlsplit(url).hostname != "127.0.0.1"}

    def complaints(self) -> list[str]:
        """Every failed request and error, but for the two that Streamlit makes under the path of a deep link."""
        failed = [url for url in self.failed if not PAGE_PATHS.search(url)]
        return failed + [f"{place}: {words}" for place, words in self.errors if not PAGE_PATHS.search(place)]


@dataclass
class Tour:
    """A session that goes through the pages by their links, and what its browser asks for on the way."""

    page: Page
    log: Log
    name: str = ""
    seen: set[str] = field(default_factory=set)

    def at(self, name: str) -> Page:
        """A page, in light and as wide as a laptop; once there, the session stays for what else is asked of it."""
        self.page.set_viewport_size({"width": 1280, "height": 900})
        self.page.emulate_media(color_scheme="light")
        settled(self.page)  # a page that was as narrow as a phone is drawn anew
        if name != self.name:
            go(self.page, name)
            sound(self.page)
        self.name = name
        self.seen.add(name)
        return self.page


def settled(page: Page) -> None:
    """Wait until the page has been drawn and nothing runs."""
    page.wait_for_function(SETTLED, arg=next(WAITS), timeout=PATIENCE)


def press(what: Locator) -> None:
    """A click on a page that has come to rest: one while it is drawn anew may meet a button that is no longer there."""
    settled(what.page)
    what.click()


def write(field: Locator, words: str, key: str = "Tab") -> None:
    """Words in a field, which a key makes count; the page has followed before anything else is done."""
    settled(field.page)
    field.fill(words)
    field.press(key)
    settled(field.page)


def choose(box: Locator, option: str, *, typed: bool = False) -> None:
    """An option of a list, of a long one by typing what leaves no other in sight; the page has followed."""
    press(box)
    if typed:
        box.fill(option)
    box.page.get_by_role("option", name=option, exact=True).first.click()  # opened by the browser, without a run
    settled(box.page)


def slide(handle: Locator, steps: int) -> None:
    """A slider's handle drawn to the left by so many steps and let go, as one change; the page has followed."""
    settled(handle.page)
    handle.fill(str(int(handle.input_value()) - steps + 1))  # on the way: only the key says that it stays there
    handle.press("ArrowLeft")
    settled(handle.page)


def opened(page: Page, url: str, name: str = "Workbench") -> Page:
    """A page by its address, drawn."""
    page.add_init_script(RUNS)
    page.goto(f"{url}/{PAGES[name]}", wait_until="domcontentloaded")
    settled(page)
    return page


def go(page: Page, name: str) -> None:
    """Another page by the menus at the top, with the keyboard: the session goes on."""
    link = page.get_by_test_id("stTopNavDropdownLink").filter(has_text=re.compile(f"{re.escape(name)}$"))
    settled(page)  # a menu opened while the page is drawn closes again
    page.get_by_test_id("stTopNavSection").filter(has_text=SECTIONS[name]).press("Enter")
    link.press("Enter", timeout=PATIENCE)
    title = re.compile("foot polish") if name == "Workbench" else re.compile(f"^{name}$")
    expect(page.locator("h1").first).to_have_text(title, timeout=PATIENCE)
    settled(page)
    assert urlsplit(page.url).path == f"/{PAGES[name]}"


def cost(page: Page) -> Locator:
    """The cost of the answer on the workbench."""
    return page.get_by_test_id("stMetricValue").first


def keyed(page: Page, key: str) -> Locator:
    """A widget by its key."""
    return page.locator(f".st-key-{key}")


def keyed_from(page: Page, key: str) -> Locator:
    """A widget by the beginning of its key; a count of fresh starts follows it."""
    return page.locator(f"[class*='st-key-{key}-']")


def unfolded(page: Page, limit: str) -> None:
    """Open a limit's card, which it has on a phone."""
    if (page.viewport_size or {"width": PHONE + 1})["width"] > PHONE:
        return
    card = keyed(page, f"limit-card-{limit.replace(' ', '-')}")
    card.wait_for(timeout=PATIENCE)
    settled(page)
    if not card.locator("details[open]").count():
        card.locator("summary").click()
        settled(page)


def keep(page: Page, key: str, name: str, said: str = "") -> None:
    """Keep the formula shown under a name, and wait until the page says so."""
    press(keyed(page, f"keep-{key}").get_by_role("button").first)
    write(keyed_from(page, f"keep-name-{key}").get_by_role("textbox"), name)
    press(keyed(page, f"keep-do-{key}").get_by_role("button"))
    expect(page.get_by_text(said or f"Saved as {name}.")).to_be_visible(timeout=PATIENCE)
    page.keyboard.press("Escape")


#: Opens what is folded and in sight, all of it at once; gives how many folds that were.
UNFOLD = """() => [...document.querySelectorAll('[data-testid=stExpander] details:not([open]) > summary')]
    .filter(each => each.checkVisibility()).map(each => each.click()).length"""


def everything(page: Page) -> Iterator[None]:
    """Every tab of a page with every fold open, one after the other; tabs in a tab, which stand behind it, first."""
    settled(page)  # before that it has no tabs to count
    for number in reversed(range(max(1, page.get_by_role("tab").count()))):
        if page.get_by_role("tab").count():
            press(page.get_by_role("tab").nth(number))
        settled(page)
        for _ in range(2):  # and what stands folded in what has come
            if page.evaluate(UNFOLD):
                settled(page)
        yield


def sound(page: Page) -> None:
    """No part of the page ended in a traceback."""
    expect(page.locator("[data-testid=stException], .stException")).to_have_count(0)
