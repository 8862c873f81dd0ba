"""Titles, notes and names are text on every page, whatever signs are in them."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, strategies
from workbench.show import NOTHING, escape

from optiform.workshop.exchange import import_from
from optiform.workshop.store import Workshop
from tests.sweeps import is_long
from tests.ui import hostile
from tests.ui.conftest import LAPTOP, window_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.ui.browser import Log

SIGNS = (
    "![a](http://a.b/c.png)", "[a](b)", "**a**", "_a_", "`a`", "$a$", ":red[a]", ":material/home:", ":smile:",
    "<b>a</b>", "~~a~~", "# a", "> a", "- a", "+ a", "1. a", "1) a", "a | b", "&lt;", "www.a.b", "a@b.cd",
    "http://a.b", "a\\b", "---", "===", "a: b, 3 %", "sorbitol, 70 %", "phenoxyethanol + ethylhexylglycerin",
    "a\n\n# b",
)  # fmt: skip
ESCAPED = r"\\([!-/:-@\[-`{-~])"  # a backslash before a sign, as Markdown reads it


def test_escaping_takes_nothing_away() -> None:
    for words in SIGNS:
        assert re.sub(ESCAPED, r"\1", escape(words)).replace(NOTHING, "") == " ".join(words.split())


@given(strategies.text("ab 1.\\`*_[](){}<>#+-=!|~$:&@/\n", max_size=12))
def test_no_sign_that_begins_something_is_left_bare(words: str) -> None:
    bare = re.sub(ESCAPED, "!", escape(words))
    assert not re.search(r"[\\`*_\[\]<>~$|&]|\w@|:\S|^[#+=-]|^\d+[.)]|\n", bare)


@pytest.fixture(scope="module")
def taken(chromium: "Browser", tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The workbench on records and a brief with hostile words in every field."""
    from tests.ui.browser import workbench

    assert chromium.is_connected()
    folder = tmp_path_factory.mktemp("hostile")
    with Workshop.open(folder / "shop") as workshop:
        import_from(workshop, hostile.records(folder / "records"))
    with workbench("--records", str(folder / "shop"), str(hostile.brief(folder / "brief"))) as url:
        yield url


MADE = f"img[src*='{hostile.OUTSIDE}'], a[href*='{hostile.OUTSIDE}']"


def text_only(page: "Page", place: str) -> None:
    """No image, link or colour was made of any word, and no word shows how it was kept from that."""
    from tests.ui.browser import sound

    sound(page)
    made = page.locator(f"{MADE}, .stMarkdownColoredText")
    assert made.count() == 0, (place, made.first.evaluate("each => each.parentElement.outerHTML"))
    seen = page.locator("[data-testid=stMain]").inner_text()
    assert "\\[" not in seen, (place, seen[max(0, seen.find("\\[") - 80) :][:200])


@pytest.mark.sweep
def test_nothing_in_any_field_is_taken_for_more_than_text(context: "BrowserContext", log: "Log", taken: str) -> None:
    """Of the workbench as it opens and of the stock; in the long tier of every page with all that is folded open."""
    from tests.ui.browser import PAGES, everything, go, keep, opened

    page = opened(window_of(context, LAPTOP), taken)
    assert page.locator("h1").first.inner_text().replace(NOTHING, "") == hostile.hostile("title")
    text_only(page, "as it opens")
    if not is_long():
        go(page, "Stock")
        text_only(page, "Stock")
    else:
        keep(page, "bench", hostile.hostile("mine"), "Saved as **![mine](http")
        page.reload(wait_until="domcontentloaded")
    for name in sorted(PAGES, key="Workbench".__ne__) if is_long() else ():  # first what is open
        if name != "Workbench":
            go(page, name)
        for _ in everything(page):
            text_only(page, name)
    assert log.outside() == set()
    assert log.complaints() == []
