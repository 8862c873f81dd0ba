"""By hand: the living sheet on the workbench, and the limits that are taken from it into the brief."""

import json
import re
from collections.abc import Callable
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest
from workbench import hand, show, work
from workbench.state import Bench, Document, Key

from optiform.brief.brief import Brief
from optiform.design import sheet as job
from optiform.design.sheet import Sheet
from optiform.reading.faults import BadInput
from optiform.reading.progress import Progress
from optiform.telling.living import WORDS, living
from tests.ui.conftest import PHONE, window_of
from tests.ui.test_pages import BROKEN, IMPOSSIBLE, bench, control, cost, limit, on_bench, page, texts

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

OPEN = {"parts": "By hand"}
Shown = list[dict[str, Any]]


def few(document: Document) -> None:
    """Two limits, of which a map takes no time; one end with its unit, as a maker writes it."""
    document["limits"] = {"oil phase": {"low": "22 %", "high": 28}, "water phase": {"low": 38}}


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> Shown:
    """What the component is given at each run; a button stands for what it sends."""
    given: Shown = []
    of_streamlit = st.components.v2.component

    def component(name: str, **files: Any) -> Callable[..., object]:
        def mounted(data: dict[str, Any], on_taken_change: Callable[[], None], **_how: object) -> None:
            given.append(data)
            st.button("take", key="stand-in", on_click=on_taken_change)

        return mounted if name == hand.KEY else of_streamlit(name, **files)

    monkeypatch.setattr(st.components.v2, "component", component)
    return given


def brief_of(on: Bench) -> Brief:
    read = work.brief(on)
    assert isinstance(read, Brief)
    return read


def take(at: AppTest, of: str, *ends: tuple[int, float]) -> None:
    """As the browser does: the numbers of sliders, and where the hand left them on the sheet of this content."""
    at.session_state[hand.KEY] = SimpleNamespace(taken={"id": of, "ends": ends})
    at.button("stand-in").click().run()
    assert not at.exception, at.exception


def test_the_tab_holds_the_sheet_of_the_brief_and_gives_it_to_take_along(shown: Shown, given: dict[str, str]) -> None:
    on = bench(few)
    page("bench", on, OPEN)
    (data,) = shown
    made = job.sheet(brief_of(on))
    assert isinstance(made, Sheet)
    numbers = json.loads(data["numbers"])
    assert [slider["target"] for slider in numbers["sliders"]] == [22, 28, 38]
    assert "sweet almond oil" in data["body"]
    assert data["words"].keys() < WORDS.keys()
    assert data["take"].keys() == {"best", "open", "unknown", "none"}
    assert given["sheet"] == living(made)


def test_while_the_tab_is_closed_no_map_is_asked_for(shown: Shown, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Brief] = []
    monkeypatch.setattr(job, "sheet", lambda brief, progress: asked.append(brief))
    for tab in ("Limits", "Product", "Files"):
        page("bench", bench(few), {"parts": tab})
    assert (shown, asked) == ([], [])


def test_who_comes_back_to_a_brief_waits_for_its_map_once(shown: Shown, monkeypatch: pytest.MonkeyPatch) -> None:
    asked, made = list[Brief](), job.sheet

    def counted(brief: Brief, progress: Progress) -> object:
        asked.append(brief)
        return made(brief, progress)

    monkeypatch.setattr(job, "sheet", counted)
    at = page("bench", bench(few), OPEN)
    for tab in ("Limits", "By hand"):
        at.session_state["parts"] = tab
        at.run()
    assert len(asked) == 1
    take(at, shown[0]["id"], (0, 23.0))
    assert (len(asked), len(shown)) == (1, 2), "while the tab stays open, the page goes on without"
    at.button("undo").click().run()
    assert shown[2] == shown[0]
    at.button("redo").click().run()
    at.button("by-hand-anew").click().run()
    assert (len(asked), len(shown)) == (2, 4)
    assert shown[3] != shown[0]


def test_limits_that_are_taken_are_one_step_and_the_rest_stays_as_it_is_written(shown: Shown) -> None:
    on = bench(few)
    at = page("bench", on, OPEN)
    before = cost(at)
    take(at, shown[-1]["id"], (1, 27.5), (2, 40.13))
    assert on_bench(at)["limits"] == {"oil phase": {"low": "22 %", "high": 27.5}, "water phase": {"low": 40.13}}
    assert at.button("undo").label == "Undo: limits on oil phase, at most 27.5; water phase, at least 40.13"
    at.button("by-hand-anew").click().run()
    assert json.loads(shown[-1]["numbers"])["sliders"][2]["target"] == 40.13, "the sheet stands at them"
    at.session_state["parts"] = "Limits"
    at.run()
    assert control(at, "limit water phase").value[0] == 40.13
    at.button("undo").click().run()
    assert at.session_state[Key.BENCH].text == on.text
    assert at.button("undo").disabled
    assert cost(at) == before


def test_one_limit_that_is_taken_is_the_step_that_its_own_control_makes(shown: Shown) -> None:
    at = page("bench", bench(few), OPEN)
    take(at, shown[-1]["id"], (0, 23.2500001))
    assert on_bench(at)["limits"]["oil phase"] == {"low": 23.25, "high": 28}, "as the sheet shows it"
    assert at.button("undo").label == "Undo: limit on oil phase, at least 23.25"


@pytest.mark.usefixtures("shown")
def test_what_is_taken_from_the_sheet_of_another_brief_is_not_put_into_this_one() -> None:
    on = bench(few)
    at = page("bench", on, OPEN)
    take(at, bench().content, (0, 23.0))
    assert at.session_state[Key.BENCH] == on
    assert at.toast[0].value == hand.CHANGED


def test_ends_that_cross_leave_the_brief_as_it_is_and_say_so(shown: Shown) -> None:
    on = bench(few)
    at = page("bench", on, OPEN)
    take(at, shown[-1]["id"], (0, 30.0))
    assert at.session_state[Key.BENCH] == on
    assert at.button("undo").disabled
    assert "must not be above" in at.toast[0].value


MEAN = {"lowest": "iodine value"}


@pytest.mark.parametrize(
    "edit",
    [limit("water activity", high=0.9), lambda document: document.__setitem__("goal", MEAN), BROKEN],
    ids=["bends", "mean", "fault"],
)
def test_what_a_sheet_cannot_follow_is_said_in_its_place(edit: Callable[[Document], Any], shown: Shown) -> None:
    """In the command's own sentence; where the brief has a fault, in that."""
    on = bench(edit)
    at = page("bench", on, OPEN)
    assert shown == []
    assert hand.FAULTY in texts(at.error)
    said = work.brief(on)
    if isinstance(said, Brief):
        with pytest.raises(BadInput) as refused:
            job.sheet(said)
        assert [fault in texts(at.markdown) for fault in map(show.escape, map(str, refused.value.faults))] == [True]
    assert at.session_state[Key.BENCH] == on


def test_where_there_is_no_formula_the_tab_says_where_it_is_told(shown: Shown) -> None:
    at = page("bench", bench(IMPOSSIBLE), OPEN)
    assert shown == []
    assert texts(at.markdown).count("No formula can meet this brief") == 2, "at the foot of the window too"


def test_a_brief_without_limits_shows_its_formula_alone(shown: Shown) -> None:
    at = page("bench", bench(lambda document: document.pop("limits")), OPEN)
    assert json.loads(shown[-1]["numbers"])["sliders"] == []
    assert hand.NONE in texts(at.markdown)


@pytest.mark.long
def test_limits_are_moved_by_hand_taken_and_undone(phone: "BrowserContext", address: str) -> None:
    """On a phone, by the slider's keys, as who does not see it moves it. The server is asked nothing meanwhile."""
    from playwright.sync_api import expect

    from tests.ui.browser import PATIENCE, keyed, opened, press, settled, sound

    page = opened(window_of(phone, PHONE), address)
    press(page.get_by_role("tab", name="By hand"))
    settled(page)
    goal, oil = page.locator(".living #goal"), page.get_by_role("slider", name="oil phase at least", exact=True)
    before, foot = goal.inner_text(), page.get_by_test_id("stBottom").inner_text()
    assert foot.startswith(before)
    for _ in range(9):
        oil.press("ArrowRight")
    expect(goal).not_to_have_text(before)
    assert page.evaluate("!optiformRuns.asked && !optiformRuns.going")
    stands = str(oil.get_attribute("aria-valuetext"))
    assert re.fullmatch(r"2[2-5]\.\d\d %", stands)
    assert page.locator(".living label", has=page.get_by_text(stands)).count() == 1
    assert WORDS["best"] in page.locator(".living [role=status]").inner_text()
    assert page.get_by_test_id("stBottom").inner_text() == foot, "the brief stays as it is"
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    for each in page.locator(".living :is(button, input)").all():
        box = each.bounding_box()
        assert box is not None
        assert box["height"] >= 44
    for tab in ("Limits", "By hand"):
        press(page.get_by_role("tab", name=tab, exact=True))
        settled(page)
    expect(oil).to_have_attribute("aria-valuetext", stands)
    press(page.get_by_role("button", name="Take these limits"))
    limit = f"limit on oil phase, at least {float(stands.split()[0]):g}"
    expect(keyed(page, "undo")).to_contain_text(limit, timeout=PATIENCE)
    press(page.get_by_role("tab", name="Limits", exact=True))
    expect(keyed(page, "limit-card-oil-phase")).to_contain_text(f"{float(stands.split()[0]):g} to 28")
    press(keyed(page, "undo").get_by_role("button"))
    expect(page.get_by_test_id("stBottom")).to_have_text(foot, timeout=PATIENCE)
    press(page.get_by_role("tab", name="By hand"))
    expect(goal).to_have_text(before, timeout=PATIENCE)
    expect(page.locator(".living #change")).to_have_text(WORDS["start"])
    sound(page)
