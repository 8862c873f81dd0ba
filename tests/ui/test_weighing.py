"""Weigh mode in a real browser, on a phone: it goes on while the server is away, and the server has it afterwards."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

from tests.ui.test_going_on import Line

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

PHONE = {"width": 390, "height": 844}


@pytest.fixture
def cut(chromium: "Browser") -> Iterator[Line]:
    """A line to a workbench that holds a session as long as it does a maker's."""
    from tests.ui.browser import workbench

    assert chromium.is_connected()
    with workbench() as url:
        port = urlsplit(url).port
        assert port is not None
        opened = Line(port)
        yield opened
        opened.close()


def said(page: "Page") -> str:
    return page.locator(".weighing").inner_text()


def tick(page: "Page", word: str) -> None:
    """The large button, which the thumb reaches."""
    page.locator(".weighing button.next").filter(has_text=word).click()


def test_a_batch_is_weighed_while_the_server_is_away_and_the_server_has_it_afterwards(
    chromium: "Browser", cut: Line
) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, opened, settled, sound

    context = chromium.new_context(viewport=PHONE, is_mobile=True, has_touch=True)
    page = opened(context.new_page(), f"http://127.0.0.1:{cut.port}", "Batch")
    keyed(page, "choose-way").get_by_role("combobox").click()
    page.get_by_role("option", name="one thing at a time").click()
    settled(page)
    tick(page, "Done")  # clean and dry
    first = page.locator(".weighing .grams").inner_text()
    assert re.fullmatch(r"\d+(\.\d+)? g", first)
    box = page.locator(".weighing button.next").bounding_box()
    assert box is not None
    assert box["height"] >= 44
    tick(page, "Weighed")
    expect(page.get_by_text("Weighed so far (1)")).to_be_visible(timeout=PATIENCE)
    cut.cut()
    page.wait_for_timeout(1500)
    page.locator(".weighing").get_by_label("Lot").fill("L-77")
    tick(page, "Weighed")
    tick(page, "Weighed")
    assert "3 of 18 weighed" in said(page), "it goes on"
    assert "not on the server yet" in said(page)
    cut.up = True
    expect(page.get_by_text("Weighed so far (3)")).to_be_visible(timeout=90_000)
    expect(page.locator(".weighing .away")).to_have_text("", timeout=PATIENCE)
    page.reload(wait_until="domcontentloaded")
    settled(page)
    expect(page.locator(".weighing")).to_contain_text("3 of 18 weighed", timeout=PATIENCE)
    page.get_by_text("Weighed so far (3)").click()
    expect(page.get_by_test_id("glide-cell-3-1").filter(has_text="L-77")).to_be_attached(timeout=PATIENCE)
    sound(page)
    context.close()
