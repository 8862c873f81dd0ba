"""What would have to change: each figure against the brief solved again by a second opinion that knows nothing of it.

A sample of random briefs in the ordinary run, with `-m exhaustive` fifty more, or as many as OPTIFORM_BRIEFS says.
"""

import os
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optiform import cli
from optiform.brief.brief import Brief, Range
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest
from optiform.brief.leftout import Out
from optiform.design.answer import NoFormula
from optiform.design.changes import WhyNot
from optiform.design.design import Best, best, formula_of
from optiform.design.entry import why_not, with_candidate
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.program.tolerances import UNUSED
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.telling.why_not import why_not as told
from tests.builders import Key, brief_of, figure, ingredient, plain, random_brief, shares
from tests.program.real_briefs import EveryBranch
from tests.program.real_briefs import random_brief as real_brief
from tests.sweeps import enough, sweep

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo"
SAMPLE = sweep(range(40))
LONG = range(1000, 1000 + int(os.environ.get("OPTIFORM_BRIEFS", "50")))  # by hand 1,000
COST = 1e-6  # relative: costs that are the same


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def about(brief: Brief, name: str) -> WhyNot:
    item = brief.catalogue.find(name)
    assert item is not None
    answer = why_not(brief, item)
    assert isinstance(answer, WhyNot)
    return answer


def about_formula(brief: Brief, formula: Formula) -> WhyNot:
    answer = why_not(brief, formula)
    assert isinstance(answer, WhyNot)
    return answer


def repriced(brief: Brief, prices: dict[str, float]) -> Brief:
    items = tuple(
        replace(item, values={**item.values, ("price", None): figure(prices[item.name], "EUR/kg")})
        if item.name in prices
        else item
        for item in brief.mix.ingredients
    )
    return replace(brief, mix=replace(brief.mix, ingredients=items))


# -- random briefs -----------------------------------------------------------------------------------------------------


def faults_of_ingredients(seed: int) -> list[str]:
    """What solving again does not bear out of each candidate that the best formula of a random brief leaves out."""
    brief = random_brief(seed)
    if not plain(brief).feasible:
        return []
    names = [item.name for item in brief.mix.ingredients]
    return [fault for name in names for fault in faults_of_ingredient(seed, brief, name, names.index(name))]


def faults_of_ingredient(seed: int, brief: Brief, name: str, column: int) -> list[str]:
    answer, wrong = about(brief, name), []
    if answer.already:
        return []
    without = repriced(brief, {name: 1e6}) if brief.ranges[column].low == 0 else brief
    for price in answer.prices:
        at = plain(repriced(brief, {name: price.to}))
        if at.x[column] <= 0 or at.cost > plain(without).cost:
            wrong.append(f"{seed}: {name} is not used at {price.to}")
        over = plain(repriced(brief, {name: price.to + max(0.02, 0.02 * price.to)}))
        if over.x[column] > 1e-6:
            wrong.append(f"{seed}: {name} is still used above {price.to}")
    for move in answer.limits:
        there = plain(brief, {(move.demand.name, move.demand.side): move.to})
        if not there.feasible or there.x[column] <= 0:
            wrong.append(f"{seed}: {name} is not used where {move.demand.words} is {move.to}")
    return wrong


def faults_of_formula(seed: int) -> list[str]:
    """The same for a formula that is the cheapest at other prices, drawn at random."""
    brief, rng = random_brief(seed), np.random.default_rng(seed)
    names, now = [item.name for item in brief.mix.ingredients], shares("cost", brief.mix.ingredients)[0]
    drawn = now * rng.uniform(0.3, 2.0, len(now))
    mine = plain(repriced(brief, dict(zip(names, map(float, drawn), strict=True))))
    if not mine.feasible:
        return []
    answer = about_formula(brief, formula_of(brief, mine.x, "mine"))
    prices = {move.ingredient: move.to for move in answer.prices}
    other, own = repriced(brief, prices), float(shares("cost", repriced(brief, prices).mix.ingredients)[0] @ mine.x)
    wrong = []
    if (answer.already or answer.prices) and own > plain(other).cost + COST * (1 + own):
        wrong.append(f"{seed}: mine costs {own} at the changed prices, another {plain(other).cost}")
    if not (answer.already or answer.prices):
        wrong.append(f"{seed}: there are prices at which it is the cheapest, and none were found")
    size = sum(abs(prices.get(name, price) - price) / price for name, price in zip(names, now, strict=True))
    if size > float((np.abs(drawn - now) / now).sum()) + 1e-6:
        wrong.append(f"{seed}: prices were found that change by more than those drawn")
    for group in [*([move] for move in answer.limits), *([list(answer.together)] if answer.together else [])]:
        tight = {(move.demand.name, move.demand.side): move.to for move in group}
        ends: dict[Key, float] = {
            key: target - abs(target) * (1e-8 if key[1] == "low" else -1e-8) for key, target in tight.items()
        }
        best = plain(brief, ends)
        if best.cost < float(now @ mine.x) - 1e-4 * (1 + float(now @ mine.x)):
            wrong.append(f"{seed}: with {tight} another formula costs {best.cost}")
    return wrong


@pytest.mark.sweep
def test_an_ingredient_is_used_at_the_figures_told_and_not_at_a_higher_price() -> None:
    assert [fault for seed in SAMPLE for fault in faults_of_ingredients(seed)] == []


@pytest.mark.sweep
def test_a_formula_is_the_best_at_the_figures_told_and_no_smaller_change_is_known() -> None:
    assert [fault for seed in SAMPLE for fault in faults_of_formula(seed)] == []


@pytest.mark.sweep
def test_enough_of_the_random_briefs_have_something_to_tell() -> None:
    briefs = [brief for seed in SAMPLE if plain(brief := random_brief(seed)).feasible]
    answers = [about(brief, item.name) for brief in briefs for item in brief.mix.ingredients[:2]]
    assert sum(bool(answer.prices) for answer in answers) >= enough(10)
    assert sum(bool(answer.limits) for answer in answers) >= enough(5)


@pytest.mark.exhaustive
def test_many_briefs_bear_out_what_is_told_of_ingredients() -> None:
    assert [fault for seed in LONG for fault in faults_of_ingredients(seed)] == []


@pytest.mark.exhaustive
def test_many_briefs_bear_out_what_is_told_of_formulas() -> None:
    assert [fault for seed in LONG for fault in faults_of_formula(seed)] == []


# -- where a limit can be met in several ways --------------------------------------------------------------------------

SEVERAL = sweep(range(12))
LONG_SEVERAL = range(12, 40)


def faults_over_branches(seed: int) -> list[str]:
    """What solving every branch on its own does not bear out, of ingredients and of a formula best at other prices."""
    brief = real_brief(seed)
    branches, rng = EveryBranch(brief), np.random.default_rng(seed)
    best = branches.best()
    if not branches.several or np.isinf(best.cost):
        return []
    wrong = []
    for j in np.flatnonzero(best.x <= 0)[:3]:
        name = brief.mix.ingredients[j].name
        answer = about(brief, name)
        for price in answer.prices:
            without = branches.best({(name, "high"): 0.0}).cost
            if branches.best(prices={int(j): price.to}).cost >= without:
                wrong.append(f"{seed}: {name} saves nothing at {price.to}")
            if branches.best(prices={int(j): 1.02 * price.to + 0.01}).cost < without - COST:
                wrong.append(f"{seed}: {name} still saves above {price.to}")
        for move in answer.limits:
            if not branches.best({(move.demand.name, move.demand.side): move.to}).x[j] > 0:
                wrong.append(f"{seed}: {name} is not used where {move.demand.words} is {move.to}")
    mine = branches.best(prices=dict(enumerate(branches.prices * rng.uniform(0.3, 2.0, len(best.x)))))
    told_of = about_formula(brief, formula_of(brief, mine.x, "mine"))
    names = [item.name for item in brief.mix.ingredients]
    prices = {names.index(move.ingredient): move.to for move in told_of.prices}
    own = float(sum(prices.get(j, price) * mine.x[j] for j, price in enumerate(branches.prices)))
    if not (told_of.already or prices) or own > branches.best(prices=prices).cost + 1e-5 * (1 + own):
        wrong.append(f"{seed}: mine costs {own} at {prices}, another {branches.best(prices=prices).cost}")
    return wrong


@pytest.mark.sweep
def test_what_is_told_holds_over_every_branch() -> None:
    assert sum(EveryBranch(real_brief(seed)).several for seed in SEVERAL) >= enough(3)
    assert [fault for seed in SEVERAL for fault in faults_over_branches(seed)] == []


@pytest.mark.exhaustive
def test_what_is_told_holds_over_every_branch_of_many() -> None:
    assert [fault for seed in LONG_SEVERAL for fault in faults_over_branches(seed)] == []


# -- by hand -----------------------------------------------------------------------------------------------------------

OIL = ingredient("oil", 5.0, "oil", {"alpha": 0.0})
WAX = ingredient("wax", 12.0, "butter", {"alpha": 10.0})
BUTTER = ingredient("butter", 10.0, "butter", {"alpha": 6.0})


def test_the_price_of_two_for_one_by_hand() -> None:
    """Alpha of at least 3: 30 % wax and 70 % oil for 7.10 EUR/kg. Butter does it with half and half: below 9.20."""
    answer = about(brief_of([OIL, WAX, BUTTER], {"alpha": (3.0, None)}), "butter")
    (price,) = answer.prices
    assert price.to == pytest.approx(9.19)
    assert told(answer).sentences[0].startswith("Butter would be used if it cost 9.19 EUR/kg or less (now 10.00)")


def test_a_limit_that_lets_an_ingredient_in_by_hand() -> None:
    """Wax at most 25 % leaves alpha 2.5 of the 3 that are asked: from 29.9 % of wax on butter makes up the rest."""
    brief = brief_of([OIL, WAX, BUTTER], {"alpha": (3.0, None)}, {"wax": Range(0.0, 0.5, "brief")})
    move = next(move for move in about(brief, "butter").limits if move.demand.name == "wax")
    assert (move.now, move.to) == pytest.approx((50.0, 29.0))
    assert move.percent == pytest.approx(100 * (3 - 2.9) / 6)


def test_a_formula_that_misses_a_limit_is_told_so() -> None:
    brief = brief_of([OIL, WAX], {"alpha": (3.0, None)})
    answer = about_formula(brief, formula_of(brief, np.array([0.8, 0.2]), "mine"))
    ((demand, value),) = answer.misses
    assert (demand.words, round(value, 9)) == ("alpha at least 3", 2.0)
    assert "it has 2" in " ".join(told(answer).sentences)


def test_the_best_formula_is_as_good_as_the_best() -> None:
    brief = brief_of([OIL, WAX], {"alpha": (3.0, None)})
    answer = about_formula(brief, formula_of(brief, np.array([0.7, 0.3]), "mine"))
    assert answer.already
    assert told(answer).sentences == ("mine is as good as the best: nothing within your limits is better.",)


def test_prices_do_not_decide_where_the_goal_is_no_cost() -> None:
    goal = Highest(find_property("alpha", "EUR", [OIL, WAX]))
    answer = about(brief_of([OIL, WAX, BUTTER], {"alpha": (None, 8.0)}, goal=goal), "oil")
    assert answer.prices == ()


def test_a_brief_that_nothing_fits_is_told_as_design_tells_it() -> None:
    assert isinstance(why_not(brief_of([OIL, WAX], {"alpha": (11.0, None)}), OIL), NoFormula)


def test_an_ingredient_without_the_figures_is_bad_input() -> None:
    item = Ingredient("a root", ("active",), "cool-down", values={("price", None): figure(5.0, "EUR/kg")})
    with pytest.raises(BadInput, match="no figure for a root"):
        why_not(brief_of([OIL, WAX], {"alpha": (1.0, None)}), item)


def test_the_price_of_what_has_none_by_hand() -> None:
    """The same 9.20 as of butter that costs 10."""
    brief = brief_of([OIL, WAX], {"alpha": (3.0, None)})
    bare = replace(BUTTER, values={key: value for key, value in BUTTER.values.items() if key != ("price", None)})
    answer = why_not(brief, bare)
    assert isinstance(answer, WhyNot)
    (price,) = answer.prices
    assert price.now is None
    assert price.to == pytest.approx(9.19)
    assert "Butter would be used if it cost 9.19 EUR/kg or less (it has no price now)" in " ".join(
        told(answer).sentences
    )
    for cost, used in ((9.19, True), (9.65, False)):
        again = why_not(brief, replace(bare, values={**bare.values, ("price", None): figure(cost, "EUR/kg")}))
        assert isinstance(again, WhyNot)
        assert again.already is used


@pytest.mark.exhaustive
def test_of_an_ingredient_without_a_price_the_price_at_which_it_would_enter_is_told() -> None:
    """The same as of one that has a price at which it is not used; below it the ingredient is used, above it is not."""
    brief = demo()
    item = brief.catalogue.find("avocado oil")
    assert item is not None
    assert item.price_in("EUR") is None
    answer = about(brief, "avocado oil")
    (price,) = answer.prices
    assert price.now is None
    first = told(answer).sentences[1]
    assert first.startswith(f"Avocado oil would be used if it cost {price.to:.2f} EUR/kg or less (it has no price now)")
    for cost, used in ((price.to, True), (1.05 * price.to, False)):
        dear = replace(item, values={**item.values, ("price", None): figure(cost, "EUR/kg")})
        again = best(with_candidate(brief, dear))  # why_not would look for what lets it in, too
        assert isinstance(again, Best)
        assert bool(again.x[again.brief.mix.ingredients.index(dear)] > UNUSED) is used


# -- the demo ----------------------------------------------------------------------------------------------------------


def test_the_demo_says_in_a_sentence_what_would_bring_cocoa_butter_in() -> None:
    answer = about(demo(), "cocoa butter")
    (price,) = answer.prices
    first, move = told(answer).sentences[0], answer.limits[0]
    assert first.startswith(f"Cocoa butter would be used if it cost {price.to:.2f} EUR/kg or less (now 31.33), or if ")
    most = "least" if move.demand.side == "low" else "most"
    assert f"{move.demand.name.replace('degC', '°C')} were at {most} {move.to:g} %" in first
    assert price.now is not None
    assert price.to < price.now


def test_todays_formula_of_the_demo_needs_many_limits_of_which_none_can_be_left_out() -> None:
    brief = demo()
    assert brief.reference is not None
    answer = about_formula(brief, brief.reference)
    assert answer.limits == ()
    assert {move.demand.name for move in answer.together} >= {"sweet almond oil", "glycerin", "mango butter"}
    assert answer.brings_in == (("mango butter", Out.OUT_OF_STOCK),)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["stearix"], "Did you mean stearic acid"),
        (["cocoa butter", "--write", "x.csv"], "designs nothing new"),
    ],
)
def test_what_cannot_be_asked_has_a_sentence(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["design", str(DEMO / "brief.toml"), "--why-not", *words]) == 2
    assert said in capsys.readouterr().err
