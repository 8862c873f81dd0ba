"""What a screen reader is told of every page: landmarks, headings in order, heads of tables, names, the new cost."""

import re
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from tests.ui.test_look import NAMES, TOUR

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page

    from tests.ui.browser import Log, Tour

HEADING = re.compile(r"heading \"(.+?)\".*\[level=(\d)\]")
CONTROL = re.compile(
    r"- '?(button|textbox|combobox|spinbutton|switch|checkbox|slider|tab|link|radio)(?=[ :\[\n]|$)(.*)"
)
HEADS = """() => [...document.querySelectorAll('canvas table[role=grid], [data-testid=stTable] table')].map(table =>
    [...table.querySelectorAll('th[role=columnheader], thead th')].map(head => head.textContent.trim()))"""
DRAWN = """() => [...document.querySelectorAll('canvas[data-testid=data-grid-canvas]')]
    .every(grid => grid.querySelector('th') || !grid.checkVisibility())"""


@pytest.mark.parametrize("name", TOUR, scope="session")
def test_a_page_has_landmarks_headings_in_order_named_controls_and_tables_with_heads(tour: "Tour", name: str) -> None:
    well_told(tour.at(name))


@pytest.mark.exhaustive
@pytest.mark.parametrize("name", NAMES)
def test_so_has_a_page_by_its_address_before_anything_is_kept(
    context: "BrowserContext", log: "Log", address: str, name: str
) -> None:
    from tests.ui.browser import opened, sound

    page = opened(context.new_page(), address, name)
    well_told(page)
    sound(page)
    assert log.complaints() == []


def well_told(page: "Page") -> None:
    """Landmarks, headings in order, controls with names and tables with heads."""
    page.wait_for_function(DRAWN)
    told = page.locator("body").aria_snapshot()
    assert [told.count(f"\n- {mark}:") + told.startswith(f"- {mark}:") for mark in ("main", "banner")] == [1, 1]
    assert 'navigation "App pages"' in told
    levels = [int(level) for _, level in HEADING.findall(told)]
    assert levels[0] == 1
    assert levels.count(1) == 1, "one title"
    assert all(below <= above + 1 for above, below in pairwise(levels)), HEADING.findall(told)
    titles = [words for words, _ in HEADING.findall(told)]
    assert len(titles) == len(set(titles)), "no title stands twice"
    nameless = [kind for kind, rest in CONTROL.findall(told) if '"' not in rest]
    assert nameless == []
    tables = page.evaluate(HEADS)
    assert all(len([head for head in heads if head]) >= len(heads) - 1 and any(heads) for heads in tables), tables


@pytest.mark.long
def test_the_new_cost_is_said_in_place_and_the_focus_stays(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed_from

    region = page.get_by_role("status").filter(has_text="against today")
    expect(region).to_have_text(re.compile(rf"^{cost(page).inner_text()} EUR/kg -\d"), timeout=PATIENCE)
    region.evaluate("region => { region.marked = true }")
    slider = keyed_from(page, "limit-solid-fat-at-30-degC").get_by_role("slider").first
    slider.focus()
    before = cost(page).inner_text()
    page.keyboard.press("ArrowRight")
    expect(cost(page)).not_to_have_text(before, timeout=PATIENCE)
    expect(region).to_have_text(re.compile(rf"^{re.escape(cost(page).inner_text())} EUR/kg"), timeout=PATIENCE)
    assert region.evaluate("region => region.marked"), "the same region, so that what changed in it is said"
    expect(slider).to_be_focused()
