"""A maker's day at a laptop and on a phone, the clicks counted: cheaper, too far, repaired, with reloads between."""

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.sweeps import is_long
from tests.ui.conftest import PHONE, window_of
from tests.ui.test_begin import Clicks

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Page, ViewportSize

SIZES: "dict[int, ViewportSize]" = {1280: {"width": 1280, "height": 800}, 390: PHONE}
MOST = 9  # clicks
#: In the long tier one walk goes on a phone and the other on a laptop, in the exhaustive each on the other.
WIDE, NARROW = (
    [pytest.param(width, marks=mark) for width, mark in zip((1280, 390), marks, strict=True)]
    for marks in ((pytest.mark.long, pytest.mark.exhaustive), (pytest.mark.exhaustive, pytest.mark.long))
)


@pytest.fixture(params=[1280, 390])
def clicks(request: pytest.FixtureRequest, address: str) -> Iterator[Clicks]:
    """The workbench as nobody has used it, at one width, for a mouse or for a finger."""
    from tests.ui.browser import opened, sound

    context: BrowserContext = request.getfixturevalue("phone" if request.param < 700 else "context")
    page = opened(window_of(context, SIZES[request.param]), address)
    yield Clicks(page)
    sound(page)


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


@pytest.mark.parametrize("clicks", NARROW, indirect=True)
def test_cheaper_is_taken_a_limit_goes_too_far_and_is_repaired_and_all_of_it_lasts(clicks: Clicks) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, keyed_from, unfolded, write

    page = clicks.page
    turn(clicks, "Formula", "Cheaper")
    expect(page.get_by_text("It changes 4 lines")).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "take-cheaper").get_by_role("button"))
    expect(keyed(page, "undo")).to_contain_text(" taken", timeout=PATIENCE)
    again(page)
    expect(keyed(page, "undo")).to_contain_text(" taken", timeout=PATIENCE)
    turn(clicks, "Formula", "Workbench")
    before = cost(page).inner_text()
    exact = keyed(page, "exact").get_by_role("switch")
    if not exact.is_checked():
        clicks.on(keyed(page, "exact").locator("label"))
    unfolded(page, "solid fat at 30 degC")
    field = keyed_from(page, "low-solid-fat-at-30-degC").get_by_role("spinbutton")
    write(field, "40", key="Enter")
    contradicted = page.get_by_text("With this no formula can meet the brief.")
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    again(page)
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "beside-0").get_by_role("button"))
    expect(cost(page)).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(contradicted).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(cost(page)).to_have_text(before, timeout=PATIENCE)
    assert clicks.count <= MOST


#: Controls in sight that a screen reader could not name.
NAMELESS = """() => [...document.querySelectorAll(
    'button, input, select, textarea, [role=slider], [role=combobox], [role=switch], [role=checkbox]')]
    .filter(e => e.checkVisibility() && !e.getAttribute('aria-label') && !e.getAttribute('aria-labelledby')
        && !e.innerText && !e.labels?.length && !e.title).map(e => e.outerHTML.slice(0, 160))"""
#: Controls in sight of the page that are smaller than a fingertip; a switch is as large as its label.
SMALL = """() => [...document.querySelector('[data-testid=stMain]')
    .querySelectorAll('button, summary, [role=tab], [role=combobox]')]
    .map(e => [e.getAttribute('aria-label') || e.innerText, e.getBoundingClientRect()])
    .filter(([, box]) => box.width && (box.height < 43.5 || box.width < 43.5))
    .map(([words, box]) => `${words.slice(0, 40)} ${Math.round(box.width)} x ${Math.round(box.height)}`)"""


@pytest.mark.sweep
@pytest.mark.parametrize("clicks", [pytest.param(1280, marks=pytest.mark.long), 390], indirect=True)
def test_every_control_has_a_name_and_a_finger_has_room(clicks: Clicks) -> None:
    """Of the workbench on a phone; in the long tier of a paper and of the records too."""
    page, phone = clicks.page, (clicks.page.viewport_size or {"width": 0})["width"] < 700
    pages = (("Formula", "Workbench"), ("Make and sell", "Batch"), ("Workshop", "Stock"))
    for section, name in pages if is_long() else pages[:1]:
        if name != "Workbench":
            turn(clicks, section, name)
        assert page.evaluate(NAMELESS) == [], name
        assert not phone or page.evaluate(SMALL) == [], name


@pytest.mark.parametrize("clicks", WIDE, indirect=True)
def test_what_is_out_of_stock_is_replaced_and_made_todays_and_softer_says_how_far_it_goes(clicks: Clicks) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, settled, write

    page = clicks.page
    turn(clicks, "Formula", "Substitute")
    expect(page.get_by_text("come close")).to_be_visible(timeout=PATIENCE)
    clicks.on(keyed(page, "take-substitute").get_by_role("button"))
    expect(keyed(page, "undo")).to_contain_text(" taken", timeout=PATIENCE)
    turn(clicks, "Formula", "Firmer or softer")
    typed = keyed(page, "step-typed").get_by_role("spinbutton")
    if typed.count():
        write(typed, "-45", key="Enter")
    else:
        keyed(page, "step").get_by_role("slider").press("Home")  # -50: each step on the way would be worked out too
    answer = page.get_by_text(re.compile(r"options? reach|softest that was found is|winter and a summer version do"))
    expect(answer.first).to_be_visible(timeout=2 * PATIENCE)
    settled(page)
    again(page)
    expect(keyed(page, "undo")).to_contain_text(" taken", timeout=PATIENCE)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(keyed(page, "redo")).to_contain_text(" taken", timeout=PATIENCE)
    assert clicks.count <= 6


@pytest.mark.long
@pytest.mark.parametrize("clicks", [390], indirect=True)
def test_on_a_phone_undo_redo_and_help_stand_in_one_line_whatever_there_is_to_undo(clicks: Clicks) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, keyed_from, unfolded, write

    page = clicks.page
    unfolded(page, "solid fat at 30 degC")
    field = keyed_from(page, "low-solid-fat-at-30-degC").get_by_role("spinbutton")
    for end in ("7.5", "8"):
        write(field, end, key="Enter")
        expect(keyed(page, "undo")).to_contain_text(f"at least {end}", timeout=PATIENCE)
    clicks.on(keyed(page, "undo").get_by_role("button"))
    expect(keyed(page, "redo")).to_contain_text("at least 8", timeout=PATIENCE)
    help_ = keyed(page, "head-bar").get_by_role("button", name="Help", exact=True)
    boxes = [place.bounding_box() for place in (keyed(page, "undo"), keyed(page, "redo"), help_)]
    undo, redo, last = (box or pytest.fail("not drawn") for box in boxes)
    assert max(box["y"] for box in (undo, redo, last)) < min(box["y"] + box["height"] for box in (undo, redo, last))
    assert undo["x"] + undo["width"] <= redo["x"]
    assert redo["x"] + redo["width"] <= last["x"]
    assert last["x"] + last["width"] <= 390
    assert help_.evaluate("e => [...e.querySelectorAll('*')].every(x => x.scrollWidth <= x.clientWidth + 1)")
