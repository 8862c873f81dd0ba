"""What the scale shows: grams that sum to the batch, limits that hold, and nothing better among all roundings."""

from dataclasses import replace
from decimal import Decimal
from functools import cache
from itertools import combinations, pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.file import read_brief
from optiform.brief.goal import TOWARDS, Highest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.steps import Unweighable, Weighed
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.telling.facts import in_words
from optiform.telling.weigh import unweighable as unweighable_text
from optiform.telling.weigh import weighed as weighed_text
from tests.answers import round_formula, weigh
from tests.builders import asked, brief_of, figure, ingredient, random_brief, shares
from tests.sweeps import enough, is_whole, sweep

Vector = NDArray[np.float64]


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


@cache
def demo_weighed() -> Weighed:
    return weighed(weigh(demo()))


def weighed(answer: Weighed | Unweighable | NoFormula) -> Weighed:
    assert isinstance(answer, Weighed), answer
    return answer


def unweighable(answer: Weighed | Unweighable | NoFormula) -> Unweighable:
    assert isinstance(answer, Unweighable), answer
    return answer


def grams(answer: Weighed | Unweighable) -> dict[str, Decimal]:
    lines = answer.lines if isinstance(answer, Weighed) else answer.nearest
    return {line.ingredient: line.grams for line in lines if line.steps}


# -- by hand -----------------------------------------------------------------------------------------------------------

CHEAP = ingredient("cheap", 1.0, figures={"alpha": 0.0})
DEAR = ingredient("dear", 10.0, figures={"alpha": 10.0})
MIDDLE = ingredient("middle", 5.0, figures={"alpha": 4.0})


def test_a_need_is_rounded_up() -> None:
    """alpha of at least 3.33 needs 33.3 % of the dear one: 33.3 g of 100 g, so 34 on a 1 g scale."""
    brief = replace(brief_of([CHEAP, DEAR], {"alpha": (3.33, None)}), batch=0.1)
    answer = weighed(weigh(brief))
    assert grams(answer) == {"cheap": 66, "dear": 34}
    assert answer.proof.value == pytest.approx(0.66 + 3.4)
    assert answer.unrounded == pytest.approx(0.667 + 3.33)
    assert answer.proof.gap == pytest.approx(0, abs=1e-9)
    drift = {line.ingredient: (line.drift, line.points) for line in answer.lines}
    assert drift["dear"] == pytest.approx((0.7, 0.7))
    assert drift["cheap"] == pytest.approx((-0.7, -0.7))


def test_another_line_may_make_up_the_rest() -> None:
    """alpha of at least 3.34 in 50 g is 167 g: 16 dear (160) and 2 middle (8) cost less than 17 dear."""
    brief = replace(brief_of([CHEAP, MIDDLE, DEAR], {"alpha": (3.34, None)}), batch=0.05)
    free = design(brief)
    assert isinstance(free, Designed)
    assert free.report.formula.fraction("middle") == 0
    answer = weighed(weigh(brief))
    assert grams(answer) == {"cheap": 32, "middle": 2, "dear": 16}
    assert answer.proof.value == pytest.approx((32 + 10 + 160) / 50)


def test_a_batch_of_no_whole_number_of_steps_is_told() -> None:
    brief = replace(brief_of([CHEAP, DEAR], {"alpha": (3, None)}), batch=0.1003)
    answer = weighed(weigh(brief, step=1))
    assert answer.batch == 100
    assert sum(grams(answer).values()) == 100
    assert any("100.3 g" in note for note in map(in_words, answer.notes))
    assert weighed(weigh(brief, step=0.1)).batch == Decimal("100.3")
    assert not weighed(weigh(brief, step=0.1)).notes


def test_a_pin_that_the_scale_cannot_show_is_named_with_its_miss() -> None:
    """30 % of 15 g is 4.5 g: 4 g (26.7 %) and 5 g (33.3 %) miss by 3.33 points alike."""
    brief = replace(brief_of([CHEAP, DEAR], ranges={"dear": Range(0.3, 0.3, "brief")}), batch=0.015)
    answer = unweighable(weigh(brief))
    (miss,) = answer.misses
    assert miss.demand.name == "dear"
    assert miss.by == pytest.approx(100 / 30)
    assert grams(answer)["dear"] in (4, 5)
    assert sum(grams(answer).values()) == 15


def test_the_fine_lines_together_make_whole_coarse_steps() -> None:
    """12.3 g on the fine scale leave 987.7 g, which the coarse one cannot show: the nearest is 12 g."""
    brief = replace(brief_of([CHEAP, DEAR], ranges={"dear": Range(0.0123, 0.0123, "brief")}), batch=1.0)
    answer = unweighable(weigh(brief, step=1, fine_step=0.1))
    (miss,) = answer.misses
    assert miss.by == pytest.approx(0.03)
    assert grams(answer) == {"cheap": 988, "dear": 12}


def test_small_lines_go_on_the_fine_scale() -> None:
    """Two small lines of 12.3 and 12.7 g leave 975 g, whole grams, for the large one."""
    pins = {"dear": Range(0.0123, 0.0123, "brief"), "middle": Range(0.0127, 0.0127, "brief")}
    brief = replace(brief_of([CHEAP, MIDDLE, DEAR], ranges=pins), batch=1.0)
    answer = weighed(weigh(brief, step=1, fine_step=0.1))
    told = {line.ingredient: (line.steps, line.step) for line in answer.lines}
    tenth = Decimal("0.1")
    assert told == {"cheap": (975, 1), "middle": (127, tenth), "dear": (123, tenth)}


def test_a_brief_that_nothing_fits_stays_a_conflict() -> None:
    answer = weigh(brief_of([CHEAP, DEAR], {"alpha": (11, None)}))
    assert isinstance(answer, NoFormula)
    assert [demand.name for demand in answer.conflict] == ["alpha"]


@pytest.mark.parametrize(
    ("wrong", "place"),
    [
        ({"apart": (("cheap", "gold"),)}, "apart"),
        ({"apart": (("cheap", "cheap"),)}, "apart"),
        ({"most_ingredients": 0}, "most ingredients"),
        ({"least_dose": 5.0}, "least dose"),
        ({"step": 0.0}, "scale"),
        ({"step": 2000.0}, "scale"),
        ({"step": 1.0, "fine_step": 0.3}, "fine scale"),
        ({"step": 1.0, "fine_step": 2.0}, "fine scale"),
    ],
)
def test_what_cannot_be_asked_is_a_fault(wrong: dict[str, float], place: str) -> None:
    with pytest.raises(BadInput) as caught:
        weigh(brief_of([CHEAP, DEAR]), **wrong)  # type: ignore[arg-type]
    assert [fault.place for fault in caught.value.faults] == [place]


# -- all roundings -----------------------------------------------------------------------------------------------------

TOTAL = 20


@cache
def roundings(count: int) -> Vector:
    """Every way to share 20 steps out among so many lines, as fractions."""
    ways = []
    for bars in combinations(range(TOTAL + count - 1), count - 1):
        edges = (-1, *bars, TOTAL + count - 1)
        ways.append([b - a - 1 for a, b in pairwise(edges)])
    return np.array(ways) / TOTAL


def keeping(brief: Brief, points: Vector) -> Vector:
    """The points that keep everything the brief asks, from the figures of the ingredients alone."""
    names = [item.name for item in brief.mix.ingredients]
    for (name, side), target in asked(brief).items():
        own = np.array([100.0 * (name == other) for other in names])
        p, g = (own, np.ones(len(names))) if name in names else shares(name, brief.mix.ingredients)
        sign = 1.0 if side == "low" else -1.0
        points = points[sign * (points @ p - target * (points @ g)) >= -1e-7 * max(1.0, np.abs(p).max())]
    return points


def small_briefs(count: int, coarse: bool) -> list[tuple[int, Brief]]:
    """The first of so many, as many as this tier tries."""
    found = []
    count = len(sweep(range(count)))
    for seed in range(10_000):
        brief = random_brief(seed, coarse, strain=0.0)
        if len(brief.mix.ingredients) <= 5:
            found.append((seed, replace(brief, batch=0.02, step=1.0)))
        if len(found) == count:
            return found
    raise AssertionError("too few briefs")


@pytest.mark.sweep
@pytest.mark.parametrize("coarse", [False, True])
def test_nothing_is_cheaper_among_all_roundings(coarse: bool) -> None:
    reached = missed = 0
    for seed, brief in small_briefs(20, coarse):
        points = keeping(brief, roundings(len(brief.mix.ingredients)))
        answer = weigh(brief)
        assert isinstance(answer, Weighed) == (len(points) > 0), seed
        if isinstance(answer, Weighed):
            prices, _ = shares("cost", brief.mix.ingredients)
            best = float((points @ prices).min())
            assert answer.proof.value == pytest.approx(best, rel=1e-7), seed
            assert answer.cost == pytest.approx(best, rel=1e-7), seed
            assert answer.proof.bound == pytest.approx(best, rel=1e-6), seed
            assert answer.unrounded <= best + 1e-7
            assert sum(grams(answer).values()) == 20
            reached += 1
        missed += isinstance(answer, Unweighable)
    assert reached >= enough(5)
    assert missed or (coarse and not is_whole())  # of the coarse ones it is the thirteenth


@pytest.mark.sweep
@pytest.mark.parametrize("direction", ["lowest", "highest"])
@pytest.mark.parametrize("words", ["alpha", "iodine value"])
def test_other_goals_too(direction: str, words: str) -> None:
    """Also a ratio, which takes more than one round."""
    reached = 0
    for seed, brief in small_briefs(25, False):
        goal = TOWARDS[direction](find_property(words, "EUR", brief.mix.ingredients))
        points = keeping(brief, roundings(len(brief.mix.ingredients)))
        p, g = shares(words, brief.mix.ingredients)
        group = points @ g
        answer = weigh(replace(brief, goal=goal))
        if isinstance(answer, Weighed) and (group > 1e-9).all():
            values = points @ p / group
            assert answer.proof.gap <= 1e-6, seed
            best = float(values.max() if direction == "highest" else values.min())
            assert answer.proof.value == pytest.approx(best, rel=1e-6, abs=1e-7), seed
            reached += 1
    assert reached >= enough(4)


def test_a_mean_over_nothing_is_no_answer() -> None:
    """The best mean is that of a group the steps leave empty: it has no value there."""
    fat = ingredient("fat", 5.0, "oil", {"iodine value": 80.0})
    brief = replace(brief_of([CHEAP, fat], ranges={"fat": Range(0.001, 0.04, "brief")}), batch=0.02)
    brief = replace(brief, goal=Highest(find_property("iodine value", "EUR")))
    assert unweighable(weigh(brief)).misses
    free = replace(brief, ranges=(Range(), Range(0.0, 0.04)))
    assert not isinstance(weigh(free), Weighed)


@pytest.mark.sweep
def test_nothing_is_nearer_among_all_roundings() -> None:
    reached = 0
    for seed, brief in small_briefs(20, False):
        rng = np.random.default_rng(seed)
        given = rng.dirichlet(np.ones(len(brief.mix.ingredients)))
        lines = zip(brief.mix.ingredients, given, strict=True)
        formula = Formula("given", tuple(Line(item, float(share), item.phase) for item, share in lines))
        points = keeping(brief, roundings(len(given)))
        answer = round_formula(brief, formula)
        assert isinstance(answer, Weighed) == (len(points) > 0), seed
        if isinstance(answer, Weighed):
            best = 50 * float(np.abs(points - given).sum(axis=1).min())
            assert answer.proof.value == pytest.approx(best, rel=1e-6, abs=1e-6), seed
            assert sum(abs(line.points) for line in answer.lines) / 2 == pytest.approx(best, rel=1e-6, abs=1e-6)
            reached += 1
    assert reached >= enough(5)


@pytest.mark.sweep
def test_both_solvers_weigh_alike() -> None:
    for seed, brief in small_briefs(8, True):
        one, other = weigh(brief), weigh(brief, solver="cbc")
        assert type(one) is type(other), seed
        if isinstance(one, Weighed) and isinstance(other, Weighed):
            assert one.proof.value == pytest.approx(other.proof.value, rel=1e-6), seed


# -- the demo ----------------------------------------------------------------------------------------------------------


def holds(answer: Weighed) -> bool:
    """Whether the report, which measures anew, finds every limit, line and rule kept."""
    formula, brief = answer.report.formula, answer.brief
    lines = all(
        own.low - 1e-9 <= formula.fraction(item.name) <= own.high + 1e-9
        for item, own in zip(brief.mix.ingredients, brief.ranges, strict=True)
    )
    law = all(check.kept for check in answer.report.rules if check.kind in ("maximum", "prohibited"))
    return lines and law and not any(measured.missed for measured in answer.report.measures)


def test_the_demo_can_be_weighed() -> None:
    answer = demo_weighed()
    assert holds(answer)
    assert sum(line.grams for line in answer.lines) == 4000 == answer.batch
    assert all(line.grams == line.steps for line in answer.lines)
    assert answer.proof.gap <= 1e-6
    assert answer.unrounded <= answer.proof.bound + 1e-6 <= answer.proof.value + 2e-6
    assert answer.cost == pytest.approx(answer.proof.value)
    assert max(abs(line.points) for line in answer.lines) < 0.5


def test_few_ingredients_cost_more_and_are_few() -> None:
    used = len(grams(demo_weighed()))
    fewer = weighed(weigh(demo(), most_ingredients=used - 2))
    assert holds(fewer)
    assert len(grams(fewer)) <= used - 2
    assert fewer.proof.value > demo_weighed().proof.value


def test_too_few_ingredients_name_what_has_to_give() -> None:
    answer = unweighable(weigh(demo(), most_ingredients=10))
    assert len(grams(answer)) <= 10
    assert sum(grams(answer).values()) == 4000
    assert answer.misses
    assert all(miss.demand.kind in ("limit", "line") for miss in answer.misses)
    head = " ".join(unweighable_text(answer).sentences)
    assert f"the grams below miss {len(answer.misses)} limits" in head
    assert all(miss.demand.name in head for miss in answer.misses)


@pytest.mark.exhaustive
def test_the_fewest_ingredients_that_keep_every_limit_are_told() -> None:
    fewest = unweighable(weigh(demo(), most_ingredients=10)).fewest
    assert fewest is not None
    assert len(grams(weighed(weigh(demo(), most_ingredients=fewest)))) == fewest
    assert unweighable(weigh(demo(), most_ingredients=fewest - 1)).fewest == fewest


def test_a_least_dose_is_kept_by_every_line_without_its_own() -> None:
    brief = demo()
    answer = weighed(weigh(brief, least_dose=0.04))
    assert holds(answer)
    own = {item.name: range_ for item, range_ in zip(brief.mix.ingredients, brief.ranges, strict=True)}
    assert all(share >= 160 for name, share in grams(answer).items() if own[name].low == 0)
    assert any(share < 160 for name, share in grams(demo_weighed()).items() if own[name].low == 0)
    (note,) = (
        text for text in map(in_words, answer.notes) if "Every line in use is at least 4 % of the batch (160 g)" in text
    )
    assert "unless the brief sets its own least amount" in note
    assert not [text for text in map(in_words, demo_weighed().notes) if "Every line in use" in text]


def test_a_pair_that_does_not_agree_is_kept_apart() -> None:
    used = grams(demo_weighed())
    pair = ("shea butter, refined", "coconut oil")
    assert set(pair) <= set(used)
    answer = weighed(weigh(demo(), apart=[pair]))
    assert holds(answer)
    assert not set(pair) <= set(grams(answer))


def test_a_given_formula_is_rounded_with_little_drift() -> None:
    best = design(demo())
    assert isinstance(best, Designed)
    formula = best.report.formula
    answer = weighed(round_formula(demo(), formula))
    assert holds(answer)
    assert sum(grams(answer).values()) == 4000
    assert answer.proof.value < 0.2  # points that change hands
    assert answer.proof.value <= sum(abs(line.points) for line in demo_weighed().lines) / 2 + 1e-9
    assert answer.unit == "% moved"
    assert answer.brief.goal.formula is formula


@pytest.mark.long
def test_a_limit_that_bends_holds_at_its_true_value() -> None:
    """Water activity, pushed below what the cheapest weighable formula has."""
    words = "water activity"
    wanted = find_property(words, "EUR")
    free = wanted.of(demo_weighed().report.formula)
    assert free is not None
    tight = free - 0.003
    brief = replace(demo(), limits=(*demo().limits, Limit(wanted, None, tight)))
    answer = weighed(weigh(brief))
    reached = wanted.of(answer.report.formula)
    assert reached is not None
    assert tight - 0.003 < reached <= tight + 1e-6
    assert holds(answer)
    assert sum(grams(answer).values()) == 4000
    assert any("bend" in note for note in map(in_words, answer.notes))


def test_steps_are_sought_again_where_the_first_ones_leave_a_bent_limit() -> None:
    """Twelve coarse steps: the terms of the HLB difference near the optimum no longer hold at the rounded formula."""
    prices = {
        "glyceryl stearate": 8.15,
        "oleth-20": 16.17,
        "mango butter": 4.69,
        "palm oil": 8.42,
        "candelilla wax": 16.16,
    }
    found = [read_catalogue().find(name) for name in prices]
    candidates = [
        replace(item, values={**item.values, ("price", None): figure(price, "EUR/kg")})
        for item, price in zip(found, prices.values(), strict=True)
        if item
    ]
    limits = {"hlb difference": (-0.8586, -0.2586), "emulsifier per 100 of oil phase": (20.0, 40.0)}
    answer = weighed(weigh(replace(brief_of(candidates, limits), batch=0.012)))
    difference = find_property("hlb difference", "EUR").of(answer.report.formula)
    assert difference is not None
    assert -0.8586 <= difference <= -0.2586
    assert holds(answer)
    assert sum(grams(answer).values()) == 12


def test_a_line_that_is_no_candidate_is_told_and_counted_among_the_changes() -> None:
    """Today's mango butter is out of stock: its grams are gone, and those that make up for it come to as many."""
    brief = demo()
    assert brief.reference is not None
    answer = weighed(round_formula(brief, brief.reference))
    told = weighed_text(answer)
    assert any("mango butter (out of stock)" in text for text in told.sentences)
    rows = {row[0]: row for row in told.sections[1].parts[0].rows}  # type: ignore[union-attr]
    assert rows["mango butter"][-1] == pytest.approx(-160)
    assert sum(float(row[-1] or 0) for row in rows.values()) == pytest.approx(0, abs=1e-6)
    assert any("more than today." in text for text in told.sentences), "the cost is set beside the formula rounded"
