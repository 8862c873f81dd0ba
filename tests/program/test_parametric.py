"""Curves, price lists and ranges over every branch, against the brief designed anew at each value."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design.alternatives import Alternatives, alternatives
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.design.explore import TradeOff, explore_limit
from optiform.design.facts import Fact
from optiform.design.price_moves import PriceUncertainty, price_uncertainty
from optiform.program import parametric
from optiform.program.build import Branch
from optiform.program.parametric import lowest
from optiform.program.scenarios import Scenarios, best_under
from optiform.program.search import BestFormula, search
from optiform.program.usual import requirements
from optiform.properties.base import Mix
from optiform.reading.faults import Unsettled
from tests.builders import Vector
from tests.program.test_optimum import costing, random_brief
from tests.sweeps import cases

#: Random briefs that can be met; `curve_of` says if one no longer can.
SEEDS = [2, 5, 6, 12, 18, 19, 21, 23]


def cost_of(brief: Brief) -> float:
    answer = design(brief)
    return answer.objective if isinstance(answer, Designed) else np.inf


def curve_of(seed: int) -> TradeOff:
    curve = explore_limit(random_brief(seed), "share of water", "low", 0.0, 70.0)
    assert isinstance(curve, TradeOff)
    return curve


@pytest.mark.parametrize("seed", cases(SEEDS, 1, 4))
def test_a_curve_is_the_best_of_every_branch_at_every_target(seed: int) -> None:
    curve = curve_of(seed)
    assert Fact.ONE_WAY not in curve.notes
    for target in np.linspace(0.3, 69.7, 8):
        again = cost_of(random_brief(seed).with_limit("share of water", low=float(target)))
        inside = curve.fits is not None and curve.fits[0] <= target <= curve.fits[1]
        assert inside == np.isfinite(again)
        if inside:
            assert curve.value_at(float(target)) == pytest.approx(again, rel=1e-6)


def test_some_curves_are_of_several_branches() -> None:
    """Else the test above would prove nothing: the price of a curve of one branch only rises."""

    def falls(seed: int) -> bool:
        prices = [price for stretch in curve_of(seed).stretches for price in stretch.prices]
        return any(after < before - 1e-9 for before, after in pairwise(prices))

    assert sum(map(falls, SEEDS)) >= 2


@pytest.mark.parametrize("seed", cases(SEEDS[:4], 1))
def test_under_each_price_list_the_cheapest_is_that_of_every_branch(seed: int) -> None:
    brief = random_brief(seed)
    answer = design(brief)
    assert isinstance(answer, Designed)
    costs = answer.program.cost * np.exp(0.5 * np.random.default_rng(seed).standard_normal((8, len(brief.ranges))))

    def solve_branch(branch: Branch) -> Scenarios | None:
        found = search(brief, branch)
        return best_under(found.program, costs) if isinstance(found, BestFormula) else None

    found = lowest(requirements(brief), solve_branch)
    assert found is not None
    assert found.objectives == pytest.approx([cost_of(repriced(brief, row)) for row in costs], rel=1e-6)
    told = price_uncertainty(brief, 0.5, 40, seed=3)
    assert isinstance(told, PriceUncertainty)
    assert told.gap < 1e-6


def repriced(brief: Brief, prices: Vector) -> Brief:
    items = tuple(costing(item, float(price)) for item, price in zip(brief.mix.ingredients, prices, strict=True))
    return replace(brief, mix=Mix(items, brief.mix.phases))


@pytest.mark.parametrize("seed", cases(SEEDS[:4], 1))
def test_what_is_nearly_as_good_is_looked_for_in_every_branch(seed: int) -> None:
    brief = random_brief(seed)
    near = alternatives(brief, 10.0)
    assert isinstance(near, Alternatives)
    bound = near.value * 1.1 + 1e-9
    for row in near.leeway:
        low, high = (cost_of(asking(brief, row.ingredient, end)) for end in (row.low, row.high))
        assert max(low, high) <= bound * (1 + 1e-6)
        for end, outward in ((row.low, -0.2), (row.high, 0.2)):
            if 0.2 < end < 99.8:
                assert cost_of(asking(brief, row.ingredient, end + outward)) > bound * (1 - 1e-9)


def asking(brief: Brief, name: str, percent: float) -> Brief:
    return brief.with_limit(name, low=max(0.0, percent - 1e-5), high=min(100.0, percent + 1e-5))


def test_too_many_branches_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parametric, "MOST", 2)
    with pytest.raises(Unsettled, match="too many ways"):
        curve_of(SEEDS[0])
