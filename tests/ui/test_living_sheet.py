"""The page of `optiform sheet` in a browser: exact, near to whole, within its size, and quiet on the network."""

import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from optiform.brief.doses import least_doses
from optiform.brief.file import read_brief
from optiform.design.sheet import Sheet, positions
from optiform.reading.paths import DEMO
from optiform.telling.living import WORDS, living
from optiform.telling.parts import number
from tests.answers import sheet
from tests.design.test_sheet import solved_anew
from tests.sweeps import cases, is_long

if TYPE_CHECKING:
    from playwright.sync_api import Page

SAME = 1e-9
COVERED = 0.95
PART = 1 if is_long() else 4  # of the positions, those that are worked out beside the page
AT = "all => all.map(each => window.sheet.at(each))"


@cache
def made() -> Sheet:
    """The demo's sheet."""
    answer = sheet(read_brief(DEMO / "brief.toml"))
    assert isinstance(answer, Sheet)
    return answer


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's page."""
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_text(living(made()), encoding="utf-8")
    return path


@pytest.fixture
def page(blank: "Page", file: Path) -> "Page":
    """The page, open; it may ask for nothing but itself, and complain of nothing."""
    blank.set_viewport_size({"width": 390, "height": 800})
    asked: list[str] = []
    blank.on("request", lambda request: asked.append(request.url))
    blank.on("pageerror", lambda error: asked.append(str(error)))
    blank.on("console", lambda message: asked.append(message.text))
    blank.goto(file.as_uri())
    assert asked == [file.as_uri()]
    return blank


def answers(page: "Page", at: list[list[float]]) -> list[Any]:
    """What the page says at positions."""
    return list(page.evaluate(AT, at))


def test_it_is_one_small_file(file: Path) -> None:
    assert file.stat().st_size < 250_000


@pytest.mark.sweep
def test_a_thousand_positions_are_exact(page: "Page") -> None:
    """Worked out once more: a quarter of them, and all in the long tier."""
    at = [position.tolist() for position in positions(made().sliders, 1000, seed=7)]
    said = answers(page, at)
    best = [(place, answer) for place, answer in zip(at, said, strict=True) if answer["status"] == "best"]
    assert len(best) > COVERED * len(at)
    for place, answer in best[::PART]:
        own = made().map.visit(np.array(place))
        assert own is not None
        assert abs(own.value - answer["value"]) <= SAME
    for place, answer in best[::25]:
        assert answer["value"] == pytest.approx(solved_anew(made(), np.array(place)), abs=SAME)
    for place, answer in zip(at, said, strict=True):
        if answer["status"] == "none":
            assert solved_anew(made(), np.array(place)) is None


@pytest.mark.parametrize("steps", cases([20, 25, 100], 1, 0))
def test_each_limit_is_covered_over_its_travel(page: "Page", steps: int) -> None:
    for k, slider in enumerate(made().sliders):
        at = np.zeros((steps + 1, len(made().sliders)))
        at[:, k] = np.linspace(slider.low, slider.high, steps + 1) - slider.demand.target
        said = [answer["status"] for answer in answers(page, at.tolist())]
        assert said.count("best") >= COVERED * len(said), slider.demand.words


def test_the_formula_follows_a_limit_and_comes_back(page: "Page") -> None:
    begun, number = page.inner_text("#goal"), 2  # oil phase at least
    slider = made().sliders[number]
    page.locator(f"#slider-{number}").fill(str(slider.demand.target + 2))
    page.wait_for_function("before => document.getElementById('goal').textContent !== before", arg=begun)
    assert page.inner_text("#status") == f"{WORDS['best']} {WORDS['little']}: coconut oil."
    assert page.inner_text(f"#target-{number}") == f"{slider.demand.target + 2:.2f} {slider.demand.unit}"
    page.click("#back")
    assert page.inner_text("#goal") == begun


#: Draws limits to targets, one after the other; what the page then says, and what it says of the limit.
DRAWN = """async all => {
    const said = [], byId = id => document.getElementById(id)
    for (const [k, target] of all) {
        byId('back').click()
        Object.assign(byId(`slider-${k}`), {value: target}).dispatchEvent(new Event('input'))
        await new Promise(requestAnimationFrame)
        const read = byId(`slider-${k}`).getAttribute('aria-valuetext')
        said.push([byId('status').textContent, byId(`target-${k}`).textContent, read])
    }
    return said
}"""


def test_a_line_that_is_too_little_to_weigh_is_named(page: "Page") -> None:
    """As `design` would give it none or enough; where it names none it says what design says (test_sheet.py)."""
    oil, least, told = 2, least_doses(made().brief), []
    drawn = [(oil, target) for target in (22.0, 23.5, 24.0, 25.0, 26.0, 27.5)]
    for (_, target), (status, *_rest) in zip(drawn, page.evaluate(DRAWN, drawn), strict=True):
        at = np.zeros(len(made().sliders))
        at[oil] = target - made().sliders[oil].demand.target
        best = made().map.visit(at)
        assert best is not None
        shares = zip(made().brief.mix.ingredients, best.x, least, strict=False)
        names = "; ".join(item.name for item, share, dose in shares if 1e-9 < share < dose * (1 - 1e-6))
        assert status == WORDS["best"] + (f" {WORDS['little']}: {names}." if names else "")
        told.append(names)
    assert len(set(told)) > 1


def test_the_hand_leaves_a_limit_where_it_is_shown_and_never_beyond_what_fits(page: "Page") -> None:
    """So what is taken over is what was proven. Both ends of each travel, and a place between."""
    drawn = [
        (k, place)
        for k, slider in enumerate(made().sliders)
        for place in (slider.low, slider.high, slider.low + (slider.high - slider.low) / np.pi)
    ]
    for (k, place), (status, shown, read) in zip(drawn, page.evaluate(DRAWN, drawn), strict=True):
        assert status.startswith(WORDS["best"]), f"{made().sliders[k].demand.words}: {shown}"
        assert abs(float(shown.split()[0]) - place) < 0.01
        assert read == shown


def test_where_nothing_fits_it_says_so_and_keeps_the_last_formula_faint(page: "Page") -> None:
    names = [slider.demand.words for slider in made().sliders]
    low, high = (
        next(k for k, name in enumerate(names) if name.startswith(f"oil phase {end}")) for end in ("at l", "at m")
    )
    at = [0.0] * len(names)
    at[low], at[high] = 3.0, -4.0
    assert answers(page, [at])[0]["status"] == "none"
    page.locator(f"#slider-{low}").fill("25")
    page.locator(f"#slider-{high}").fill("24")
    page.wait_for_function("words => document.getElementById('status').textContent === words", arg=WORDS["none"])
    assert "held" in str(page.get_attribute("#formula", "class"))


def test_temperatures_are_read_as_everywhere(page: "Page") -> None:
    words = page.inner_text("body")
    assert "20 °C" in words
    assert "degC" not in words


def test_figures_are_rounded_as_everywhere(page: "Page") -> None:
    """Half to even of the number as it is written: alone a browser makes 5.63, 2.67 and -0.13 of the first three."""
    figures = [5.625, 2.675, -0.125, 0.5, 1.5, 2.5, 12.3456, 7.0, 1e-7]
    said = page.evaluate("all => all.map(each => [0, 1, 2].map(digits => shown(each, digits)))", figures)
    assert said == [[number(each, digits) for digits in range(3)] for each in figures]


def test_nothing_is_wider_than_a_phone(page: "Page") -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= 390


def test_a_title_cannot_end_the_script(blank: "Page", tmp_path: Path) -> None:
    from dataclasses import replace

    hostile = "</script><script>document.title='run'</script>"
    brief = replace(made().brief, title=hostile)
    path = tmp_path / "hostile.html"
    path.write_text(living(replace(made(), brief=brief)), encoding="utf-8")
    blank.goto(path.as_uri())
    assert blank.title() == hostile
    assert json.loads(str(blank.text_content("#data")))["batch"] == 4
