"""A maker's day at a laptop and on a phone, the clicks counted: cheaper, too far, repaired, with reloads between."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.ui.test_begin import Clicks

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

SIZES = {1280: 800, 390: 844}
MOST = 9  # clicks


@pytest.fixture(params=list(SIZES))
def clicks(request: pytest.FixtureRequest, chromium: "Browser", address: str) -> Iterator[Clicks]:
    """The workbench at one width, for a mouse or for a finger."""
    from tests.ui.browser import opened, sound

    phone = request.param < 700
    size = {"width": request.param, "height": SIZES[request.param]}
    context = chromium.new_context(viewport=size, is_mobile=phone, has_touch=phone)
    page = opened(context.new_page(), address)
    yield Clicks(page)
    sound(page)
    context.close()


def turn(clicks: Clicks, section: str, name: str) -> None:
    """Another page by the menu; on a phone it lies over the page until one is chosen, and then closes."""
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, settled

    page = clicks.page
    behind = page.get_by_test_id("stExpandSidebarButton")
    if behind.is_visible():
        clicks.on(behind)
        clicks.on(page.get_by_test_id("stSidebarNavLink").filter(has_text=re.compile(f"{re.escape(name)}$")))
        expect(behind).to_be_visible(timeout=PATIENCE)
    else:
        clicks.menu(section, name)
    title = re.compile("foot polish") if name == "Workbench" else re.compile(f"^{name}$")
    expect(page.locator("h1").first).to_have_text(title, timeout=PATIENCE)
    settled(page)


def again(page: "Page") -> None:
    """A reload in the middle."""
    from tests.ui.browser import settled

    page.reload(wait_until="domcontentloaded")
    settled(page)


def test_cheaper_is_taken_a_limit_goes_too_far_and_is_repaired_and_all_of_it_lasts(clicks: Clicks) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, keyed_from, settled

    page = clicks.page
    turn(clicks, "Formula", "Cheaper")
    expect(page.get_by_text("The most that can be saved")).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "take-cheaper").get_by_role("button"))
    expect(keyed(page, "undo")).to_contain_text("is today's formula", timeout=PATIENCE)
    again(page)
    expect(keyed(page, "undo")).to_contain_text("is today's formula", timeout=PATIENCE)
    turn(clicks, "Formula", "Workbench")
    before = cost(page).inner_text()
    exact = keyed(page, "exact").get_by_role("switch")
    if not exact.is_checked():
        clicks.on(keyed(page, "exact").locator("label"))
    field = keyed_from(page, "low-solid-fat-at-30-degC").get_by_role("spinbutton")
    field.fill("40")
    field.press("Enter")
    contradicted = page.get_by_text("With this no formula can meet the brief.")
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    again(page)
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "beside-0").get_by_role("button"))
    expect(cost(page)).to_be_visible(timeout=PATIENCE)
    settled(page)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(cost(page)).to_have_text(before, timeout=PATIENCE)
    assert clicks.count <= MOST
