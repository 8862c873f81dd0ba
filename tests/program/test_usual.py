"""What is usual gives way by the least sum of relative breaches, against the same linear program set up for scipy."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief
from optiform.brief.limits import Range
from optiform.brief.usual import UsualLimit
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.program.build import firm_requirements
from optiform.program.reachable import most_notes, rules_of, undosed
from optiform.program.usual import requirements, usual_of
from optiform.properties.registry import find_property
from tests.builders import brief_of, ingredient
from tests.kind_shelves import bare_brief, random_shelf
from tests.sweeps import cases

FUNCTIONS = ("water", "humectant", "emulsifier", "oil", "butter", "active")


def usual(function: str, low: float | None, high: float | None, size: float = 2.0) -> UsualLimit:
    return UsualLimit(find_property(f"share of {function}", "EUR"), low, high, size, 1.0, needed=False, if_used=False)


def random_brief(seed: int) -> Brief:
    """Two ingredients for each of six functions, each share with a usual range, and limits often against them."""
    rng = np.random.default_rng(seed)
    items = [ingredient(f"{f} {k}", float(rng.uniform(1, 9)), f) for f in FUNCTIONS for k in range(2)]
    limits: dict[str, tuple[float | None, float | None]] = {}
    for function in rng.permutation(FUNCTIONS)[:3]:
        middle = float(rng.uniform(5, 30))
        limits[f"share of {function}"] = (middle, middle + 10)
    ranges = {item.name: Range(0.0, float(rng.uniform(0.05, 0.5)), "usual") for item in items[::3]}
    brief = brief_of(items, limits, ranges)
    rows = []
    for function in FUNCTIONS:
        low, size = float(rng.uniform(0, 15)), float(rng.uniform(0.5, 5))
        rows.append(usual(function, low, low + 2 * size, size))
    return replace(brief, usual=tuple(rows))


def least_breach(brief: Brief) -> float | None:
    """The least sum over usual ends of the breach over its size, by scipy; None where the brief's own limits clash."""
    items, count = brief.mix.ingredients, len(brief.mix.ingredients)
    share = {f: np.array([100.0 * (item.functions[0] == f) for item in items]) for f in FUNCTIONS}
    hard: list[tuple[np.ndarray, float]] = []
    for limit in brief.limits:
        row = share[limit.property.name.removeprefix("share of ")]
        hard += [(-row, -float(limit.low or 0)), (row, float(limit.high or 100))]
    soft: list[tuple[np.ndarray, float, float]] = []
    for wanted in brief.usual:
        row = share[wanted.property.name.removeprefix("share of ")]
        assert wanted.low is not None
        assert wanted.high is not None
        soft += [(-row, -wanted.low, wanted.size), (row, wanted.high, wanted.size)]
    for j, span in enumerate(brief.ranges):
        if span.source == "usual":
            soft.append((100 * np.eye(count)[j], 100 * span.high, 50 * span.high))
    a = [np.concatenate([row, np.zeros(len(soft))]) for row, _ in hard]
    a += [np.concatenate([row, -np.eye(len(soft))[k]]) for k, (row, _, _) in enumerate(soft)]
    b = [end for _, end in hard] + [end for _, end, _ in soft]
    cost = np.concatenate([np.zeros(count), [1 / size for _, _, size in soft]])
    whole = np.concatenate([np.ones(count), np.zeros(len(soft))])[None, :]
    bounds = [(0, 1)] * count + [(0, None)] * len(soft)
    solved = linprog(cost, A_ub=np.array(a), b_ub=b, A_eq=whole, b_eq=[1.0], bounds=bounds)
    return float(solved.fun) if solved.status == 0 else None


def told_breach(brief: Brief) -> float:
    """The sum of breaches that the answer tells, each over its size."""
    sizes = {limit.property.name: limit.size for limit in brief.usual}
    sizes |= {item.name: 50 * s.high for item, s in zip(brief.mix.ingredients, brief.ranges, strict=True)}
    return sum(abs(end.reached - end.demand.target) / sizes[end.demand.name] for end in usual_of(brief).gave)


@pytest.mark.parametrize("seed", cases(range(40), 10, 30))
def test_the_sum_of_breaches_is_the_least(seed: int) -> None:
    brief = random_brief(seed)
    least = least_breach(brief)
    answer = design(brief)
    if least is None:
        assert isinstance(answer, NoFormula)
        assert not any(demand.kind == "usual" for demand in answer.conflict), "what is usual is in nobody's way"
        return
    assert isinstance(answer, Designed)
    assert told_breach(brief) == pytest.approx(least, abs=1e-6)
    x = brief.mix.vector(answer.report.formula)
    assert all(demand.met(x) for demand in requirements(brief).rest), "the goal is reached within those breaches"


def test_a_usual_range_that_can_be_kept_is_kept_and_named_nowhere() -> None:
    dear, cheap = ingredient("dear", 9, "oil"), ingredient("cheap", 1, "active")
    brief = replace(brief_of([dear, cheap]), usual=(usual("active", None, 30.0),))
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert answer.gave == ()
    assert answer.report.formula.fraction("cheap") == pytest.approx(0.3)
    (bound,) = answer.binding
    assert bound.demand.words == "share of active at most 30 % of the jar (usual in a lotion)"
    assert bound.price == pytest.approx(0.08), "it has a price like any limit"


def test_a_usual_range_gives_way_to_the_briefs_limits_and_says_by_how_much() -> None:
    oil, other = ingredient("oil", 9, "oil"), ingredient("other", 1, "active")
    brief = replace(brief_of([oil, other], {"share of oil": (None, 40.0)}), usual=(usual("active", None, 30.0),))
    answer = design(brief)
    assert isinstance(answer, Designed)
    (end,) = answer.gave
    assert end.demand.target == 30.0
    assert end.reached == pytest.approx(60.0)


def test_a_limit_that_bends_is_kept_before_what_is_usual() -> None:
    """HLB 11 from 4.3 and 15 needs 63 % of the second in the pair; usual would be 1 % of it."""
    water = ingredient("water", 1, "water", phase="water phase")
    oil = ingredient("oil", 2, "oil", {"required hlb": 11.0})
    low = ingredient("low", 3, "emulsifier", {"hlb": 4.3})
    high = ingredient("high", 4, "emulsifier", {"hlb": 15.0})
    limits = {"hlb difference": (-0.1, 0.1), "share of emulsifier": (5.0, 5.0), "share of oil": (20.0, 20.0)}
    ranges = {"high": Range(0.0, 0.01, "usual")}
    answer = design(brief_of([water, oil, low, high], limits, ranges))
    assert isinstance(answer, Designed)
    assert [end.demand.name for end in answer.gave] == ["high"]
    assert answer.report.formula.fraction("high") == pytest.approx(0.05 * (11 - 4.3 - 0.1) / 10.7, abs=1e-4)


def test_lines_of_enough_or_none_ask_what_is_usual_only_once() -> None:
    brief = bare_brief("lotion", random_shelf("lotion", 0))
    usual_of.cache_clear()
    firm_requirements.cache_clear()
    asked = requirements(replace(brief, doses=(brief.mix.ingredients[0].name,)))
    again = requirements(brief)
    assert usual_of.cache_info().hits + firm_requirements.cache_info().hits >= 2
    assert firm_requirements.cache_info().misses == 1, "doses ask nothing of what is firm"
    assert asked.rest == again.rest


def test_a_rule_among_the_doses_is_firm() -> None:
    brief = bare_brief("lotion", random_shelf("lotion", 0))
    rule = next(iter(most_notes(brief))).rule.id
    assert undosed(replace(brief, doses=("water", rule))).doses == (rule,)
    assert rule in {either.rule.id for either in rules_of(undosed(replace(brief, doses=("water", rule))))}
    assert undosed(brief) is brief


def test_a_panels_advice_holds_until_the_brief_says_otherwise() -> None:
    """A bar is mostly isethionate, of which a panel in the US advises at most 50 %: more only where it is asked for."""
    shelf = dict.fromkeys(
        (
            "sodium cocoyl isethionate", "sodium lauryl sulfoacetate", "cocamidopropyl betaine, 30 %", "stearic acid",
            "cocoa butter", "corn starch", "phenoxyethanol + ethylhexylglycerin",
        ),
        20.0,
    )  # fmt: skip
    made = bare_brief("solid cleansing bar", shelf)
    there = replace(made, scope=replace(made.scope, markets=("US",)))
    assert _isethionate(made) > 50
    assert _isethionate(there) <= 50 * (1 + 1e-6)
    answer = design(there.with_limit("sodium cocoyl isethionate", low="64 %", high="64 %"))
    assert isinstance(answer, Designed)
    assert [end.demand.name for end in answer.gave] == ["sodium cocoyl isethionate, rinse-off"]


def _isethionate(brief: Brief) -> float:
    """Of the active substance, % of the bar."""
    answer = design(brief)
    assert isinstance(answer, Designed)
    shares = answer.report.formula.fraction("sodium cocoyl isethionate")
    item = next(item for item in brief.mix.ingredients if item.name == "sodium cocoyl isethionate")
    return shares * next(part.share.most for part in item.constituents if part.inci == "Sodium Cocoyl Isethionate")
