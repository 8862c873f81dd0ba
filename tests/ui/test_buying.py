"""Buying in each of its states, without a browser."""

import datetime
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from streamlit.testing.v1 import AppTest
from workbench.planning import JARS, Wanted
from workbench.state import Key
from workbench.touch import NARROW

from optiform.reading import clock
from optiform.reading.paths import UI, WORKSHOP_VARIABLE
from optiform.workshop.records import Offer
from optiform.workshop.store import Workshop
from tests.ui.test_pages import bench, page, table, texts

EDITED: dict[str, Any] = {"edited_rows": {}, "added_rows": [], "deleted_rows": []}
PRODUCTS, TERMS = "plan-products 0 0 Buying", "plan-terms 0 0 Buying"
ON_RANGE = "plan-products 0 0 Range"


@pytest.fixture(autouse=True)
def _no_workshop(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(WORKSHOP_VARIABLE, raising=False)


def find(at: AppTest) -> AppTest:
    (button,) = (each for each in at.button if each.label == "Find the packs")
    button.click().run()
    assert not at.exception
    return at


def paid(at: AppTest) -> float:
    return float(at.metric[0].value)


def test_what_is_lacking_is_bought_and_every_balance_holds(given: dict[str, str]) -> None:
    at = page("buying", state={"buying-balance behind is open": True})
    balance = table(at, "from stock, kg").iloc[:-1]
    assert (balance["from stock, kg"] + balance["bought, kg"].fillna(0) - balance["needed, kg"] >= -1e-6).all()
    weighed = balance["needed, kg"].sum()
    assert weighed == pytest.approx(JARS * 0.15 / 0.96, rel=1e-3)  # jars of 150 g, 4 % lost, as brief and costs say
    orders = table(at, "order")
    costs = orders[~orders["order"].str.startswith("- ")]["cost, EUR"]
    assert paid(at) == pytest.approx(costs.sum(), abs=0.01)
    assert "To buy" in given["html"]
    assert given["csv"].startswith("supplier,")


def test_more_jars_cost_more_and_the_form_remembers_them() -> None:
    few = paid(page("buying"))
    many = {**EDITED, "edited_rows": {0: {"jars": 400}}}
    at = find(page("buying", state={PRODUCTS: many}))
    assert paid(at) > few
    assert at.session_state[Key.PLAN].products[0]["jars"] == 400


def test_postage_is_paid_unless_the_goods_are_worth_enough() -> None:
    without = page("buying")
    (supplier,) = (name for name in table(without, "order")["order"] if not name.startswith("- "))
    row = {"supplier": supplier, "postage": 1.25}
    charged = find(page("buying", state={TERMS: {**EDITED, "added_rows": [row]}}))
    assert paid(charged) == pytest.approx(paid(without) + 1.25)
    free = find(page("buying", state={TERMS: {**EDITED, "added_rows": [row | {"free from": 20.0}]}}))
    assert paid(free) == pytest.approx(paid(without))
    assert "- postage, sent free" in list(table(free, "order")["order"])


def test_every_fault_of_the_plan_is_told_at_once() -> None:
    rows = [{"formula": "today"}, {"jars": 3}]
    terms = [{"postage": 2}]
    at = page("buying", state={
        PRODUCTS: {**EDITED, "added_rows": rows}, TERMS: {**EDITED, "added_rows": terms},
    })  # fmt: skip
    told = texts(find(at).markdown).replace("\\", "")
    assert "row 2: nothing under jars, g each" in told
    assert "row 3: nothing under formula, g each" in told
    assert "Terms, row 1: no supplier is named" in told
    assert not at.metric


def test_a_formula_that_is_gone_from_the_bench_is_named() -> None:
    row = {"formula": "softer", "jars": 3.0, "g each": 150.0}
    at = page("buying", state={Key.PLAN: Wanted(1, (row,), (), datetime.date(2026, 11, 25), 0.0)})
    assert "row 1: softer is not on the bench" in texts(at.markdown).replace("\\", "")
    assert not at.metric


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Workshop]:
    """A workshop of one's own without a record."""
    monkeypatch.setenv(WORKSHOP_VARIABLE, str(tmp_path))
    with Workshop.open(tmp_path) as workshop:
        yield workshop


def test_what_cannot_be_had_is_named(own: Workshop) -> None:
    day = datetime.date(2026, 11, 1)
    own.add(Offer(ingredient="glycerin", supplier="Tarn Mill", pack=1.0, price=4.0, currency="EUR", date=day))
    at = page("buying")
    assert "neither in stock nor on offer" in texts(at.error)
    lacking = table(at, "missing")
    assert "mango butter" in list(lacking["missing"])
    assert "glycerin" not in list(lacking["missing"])
    assert not at.metric


def test_without_offers_the_page_says_where_to_keep_them(own: Workshop) -> None:
    assert not own.read(Offer)
    assert "No offers are saved yet" in texts(page("buying").info)


def test_the_range_page_chooses_formulas_and_packs() -> None:
    at = page("range")
    assert not at.exception
    assert "no other choice costs less" in texts(at.markdown)
    at.toggle(key="common-base").set_value(True).run()
    assert "A common base takes two products or more." in texts(at.markdown)


def test_a_plan_that_nobody_has_handed_in_yet_is_asked_for_and_not_at_fault() -> None:
    no_jar = bench(lambda document: document.pop("jar"))
    at = page("range", no_jar)
    assert not at.error
    assert "Fill in what is made" in texts(at.info)
    assert "nothing under g each" in texts(find(at).markdown)


def test_the_range_page_uses_up_a_stock_on_a_base_that_two_products_share() -> None:
    small = {"formula": "today", "jars": 30.0, "g each": 50.0}
    at = page("range", state={ON_RANGE: {**EDITED, "added_rows": [small]}})
    find(at)
    at.toggle(key="common-base").set_value(True).run()
    at.selectbox(key="use-up").set_value("cocoa butter").run()
    assert not at.exception
    told = " ".join(texts(at.markdown).split())
    assert "share one base; beside it each has its own lines" in told
    assert "cocoa butter in stock" in told
    assert "the most that can with a common base" in told


def test_the_range_page_is_told_which_lines_are_no_part_of_the_base() -> None:
    small = {"formula": "today", "jars": 30.0, "g each": 50.0}
    at = find(page("range", state={ON_RANGE: {**EDITED, "added_rows": [small]}}))
    assert not at.multiselect
    at.toggle(key="common-base").set_value(True).run()
    assert "beside it fragrance oil 0.60." in texts(at.markdown)
    at.multiselect(key="own-lines").set_value(["sea salt, fine"]).run()
    assert not at.exception
    assert "beside it sea salt, fine 32.00." in texts(at.markdown)


def test_what_the_range_page_is_asked_is_held() -> None:
    at = page("range")
    at.toggle(key="common-base").set_value(True).run()
    at.multiselect(key="own-lines").set_value(["sea salt, fine"])
    at.selectbox(key="use-up").set_value("cocoa butter").run()
    there = page("range", state={Key.FIELDS: at.session_state[Key.FIELDS]})
    assert there.toggle(key="common-base").value
    assert there.multiselect(key="own-lines").value == ["sea salt, fine"]
    assert there.selectbox(key="use-up").value == "cocoa butter"


@pytest.mark.parametrize("narrow", [False, True])
def test_what_is_planned_on_buying_stands_on_range_too(narrow: bool) -> None:
    """Both pages have the same controls: one begins with what is planned, not with what the other page's forgot."""
    at = AppTest.from_file(str(UI / "app.py"), default_timeout=60)
    at.session_state[NARROW] = narrow
    for name in ("buying", "range"):
        at.switch_page(f"views/{name}.py").run()
        assert not at.exception, at.exception
        (day,) = at.date_input
        assert day.value == clock.today(), name
        (left,) = (each for each in at.number_input if each.label.startswith("Leftovers"))
        assert left.value == 0, name
        jars = [each.value for each in at.number_input if each.label == "jars"]
        assert jars == ([JARS, None] if narrow else []), name
