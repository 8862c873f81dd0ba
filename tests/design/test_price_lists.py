"""One formula for several price lists: as near to the cheapest of each as a linear program by hand says."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.design.answer import NoFormula
from optiform.design.price_lists import ForAllPrices, for_all_prices
from optiform.ingredients.price_lists import PriceList, read_price_lists
from optiform.program.linear import Vector
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.telling.explore import explore as told
from tests.builders import brief_of, ingredient

SHELF = [
    ingredient("water", 1, "water"), ingredient("oil", 4, "oil"), ingredient("fine oil", 5, "oil"),
    ingredient("soft butter", 12, "butter"), ingredient("hard butter", 13, "butter"),
]  # fmt: skip


def wanted() -> Brief:
    return brief_of(SHELF, {"share of butter": (20.0, None), "water phase": (40.0, 60.0)})


def answered(found: ForAllPrices | NoFormula) -> ForAllPrices:
    assert isinstance(found, ForAllPrices)
    return found


WINTER, SUMMER = PriceList("winter", {"soft butter": 12.0}), PriceList("summer", {"soft butter": 20.0})


def test_one_formula_that_is_near_enough_everywhere_is_found() -> None:
    answer = answered(for_all_prices(wanted(), [WINTER, PriceList("dear", {"soft butter": 13.5})]))
    assert answer.near_enough
    assert answer.worst <= 0.02
    words = " ".join(told("a brief", [answer]).sentences)
    assert "One formula is within 2 % of the cheapest in all 2 price lists" in words
    assert "Checked: any other formula is at least as far" in words


def test_where_there_is_none_the_nearest_is_told_with_how_near() -> None:
    dear = PriceList("dear hard butter", {"hard butter": 40.0, "soft butter": 4.0})
    answer = answered(for_all_prices(wanted(), [SUMMER, dear]))
    assert not answer.near_enough
    words = " ".join(told("a brief", [answer]).sentences)
    assert "No one formula is within 2 % of the cheapest in all 2 price lists." in words
    assert f"The nearest is at worst {100 * answer.worst:.1f} % dearer" in words


def by_hand(prices: Vector) -> float:
    """The least worst share above the cheapest, by two linear programs written here."""
    within = np.array([[-float(x.functions[0] == "butter") for x in SHELF], [-1.0, 0, 0, 0, 0], [1.0, 0, 0, 0, 0]])
    most = [-0.2, -0.4, 0.6]
    ones = np.ones((1, 5))
    least = [linprog(row, within, most, ones, [1.0]).fun for row in prices]
    rows = np.hstack([prices / np.array(least)[:, None], -np.ones((len(prices), 1))])
    above = np.vstack([rows, np.hstack([within, np.zeros((3, 1))])])
    found = linprog([0, 0, 0, 0, 0, 1], above, [*np.ones(len(prices)), *most], [[1, 1, 1, 1, 1, 0]], [1.0])
    return float(found.fun)


@pytest.mark.parametrize("seed", range(8))
def test_it_is_as_near_as_a_program_by_hand_says(seed: int) -> None:
    prices = np.random.default_rng(seed).uniform(1, 20, (3, 5))
    lists = [
        PriceList(f"list {k}", dict(zip([x.name for x in SHELF], row, strict=True))) for k, row in enumerate(prices)
    ]
    answer = answered(for_all_prices(wanted(), lists))
    assert answer.worst == pytest.approx(by_hand(prices), abs=1e-6)
    assert max(row.above for row in answer.lists) == pytest.approx(answer.worst)
    assert answer.worst <= max(row.today_above for row in answer.lists) + 1e-9


def test_lists_are_columns_of_a_table_or_tables_of_their_own(tmp_path: Path) -> None:
    catalogue = wanted().catalogue
    seasons, dear = tmp_path / "seasons.csv", tmp_path / "dear.csv"
    seasons.write_text("ingredient,winter,summer\nsoft butter,12.50,18\noil,,5 EUR/kg\n", encoding="utf-8")
    dear.write_text("ingredient,price\noil,9\n", encoding="utf-8")
    lists = read_price_lists([seasons, dear], catalogue, "EUR")
    assert [(x.name, dict(x.prices)) for x in lists] == [
        ("winter", {"soft butter": 12.5}),
        ("summer", {"soft butter": 18.0, "oil": 5.0}),
        ("dear", {"oil": 9.0}),
    ]


def test_every_fault_of_the_lists_is_told(tmp_path: Path) -> None:
    seasons = tmp_path / "seasons.csv"
    seasons.write_text("ingredient,winter\nsoft buter,12\noil,cheap\nwater,-1\n", encoding="utf-8")
    with pytest.raises(BadInput) as bad:
        read_price_lists([seasons], wanted().catalogue, "EUR")
    assert [fault.place for fault in bad.value.faults] == [
        "row 2, column ingredient", "row 3, column winter", "row 4, column winter",
    ]  # fmt: skip


def test_another_goal_than_cost_is_refused() -> None:
    other = replace(wanted(), goal=Lowest(find_property("oil phase", "EUR")))
    with pytest.raises(BadInput, match="lowest cost: only then do prices matter"):
        for_all_prices(other, [WINTER])
