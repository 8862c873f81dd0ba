"""Rules as disjunctions, against every combination of their ways solved on its own by scipy's linprog."""

from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief
from optiform.brief.limits import Range
from optiform.ingredients.ingredient import Evidence
from optiform.program.optimum import best_formula
from optiform.program.reachable import open_branches, weights
from optiform.program.usual import requirements
from optiform.rules.forms import Bound, Either, Rule, absent
from tests.builders import Vector, brief_of, ingredient
from tests.sweeps import cases

NAMES = [f"item {k}" for k in range(9)]


def rule(name: str) -> Rule:
    return Rule(name, "charge", "stop", name, "They precipitate.", Evidence.PRACTICE)


def random_brief(seed: int) -> Brief:
    rng = np.random.default_rng(seed)
    items = [ingredient(name, float(price), "oil") for name, price in zip(NAMES, rng.uniform(0.5, 9, 9), strict=True)]
    ranges = {name: (0.0, float(rng.uniform(20, 60))) for name in NAMES}
    ranges[NAMES[int(rng.integers(9))]] = (float(rng.uniform(1, 10)), 60.0)
    brief = brief_of(items, {"cost": (float(rng.uniform(1, 3)), None)})
    ends = tuple(Range(ranges[name][0] / 100, ranges[name][1] / 100, "brief") for name in NAMES)
    return replace(brief, ranges=ends)


def random_rules(seed: int) -> tuple[Either, ...]:
    """Clashes of two groups, needs of one for so much of another, and acidities of three intervals."""
    rng = np.random.default_rng(1000 + seed)

    def group() -> list[str]:
        return [str(name) for name in rng.choice(NAMES, int(rng.integers(1, 4)), replace=False)]

    def amount(words: str, names: list[str], side: str, target: float) -> Bound:
        return Bound(words, tuple((name, 1.0) for name in names), "low" if side == "low" else "high", target)

    clashes = [((absent("one", group()),), (absent("other", group()),)) for _ in range(4)]
    needs = [
        ((amount("less", group(), "high", 0.05),), (amount("enough", group(), "low", float(rng.uniform(0.02, 0.2))),))
        for _ in range(3)
    ]
    acid = tuple((absent(f"not at pH {k}", group()),) for k in range(3))
    return tuple(Either(rule(f"rule {k}"), ways) for k, ways in enumerate([*clashes, *needs, acid]))


def least_cost(brief: Brief, rules: tuple[Either, ...]) -> float | None:
    """The least cost over the product of all ways."""
    cost = np.array([item.price_in("EUR").figure for item in brief.mix.ingredients])  # type: ignore[union-attr]
    bounds = [(ends.low, ends.high) for ends in brief.ranges]
    own: list[tuple[Vector, float]] = [(-cost, -float(brief.limits[0].low or 0))]
    best = None
    for ways in product(*(either.ways for either in rules)):
        rows = own + [
            (sign * weights(bound, brief.mix), sign * bound.target)
            for way in ways
            for bound in way
            for sign in [1.0 if bound.side == "high" else -1.0]
        ]
        a, b = np.array([row for row, _ in rows]), np.array([end for _, end in rows])
        solved = linprog(cost, A_ub=a, b_ub=b, A_eq=np.ones((1, 9)), b_eq=[1.0], bounds=bounds)
        if solved.status == 0 and (best is None or solved.fun < best):
            best = float(solved.fun)
    return best


@pytest.mark.parametrize("seed", cases(range(12), 2, 5))
def test_the_best_formula_is_the_best_of_every_combination_of_ways_to_keep_the_rules(seed: int) -> None:
    brief, rules = random_brief(seed), random_rules(seed)
    best = best_formula(brief, requirements(brief, rules)).best
    expected = least_cost(brief, rules)
    if expected is None:
        assert best is None
        return
    assert best is not None
    x = best[1].x
    assert float(best[1].value) == pytest.approx(expected, rel=1e-7)
    for either in rules:
        assert any(all(_met(bound, x, brief) for bound in way) for way in either.ways)


def _met(bound: Bound, x: Vector, brief: Brief) -> bool:
    value = float(weights(bound, brief.mix) @ x)
    return value <= bound.target + 1e-9 if bound.side == "high" else value >= bound.target - 1e-9


def test_a_rule_that_no_formula_of_the_lines_can_break_is_not_branched_on() -> None:
    brief = random_brief(0)
    never = Either(rule("never"), ((absent("not here", ["no such thing"]),), (absent("item", NAMES[:1]),)))
    assert list(open_branches(brief, [never])) == []


def test_a_way_that_no_formula_of_the_lines_can_go_is_left_out() -> None:
    brief = random_brief(1)
    (pinned,) = (name for name, ends in zip(NAMES, brief.ranges, strict=True) if ends.low > 0)
    other = next(name for name in NAMES if name != pinned)
    clash = Either(rule("clash"), ((absent("a", [pinned]),), (absent("b", [other]),)))
    ((_, ways),) = open_branches(brief, [clash])
    assert ways == ((absent("b", [other]),),)


def test_the_reach_of_a_sum_is_that_of_linear_programming() -> None:
    for seed in range(5):
        brief = random_brief(seed)
        bounds = [(ends.low, ends.high) for ends in brief.ranges]
        for names in combinations(NAMES, 2):
            on = np.array([float(name in names) for name in NAMES])
            most = -linprog(-on, A_eq=np.ones((1, 9)), b_eq=[1.0], bounds=bounds).fun
            sharp = Either(rule("sharp"), ((Bound("two", tuple((n, 1.0) for n in names), "high", most + 1e-7),),))
            broken = Either(rule("broken"), ((Bound("two", tuple((n, 1.0) for n in names), "high", most - 1e-7),),))
            assert list(open_branches(brief, [sharp])) == []
            assert [either for either, _ in open_branches(brief, [broken])] == [broken]


def test_what_is_usual_may_give_way_and_closes_no_way() -> None:
    brief = random_brief(1)
    usual = replace(brief, ranges=(*tuple(Range(0.0, 0.05, "usual") for _ in NAMES[:-1]), Range()))
    scarce = Either(rule("scarce"), ((Bound("last", ((NAMES[-1], 1.0),), "high", 0.2),), (absent("first", NAMES[:1]),)))
    ((_, ways),) = open_branches(usual, [scarce])
    assert ways == scarce.ways
