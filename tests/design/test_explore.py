"""Trade-offs and alternatives as a maker asks for them: the demo, small briefs and other goals than cost."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.file import read_brief
from optiform.brief.goal import TOWARDS, Nearest
from optiform.design.alternatives import Alternatives
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import Best, best_fractions, design, formula_of
from optiform.design.explore import TradeOff
from optiform.design.facts import Fact, NothingFits
from optiform.design.stepped import Way
from optiform.ingredients.formula import Formula, Line
from optiform.properties.registry import find_property
from optiform.reading.faults import Absent, BadInput, Unsettled
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.telling.facts import in_words
from tests.answers import alternatives, explore_limit
from tests.builders import brief_of, ingredient, random_brief
from tests.sweeps import cases

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo" / "brief.toml"
LOCAL = "holds near it"


@cache
def demo() -> Brief:
    return read_brief(DEMO)


def limited(brief: Brief, words: str, low: float | None = None, high: float | None = None) -> Brief:
    """The brief with other ends of one limit; an end not given stays."""
    wanted = find_property(words, brief.currency, brief.mix.ingredients)
    old = [each for each in brief.limits if each.property.name == wanted.name]
    others = tuple(each for each in brief.limits if each.property.name != wanted.name)
    before = old[0] if old else Limit(wanted, None, None)
    new = Limit(wanted, before.low if low is None else low, before.high if high is None else high)
    return replace(brief, limits=(*others, new))


def traded(brief: Brief, wanted: str, way: Way, start: float, end: float) -> TradeOff:
    found = explore_limit(brief, wanted, way, start, end)
    assert isinstance(found, TradeOff), found
    return found


def value(brief: Brief) -> float:
    answer = best_fractions(brief)
    return answer.value if isinstance(answer, Best) else np.nan


# -- one limit of the demo ---------------------------------------------------------------------------------------------

CASES: list[tuple[str, Way, float, float]] = [
    ("solid fat at 30 degC", "low", 3.0, 16.0),
    ("active surfactant", "low", 0.0, 5.0),
    ("emulsifier per 100 of oil phase", "low", 10.0, 40.0),
    ("undissolved salt at 20 degC", "low", 5.0, 30.0),
    ("polyunsaturated share", "high", 5.0, 30.0),
    ("iodine value", "high", 40.0, 90.0),
]


@pytest.mark.parametrize(("words", "way", "start", "end"), cases(CASES, 2, 4))
def test_the_curve_is_that_of_designing_again(words: str, way: Way, start: float, end: float) -> None:
    found = traded(demo(), words, way, start, end)
    assert found.fits is not None
    assert found.residual <= 1e-9
    assert found.notes == ()
    for target in np.linspace(*found.fits, 5)[1:-1]:
        ends = {way: float(target)}
        assert found.value_at(target) == pytest.approx(value(limited(demo(), words, **ends)), abs=1e-6)


@pytest.mark.parametrize(("words", "way", "start", "end"), cases(CASES, 2, 4))
def test_every_corner_has_a_formula_that_meets_the_brief_at_that_cost(
    words: str, way: Way, start: float, end: float
) -> None:
    found = traded(demo(), words, way, start, end)
    assert len(found.corners) == len(found.stretches) + 1
    for corner in found.corners:
        asked = limited(demo(), words, **{way: corner.target})
        seen = report(corner.formula, setting_of(asked))
        assert [each.name for each in seen.measures if each.missed] == []
        assert all(rule.kept for rule in seen.rules)
        assert find_property("cost", "EUR").of(corner.formula) == pytest.approx(corner.value, abs=1e-8)
        assert found.value_at(corner.target) == pytest.approx(corner.value)


def test_beyond_its_end_nothing_fits() -> None:
    """The demo asks for at most 4 % of surfactant, so at least 4 % is the end."""
    found = traded(demo(), "active surfactant", "low", 0.0, 6.0)
    assert found.fits == pytest.approx((0.0, 4.0))
    assert found.today == 2.5
    assert found.words == "active surfactant at least"
    assert found.price_unit == "EUR/kg per %"
    with pytest.raises(Absent, match=r"no formula on the curve at 4\.5; it has some from 0 to 4"):
        found.value_at(4.5)


def test_a_price_is_the_slope_of_the_curve() -> None:
    for words, way, start, end in CASES:
        found = traded(demo(), words, way, start, end)
        for part in found.stretches:
            step = 1e-4 * (part.end - part.start)
            slopes = [  # inside: at an end itself another branch may be cheaper, so that the value jumps
                (found.value_at(part.start + 2 * step) - found.value_at(part.start + step)) / step,
                (found.value_at(part.end - step) - found.value_at(part.end - 2 * step)) / step,
            ]
            assert part.prices == pytest.approx(slopes, rel=1e-2, abs=1e-6)


def test_the_price_at_the_brief_s_own_target_is_the_printed_one() -> None:
    answer = design(demo())
    assert isinstance(answer, Designed)
    bound = next(each for each in answer.binding if each.demand.words.startswith("solid fat at 30 degC at least"))
    target = bound.demand.target
    found = traded(demo(), "solid fat at 30 degC", "low", target / 2, target)
    assert found.stretches[-1].prices[1] == pytest.approx(bound.price)
    assert found.corners[-1].value == pytest.approx(answer.objective)


def formula_at(found: TradeOff, target: float) -> Formula:
    """The formula that the curve stands for between its corners."""
    return formula_of(found.brief, found.scale.fractions(found.curve.point_at(target)), f"{target:g}")


def test_a_formula_at_any_target_reaches_the_value() -> None:
    found = traded(demo(), "solid fat at 30 degC", "low", 3.0, 12.0)
    for target in (3.3, 7.77, 11.9):
        formula = formula_at(found, target)
        assert find_property("cost", "EUR").of(formula) == pytest.approx(found.value_at(target), abs=1e-8)
        reached = find_property("solid fat at 30 degC", "EUR").of(formula)
        assert reached is not None
        assert reached >= target - 1e-6


def test_a_pinned_ingredient_is_explored_exactly() -> None:
    found = traded(demo(), "fragrance oil", "exactly", 0.2, 1.0)
    assert found.today == 0.6
    assert found.fits == pytest.approx((0.2, 1.0))
    for corner in found.corners:
        assert 100 * corner.formula.fraction("fragrance oil") == pytest.approx(corner.target)
    pinned = [Range(0.0095, 0.0095, "brief") if item.name == "fragrance oil" else range_
              for item, range_ in zip(demo().mix.ingredients, demo().ranges, strict=True)]  # fmt: skip
    assert found.value_at(0.95) == pytest.approx(value(replace(demo(), ranges=tuple(pinned))))


def test_the_other_side_of_a_pin_stands_when_one_side_moves() -> None:
    assert traded(demo(), "fragrance oil", "low", 0.2, 1.0).fits == pytest.approx((0.2, 0.6))


def test_names_that_nobody_knows_and_ranges_that_are_none() -> None:
    with pytest.raises(BadInput, match="Did you mean "):
        explore_limit(demo(), "solid fats at 30 degC", "low", 0, 1)
    with pytest.raises(BadInput, match="a range of targets"):
        explore_limit(demo(), "water", "low", 30, 20)


# -- small briefs ------------------------------------------------------------------------------------------------------

WATER = ingredient("plain water", 1.0, "water", {"alpha": 0.0, "iodine value": 0.0})
OIL = ingredient("thin oil", 4.0, "oil", {"alpha": 1.0, "iodine value": 80.0})
BUTTER = ingredient("firm butter", 10.0, "butter", {"alpha": 4.0, "iodine value": 30.0})
WAX = ingredient("wax", 6.0, "emulsifier", {"alpha": 0.5, "iodine value": 0.0})
SHELF = [WATER, OIL, BUTTER, WAX]
Ends = Mapping[str, tuple[float | None, float | None]]
ASKED: Ends = {"alpha": (0.5, 2.0), "oil phase": (25.0, 60.0), "emulsifier per 100 of oil phase": (10.0, None)}


def with_goal(direction: str, words: str, asked: Ends = ASKED) -> Brief:
    goal = TOWARDS[direction](find_property(words, "EUR", SHELF))
    return brief_of(SHELF, asked, goal=goal)


@pytest.mark.parametrize(
    ("direction", "words"),
    [
        ("highest", "alpha"),
        ("lowest", "iodine value"),
        ("highest", "iodine value"),
        ("lowest", "emulsifier per 100 of oil phase"),
    ],
)
@pytest.mark.parametrize(("moved", "way"), [("oil phase", "low"), ("alpha", "high"), ("share of butter", "high")])
def test_other_goals_than_cost(direction: str, words: str, moved: str, way: Way) -> None:
    brief = with_goal(direction, words)
    found = traded(brief, moved, way, 0.3, 50.0)
    assert found.value_unit == find_property(words, "EUR", SHELF).unit
    assert found.fits is not None
    assert found.residual <= 1e-7
    for target in np.linspace(*found.fits, 6)[1:-1]:
        again = value(brief_of(SHELF, {**ASKED, moved: ends(ASKED, moved, way, float(target))}, goal=brief.goal))
        assert found.value_at(target) == pytest.approx(again, abs=1e-6)
        assert find_property(words, "EUR", SHELF).of(formula_at(found, target)) == pytest.approx(again, abs=1e-5)


def ends(asked: Ends, words: str, way: Way, target: float) -> tuple[float | None, float | None]:
    low, high = asked.get(words, (None, None))
    return (target, high) if way == "low" else (low, target)


def nearest() -> Brief:
    today = Formula(
        "today", (Line(WATER, 0.5, "water phase"), Line(OIL, 0.3, "oil phase"), Line(WAX, 0.2, "oil phase"))
    )
    return brief_of(SHELF, ASKED, goal=Nearest(today))


def test_nearest_to_a_formula() -> None:
    found = traded(nearest(), "alpha", "low", 0.2, 2.0)
    assert found.price_unit == "% moved per 1"
    for target in (0.3, 0.9, 1.7):
        again = brief_of(SHELF, {**ASKED, "alpha": (target, 2.0)}, goal=nearest().goal)
        assert found.value_at(target) == pytest.approx(value(again), abs=1e-6)
    assert found.value_at(0.2) == pytest.approx(0.0, abs=1e-9)


def test_a_mean_over_what_goes_to_nothing_is_refused() -> None:
    """Every fat brings some alpha, so with ever less alpha there is nothing left to take the mean over."""
    with pytest.raises(Unsettled, match=r"goes to nothing"):
        explore_limit(with_goal("lowest", "iodine value", {"oil phase": (None, 60.0)}), "alpha", "high", 0, 1)


def test_a_brief_that_cannot_be_met_today_may_be_met_elsewhere() -> None:
    brief = brief_of(SHELF, {"alpha": (5.0, None)})
    assert isinstance(design(brief), NoFormula)
    found = traded(brief, "alpha", "low", 1.0, 6.0)
    assert found.fits == pytest.approx((1.0, 4.0))
    hopeless = explore_limit(brief, "oil phase", "low", 1.0, 6.0)
    assert isinstance(hopeless, NoFormula)
    assert isinstance(hopeless.reason, NothingFits)


def test_where_nothing_fits_in_the_range_that_range_is_told() -> None:
    """What fits elsewhere is not said to fit nowhere."""
    answer = explore_limit(demo(), "water phase", "low", 80.0, 90.0)
    assert isinstance(answer, NoFormula)
    assert in_words(answer.reason) == "nothing fits with water phase at least 80 to 90 % of the jar"


def test_an_unknown_figure_is_named() -> None:
    bare = ingredient("bare oil", 3.0, "oil")
    brief = brief_of([WATER, OIL, bare])
    with pytest.raises(BadInput, match="bare oil"):
        explore_limit(brief, "iodine value", "high", 10.0, 50.0)


# -- alternatives ------------------------------------------------------------------------------------------------------


def near(brief: Brief, percent: float) -> Alternatives:
    found = alternatives(brief, percent)
    assert isinstance(found, Alternatives)
    return found


@cache
def near_demo() -> Alternatives:
    return near(demo(), 5.0)


def test_the_options_are_good_enough_and_meet_the_brief() -> None:
    found = near_demo()
    assert found.slack == pytest.approx(0.05 * found.value)
    assert len(found.options) == 5
    for option in found.options:
        assert option.value <= found.value + found.slack + 1e-6
        assert find_property("cost", "EUR").of(option.formula) == pytest.approx(option.value, abs=1e-7)
        seen = report(option.formula, setting_of(demo()))
        assert [each.name for each in seen.measures if each.missed] == []


def test_the_best_comes_first_and_then_the_most_unlike() -> None:
    first, *others = near_demo().options
    assert first.value == pytest.approx(near_demo().value)
    assert first.from_best == 0
    steps = [each.nearest for each in others]
    assert steps == sorted(steps, reverse=True)
    assert all(each.from_best >= each.nearest > 1.0 for each in others)


def test_distances_are_those_of_the_formulas() -> None:
    best = near_demo().options[0].formula
    for option in near_demo().options[1:]:
        names = {line.ingredient.name for line in (*best.lines, *option.formula.lines)}
        moved = sum(abs(best.fraction(name) - option.formula.fraction(name)) for name in names)
        assert option.from_best == pytest.approx(50 * moved, abs=1e-6)


def test_every_option_lies_in_the_leeway_and_every_end_can_be_had() -> None:
    found = near_demo()
    assert [each.ingredient for each in found.leeway] == [item.name for item in demo().mix.ingredients]
    for each in found.leeway:
        assert each.low <= each.best <= each.high
        shares = [100 * option.formula.fraction(each.ingredient) for option in found.options]
        assert each.low - 1e-6 <= min(shares) <= max(shares) <= each.high + 1e-6
    widest = max(found.leeway, key=lambda each: each.high - each.low)
    curve = traded(demo(), widest.ingredient, "low", widest.best, widest.high)
    assert curve.value_at(curve.asked[1] - 1e-6) == pytest.approx(found.value + found.slack, abs=1e-4)


def test_the_worst_proof_is_shown() -> None:
    assert 0 < near_demo().residual <= 1e-6


def test_with_no_slack_only_what_is_as_good_is_left() -> None:
    found = near(demo(), 0.0)
    answer = design(demo())
    assert isinstance(answer, Designed)
    assert len(found.options) == (1 if answer.tie is None else len(found.options))
    assert all(each.value == pytest.approx(answer.objective, abs=1e-6) for each in found.options)


@pytest.mark.parametrize("direction", ["highest", "lowest"])
@pytest.mark.parametrize("words", ["alpha", "iodine value", "emulsifier per 100 of oil phase"])
def test_alternatives_for_other_goals(direction: str, words: str) -> None:
    brief = with_goal(direction, words)
    found, worth = near(brief, 10.0), -1.0 if direction == "highest" else 1.0
    assert found.unit == find_property(words, "EUR", SHELF).unit
    for option in found.options:
        assert worth * (option.value - found.value) <= found.slack + 1e-6
        assert find_property(words, "EUR", SHELF).of(option.formula) == pytest.approx(option.value, abs=1e-6)
    assert max(each.high - each.low for each in found.leeway) > 1.0


def test_alternatives_to_the_nearest_count_in_points() -> None:
    found = near(nearest(), 4.0)
    assert (found.slack, found.unit) == (4.0, "% moved")
    assert max(each.value for each in found.options) == pytest.approx(found.value + 4.0, abs=1e-6)


def test_limits_that_bend_hold_for_every_option() -> None:
    brief = limited(demo(), "water activity", high=0.8)
    found = near(brief, 3.0)
    assert Fact.HELD_AS_BEST in found.notes
    for option in found.options:
        reached = find_property("water activity", "EUR").of(option.formula)
        assert reached is not None
        assert reached <= 0.8 + 1e-5


@pytest.mark.parametrize("percent", [-1.0, np.nan, np.inf])
def test_a_share_below_nothing_is_refused(percent: float) -> None:
    with pytest.raises(BadInput, match="at least 0"):
        alternatives(demo(), percent)


def test_without_an_answer_there_are_no_alternatives() -> None:
    assert isinstance(alternatives(brief_of(SHELF, {"alpha": (5.0, None)}), 5.0), NoFormula)


def test_random_briefs_have_ranges_around_their_best() -> None:
    seen = 0
    for seed in range(4000, 4025):
        found = alternatives(random_brief(seed, coarse=bool(seed % 2)), 5.0)
        if isinstance(found, Alternatives):
            seen += 1
            assert all(each.low <= each.best <= each.high for each in found.leeway)
            assert all(option.value <= found.value + found.slack + 1e-6 for option in found.options)
    assert seen >= 10


def test_a_usual_range_is_not_told_as_what_the_brief_says() -> None:
    brief, fatty = demo(), "share of fatty alcohol and fatty acid"
    assert fatty not in [limit.property.name for limit in brief.limits]
    curve = explore_limit(brief, fatty, "low", 0, 3)
    assert isinstance(curve, TradeOff)
    assert curve.today is None
