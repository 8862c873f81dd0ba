"""A limit of several pieces is one limit: one price, one range, one repair."""

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.program.pieces import joined
from optiform.program.search import BestFormula, search
from optiform.program.solver import solve
from optiform.program.usual import requirements
from optiform.properties.solubility import solubility
from tests.builders import brief_of, ingredient

WATER = ingredient("water", 0.5, "water", {"water": 100.0})
SALT = ingredient("salt", 2.0, "grain", solute="sodium chloride")
OIL = ingredient("oil", 0.2, "oil")
HELD = solubility("sodium chloride", 20.0)  # g in a g of water


def salty(least: float, **limits: tuple[float | None, float | None]) -> Brief:
    """At least so much salt dissolved: so much salt, and the water that holds it; cheap oil takes the rest."""
    wanted = {
        "dissolved salt at 20 degC": (least, None),
        **{key.replace("_", " "): ends for key, ends in limits.items()},
    }
    return brief_of([WATER, SALT, OIL], wanted)


def test_a_limit_whose_pieces_all_bind_has_one_price_and_one_range() -> None:
    """One point more is one point of salt and 1 / HELD points of water in the place of oil."""
    answer = design(salty(5.0))
    assert isinstance(answer, Designed)
    assert [each.demand.name for each in answer.binding] == ["dissolved salt at 20 degC"]
    (binding,) = answer.binding
    price = ((2.0 - 0.2) + (0.5 - 0.2) / HELD) / 100
    assert binding.price == pytest.approx(price)
    assert binding.tighter == pytest.approx(price)
    most = 100 / (1 + 1 / HELD)  # all salt and water
    assert (binding.valid_from, binding.valid_to) == pytest.approx((0.0, most))


def test_the_repair_of_such_a_limit_moves_it_as_a_whole() -> None:
    """At most 10 % water hold 10 HELD % of salt, and no more than 3 % of salt is there: 3 is what can be asked."""
    answer = design(salty(5.0, share_of_water=(None, 10.0), share_of_grain=(None, 3.0)))
    assert isinstance(answer, NoFormula)
    targets = {change.demand.name: change.target for repair in answer.repairs if len(repair) == 1 for change in repair}
    assert targets["dissolved salt at 20 degC"] == pytest.approx(min(3.0, 10 * HELD), rel=1e-4)


def test_joined_rows_allow_the_same_formulas() -> None:
    """Whatever the goal: the best is the same with the rows of the pieces and with the one row of the limit."""
    brief = salty(5.0, share_of_oil=(10.0, None))
    asked = requirements(brief).branch({})
    found = search(brief, asked)
    assert isinstance(found, BestFormula)
    one = joined(found.program, asked)
    assert sum(row.key is not None for row in one.rows) == sum(row.key is not None for row in found.program.rows) - 1
    rng = np.random.default_rng(3)
    for _ in range(20):
        cost = rng.normal(size=3)
        before, after = solve(found.program.with_cost(cost)), solve(one.with_cost(np.append(cost, 0.0)))
        assert after.value == pytest.approx(before.value, abs=1e-9)


def test_a_ratio_of_several_pieces_is_one_too() -> None:
    """Undissolved grains by volume, at most: the salt that is over, and that without it."""
    pumice = ingredient("pumice", 0.1, "grain", {"density": 2.4})
    items = [
        ingredient("water", 0.9, "water", {"water": 100.0, "density": 1.0}),
        ingredient("salt", 0.3, "grain", {"density": 2.16}, solute="sodium chloride"),
        ingredient("oil", 5.0, "oil", {"density": 0.92}),
        pumice,
    ]
    limits = {
        "grain volume fraction at 20 degC": (None, 0.3),
        "share of water": (20.0, None),
        "share of oil": (5.0, None),
    }
    answer = design(brief_of(items, limits))
    assert isinstance(answer, Designed)
    names = [each.demand.name for each in answer.binding]
    assert names.count("grain volume fraction at 20 degC") == 1
    binding = next(each for each in answer.binding if each.demand.name.startswith("grain"))
    gains = []
    for target in (0.3 + 1e-5, 0.3 - 1e-5):
        moved = design(brief_of(items, {**limits, "grain volume fraction at 20 degC": (None, target)}))
        assert isinstance(moved, Designed)
        gains.append((answer.objective - moved.objective) / (target - 0.3))
    assert binding.price == pytest.approx(gains[0], rel=1e-3)
    assert binding.tighter == pytest.approx(gains[1], rel=1e-3)
