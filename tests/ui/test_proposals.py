"""A proposal can be taken, kept or compared; a formula as it is typed is looked at just as it stands."""

from types import ModuleType
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from workbench import proposals
from workbench.state import Key, demo

from optiform.reading.paths import UI
from optiform.telling import cheaper as told_cheaper
from optiform.telling import substitute as told_substitute
from tests.ui.test_pages import bench


def page(name: str, on: Any = None) -> AppTest:
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.session_state[Key.BENCH] = on or demo()
    if name != "bench":
        at.switch_page(f"views/{name}.py")
    at.run()
    assert not at.exception, at.exception
    return at


def texts(at: AppTest) -> str:
    kinds = (at.markdown, at.caption, at.warning, at.error, at.info, at.header, at.toast)
    return "\n".join(str(each.value) for kind in kinds for each in kind)


def today(at: AppTest) -> str:
    return str(at.session_state[Key.BENCH].files["today.csv"])


def test_taking_a_cheaper_option_makes_it_todays_and_undo_brings_the_other_back() -> None:
    at = page("cheaper")
    before = today(at)
    at.button("take-cheaper").click().run()
    assert not at.exception
    assert today(at) != before
    assert "is today's formula" in texts(at)
    at.button("undo").click().run()
    assert today(at) == before


def test_options_stand_as_columns_beside_todays_with_the_cost_first() -> None:
    at = page("cheaper")
    assert any({"today", "option 1"} <= set(each.value.columns) for each in at.dataframe)
    assert "option 1 costs" in texts(at)


@pytest.mark.parametrize(
    ("name", "job", "wish"), [("cheaper", told_cheaper, "most-change"), ("substitute", told_substitute, "follow")]
)
def test_what_is_told_of_an_answer_is_told_once_and_anew_of_another(
    name: str, job: ModuleType, wish: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    told: list[str] = []

    def counted(where: ModuleType, what: str) -> None:
        tell = getattr(where, what)

        def telling(*given: Any, **how: Any) -> Any:
            told.append(what)
            return tell(*given, **how)

        monkeypatch.setattr(where, what, telling)

    for where, what in ((job, name), (job, "option"), (proposals, "compared")):
        counted(where, what)
    at = page(name)
    assert {name, "option", "compared"} <= set(told)
    shown = texts(at)
    told.clear()
    at.run()
    assert told == []
    assert texts(at) == shown
    at.number_input(wish).set_value(5.0).run()
    assert name in told
    assert texts(at) != shown


def test_comparing_keeps_a_draft_and_opens_both_side_by_side() -> None:
    at = page("cheaper")
    at.button("compare-cheaper").click().run()
    assert not at.exception
    (draft,) = at.session_state[Key.VARIANTS]
    assert at.session_state[Key.PICKED] == ["today", draft.name]


def test_a_product_without_todays_formula_is_no_dead_end() -> None:
    def bare(document: dict[str, Any]) -> None:
        del document["reference"]

    at = page("cheaper", bench(bare))
    at.button("take-bench").click().run()
    assert not at.exception
    assert at.session_state[Key.BENCH].document["reference"] == "today.csv"
    assert "Today's formula costs" in texts(at)


def edited(at: AppTest, **rows: Any) -> AppTest:
    at.session_state["typed today 0"] = {"edited_rows": {}, "added_rows": [], "deleted_rows": []} | rows
    return at.run()


def test_a_formula_is_looked_at_as_it_is_typed() -> None:
    at = page("check")
    assert "they add up to 100." in texts(at)
    edited(at, edited_rows={0: {"%": 34.2}})
    assert not at.exception
    assert "sum to 110, not 100" in texts(at)
    at.button("take-check").click().run()
    assert not at.exception
    assert "water,31.09" in today(at), "34.2 of 110"


def test_what_is_typed_over_a_legal_limit_is_told() -> None:
    at = page("check")
    names = [name for name, _, _ in at.session_state[Key.TYPED][1]]
    row = names.index("phenoxyethanol + ethylhexylglycerin")
    edited(at, edited_rows={row: {"%": 5.0}})
    assert any("phenoxyethanol" in str(each.value).lower() for each in (*at.error, *at.warning))


def test_what_is_nearly_as_good_stands_beside_todays_and_can_be_taken() -> None:
    at = page("nearly")
    assert any({"today", "option 1"} <= set(each.value.columns) for each in at.dataframe)
    before = today(at)
    at.button("take-nearly").click().run()
    assert not at.exception
    assert today(at) != before


def test_what_the_scale_can_show_is_weighed_out_in_its_steps() -> None:
    at = page("weigh")
    assert "Checked: no formula that your scale can show, with no line below 0.5 % of the batch, is cheaper" in texts(
        at
    )
    (grams,) = (each.value["weigh, g"] for each in at.dataframe if "change, g" in each.value.columns)
    assert (grams % 1 == 0).all(), "the demo's scale shows 1 g"
    assert "Every line in use is at least 0.5 % of the batch" in texts(at), (
        "as optiform weigh has it: twenty steps of the scale"
    )
    at.number_input("most-lines").set_value(3).run()
    assert not at.exception
    assert "Checked: no formula that your scale can show" not in texts(at)
