"""Substitutes: a hand case, amounts against a grid and scipy, what is told of each swap, and the demo workshop."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief, Range
from optiform.brief.file import read_brief
from optiform.design.replacement import FAMILIES, NEW_NAME
from optiform.design.substitute import WEIGHTS, Substitutes, substitute
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report
from tests.builders import Vector, brief_of, ingredient

IODINE = {"iodine value": 10.0}


def oil(name: str, iodine: float, price: float = 5.0, inci: str = "") -> Ingredient:
    return ingredient(name, price, "oil", {"iodine value": iodine}, contains={inci or name.title(): 100})


WATER = ingredient("water", 0.1, "water")
BUTTER = ingredient("butter", 9.0, "butter", {"iodine value": 40}, contains={"Butter": 100})
GONE, LOW, HIGH = oil("gone", 100), oil("low", 80), oil("high", 140)
TODAY = {"water": 0.5, "gone": 0.3, "butter": 0.2}


def shop(
    candidates: tuple[Ingredient, ...],
    parts: Mapping[str, float] | None = None,
    off_shelf: tuple[Ingredient, ...] = (),
    limits: Mapping[str, tuple[float | None, float | None]] | None = None,
    ranges: Mapping[str, Range] | None = None,
) -> Brief:
    """A brief with these on the shelf; the reference may use what is not."""
    brief = brief_of(candidates, limits, ranges)
    every = {item.name: item for item in (*candidates, *off_shelf, WATER, BUTTER, GONE)}
    lines = tuple(Line(every[name], share, every[name].phase) for name, share in (parts or TODAY).items())
    return replace(brief, catalogue=Catalogue(every, {}), reference=Formula("today", lines))


SHELF = (WATER, BUTTER, LOW, HIGH)


def by_name(found: Substitutes) -> dict[frozenset[str], float]:
    return {frozenset(name for name, _ in swap.parts): swap.distance for swap in found.swaps}


# -- by hand -----------------------------------------------------------------------------------------------------------


def test_singles_by_hand() -> None:
    # today (0.3 * 100 + 0.2 * 40) / 0.5 = 76; low gives 64, high 100; each brings one new name
    found = substitute(shop(SHELF), ["gone"], blend=1, weights=IODINE)
    told = by_name(found)
    assert told[frozenset({"low"})] == pytest.approx(1.2 + NEW_NAME)
    assert told[frozenset({"high"})] == pytest.approx(2.4 + NEW_NAME)
    first = found.swaps[0]
    assert dict(first.parts) == pytest.approx({"low": 30.0})
    assert first.worst.before == pytest.approx(76)
    assert first.worst.after == pytest.approx(64)
    assert first.new_names == ("Low",)
    assert found.missing == ("gone",)


def test_a_blend_by_hand() -> None:
    # 100 again from 80 and 140: two parts and one
    found = substitute(shop(SHELF), ["gone"], weights=IODINE)
    blend = next(swap for swap in found.swaps if set(dict(swap.parts)) == {"low", "high"})
    assert blend.close
    assert dict(blend.parts) == pytest.approx({"low": 20.0, "high": 10.0})
    assert blend.distance == pytest.approx(2 * NEW_NAME, abs=1e-6)


def test_the_same_thing_under_another_name_is_no_distance_at_all() -> None:
    clone = oil("clone", 100, inci="Gone")
    found = substitute(shop((*SHELF, clone)), ["gone"], weights=IODINE)
    assert dict(found.swaps[0].parts) == pytest.approx({"clone": 30.0})
    assert found.swaps[0].distance == pytest.approx(0, abs=1e-9)
    assert found.swaps[0].new_names == ()
    assert found.any_close
    assert found.purchase is None


def test_a_move_down_is_as_far_as_a_move_up() -> None:
    for value in (60, 140):  # 76 less 24 or more 24, by units of 10: both out of reach of a hand's doubt
        found = substitute(shop((WATER, BUTTER, oil("other", value))), ["gone"], blend=1, weights=IODINE)
        other = next(swap for swap in found.swaps if swap.parts[0][0] == "other")
        assert abs(other.worst.distance) == pytest.approx(2.4)
        assert not other.close


def test_to_cost_less_is_no_distance() -> None:
    cheap, dear = oil("cheap", 100, 2.0, "Gone"), oil("dear", 100, 7.0, "Gone")
    found = substitute(shop((*SHELF, cheap, dear)), ["gone"], blend=1, weights={**IODINE, "cost": 0.5})
    told = by_name(found)
    assert told[frozenset({"cheap"})] == pytest.approx(0, abs=1e-9)
    assert told[frozenset({"dear"})] == pytest.approx(0.3 * 2 / 0.5)


def test_a_line_already_there_takes_the_place_too() -> None:
    found = substitute(shop(SHELF), ["gone"], blend=1, weights=IODINE)
    grown = next(swap for swap in found.swaps if swap.parts[0][0] == "butter")
    assert dict(grown.parts) == pytest.approx({"butter": 30.0})  # what comes in, on top of what was there
    assert grown.formula.fraction("butter") == pytest.approx(0.5)
    assert grown.new_names == ()


def test_the_frame_stays_and_follows_within_its_band() -> None:
    brief, band = shop(SHELF), 0.02
    for swap in substitute(brief, ["gone"], weights=IODINE).swaps:
        for name in {"water", "butter"} - {part for part, _ in swap.parts}:
            assert swap.formula.fraction(name) == pytest.approx(TODAY[name], abs=1e-9)
    loose = substitute(brief, ["gone"], follow=band, weights=IODINE)
    for swap in loose.swaps:
        for name in {"water", "butter"} - {part for part, _ in swap.parts}:
            assert abs(swap.formula.fraction(name) - TODAY[name]) <= band + 1e-9
        assert swap.formula.fraction("gone") == 0
    before, after = by_name(substitute(brief, ["gone"], weights=IODINE)), by_name(loose)
    assert after[frozenset({"low"})] < before[frozenset({"low"})] - 0.1  # to follow helps here


def test_blends_are_no_larger_than_asked_and_of_real_parts() -> None:
    brief = shop((*SHELF, oil("third", 120)))
    for most in (1, 2, 3):
        sizes = {len(swap.parts) for swap in substitute(brief, ["gone"], blend=most, most=50, weights=IODINE).swaps}
        assert max(sizes) <= most
        assert 1 in sizes
    for swap in substitute(brief, ["gone"], blend=3, most=50, weights=IODINE).swaps:
        assert len(swap.parts) == 1 or all(share > 0.05 for _, share in swap.parts)


def test_a_trace_is_replaced_too() -> None:
    parts = {"water": 0.4997, "gone": 0.0003, "butter": 0.5}
    assert substitute(shop(SHELF, parts), ["gone"], blend=1, weights=IODINE).swaps


def test_ranked_nearest_first_those_that_break_the_brief_last() -> None:
    brief = shop((*SHELF, oil("third", 90)), limits={"iodine value": (75.0, None)})
    swaps = substitute(brief, ["gone"], weights=IODINE).swaps
    order = [(bool(swap.broken), swap.distance) for swap in swaps]
    assert order == sorted(order)
    assert {bool(swap.broken) for swap in swaps} == {True, False}


# -- what is told of a swap --------------------------------------------------------------------------------------------


def test_limits_that_break_are_named_and_those_broken_before_are_not() -> None:
    limits = {"iodine value": (70.0, None), "water phase": (60.0, None)}  # today has 50 % water already
    found = substitute(shop(SHELF, limits=limits), ["gone"], blend=1, weights=IODINE)
    low = next(swap for swap in found.swaps if swap.parts[0][0] == "low")
    assert low.broken == ("iodine value at least 70 g I2/100 g",)
    assert not low.close
    high = next(swap for swap in found.swaps if swap.parts[0][0] == "high")
    assert high.broken == ()


def test_the_range_of_what_comes_in_counts() -> None:
    found = substitute(shop(SHELF, ranges={"low": Range(0.0, 0.1, "brief")}), ["gone"], blend=1, weights=IODINE)
    low = next(swap for swap in found.swaps if swap.parts[0][0] == "low")
    assert low.broken == ("low at most 10 %",)


def test_nothing_close_is_said_and_the_purchase_that_would_help() -> None:
    far, near = oil("far", 180), oil("near", 104)
    brief = shop((WATER, BUTTER, far), off_shelf=(near, oil("farther", 190)))
    found = substitute(brief, ["gone"], blend=1, weights=IODINE)
    assert not found.any_close
    assert found.purchase is not None
    assert [name for name, _ in found.purchase.parts] == ["near"]


def test_no_purchase_where_the_shelf_is_as_near() -> None:
    # the clone costs more; that is no reason to buy something further away, whose cost is not counted
    clone, other = oil("clone", 100, price=12.0, inci="Gone"), oil("other", 92)
    found = substitute(shop((*SHELF, clone), off_shelf=(other,)), ["gone"], blend=1, weights={**IODINE, "cost": 0.5})
    assert found.swaps[0].distance > 1
    assert found.purchase is None


def test_a_purchase_keeps_the_claims_of_the_label() -> None:
    far, near = oil("far", 180), replace(oil("near", 101), origin=("animal",))
    brief = shop((WATER, BUTTER, far), off_shelf=(near,))
    bought = substitute(brief, ["gone"], blend=1, weights=IODINE).purchase
    assert bought is not None
    assert bought.parts[0][0] == "near"
    assert substitute(replace(brief, claims=("vegan",)), ["gone"], blend=1, weights=IODINE).purchase is None


def test_what_lacks_a_figure_is_named_and_not_judged() -> None:
    found = substitute(shop((*SHELF, ingredient("mystery", 1, "oil"))), ["gone"], weights=IODINE)
    assert found.without_figures == (("mystery", "iodine value"),)
    assert all("mystery" not in dict(swap.parts) for swap in found.swaps)


def test_only_its_own_family_stands_in() -> None:
    brief = shop((*SHELF, ingredient("humectant", 2, "humectant")))
    assert all("humectant" not in dict(swap.parts) for swap in substitute(brief, ["gone"], most=50).swaps)


def test_two_missing_at_once_each_in_the_phase_of_its_own() -> None:
    scent = ingredient("scent", 50, "fragrance", phase="cool-down")
    new_scent = ingredient("new scent", 40, "fragrance", phase="oil phase")
    parts = {"water": 0.5, "scent": 0.01, "gone": 0.29, "butter": 0.2}
    brief = shop((*SHELF, new_scent), parts, off_shelf=(scent,))
    found = substitute(brief, ["scent", "gone"], most=50, weights=IODINE)
    pair = next(swap for swap in found.swaps if set(dict(swap.parts)) == {"new scent", "low"})
    assert dict(pair.parts) == pytest.approx({"new scent": 1.0, "low": 29.0})  # each makes up for its own
    assert all("new scent" in dict(swap.parts) for swap in found.swaps)
    at = {line.ingredient.name: line.phase for line in pair.formula.lines}
    assert (at["new scent"], at["low"]) == ("cool-down", "oil phase")


def test_bad_input_is_listed() -> None:
    with pytest.raises(BadInput, match=r"is not a line of the formula\. There are: water, gone, butter") as bad:
        substitute(shop(SHELF), ["low", "nothing known"], weights=IODINE)
    assert len(bad.value.faults) == 2
    with pytest.raises(BadInput, match="some line that stays"):
        substitute(shop(SHELF), ["gone", "water", "butter"], weights=IODINE)
    with pytest.raises(BadInput, match="reference"):
        substitute(brief_of(SHELF), ["gone"])


# -- the amounts -------------------------------------------------------------------------------------------------------

FATS = st.lists(st.tuples(st.floats(20, 180), st.floats(2, 20)), min_size=2, max_size=3)
PAIR = {"iodine value": 10.0, "cost": 0.5}


@settings(max_examples=25)
@given(FATS)
def test_the_amounts_are_the_least_distance_by_scipy(figures: list[tuple[float, float]]) -> None:
    items = [oil(f"oil {k}", value, price, "Gone") for k, (value, price) in enumerate(figures)]
    found = substitute(shop((WATER, BUTTER, *items)), ["gone"], blend=len(items), most=99, weights=PAIR)
    best = min(swap.distance for swap in found.swaps)
    single_or_blend = _least(
        np.array([40.0, *(value for value, _ in figures)]), np.array([9.0, *(p for _, p in figures)])
    )
    assert single_or_blend <= best + 1e-6  # any number of parts, the butter grown too
    real = [swap for swap in found.swaps if not dict(swap.parts).get("butter")]
    every = _least(np.array([v for v, _ in figures]), np.array([p for _, p in figures]))
    # a part of less than 0.05 % is left out, which moves the iodine value by 0.15 at most and the cost by 0.01
    assert min(swap.distance for swap in real) == pytest.approx(every, abs=0.06)


def _least(values: Vector, prices: Vector) -> float:
    """Amounts of 0.3 in all and helper columns iodine up, down, cost up: least (up + down) / 10 + cost / 0.5."""
    count = len(values)
    equal = [[*np.ones(count), 0, 0, 0], [*(values / 0.5), -1, 1, 0]]
    dearer = [[*prices, 0, 0, -1]]
    cost = [*np.zeros(count), 1 / 10, 1 / 10, 1 / 0.5]
    found = linprog(cost, A_ub=dearer, b_ub=[0.3 * 5.0], A_eq=equal, b_eq=[0.3, 0.3 * 100 / 0.5], bounds=(0, None))
    assert found.status == 0
    return float(found.fun)


def test_no_split_of_a_blend_comes_nearer() -> None:
    weights = {"iodine value": 10.0, "cost": 0.5, "share of butter": 1.5}
    low, high = oil("low", 80, 3.0), oil("high", 130, 9.0)
    found = substitute(shop((WATER, BUTTER, low, high)), ["gone"], weights=weights, most=50)
    blend = next(swap for swap in found.swaps if set(dict(swap.parts)) == {"low", "high"})

    def distance(share: float) -> float:
        iodine = (80 * share + 130 * (0.3 - share) + 8) / 0.5
        return abs(iodine - 76) / 10 + max(0.0, 3 * share + 9 * (0.3 - share) - 1.5) / 0.5

    grid = min(distance(share) for share in np.linspace(0, 0.3, 3001))
    assert blend.distance - 2 * NEW_NAME == pytest.approx(grid, abs=1e-3)
    assert blend.distance - 2 * NEW_NAME <= grid + 1e-9


def test_the_only_fat_is_weighed_like_any_other() -> None:
    # nothing is left of the group while the parts are chosen; the weight is that of today's group
    parts = {"water": 0.7, "gone": 0.3}
    weights = {"iodine value": 10.0, "cost": 0.5}
    cheap, dear = oil("cheap", 94, 5.0, "Gone"), oil("dear", 106, 15.0, "Gone")
    found = substitute(shop((WATER, cheap, dear), parts), ["gone"], weights=weights)
    # half of each would keep 100, and cost 1.5 more per kg, a distance of 3; the cheap one alone moves 0.6
    assert dict(found.swaps[0].parts) == pytest.approx({"cheap": 30.0})
    assert found.swaps[0].distance == pytest.approx(0.6)


# -- invariants --------------------------------------------------------------------------------------------------------


def check(brief: Brief, found: Substitutes, weights: Mapping[str, float]) -> None:
    """What every swap tells is so, measured anew on its formula."""
    today = brief.reference
    assert today is not None
    old = {inci for inci, _ in today.declaration()}
    for swap in (*found.swaps, *([found.purchase] if found.purchase else [])):
        made = swap.formula
        assert sum(line.fraction for line in made.lines) == pytest.approx(1, abs=1e-9)
        assert not {line.ingredient.name for line in made.lines} & set(found.missing)
        assert set(swap.new_names) == {inci for inci, _ in made.declaration()} - old
        shifts = {shift.name: shift for shift in swap.shifts}
        total = NEW_NAME * len(swap.new_names)
        for name, unit in weights.items():
            wanted = find_property(name, brief.currency)
            before, after = wanted.of(today), wanted.of(made)
            if before is None or after is None or (name == "cost" and swap is found.purchase):
                continue
            move = (after - before) / unit
            move = max(0.0, move) if name == "cost" else move
            total += abs(move)
            assert abs(move) <= swap.worst.distance * np.sign(swap.worst.distance) + 1e-6
            assert abs(move) < 1e-5 or shifts[name].distance == pytest.approx(move, abs=1e-6)
        assert swap.distance == pytest.approx(total, abs=1e-5)
        assert not swap.close or abs(swap.worst.distance) <= 1
        if not swap.broken:
            for asked in brief.limits:
                value, was = asked.property.of(made), asked.property.of(today)
                assert value is None or was is None or not _worse(asked.low, asked.high, was, value)


def _worse(low: float | None, high: float | None, was: float, now: float) -> bool:
    """Whether an end that was kept is kept no longer."""
    below = low is not None and was >= low - 1e-9 and now < low - 1e-4
    return below or (high is not None and was <= high + 1e-9 and now > high + 1e-4)


@settings(max_examples=20)
@given(FATS, st.floats(50, 100), st.floats(0, 0.05))
def test_a_swap_tells_the_truth(figures: list[tuple[float, float]], low: float, follow: float) -> None:
    items = [oil(f"oil {k}", value, price) for k, (value, price) in enumerate(figures)]
    brief = shop((WATER, BUTTER, *items[:-1]), limits={"iodine value": (low, low + 30)}, off_shelf=(items[-1],))
    check(brief, substitute(brief, ["gone"], follow=follow, weights=PAIR), PAIR)


# -- the demo ----------------------------------------------------------------------------------------------------------


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


@cache
def mango() -> Substitutes:
    return substitute(demo(), ["mango butter"])


def test_the_demo_tells_the_truth() -> None:
    check(demo(), mango(), WEIGHTS)
    assert len(mango().swaps) == 10
    assert mango().any_close


def test_the_eutectic_pair_it_creates_is_named() -> None:
    # lauric fats and cocoa butter melt lower together (reference on fats, notes: published blends)
    pairs = [s for s in mango().swaps if set(dict(s.parts)) == {"cocoa butter", "coconut oil"}]
    assert pairs
    assert any("coconut oil with cocoa butter" in words for words in pairs[0].eutectics)
    alone = next(s for s in mango().swaps if set(dict(s.parts)) == {"shea butter, refined"})
    assert alone.eutectics == ()


def test_candidates_that_break_a_claim_do_not_come_in(tmp_path: Path) -> None:
    own = 'ingredient,price (EUR/kg)\nwater,0.1\nbeeswax,9\nlanolin,8\n"rice bran wax",12\ncandelilla wax,14\n'
    (tmp_path / "own.csv").write_text(own + "sweet almond oil,12\n")
    (tmp_path / "today.csv").write_text("ingredient,percent\ncandelilla wax,15\nsweet almond oil,85\n")
    head = 'title = "balm"\nkind = "balm"\nuse = "leave-on"\narea = "body"\ncurrency = "EUR"\nown_files = ["own.csv"]\n'
    (tmp_path / "b.toml").write_text(f'{head}reference = "today.csv"\ncandidates = "owned"\nclaims = ["vegan"]\n')
    solid = {"structuring solids at 20 degC": 1.0}
    found = substitute(read_brief(tmp_path / "b.toml"), ["candelilla wax"], most=50, weights=solid)
    used = {name for swap in found.swaps for name, _ in swap.parts}
    assert "rice bran wax" in used
    assert not used & {"beeswax", "lanolin"}


def test_the_cost_and_its_change_are_those_of_the_whole_formula() -> None:
    swaps = substitute(shop(SHELF), ["gone"], weights=IODINE).swaps
    (single,) = [swap for swap in swaps if set(dict(swap.parts)) == {"low"}]
    assert single.cost == pytest.approx(0.5 * 0.1 + 0.3 * 5.0 + 0.2 * 9.0)
    assert single.cost_change == pytest.approx(0.0)  # what is gone cost the same


def test_what_is_unusual_now_and_was_not_is_told() -> None:
    today = report(mango().today.formula, setting_of(mango().brief))
    known = {text.split("%")[0].rstrip("0123456789. ") for text in today.warnings}
    told = [text for swap in mango().swaps for text in swap.new_warnings]
    assert all(text.split("%")[0].rstrip("0123456789. ") not in known for text in told)
    for swap in mango().swaps:
        now = report(swap.formula, setting_of(mango().brief)).warnings
        assert set(swap.new_warnings) <= set(now)


def test_another_figure_in_a_warning_is_no_new_warning() -> None:
    before, now = (replace(mango().today, warnings=texts) for texts in (("a 53 % b",), ("a 54.1 % b", "c 2 %")))
    assert new_warnings(now, before) == ("c 2 %",)


def test_every_family_is_of_known_functions() -> None:
    from optiform.ingredients.ingredient import FUNCTIONS

    words = [word for family in FAMILIES for word in family]
    assert set(words) <= set(FUNCTIONS)
    assert len(words) == len(set(words))
