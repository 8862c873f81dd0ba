"""What moving prices do to the demo's answer, with every figure computed again from the drawn prices."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import optiform
from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.price_moves import PriceModel, PriceUncertainty, UnderPrices, price_uncertainty
from optiform.program.build import Branch
from optiform.program.linear import Vector
from optiform.program.parametric import lowest
from optiform.program.scenarios import Scenarios, best_under
from optiform.program.search import BestFormula, search
from optiform.program.usual import requirements
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.telling.facts import in_words
from optiform.telling.noted import price_model
from tests.builders import brief_of, ingredient
from tests.sweeps import tier

DEMO = read_brief(Path(optiform.__file__).parent / "demo" / "brief.toml")
SPREAD, SCENARIOS, SEED = 0.2, {"": 250, "long": 500, "exhaustive": 2000}[tier()], 11

pytestmark = pytest.mark.sweep


def asked(
    brief: Brief = DEMO, spread: float = SPREAD, seed: int = SEED, shared: float = 0.0, scenarios: int = SCENARIOS
) -> PriceUncertainty:
    answer = price_uncertainty(brief, spread, scenarios, seed, shared)
    assert isinstance(answer, PriceUncertainty)
    return answer


@cache
def answered() -> PriceUncertainty:
    """What is looked at below."""
    return asked()


def prices() -> Vector:
    return np.array([item.values["price", None].figure for item in DEMO.mix.ingredients])


def drawn() -> Vector:
    rng = np.random.default_rng(SEED)
    rng.standard_normal(SCENARIOS)  # the part that all prices share
    return prices() * np.exp(SPREAD * rng.standard_normal((SCENARIOS, len(prices()))))


def shares(rival: UnderPrices) -> Vector:
    return np.array([rival.formula.fraction(item.name) for item in DEMO.mix.ingredients])


def test_the_chosen_formula_is_the_answer_at_typical_prices() -> None:
    designed = design(DEMO)
    assert isinstance(designed, Designed)
    assert answered().chosen.formula.lines == designed.report.formula.lines
    assert answered().chosen.typical == pytest.approx(designed.objective, rel=1e-9)


def test_the_bands_are_those_of_the_drawn_costs() -> None:
    for rival in (answered().chosen, *answered().rivals, answered().least_regret):
        spent = drawn() @ shares(rival)
        assert rival.cost_band == pytest.approx(tuple(np.quantile(spent, [0.05, 0.95])), rel=1e-6)
        assert rival.typical == pytest.approx(float(prices() @ shares(rival)), rel=1e-6)
    assert answered().best_band[0] <= answered().chosen.cost_band[0]
    assert answered().best_band[1] <= answered().chosen.cost_band[1]


def test_regret_is_the_distance_to_the_best_of_each_scenario() -> None:
    """Differences of mean regret are differences of mean cost, whatever the best of each scenario is."""
    mean = drawn().mean(axis=0)
    for rival in answered().rivals:
        apart = float(mean @ (shares(rival) - shares(answered().chosen)))
        assert rival.regret - answered().chosen.regret == pytest.approx(apart, abs=1e-7)
        assert 0 <= rival.regret <= rival.regret_95


@pytest.mark.exhaustive
def test_the_regret_that_is_rarely_passed_is_counted_again() -> None:
    """With the best of each scenario solved one by one."""

    def alone(branch: Branch) -> Scenarios | None:
        formula = search(DEMO, branch)
        return best_under(formula.program, drawn(), pool=False) if isinstance(formula, BestFormula) else None

    lists = lowest(requirements(DEMO), alone)
    assert lists is not None
    best = lists.objectives
    for rival in (answered().chosen, *answered().rivals, answered().least_regret):
        regret = drawn() @ shares(rival) - best
        assert rival.regret == pytest.approx(regret.mean(), abs=1e-7)
        assert rival.regret_95 == pytest.approx(np.quantile(regret, 0.95), abs=1e-7)
    assert answered().best_band == pytest.approx(tuple(np.quantile(best, [0.05, 0.95])), rel=1e-7)


def test_nothing_has_less_regret_than_the_formula_named_for_it() -> None:
    assert all(
        answered().least_regret.regret <= rival.regret + 1e-9 for rival in (answered().chosen, *answered().rivals)
    )


def test_where_one_price_is_wild_the_least_regret_is_another_formula() -> None:
    """A spread of 100 % lifts the mean price of the first from 1.00 by exp(0.5): the second at 1.05 is the choice."""
    items = [ingredient("wild oil", 1.0, "oil", {"price spread": 100.0}), ingredient("calm oil", 1.05, "oil")]
    brief = brief_of(items)
    answer = asked(brief, spread=0.0, scenarios=2000)
    assert [line.ingredient.name for line in answer.chosen.formula.lines] == ["wild oil"]
    assert [line.ingredient.name for line in answer.least_regret.formula.lines] == ["calm oil"]
    assert answer.chosen.regret > answer.least_regret.regret
    assert answer.distinct == 2
    best = {line.formula.lines[0].ingredient.name: line.share for line in answer.rivals}
    assert best["wild oil"] == pytest.approx(0.5195, abs=0.03)  # P(exp z < 1.05), the normal distribution at ln 1.05
    assert "0 to 100 %" in price_model(answer)


def test_frequencies_count_every_scenario_once() -> None:
    assert answered().scenarios == SCENARIOS
    counts = [rival.share for rival in answered().rivals]
    assert counts == sorted(counts, reverse=True)
    assert 0 < sum(counts) <= 1 + 1e-12
    same = [rival for rival in answered().rivals if np.abs(shares(rival) - shares(answered().chosen)).max() < 1e-6]
    assert [(rival.formula.name, rival.share) for rival in same] == [("answer", answered().chosen.share)]
    assert answered().gap <= 1e-9


def test_without_spread_today_s_answer_is_always_the_best() -> None:
    calm = asked(spread=0.0)
    assert (calm.chosen.share, calm.distinct) == (1.0, 1)
    assert calm.chosen.regret == pytest.approx(0.0, abs=1e-9)
    assert calm.best_band == pytest.approx((calm.chosen.typical, calm.chosen.typical), rel=1e-9)


def test_prices_that_move_together_change_the_cost_and_not_the_formula() -> None:
    together = asked(spread=0.0, shared=0.3)
    assert together.chosen.share == 1.0
    low, high = together.chosen.cost_band
    ends = np.exp(0.3 * 1.6449 * np.array([-1, 1])) * together.chosen.typical
    assert (low, high) == pytest.approx(tuple(ends), rel=0.05)
    assert "all prices together by 30 %" in price_model(together)


def test_the_same_seed_gives_the_same_answer() -> None:
    assert asked() == answered()
    assert asked(seed=SEED + 1).chosen.regret != answered().chosen.regret
    assert f"seed {SEED}" in price_model(answered())
    assert answered().seed == SEED


def test_the_typical_price_is_the_median() -> None:
    lists = PriceModel(np.array([0.1, 0.4]), 0.2, 3).draw(np.array([2.0, 8.0]), 40_000)
    assert np.median(lists, axis=0) == pytest.approx([2.0, 8.0], rel=0.02)
    assert np.log(lists).std(axis=0) == pytest.approx(np.hypot([0.1, 0.4], 0.2), rel=0.02)


def test_a_brief_that_nothing_fits_stays_impossible() -> None:
    oil = ingredient("oil", 5.0, "oil")
    brief = brief_of([oil], {"water phase": (10.0, None)})
    assert isinstance(price_uncertainty(brief, 0.1, 10), NoFormula)


def test_another_goal_and_numbers_without_sense_are_refused() -> None:
    other = replace(DEMO, goal=Highest(find_property("oil phase", "EUR")))
    with pytest.raises(BadInput, match="lowest cost"):
        price_uncertainty(other, 0.1, 10)
    for spread, scenarios, shared in ((-0.1, 10, 0.0), (0.1, 0, 0.0), (0.1, 10, -1.0)):
        with pytest.raises(BadInput, match="zero or more"):
            price_uncertainty(DEMO, spread, scenarios, shared=shared)


def test_limits_that_bend_are_told() -> None:
    """Water activity bends; with it the rivals count only near the answer."""
    water = ingredient("water", 0.1, "water", {"water": 100.0}, contains={"Aqua": 100})
    glycerin = ingredient("glycerin", 2.0, "humectant", {"water": 0.0}, contains={"Glycerin": 100})
    ends = {"water activity": (None, 0.9), "share of water": (40.0, None)}
    bent = asked(brief_of([water, glycerin, ingredient("oil", 5.0, "oil")], ends))
    assert len(bent.notes) == 1
    assert in_words(bent.notes[0]).startswith("water activity counted as near the answer")
    assert asked(brief_of([water, glycerin])).notes == ()
