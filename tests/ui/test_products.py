"""Products in the workbench: kept from the first change, opened again, stepped through, and never written over."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest
from workbench import lines, state
from workbench.state import Key, demo

from optiform.reading.paths import BRIEF_VARIABLE, DEMO, UI
from optiform.workshop.copies import copies_of
from optiform.workshop.records import Product, Step
from optiform.workshop.store import Workshop

NAME = "Salt and oat foot polish, Quillmere workshop"


def session(page: str = "bench", **address: str) -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    for name, value in address.items():
        at.query_params[name] = value
    at.run()
    assert not at.exception, at.exception
    return at if page == "bench" else there(at, page)


def there(at: AppTest, page: str) -> AppTest:
    at.switch_page(f"views/{page}.py").run()
    assert not at.exception, at.exception
    return at


def raised(at: AppTest, least: float) -> AppTest:
    """The demo with another least of solid fat."""
    (slider,) = (each for each in at.select_slider if "solid fat at 30 degC" in str(each.key))
    return slider.set_range(least, slider.value[1]).run()


def least(at: AppTest) -> object:
    return at.session_state[Key.BENCH].document["limits"]["solid fat at 30 degC"]["low"]


def texts(at: AppTest) -> str:
    return "\n".join(
        str(each.value) for kind in (at.markdown, at.caption, at.warning, at.error, at.toast) for each in kind
    )


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A brief of the maker's own in its folder, given to the workbench."""
    for path in DEMO.glob("*.*"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    monkeypatch.setenv(BRIEF_VARIABLE, str(tmp_path / "brief.toml"))
    return tmp_path


def test_nothing_is_kept_before_the_first_change_and_everything_from_it_on(data: Path) -> None:
    at = session()
    assert "from your first change on" in texts(at)
    assert not data.exists()
    raised(at, 8.0)
    with Workshop.open(data / "demo", create=False) as workshop:
        (product,) = workshop.read(Product)
        assert (product.name, product.at) == (NAME, 2)
        assert [step.words for step in workshop.read(Step)] == [
            "begun from brief.toml",
            "limit on solid fat at 30 degC, at least 8",
        ]
    assert session(demo=NAME).session_state[Key.BENCH].text == at.session_state[Key.BENCH].text


def test_what_was_changed_is_kept_even_where_drawing_it_fails(data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bench draws while the records are written; the writing is waited for however drawing ends."""
    at = session()

    def fails(*_: object) -> None:
        raise RuntimeError("no table")

    monkeypatch.setattr(lines, "table", fails)
    (slider,) = (each for each in at.select_slider if "solid fat at 30 degC" in str(each.key))
    slider.set_range(8.0, slider.value[1]).run()
    assert "no table" in str(at.exception[0].value)
    with Workshop.open(data / "demo", create=False) as workshop:
        assert [step.number for step in workshop.read(Step)] == [1, 2]


def test_the_demo_itself_is_there_again_for_the_next_session() -> None:
    raised(session(), 8.0)
    assert session().session_state[Key.BENCH].content == demo().content
    at = there(session(), "products")
    at.button("open-demo-0").click().run()
    assert least(at) == 8.0
    at.button("undo").click().run()
    assert at.session_state[Key.BENCH].content == demo().content, "undoing leads back to what was there"


def test_undo_and_redo_go_on_after_another_session_opened_it() -> None:
    raised(raised(session(), 8.0), 9.0)
    at = session(demo=NAME)
    at.button("undo").click().run()
    assert least(at) == 8.0
    at.button("undo").click().run()
    assert least(at) == "7 %"
    assert at.button("undo").disabled
    at.button("redo").click().run()
    at.button("redo").click().run()
    assert least(at) == 9.0
    assert at.button("redo").disabled


def test_any_step_of_the_history_can_be_gone_to_and_none_is_lost() -> None:
    at = raised(raised(session(), 8.0), 9.0)
    at.button("undo").click().run()
    raised(at, 10.0)
    there(at, "history")
    (steps,) = (each.value for each in at.dataframe)
    assert list(steps["made from step"].fillna(0)) == [2, 2, 1, 0]
    at.selectbox[0].set_value(3).run()
    at.button("go-to-step").click().run()
    assert least(at) == 9.0


def test_who_changes_what_was_changed_elsewhere_is_told_and_both_stay() -> None:
    one = raised(session(), 8.0)
    other = raised(session(demo=NAME), 9.0)
    raised(one, 10.0)
    assert "changed in another window" in texts(one)
    assert "at least 9. Your change here (limit on solid fat at 30 °C, at least 10)" in texts(one)
    assert least(one) == 9.0
    one.button("take-mine").click().run()
    assert least(one) == 10.0
    other.run()
    assert least(other) == 10.0
    assert "Changed in another window" in texts(other)


def test_a_session_without_changes_of_its_own_follows() -> None:
    one = raised(session(), 8.0)
    raised(session(demo=NAME), 9.0)
    one.run()
    assert least(one) == 9.0
    assert not one.warning or "was not written" not in texts(one)


def test_the_records_lie_beside_the_brief_and_its_file_is_not_changed(own: Path) -> None:
    before = (own / "brief.toml").read_bytes()
    raised(session(), 8.0)
    assert (own / "brief.toml").read_bytes() == before
    assert (own / "records.db").is_file()
    again = session()
    assert least(again) == 8.0
    assert "step 2 of 2" in texts(again)


def test_a_brief_that_was_changed_on_the_disk_is_taken_as_a_step(own: Path) -> None:
    raised(session(), 8.0)
    text = (own / "brief.toml").read_text(encoding="utf-8")
    (own / "brief.toml").write_text(f"# by hand\n{text}", encoding="utf-8")
    at = session()
    assert at.session_state[Key.BENCH].text.startswith("# by hand")
    at.button("undo").click().run()
    assert least(at) == 8.0, "and what was done in the workbench is one step back"


def test_a_comment_of_the_maker_comes_back_from_the_records(own: Path) -> None:
    text = (own / "brief.toml").read_text(encoding="utf-8")
    (own / "brief.toml").write_text(f"# never above 30 g of salt: M.\n{text}", encoding="utf-8")
    raised(session(), 8.0)
    assert "# never above 30 g of salt: M." in session().session_state[Key.BENCH].text


def test_where_nothing_can_be_written_that_is_told_and_work_goes_on(own: Path) -> None:
    (own / "records.db").mkdir()
    at = raised(session(), 8.0)
    assert "cannot be saved" in texts(at)
    assert least(at) == 8.0
    (own / "records.db").rmdir()
    at.run()
    assert "cannot be saved" not in texts(at)
    assert least(session()) == 8.0


def test_the_demos_copies_can_be_put_away_and_stay_as_a_dated_copy(data: Path) -> None:
    at = there(raised(session(), 8.0), "products")
    at.button("reset-demo").click().run()
    assert at.session_state[Key.BENCH].content == demo().content
    assert [copy.why for copy in copies_of(data / "demo" / "records.db")] == ["put-away"]
    assert "open-demo-0" not in [button.key for button in there(at, "products").button]


@pytest.mark.usefixtures("own")
def test_one_click_goes_back_to_the_records_of_yesterday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OPTIFORM_CLOCK", "2026-11-24T10:00")
    raised(session(), 8.0)
    monkeypatch.setenv("OPTIFORM_CLOCK", "2026-11-25T10:00")
    at = there(raised(session(), 9.0), "products")
    at.button("restore-own-0").click().run()
    assert not at.exception
    assert least(at) == 8.0
    assert least(session()) == 8.0


@pytest.mark.usefixtures("own")
def test_a_draft_comes_back_with_its_product() -> None:
    at = session()
    at.button("keep-do-bench").click().run()
    (draft,) = session().session_state[Key.VARIANTS]
    assert draft == at.session_state[Key.VARIANTS][0]
    assert isinstance(draft, state.Variant)


@pytest.mark.parametrize("page", ["batch", "costs", "declaration", "stock"])
def test_every_page_says_which_product_is_on_the_bench(page: str) -> None:
    at = session(page)
    assert [each.value for each in at.caption].count(f"**{NAME}**") == 1
