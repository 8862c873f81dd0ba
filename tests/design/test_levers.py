"""What one point more of a line does, against the exact curve of that line and against firmness itself."""

import pytest

from optiform.brief.file import read_brief
from optiform.design.design import Best, best
from optiform.design.explore import TradeOff, explore_limit
from optiform.design.levers import levers, stiffening
from optiform.ingredients.formula import mixed
from optiform.properties.firmness import firmness_band
from optiform.reading.paths import DEMO


@pytest.fixture(scope="module")
def demo() -> Best:
    answer = best(read_brief(DEMO / "brief.toml"))
    assert isinstance(answer, Best)
    return answer


@pytest.mark.parametrize("name", ["glycerin", "shea butter, refined"])
def test_a_point_more_costs_what_the_exact_curve_of_the_line_says(demo: Best, name: str) -> None:
    share = 100 * demo.formula.fraction(name)
    curve = explore_limit(demo.brief, name, "exactly", share + 1, share + 1)
    assert isinstance(curve, TradeOff)
    cost = {lever.ingredient: lever.cost for lever in levers(demo)}[name]
    assert cost == pytest.approx(curve.value_at(share + 1) - demo.value, abs=1e-7)


def test_a_line_that_is_fixed_gives_way_and_one_at_its_legal_limit_does_not(demo: Best) -> None:
    costs = {lever.ingredient: lever.cost for lever in levers(demo)}
    assert demo.brief.ranges[[item.name for item in demo.brief.mix.ingredients].index("fragrance oil")].high == 0.006
    assert costs["fragrance oil"] is not None
    assert costs["fragrance oil"] > 0.9, "it costs 96 EUR/kg, and a point of it takes the place of a point of others"
    assert costs["phenoxyethanol + ethylhexylglycerin"] is None


def test_firmness_of_a_point_more_is_that_of_the_formula_with_a_point_more() -> None:
    parts = {"shea butter, refined": 60.0, "beeswax": 15.0, "olive oil": 25.0}
    more = {name: amount * 84 / 85 for name, amount in parts.items()} | {"beeswax": 16.0}
    known = firmness_band(mixed(more), mixed(parts), 20.0)
    assert known is not None
    assert stiffening(mixed(parts))["beeswax"] == pytest.approx(known.typical - 100, abs=1e-6)


def test_what_no_network_carries_has_no_firmness_to_change() -> None:
    assert stiffening(mixed({"water": 70, "olive oil": 20, "cetyl alcohol": 10})) == {}
    assert stiffening(mixed({"shea butter, refined": 80, "beeswax": 20}), "lotion") == {}
