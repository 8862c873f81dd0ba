"""What the last jars cost, against every number of jars and the packs for each, chosen one by one."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest

from optiform.program.purchase import Shopping, choose
from optiform.program.staircase import Stair, staircase
from tests.program.test_purchase import at_random
from tests.sweeps import enough, sweep


def case(seed: int) -> tuple[Shopping, list[list[float]], list[int]]:
    """Random offers, one or two products of up to six jars, and what is lacking of a stock that does for some."""
    rng = np.random.default_rng(seed)
    shopping = at_random(seed)
    jars = [int(count) for count in rng.integers(1, 7, size=int(rng.integers(1, 3)))]
    uses = np.round(rng.uniform(0, 0.6, (len(shopping.lacking), len(jars))), 3)
    stock = np.round(rng.uniform(0, 1.0, len(uses)), 3)
    lacking = tuple(float(max(0.0, round(kg, 6))) for kg in uses @ jars - stock)
    return replace(shopping, lacking=lacking, worth=(0.0,) * len(lacking)), uses.tolist(), jars


def by_trying(shopping: Shopping, uses: list[list[float]], jars: list[int]) -> list[float]:
    """The least money by the number of jars left out, from none to all."""
    least = [np.inf] * (sum(jars) + 1)
    for left_out in product(*(range(count + 1) for count in jars)):
        lacking = np.array(shopping.lacking) - np.array(uses) @ left_out
        rest = tuple(float(kg) if kg > 1e-9 else 0.0 for kg in lacking)
        chosen = choose(replace(shopping, lacking=rest))
        assert chosen is not None
        least[sum(left_out)] = min(least[sum(left_out)], chosen.money)
    return [min(least[: k + 1]) for k in range(len(least))]


pytestmark = pytest.mark.sweep
SEEDS = sweep(range(25))


@pytest.mark.parametrize("seed", SEEDS)
def test_every_step_is_where_trying_each_number_of_jars_has_it(seed: int) -> None:
    shopping, uses, jars = case(seed)
    least = by_trying(shopping, uses, jars)
    falls = [k for k in range(len(least)) if k == 0 or least[k] < least[k - 1] - 0.005]
    steps = list(staircase(shopping, uses, jars))
    assert [(sum(step.left_out), round(step.money, 4)) for step in steps] == [(k, round(least[k], 4)) for k in falls]


@pytest.mark.long
def test_some_of_the_random_cases_have_several_steps() -> None:
    counts = [len(list(staircase(*case(seed)))) for seed in SEEDS]
    assert sum(count >= 3 for count in counts) >= enough(8)


def test_where_nothing_lacks_there_is_one_step_that_costs_nothing() -> None:
    shopping, uses, jars = case(3)
    none = replace(shopping, lacking=(0.0,) * len(shopping.lacking))
    assert list(staircase(none, uses, jars)) == [Stair((0,) * len(jars), (0,) * len(none.packs), 0.0)]


def test_what_is_not_on_offer_leaves_the_jars_that_the_stock_does_for() -> None:
    """0.5 kg lack of an ingredient that nobody sells, at 0.2 kg a jar: three jars stay away, whatever is paid."""
    shopping, _, _ = case(0)
    lacking = (0.5, *(0.0 for _ in shopping.lacking[1:]))
    bare = replace(shopping, lacking=lacking, packs=tuple(pack for pack in shopping.packs if pack.ingredient != 0))
    uses = [[0.2], *([0.0] for _ in lacking[1:])]
    (step,) = staircase(bare, uses, [10])
    assert (step.left_out, step.money) == ((3,), 0.0)
