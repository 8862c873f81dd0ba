"""Which limits an answer could miss because figures are ranges, and what being sure of them costs."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

import optiform
from optiform.brief.brief import Brief, Range
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest
from optiform.design.answer import Designed, Unsure
from optiform.design.design import design
from optiform.design.protect import Protected, protect
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.registry import find_property
from optiform.telling import json as jsonform
from optiform.telling.design import designed
from tests.builders import brief_of, ingredient, limit
from tests.shelves import random_brief

DEMO = read_brief(Path(optiform.__file__).parent / "demo" / "brief.toml")
WATER = ingredient("water", 0.0, "water", {"power": 0.0, "scent": 0.0})


def doubtful(name: str, price: float, low: float, typical: float, high: float) -> Ingredient:
    """An active whose power is known within a range."""
    item = ingredient(name, price, figures={"scent": 1.0})
    power = Value(low, typical, high, "-", "own file", Evidence.OWN)
    return replace(item, values={**item.values, ("power", None): power})


STRONG, WEAK = doubtful("strong", 20.0, 8.0, 10.0, 12.0), ingredient("weak", 13.0, figures={"power": 6.0, "scent": 1.0})
THREE = {"power": (3.0, None)}


def answered(brief: Brief) -> Designed:
    answer = design(brief)
    assert isinstance(answer, Designed)
    return answer


def asked(answer: Designed) -> Unsure:
    assert answer.unsure is not None
    return answer.unsure


def sentence(answer: Designed) -> str:
    (first,) = (words for words in designed(answer).sentences if words.startswith("Could be missed"))
    (price,) = (words for words in designed(answer).sentences if "sure of" in words)
    return f"{first} {price}"


def test_the_price_of_being_sure_is_that_of_the_best_formula_that_is() -> None:
    """3 of power: 0.3 of the strong one, 6.00, is 2.4 at its least. Sure is 0.5 of the weak one, 6.50."""
    answer = answered(brief_of([STRONG, WEAK, WATER], THREE))
    found = asked(answer)
    ((demand, worst),) = found.limits
    assert demand.words == "power at least 3"
    assert worst == pytest.approx(0.3 * 8)
    assert found.price == pytest.approx(0.5)
    assert (found.budget, found.at_most, found.decided) == (None, False, True)
    assert sentence(answer) == (
        "Could be missed, as figures are ranges: power (2.4, not 3). To be sure of it would cost 0.5 EUR/kg more."
    )
    told = jsonform.designed(answer)["unsure"]
    assert told["limits"][0]["worst"] == pytest.approx(2.4)
    assert (told["figures"], told["price"]) == ("all", pytest.approx(0.5))
    assert told["text"] == sentence(answer)


def test_a_limit_that_holds_at_its_worst_is_not_spoken_of() -> None:
    exact = answered(brief_of([WEAK, WATER], THREE))
    assert exact.unsure is None
    assert "Could be missed" not in " ".join(designed(exact).sentences)
    assert jsonform.designed(exact)["unsure"] is None
    far = answered(brief_of([STRONG, WATER], {"power": (3.0, None), "scent": (0.4, None)}))  # 0.4 x 8 = 3.2
    assert far.unsure is None


def test_only_what_could_be_missed_is_protected_and_priced() -> None:
    """4 to 5.5 of power: 0.4 x 8 = 3.2 can miss the one, 0.4 x 12 = 4.8 not the other."""
    answer = answered(brief_of([STRONG, WATER], {"power": (4.0, 5.5)}))
    found = asked(answer)
    assert [demand.words for demand, _ in found.limits] == ["power at least 4"]
    assert found.price == pytest.approx(20 * (0.5 - 0.4)), "half of it is 4 at least, and may be 6"


def test_where_nothing_is_sure_it_is_said() -> None:
    answer = answered(brief_of([STRONG, WATER], THREE, {"strong": Range(0.0, 0.3, "brief")}))
    found = asked(answer)
    assert (found.price, found.decided) == (None, True)
    assert sentence(answer).endswith("No formula is sure of it, not even if only one figure in each is wrong.")


def test_where_not_all_figures_can_be_wrong_one_is() -> None:
    """Two kinds, at most 0.2 of each: 10 x 0.15 + 10 x 0.15 = 3. At worst 8 x 0.4 = 3.2 is sure, but for its most."""
    other = replace(doubtful("other", 20.5, 8.0, 10.0, 12.0))
    ranges = {"strong": Range(0.0, 0.18, "brief"), "other": Range(0.0, 0.18, "brief")}
    answer = answered(brief_of([STRONG, other, WATER], THREE, ranges))
    found = asked(answer)
    assert found.budget == 1
    assert found.price is not None
    assert found.price > 0
    words = (
        "No formula is sure of it with every figure at its worse end. To be sure with any one figure wrong would cost"
    )
    assert words in sentence(answer)


def test_the_goal_is_named_where_it_is_not_the_cost() -> None:
    goal = Highest(find_property("share of water", "EUR"))
    answer = answered(brief_of([STRONG, WATER], THREE, goal=goal))
    assert asked(answer).price == pytest.approx(100 * (3 / 8 - 3 / 10))
    assert sentence(answer).endswith("To be sure of it would make the goal worse by 7.5 % of the jar.")


def test_the_demo_says_what_exploring_says() -> None:
    """No formula of the demo is sure of all; with one wrong in each limit, the price is near that of `--protect 1`."""
    found = asked(answered(DEMO))
    assert {demand.name for demand, _ in found.limits} == {
        "humectant active",
        "solid fat at 10 degC",
        "solid fat at 30 degC",
        "structuring solids at 20 degC",
        "structuring solids at 35 degC",
    }
    whole = protect(DEMO, 1)
    assert isinstance(whole, Protected)
    assert not isinstance(protect(DEMO), Protected)
    assert found.budget == 1
    assert found.at_most
    assert found.price is not None
    assert whole.price <= found.price * (1 + 1e-9), "the answer's own way may not be the cheapest one to be sure"
    assert found.price == pytest.approx(whole.price, rel=0.01)


def test_what_bends_is_priced_as_a_bound() -> None:
    candidates = list(DEMO.mix.ingredients)
    bent = replace(DEMO, limits=(*DEMO.limits, limit("water activity", candidates, high=0.75)))
    answer = answered(bent)
    assert asked(answer).at_most
    assert "No formula near this one is sure of them with every figure at its worse end" in sentence(answer)
    assert re.search(r"wrong would cost at most [\d.]+ EUR/kg more", sentence(answer))


def test_beside_limits_that_bend_the_search_for_what_is_sure_begins_at_the_answer() -> None:
    """From further off it goes round: what being sure costs was not told."""
    bent, _ = random_brief(16, 30, 2)
    answer = answered(bent)
    found = asked(answer)
    assert found.decided
    assert found.price is not None
    assert found.price > 0
