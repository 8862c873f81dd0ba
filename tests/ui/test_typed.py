"""What is typed and not used yet stands there again after another page and in a session that goes on from this one."""

from typing import Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest
from workbench.state import COSTS_FILE, MAKING_FILE, Key, demo
from workbench.typed import laid

from tests.ui.test_every_key import chosen
from tests.ui.test_pages import PRODUCT, on_bench, page, texts, variant
from tests.ui.test_papers import COSTS, EDITED, MAKING, hand_in, number, on_paper

LIMITS = {"parts": "Limits"}


def later(at: AppTest, name: str, **state: object) -> AppTest:
    """The page in a session that goes on from this one."""
    lasts = (Key.FIELDS, Key.NEW, Key.PLAN, Key.FRESH, Key.VARIANTS)
    held: dict[str, object] = {key: at.session_state[key] for key in lasts if key in at.session_state}
    return page(name, at.session_state[Key.BENCH], {**held, **state})


def and_back(at: AppTest, name: str) -> AppTest:
    """After another page."""
    at.switch_page("views/declaration.py").run()
    at.switch_page(f"views/{name}.py").run()
    assert not at.exception, at.exception
    return at


def starting(elements: Any, beginning: str) -> Any:
    (element,) = (each for each in elements if str(each.key).startswith(beginning))
    return element


def frame(at: AppTest, *columns: str) -> Any:
    """The table to type into with these columns."""
    (found,) = (each.value for each in at.dataframe if set(columns) <= set(each.value.columns))
    return found


def test_how_it_is_made_is_held_until_it_is_used() -> None:
    at = page("batch", state=MAKING)
    number(at, "making-hot").set_value(75.0)
    written(at, "making-parts 0", edited_rows={1: {"jars": 6}})
    before = on_paper(at, MAKING_FILE)
    for there in (later(at, "batch"), and_back(at, "batch")):
        assert number(there, "making-hot").value == 75
        assert frame(there, "jars", "own lines")["jars"].tolist() == [14, 6]
        assert "does not count yet" in texts(there.caption)
        assert on_paper(there, MAKING_FILE) == before
        hand_in(there)
        assert 'hot = "75 degC"' in on_paper(there, MAKING_FILE)
        assert "jars = 6" in on_paper(there, MAKING_FILE)
        assert "does not count yet" not in texts(there.caption)
        assert not typed_of(there)


def written(at: AppTest, table: str, **edits: object) -> None:
    """Type into a table; it is told in this run alone, as no browser goes on telling it."""
    at.session_state[table] = {**EDITED, **edits}
    at.run()
    assert not at.exception, at.exception


def typed_of(at: AppTest) -> dict[str, object]:
    held: dict[str, object] = at.session_state.get(Key.FIELDS, {})
    return held


def test_what_is_typed_into_a_form_can_be_given_up() -> None:
    at = page("batch", state=MAKING)
    counts = number(at, "making-hot").value
    number(at, "making-hot").set_value(75.0).run()
    at.button(f"give up {MAKING_FILE}").click().run()
    assert number(at, "making-hot").value == counts
    assert "does not count yet" not in texts(at.caption)


def test_what_is_typed_back_is_not_called_unused() -> None:
    at = page("batch", state=MAKING)
    counts = number(at, "making-hot").value
    number(at, "making-hot").set_value(75.0).run()
    number(at, "making-hot").set_value(counts).run()
    assert not typed_of(at)


def test_a_figure_that_the_file_states_can_be_emptied() -> None:
    at = page("batch", state=MAKING)
    assert "hot" in on_paper(at, MAKING_FILE)
    number(at, "making-hot").set_value(None).run()
    assert number(later(at, "batch"), "making-hot").value is None
    hand_in(at)
    assert "hot =" not in on_paper(at, MAKING_FILE)


def test_costs_are_held_until_they_are_used() -> None:
    at = page("costs", state=COSTS)
    number(at, "costs-wage").set_value(31.0)
    written(at, "costs-packaging 0", added_rows=[{"what": "ribbon", "EUR": 0.2}])
    for there in (later(at, "costs"), and_back(at, "costs")):
        assert number(there, "costs-wage").value == 31
        assert "ribbon" in texts_of(there)
        assert "ribbon" not in on_paper(there, COSTS_FILE)
        hand_in(there)
        assert on_paper(there, COSTS_FILE).count("ribbon") == 1
        assert not typed_of(there)


def texts_of(at: AppTest) -> str:
    return " ".join(each.value.to_string() for each in at.dataframe)


def test_what_another_product_has_typed_does_not_stand_here() -> None:
    at = page("costs", state=COSTS)
    number(at, "costs-wage").set_value(31.0).run()
    bench = at.session_state[Key.BENCH]
    other = bench.saying({**bench.document, "title": "another balm"})
    there = page("costs", other, {**COSTS, Key.FIELDS: typed_of(at)})
    assert number(there, "costs-wage").value != 31


@pytest.mark.parametrize("name", ["buying", "range"])
def test_a_plan_is_held_until_it_is_handed_in(name: str) -> None:
    at = page(name)
    starting(at.number_input, "plan-left").set_value(40.0)
    more = [{"formula": "today", "jars": 5, "g each": 50}]
    written(at, f"plan-products 0 0 {name.capitalize()}", edited_rows={0: {"jars": 400}}, added_rows=more)
    for there in (later(at, name), and_back(at, name)):
        assert frame(there, "jars", "g each")["jars"].tolist() == [400, 5]
        assert starting(there.number_input, "plan-left").value == 40
        assert Key.PLAN not in there.session_state
        there.button("find-packs").click().run()
        assert [row["jars"] for row in there.session_state[Key.PLAN].products] == [400, 5]
        assert not typed_of(there)


def test_a_browser_is_told_in_every_run_what_a_field_begins_with_until_something_is_typed() -> None:
    at = page("buying")
    (day,), left = at.run().date_input, starting(at.number_input, "plan-left ")
    assert day.proto.set_value
    assert left.proto.set_value
    left.set_value(20.0).run()
    left = starting(at.run().number_input, "plan-left ")
    assert left.value == 20
    left.set_value(None).run()
    assert starting(at.run().number_input, "plan-left ").value is None


def test_that_a_batch_has_the_lots_of_the_records_is_held() -> None:
    at = page("batch")
    at.toggle("lots-of-records").set_value(True).run()
    for there in (later(at, "batch"), and_back(at, "batch")):
        assert there.toggle("lots-of-records").value


def test_a_limit_that_is_not_added_yet_is_held() -> None:
    at = page("bench", state=LIMITS)
    at.selectbox("new-limit").set_value("saturated share").run()
    at.number_input("new-high").set_value(30.0).run()
    there = later(at, "bench", **LIMITS)
    assert (there.selectbox("new-limit").value, there.number_input("new-high").value) == ("saturated share", 30)
    there.button("add-limit").click().run()
    assert on_bench(there)["limits"]["saturated share"] == {"high": 30.0}
    assert not typed_of(there)


def test_a_choice_is_held_and_one_that_is_refused_stays_typed() -> None:
    at = page("bench", state=PRODUCT)
    starting(at.multiselect, "choose-of ").set_value(["cocoa butter"]).run()
    starting(at.number_input, "choose-count ").set_value(3).run()
    there = later(at, "bench", **PRODUCT)
    assert starting(there.multiselect, "choose-of ").value == ["cocoa butter"]
    chosen(there, "choose-add", choose_how="exactly")
    assert "choose" not in on_bench(there)
    assert starting(there.multiselect, "choose-of ").value == ["cocoa butter"]
    chosen(there, "choose-add", choose_count=1)
    assert on_bench(there)["choose"] == [{"of": ["cocoa butter"], "exactly": 1}]
    assert starting(there.multiselect, "choose-of ").value == []
    assert not typed_of(there)


def test_the_name_of_a_draft_is_held_until_it_is_saved() -> None:
    at = page("bench")
    starting(at.text_input, "keep-name-bench").set_value("for winter").run()
    there = later(at, "bench")
    assert starting(there.text_input, "keep-name-bench").value == "for winter"
    there.button("keep-do-bench").click().run()
    assert [draft.name for draft in there.session_state[Key.VARIANTS]] == ["for winter"]
    assert not typed_of(there)


def test_a_formula_file_that_is_loaded_stands_in_the_field_and_is_held() -> None:
    at = page("new", state={"new-way": "a formula of mine"})
    file = ("mine.csv", b"shea butter, refined;20\nolive oil;77\nbeeswax;3\n", "text/csv")
    at.file_uploader("new-formula-file").set_value(file).run()
    assert not at.exception
    assert "olive oil;77" in str(at.text_area("new-formula").value)
    there = later(at, "new", **{"new-way": "a formula of mine"})
    assert "olive oil;77" in str(there.text_area("new-formula").value)
    assert "begin" in [button.key for button in there.button]


def test_the_shelf_shows_what_was_typed_after_another_page() -> None:
    at = page("new")
    at.selectbox("new-kind").set_value("balm").run()
    shelf = at.session_state[Key.NEW]
    number = list(shelf.rows).index("olive oil")
    at.session_state[Key.NEW] = type(shelf)(
        {**shelf.rows, "olive oil": type(shelf.rows["olive oil"])(True, 9.0)}, shelf.laid
    )
    and_back(at, "new")
    assert frame(at, "price of a pack")["price of a pack"][number] == 9.0


# -- what is reached for -----------------------------------------------------------------------------------------------


def goal(at: AppTest) -> Any:
    (box,) = (each for each in at.selectbox if str(each.key).rpartition(" ")[0] == "goal")
    return box


def test_a_draft_can_be_reached_for_and_another_formula_file_is_named() -> None:
    at = page("bench", state={**PRODUCT, Key.VARIANTS: [variant("soft / 2", 1.0)]})
    assert "nearest to soft / 2" in goal(at).options
    goal(at).set_value("nearest to soft / 2").run()
    assert not at.exception
    assert on_bench(at)["goal"] == {"nearest": "soft 2.csv"}
    assert at.session_state[Key.BENCH].files["soft 2.csv"].startswith("ingredient")
    assert goal(at).value == "nearest to soft 2"
    goal(at).set_value("the lowest").run()
    assert on_bench(at)["goal"] == {"lowest": "cost"}
    goal(at).set_value("nearest to soft 2").run()
    assert on_bench(at)["goal"] == {"nearest": "soft 2.csv"}


def test_where_no_goal_is_written_the_choice_shows_what_counts() -> None:
    """Of the demo without limits today's formula stands, and what is usual once it has none."""
    bench = demo()
    bare = {key: value for key, value in bench.document.items() if key not in ("goal", "limits")}
    without = {key: value for key, value in bare.items() if key != "reference"}
    for document, way in ((bare, "nearest to today's formula"), (without, "nearest to usual")):
        assert goal(page("bench", state={**PRODUCT, Key.BENCH: bench.saying(document)})).value == way


def test_a_table_to_type_into_has_numbers_where_it_shows_numbers_also_without_rows() -> None:
    columns = {"what": st.column_config.TextColumn(), "EUR": st.column_config.NumberColumn(), "at": None}
    for rows in ([], [("lid", None, 3)]):
        frame = laid(rows, columns)
        assert list(map(str, frame.dtypes)) == ["object", "Float64", "object"]
