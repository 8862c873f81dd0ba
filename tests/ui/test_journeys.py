"""Whole journeys of a maker in a real browser, and what must hold on all of them."""

import re
import socket
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

import pandas as pd
import pytest

from optiform.reading.paths import DEMO
from tests.ui.conftest import PHONE, window_of

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from tests.ui.browser import Log

BAD = """ingredient,pack price (EUR),pack (kg),stock (kg)
water,dear,10,40
glycerin,21.00,-5,6.2
xantan gum,17.50,0.5,0.4
"sorbitol, 70 %",19.50,5,plenty
"""
FAULTS = ("“dear”", "-5.0", "“xantan gum”", "“plenty”")


def downloaded(page: "Page", key: str) -> str:
    from tests.ui.browser import keyed, press

    with page.expect_download() as waiting:
        press(keyed(page, key).get_by_role("button"))
    return Path(waiting.value.path()).read_text(encoding="utf-8")


def lines_of(text: str) -> pd.DataFrame:
    """A table of formulas side by side, its columns by their names without what their numbers are of."""
    return pd.read_csv(StringIO(text)).rename(columns=lambda head: head.removesuffix(", % of the jar"))


# -- five journeys -----------------------------------------------------------------------------------------------------


@pytest.mark.exhaustive
def test_cheaper_is_kept_and_compared_with_today(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, go, keep

    go(page, "Cheaper")
    expect(page.get_by_text("Today's formula costs")).to_be_visible(timeout=PATIENCE)
    keep(page, "cheaper", "lean")
    go(page, "Drafts")
    expect(page.get_by_role("heading", name="What moved, % of the jar")).to_be_visible(timeout=PATIENCE)
    different = lines_of(downloaded(page, "csv"))
    assert list(different.columns) == ["ingredient", "today", "lean"]
    assert len(different) >= 2
    moved = different["lean"] - different["today"]
    assert abs(moved.sum()) < 1e-6  # what leaves one line goes to another
    assert moved.abs().max() > 0.01
    printed = downloaded(page, "html")
    assert printed.count("<table>") == 7
    assert "lean" in printed


@pytest.mark.exhaustive
def test_a_butter_that_is_out_of_stock_is_replaced_and_kept(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, go, keep, keyed

    go(page, "Substitute")
    expect(keyed(page, "missing")).to_contain_text("mango butter")
    expect(page.get_by_text("come close")).to_be_visible(timeout=PATIENCE)
    keep(page, "substitute", "no mango")
    go(page, "Drafts")
    expect(page.get_by_role("heading", name="What moved, % of the jar")).to_be_visible(timeout=PATIENCE)
    different = lines_of(downloaded(page, "csv")).set_index("ingredient")
    assert different.loc["mango butter", "today"] == pytest.approx(4.0)
    assert different.loc["mango butter", "no mango"] == 0.0
    assert (different["no mango"] > different["today"]).any()


@pytest.mark.exhaustive
def test_softer_for_winter_is_kept(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, go, keep, keyed

    go(page, "Firmer or softer")
    expect(page.get_by_text("firmness 120 at 20 °C")).to_be_visible(timeout=PATIENCE)
    handle = keyed(page, "step").get_by_role("slider")
    handle.focus()
    for _ in range(6):  # from +20 to -10 in steps of 5
        page.keyboard.press("ArrowLeft")
    expect(page.get_by_text("firmness 90 at 20 °C")).to_be_visible(timeout=PATIENCE)
    keep(page, "texture", "for winter")
    go(page, "Drafts")
    expect(page.get_by_role("heading", name="What moved, % of the jar")).to_be_visible(timeout=PATIENCE)
    different = lines_of(downloaded(page, "csv"))
    assert "for winter" in different.columns
    assert len(different) >= 2


@pytest.mark.long
def test_an_impossible_brief_is_repaired_by_a_button_and_undone(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, keyed_from, press, write

    first = cost(page).inner_text()
    press(page.get_by_text("Exact numbers instead of sliders"))
    field = keyed_from(page, "low-solid-fat-at-30-degC").get_by_role("spinbutton")
    expect(field).to_have_value("7")
    field.press("Control+a")
    field.press_sequentially("9,5")
    expect(field).to_have_value("9.5")  # a decimal comma is seen as a point
    for value in ("9", "12", "30"):
        write(field, value)
        expect(keyed(page, "undo")).to_contain_text("limit on solid fat at 30 °C")
    expect(page.get_by_text("No formula can meet this brief.")).to_be_visible(timeout=PATIENCE)
    expect(cost(page)).to_have_count(0)
    repair = keyed(page, "repair-0").get_by_role("button")
    expect(repair).to_contain_text("Lower the minimum solid fat at 30 °C from 30 to")
    press(repair)
    expect(cost(page)).to_be_visible(timeout=PATIENCE)
    assert float(cost(page).inner_text()) > float(first)  # what is asked for still costs more than the demo
    expect(field).to_have_value(re.compile(r"^(?!30$)\d"))  # the controls follow the answer
    assert 12 < float(field.input_value()) < 30
    press(keyed(page, "undo").get_by_role("button"))
    expect(page.get_by_text("No formula can meet this brief.")).to_be_visible(timeout=PATIENCE)
    expect(field).to_have_value("30")
    press(keyed(page, "undo").get_by_role("button"))
    expect(field).to_have_value("12", timeout=PATIENCE)
    expect(cost(page)).to_be_visible(timeout=PATIENCE)
    write(field, "")
    expect(field).to_have_count(0)  # neither end is left, so there is no limit
    expect(cost(page)).not_to_have_text(first, timeout=PATIENCE)
    assert float(cost(page).inner_text()) < float(first)


def test_a_broken_file_changes_nothing_and_a_good_one_then_loads(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, keyed_from, press, settled

    def give(text: str) -> None:
        settled(page)  # the place of the files before is gone
        place = keyed_from(page, "load").locator("input[type=file]")
        place.set_input_files({"name": "workshop.csv", "mimeType": "text/csv", "buffer": text.encode()})

    before = cost(page).inner_text()
    press(page.get_by_role("tab", name="Files"))
    give(BAD)
    expect(page.get_by_text("Not loaded; the bench stays as it was.")).to_be_visible(timeout=PATIENCE)
    for fault in FAULTS:
        expect(page.locator("li").filter(has_text=fault).first).to_be_visible()
    expect(cost(page)).to_have_text(before)
    expect(keyed(page, "undo").get_by_role("button")).to_be_disabled()
    good = (DEMO / "workshop.csv").read_text(encoding="utf-8").replace("water,4.00,", "water,40.00,")
    give(good)
    expect(cost(page)).not_to_have_text(before, timeout=PATIENCE)
    assert float(cost(page).inner_text()) > float(before)  # water costs ten times as much
    expect(page.get_by_text("Not loaded; the bench stays as it was.")).to_have_count(0)
    press(keyed(page, "undo").get_by_role("button"))
    expect(cost(page)).to_have_text(before, timeout=PATIENCE)


# -- what must hold on all of them -------------------------------------------------------------------------------------


@pytest.mark.long
def test_two_sessions_do_not_see_each_others_work(page: "Page", chromium: "Browser", address: str) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, go, keep, keyed, keyed_from, opened, slide, sound

    before = cost(page).inner_text()
    other_context = chromium.new_context()
    other = opened(other_context.new_page(), address)
    slide(keyed_from(page, "limit-water-phase").get_by_role("slider").last, 10)
    expect(cost(page)).not_to_have_text(before, timeout=PATIENCE)
    keep(page, "bench", "mine")
    expect(cost(other)).to_have_text(before)
    go(other, "Drafts")
    expect(other.get_by_text("No draft is here yet.")).to_be_visible(timeout=PATIENCE)
    go(other, "Workbench")
    expect(cost(other)).to_have_text(before, timeout=PATIENCE)
    expect(keyed(other, "undo").get_by_role("button")).to_be_disabled()
    expect(keyed_from(other, "limit-water-phase").get_by_role("slider").last).to_have_attribute("aria-valuetext", "48")
    sound(other)
    other_context.close()
    go(page, "Drafts")
    expect(keyed(page, "picked")).to_contain_text("mine", timeout=PATIENCE)


@pytest.mark.exhaustive
def test_a_step_to_the_right_and_one_to_the_left_leave_both_ends_where_they_were(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import keyed, keyed_from, settled

    for name, ends in (("active-surfactant", ("2.5", "4")), ("share-of-butter", ("6", "no most"))):
        low, high = keyed_from(page, f"limit-{name}").get_by_role("slider").all()
        places = [handle.bounding_box() for handle in (low, high)]
        for key in ("ArrowRight", "ArrowLeft"):
            before = low.get_attribute("aria-valuetext")
            low.press(key)
            expect(low).not_to_have_attribute("aria-valuetext", str(before))
            expect(keyed(page, "undo")).to_be_visible()
            settled(page)
        assert tuple(handle.get_attribute("aria-valuetext") for handle in (low, high)) == ends
        assert [box["x"] for box in places if box] == [  # the scale did not move under them
            box["x"] for handle in (low, high) if (box := handle.bounding_box())
        ]


@pytest.mark.long
def test_on_a_screen_for_fingers_limits_are_typed_until_sliders_are_asked_for(
    phone: "BrowserContext", hand: "tuple[BrowserContext, Log]", address: str
) -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, keyed_from, opened, settled, sound, unfolded

    page, log = opened(window_of(phone, PHONE), address), hand[1]
    unfolded(page, "active surfactant")
    expect(keyed_from(page, "low-active-surfactant").get_by_role("spinbutton")).to_have_value("2.5", timeout=PATIENCE)
    expect(page.get_by_role("slider")).to_have_count(0)
    settled(page)
    keyed(page, "exact").get_by_text("Exact numbers").tap()
    expect(keyed_from(page, "limit-active-surfactant").get_by_role("slider")).to_have_count(2, timeout=PATIENCE)
    sound(page)
    assert (log.complaints(), log.outside()) == ([], set())


@pytest.mark.long
def test_tab_reaches_the_first_slider_and_arrows_change_the_answer_again_and_again(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed_from, slide

    focused = "() => document.activeElement.getAttribute('aria-label') || ''"
    for _ in range(60):  # past the table of the formula and what stands beside it
        page.keyboard.press("Tab")
        if page.evaluate(focused).startswith("water phase, % of the jar — end"):
            break
    assert page.evaluate(focused).startswith("water phase, % of the jar — end")
    slide(keyed_from(page, "limit-water-phase").get_by_role("slider").last, 7)  # not yet as far as the answer
    seen = [cost(page).inner_text()]
    for _ in range(6):  # the highest water phase comes down until it holds the answer back, and then further
        at = page.evaluate("() => document.activeElement.value")
        page.keyboard.press("ArrowLeft")
        page.wait_for_function("was => document.activeElement.value !== was", arg=at)
        page.wait_for_timeout(600)
        held = page.evaluate(focused)  # the place is kept while the page is redrawn
        assert held.startswith("water phase, % of the jar — end")
        seen.append(cost(page).inner_text())
    assert len(set(seen)) >= 3
    expect(cost(page)).not_to_have_text(seen[0], timeout=PATIENCE)


@pytest.mark.long
def test_lines_are_fixed_by_keyboard_one_after_the_other_and_undone(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, cost, keyed, keyed_from, press, settled

    cell = keyed_from(page, "lines").get_by_test_id("glide-cell-1-2")
    cell.wait_for(state="attached", timeout=PATIENCE)
    settled(page)
    place = keyed_from(page, "lines").bounding_box()
    assert place is not None
    page.mouse.click(place["x"] + 266 + 31, place["y"] + 3.5 * 35)  # behind the names, % of the third line: glycerin
    seen = [cost(page).inner_text()]
    for percent in ("3", "2,5"):  # Enter goes to the next line, and the place in the table is kept
        page.wait_for_timeout(400)
        page.keyboard.type(percent)
        page.wait_for_timeout(400)
        page.keyboard.press("Enter")
        expect(cost(page)).not_to_have_text(seen[-1], timeout=PATIENCE)
        settled(page)
        seen.append(cost(page).inner_text())
    expect(keyed(page, "undo")).to_contain_text("fixed at 2.5 %")  # an English browser would have made it 25
    press(keyed(page, "undo").get_by_role("button"))
    expect(cost(page)).to_have_text(seen[1], timeout=PATIENCE)


def local_addresses() -> list[str]:
    """This machine's own addresses on a network, if it has any."""
    try:
        found = {str(entry[4][0]) for entry in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)}
    except socket.gaierror:
        found = set()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("198.51.100.1", 9))  # sends nothing; only asks which address would be used
            found.add(str(probe.getsockname()[0]))
        except OSError:
            pass
    return sorted(each for each in found if not each.startswith("127."))


def test_only_this_machine_is_served(address: str) -> None:
    port = urlsplit(address).port
    assert port is not None
    with socket.create_connection(("127.0.0.1", port), timeout=2):
        pass
    for other in [*local_addresses(), "127.0.0.2"]:  # the last is another address that every Linux machine has
        with socket.socket() as probe:
            probe.settimeout(2)
            assert probe.connect_ex((other, port)) != 0, other


@pytest.mark.long
def test_a_kept_variant_becomes_a_batch_sheet_and_a_declaration_for_two_markets(page: "Page") -> None:
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, choose, go, keep, keyed, press, settled

    def pick(key: str, option: str) -> None:
        choose(keyed(page, key).get_by_role("combobox"), option)
        expect(keyed(page, key).get_by_role("combobox")).to_have_value(option)

    keep(page, "bench", "mine")
    go(page, "Batch")
    pick("choose-formula", "mine")
    press(page.get_by_role("radio", name="jars", exact=True))
    expect(page.get_by_test_id("stMetricValue").nth(2)).to_have_text("24", timeout=PATIENCE)
    settled(page)
    lines = lines_of(downloaded(page, "csv"))
    assert page.get_by_test_id("stMetricValue").first.inner_text() == f"{lines['grams'].sum():g} g"
    printed = downloaded(page, "html")
    assert "mine" in printed
    assert "Batch of" in printed
    go(page, "Declaration")
    expect(keyed(page, "choose-formula").get_by_role("combobox")).to_have_value("mine")
    lists = {}
    for market in ("EU", "US"):
        pick("choose-market", market)
        expect(page.get_by_text(f"Draft for the {market} market")).to_be_visible(timeout=PATIENCE)
        lists[market] = page.get_by_test_id("stCode").inner_text()
        assert f"{market} market" in downloaded(page, "html")
    assert "Aqua" in lists["EU"]
    assert "Water" in lists["US"]
    go(page, "Batch")  # and back, as it was left
    expect(keyed(page, "choose-formula").get_by_role("combobox")).to_have_value("mine")
