"""How the pages look: pictures of each at two widths, light and dark, and what can be measured of it."""

import os
import tomllib
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest

from optiform.reading.paths import UI
from tests.sweeps import is_long, tier

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page, ViewportSize

    from tests.ui.browser import Tour

THEME = tomllib.loads((UI / ".streamlit" / "config.toml").read_text(encoding="utf-8"))["theme"]
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
PHONE = 390
WIDTHS = (1280, PHONE)
NAMES = (
    "Products",
    "New product",
    "History",
    "Workbench",
    "As typed",
    "Cheaper",
    "Substitute",
    "Firmer or softer",
    "Nearly as good",
    "Weighable",
    "Drafts",
    "Batch",
    "Declaration",
    "Costs",
    "Buying",
    "Range",
    "Stock",
    "Trials",
    "Ingredients",
)
#: What the README's run measures: an answer as it can be moved, a paper and a form.
QUICK = ("Workbench", "Batch", "New product")
#: In what scheme and how wide a page is measured, by the tier.
SEEN: dict[str, list[tuple[Literal["light", "dark"], int]]] = {
    "": [("light", PHONE)], "long": [("light", PHONE), ("dark", 1280)], "exhaustive": list(product(SCHEMES, WIDTHS)),
}  # fmt: skip
TOUR = [name if name in QUICK else pytest.param(name, marks=pytest.mark.long) for name in NAMES]
#: A window of 1280 x 800 at 200 %: half as many pixels of the page each way (WCAG 1.4.4, 1.4.10).
DOUBLED: "ViewportSize" = {"width": 640, "height": 400}
#: Where the first control of a page itself ends that nothing lies over; the bar of every page is none.
FIRST_END = """() => {
    const controls = [...document.querySelectorAll('[data-testid=stMain] :is(input, button, summary, [role=tab])')]
    const [first] = controls.filter(e => e.checkVisibility() && !e.disabled && !e.closest('.st-key-head-bar'))
    const bottom = document.querySelector('[data-testid=stBottom]')
    if (!first) return null
    const end = first.getBoundingClientRect().bottom
    return bottom?.checkVisibility() && end > bottom.getBoundingClientRect().top ? Infinity : end
}"""
TEXT, LARGE = 4.5, 3.0  # WCAG 2.1, success criterion 1.4.3, level AA


# -- contrast ----------------------------------------------------------------------------------------------------------


def channels(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it."""
    parts = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels(colour)]
    return sum(weight * part for weight, part in zip((0.2126, 0.7152, 0.0722), parts, strict=True))


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_measured_as_the_standard_does() -> None:
    """WCAG 2.1: black on white is 21 to 1; #767676 is known as the lightest grey that passes AA on white (recalled)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= TEXT > contrast("#777777", "#ffffff")


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("ground", ["backgroundColor", "secondaryBackgroundColor"])
def test_text_stands_out_from_every_ground(scheme: str, ground: str) -> None:
    theme = THEME[scheme]
    assert contrast(theme["textColor"], theme[ground]) >= TEXT
    assert contrast(theme["primaryColor"], theme[ground]) >= TEXT


@pytest.mark.parametrize("scheme", SCHEMES)
def test_lines_of_charts_stand_out_from_the_ground(scheme: str) -> None:
    """Graphical objects: 3 to 1 (WCAG 2.1, 1.4.11)."""
    colours = THEME[scheme].get("chartCategoricalColors", THEME["chartCategoricalColors"])
    assert len(colours) >= 4
    found = {colour: contrast(colour, THEME[scheme]["backgroundColor"]) for colour in colours}
    assert min(found.values()) >= LARGE, found


@pytest.fixture(scope="module", params=SCHEMES)
def sharp(request: pytest.FixtureRequest, chromium: "Browser", address: str) -> "Iterator[Page]":
    """One session in each scheme, drawn finely, with something kept, so that every page has something to show."""
    from tests.ui import pixels
    from tests.ui.browser import keep, opened

    context = chromium.new_context(
        color_scheme=request.param, device_scale_factor=pixels.SHARP, viewport={"width": 1280, "height": 900}
    )
    context.add_init_script(pixels.WATCH)
    page = opened(context.new_page(), address)
    keep(page, "bench", "cheapest")
    yield page
    context.close()


@pytest.mark.pixels
@pytest.mark.parametrize("name", NAMES)
def test_every_word_stands_out_from_its_ground_on_the_pixels(sharp: "Page", name: str) -> None:
    """Buttons, captions, tabs, fields, tables and charts, every fold and tab open; what is out of use is exempt."""
    from tests.ui import pixels
    from tests.ui.browser import everything, go

    sharp.set_viewport_size({"width": 1280, "height": 900})
    go(sharp, name)
    sharp.set_viewport_size({"width": 1280, "height": 4000})
    measured, faint = 0, set()
    for _ in everything(sharp):
        sharp.mouse.move(0, 0)
        words = pixels.at_rest(sharp)
        measured += len(words)
        faint |= {str(word) for word in words if word.ratio < word.least}
    assert measured > 10
    assert faint == set()


@pytest.mark.long
def test_the_measure_of_pixels_finds_a_faint_word_and_no_other(chromium: "Browser") -> None:
    from tests.ui import pixels

    context = chromium.new_context(device_scale_factor=pixels.SHARP)
    page = context.new_page()
    page.set_content(
        "<body style='font: 15px sans-serif; background: #fff; color: #767676'><p>dark enough</p>"
        "<p style='color: #a0a0a0'>faint</p><button style='background: #6fc2b4; color: #fff'>white on it</button>"
        "<button disabled style='color: #eee'>out of use</button></body>"
    )
    found = {word.text: word.ratio for word in pixels.words(page)}
    context.close()
    assert {text for text, ratio in found.items() if ratio < pixels.TEXT} == {"faint", "white on it"}
    assert found["white on it"] == pytest.approx(contrast("#ffffff", "#6fc2b4"), abs=0.05)
    assert set(found) == {"dark enough", "faint", "white on it"}


# -- pictures ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def shots() -> Path | None:
    """Where pictures go: the folder that OPTIFORM_SHOTS names; without it none are made."""
    folder = os.environ.get("OPTIFORM_SHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
    return Path(folder) if folder else None


def whole(page: "Page", width: int) -> None:
    """A window as high as the page, so that the picture holds all of it."""
    page.set_viewport_size({"width": width, "height": 900})
    page.wait_for_timeout(250)
    height = page.evaluate("() => document.querySelector('[data-testid=stMain]').scrollHeight")
    page.set_viewport_size({"width": width, "height": min(int(height) + 80, 6000)})
    page.wait_for_timeout(250)


def ground(page: "Page") -> str:
    """The colour behind the page, as #rrggbb."""
    shown: str = page.evaluate("() => getComputedStyle(document.querySelector('[data-testid=stApp]')).backgroundColor")
    return hexadecimal(shown)


@pytest.mark.sweep
@pytest.mark.parametrize("name", TOUR, scope="session")
def test_every_page_fits_and_follows_the_scheme(tour: "Tour", shots: Path | None, name: str) -> None:
    """In light on a phone; in the long tier in dark on a laptop and at 200 % too, in the exhaustive in all of it."""
    from playwright.sync_api import expect

    from tests.ui.browser import PAGES, settled, sound

    assert set(NAMES) == set(PAGES)
    page = tour.at(name)
    for scheme, width in product(SCHEMES, WIDTHS) if shots else SEEN[tier()]:
        page.emulate_media(color_scheme=scheme)
        expect(page.get_by_test_id("stApp")).to_have_css("background-color", rgb(THEME[scheme]["backgroundColor"]))
        assert faintest_caption(page, ground(page)) >= TEXT
        if shots:
            whole(page, width)
            page.screenshot(path=shots / f"{PAGES[name] or 'workbench'}-{width}-{scheme}.png", full_page=True)
    for scheme, width in SEEN[tier()]:
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 3000})
        page.wait_for_timeout(250)
        settled(page)
        assert wider(page) == []
        assert width != PHONE or sideways(page) == []
        if is_long() and width == PHONE:
            page.set_viewport_size(DOUBLED)
            settled(page)
            end = page.evaluate(FIRST_END)
            assert end is not None, "a draft is kept, so every page has something to press"
            assert end < DOUBLED["height"]
    sound(page)


@pytest.mark.sweep
def test_nothing_is_asked_of_any_other_machine(tour: "Tour") -> None:
    for name in set(NAMES if is_long() else QUICK) - tour.seen:
        tour.at(name)
    assert tour.log.outside() == set()
    assert any(url.startswith("ws://127.0.0.1") for url in tour.log.requests)  # it does see the session's own channel
    assert len(tour.log.requests) > 50
    assert tour.log.complaints() == []


def faintest_caption(page: "Page", behind: str) -> float:
    """The least contrast of a caption on the page as it is drawn, its opacity counted; 21 where there is none."""
    script = """each => each.map(one => { const s = getComputedStyle(one); return [s.color, Number(s.opacity)]; })"""
    found = page.locator("[data-testid=stCaptionContainer]").evaluate_all(script)
    return min((contrast(blend(hexadecimal(colour), behind, opacity), behind) for colour, opacity in found), default=21)


def rgb(colour: str) -> str:
    """The same as a browser says it."""
    return f"rgb({', '.join(str(int(colour[at : at + 2], 16)) for at in (1, 3, 5))})"


def hexadecimal(colour: str) -> str:
    """A browser's `rgb(1, 2, 3)` as #010203."""
    return "#" + "".join(f"{int(part):02x}" for part in colour.removeprefix("rgb(").removesuffix(")").split(","))


def blend(above: str, behind: str, opacity: float) -> str:
    """What the eye sees of a colour drawn with this opacity."""
    pairs = zip(channels(above), channels(behind), strict=True)
    return "#" + "".join(f"{round(255 * (opacity * a + (1 - opacity) * b)):02x}" for a, b in pairs)


def wider(page: "Page") -> list[str]:
    """What of the page's frame is wider than its window and would scroll sideways."""
    script = """() => [document.scrollingElement, document.body, document.querySelector('[data-testid=stMain]')]
        .filter(each => each.scrollWidth > each.clientWidth + 1)
        .map(each => `${each.tagName} ${each.scrollWidth} > ${each.clientWidth}`)"""
    found: list[str] = page.evaluate(script)
    return found


def sideways(page: "Page") -> list[str]:
    """The tables that have to be scrolled sideways."""
    script = """() => [...document.querySelectorAll('[data-testid=stDataFrame]')]
        .map(each => [each, each.querySelector('.dvn-scroller')])
        .filter(([, inner]) => inner && inner.scrollWidth > inner.clientWidth + 1)
        .map(([each]) => each.closest('[class*=st-key-]')?.className || 'a table')"""
    found: list[str] = page.evaluate(script)
    return found
