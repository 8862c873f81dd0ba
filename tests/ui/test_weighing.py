"""Weigh mode in a real browser, on a phone: it goes on while the server is away, and the server has it afterwards."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pytest

from optiform.workshop.records import Tick
from optiform.workshop.store import Workshop
from tests.ui.conftest import PHONE, window_of
from tests.ui.test_going_on import Line

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page


@pytest.fixture
def cut(address: str) -> Iterator[Line]:
    """A line to the workbench, which holds a session as long as it does a maker's."""
    port = urlsplit(address).port
    assert port is not None
    opened = Line(port)
    yield opened
    opened.close()


def by_weight(page: "Page", url: str) -> "Page":
    """The batch page of a phone, one thing at a time."""
    from tests.ui.browser import choose, keyed, opened

    opened(page, url, "Batch")
    choose(keyed(page, "choose-way").get_by_role("combobox"), "one thing at a time, to weigh by")
    return page


def said(page: "Page") -> str:
    return page.locator(".weighing").inner_text()


def tick(page: "Page", word: str) -> None:
    """The large button, which the thumb reaches; it stays whatever comes from the server, and while there is none."""
    page.locator(".weighing button.next").filter(has_text=word).click()


def test_a_batch_is_weighed_while_the_server_is_away_and_the_server_has_it_afterwards(
    phone: "BrowserContext", cut: Line
) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, press, settled, sound

    page = by_weight(window_of(phone, PHONE), f"http://127.0.0.1:{cut.port}")
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
    press(page.get_by_text("Weighed so far (3)"))
    expect(page.get_by_text("lot L-77")).to_be_visible(timeout=PATIENCE)
    sound(page)


@pytest.mark.long
def test_two_devices_weigh_one_batch_and_what_they_say_differently_is_asked_never_written_over(
    chromium: "Browser", phone: "BrowserContext", tmp_path: Path
) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, press, sound, workbench

    with workbench("--records", str(tmp_path)) as url:
        port = urlsplit(url).port
        assert port is not None
        line = Line(port)
        other = chromium.new_context(viewport=PHONE, is_mobile=True, has_touch=True)
        first = by_weight(window_of(phone, PHONE), f"http://127.0.0.1:{line.port}")
        second = by_weight(other.new_page(), url)
        tick(first, "Done")
        first.locator(".weighing").get_by_label("The scale shows").fill("a lot")
        tick(first, "Weighed")
        assert "“a lot”: a number of grams" in said(first)
        first.locator(".weighing").get_by_label("The scale shows").fill("970")
        tick(first, "Weighed")
        expect(second.locator(".weighing")).to_contain_text("1 of 18 weighed", timeout=PATIENCE)
        expect(second.get_by_text("Weighed so far (1)")).to_be_visible(timeout=PATIENCE)
        tick(second, "Done")
        expect(second.locator(".weighing .said")).to_contain_text("970 g (990 g due)", timeout=PATIENCE)
        second.locator(".weighing").get_by_role("button", name="Next").click()

        line.cut()
        first.wait_for_timeout(1500)
        tick(first, "Weighed")
        assert "2 of 18 weighed" in said(first)
        second.locator(".weighing").get_by_label("The scale shows").fill("5")
        tick(second, "Weighed")
        expect(second.get_by_text("Weighed so far (2)")).to_be_visible(timeout=PATIENCE)
        line.up = True
        for page in (second, first):
            expect(page.get_by_text("was weighed on two devices")).to_be_visible(timeout=90_000)
        press(second.get_by_role("button", name=re.compile(r"^5 g \(")))
        for page in (second, first):
            expect(page.get_by_text("was weighed on two devices")).to_have_count(0, timeout=90_000)
            expect(page.get_by_text("Weighed so far (2)")).to_be_visible(timeout=PATIENCE)
            sound(page)
        other.close()
        line.close()
    with Workshop.open(tmp_path, create=False) as records:
        grams = [t.grams for t in records.read(Tick) if t.ingredient]
    assert grams == [970.0, 5.0, None, 5.0], "every word of either device stands in the records"
