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
from optiform.brief.leftout import NoFigure
from optiform.design.exchange import NEW_NAME
from optiform.design.function import FAMILIES
from optiform.design.replacement import Shift
from optiform.design.substitute import WEIGHTS, Substitutes, substitute
from optiform.ingredients.catalogue import Catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from optiform.review.answer import FormulaWarning
from optiform.review.facts import Short
from optiform.review.measures import setting_of
from optiform.review.report import new_warnings, report
from optiform.rules.usual import usual_use
from optiform.telling.facts import in_words
from tests.builders import Vector, brief_of, ingredient
from tests.kind_shelves import bare_brief
from tests.sweeps import is_long

IODINE = {"iodine value": 10.0}


def oil(name: str, iodine: float, price: float = 5.0, inci: str = "") -> Ingredient:
    return ingredient(name, price, "oil", {"iodine value": iodine}, contains={inci or name.title(): 100})


WATER = ingredient("water", 0.1, "water", {"water": 100})
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
    parts = {"water": 0.5, "gone": 0.3, "low": 0.2}
    found = substitute(shop(SHELF, parts), ["gone"], blend=1, weights=IODINE)
    grown = next(swap for swap in found.swaps if swap.parts[0][0] == "low")
    assert dict(grown.parts) == pytest.approx({"low": 30.0})  # what comes in, on top of what was there
    assert grown.formula.fraction("low") == pytest.approx(0.5)
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
    assert after[frozenset({"low"})] < before[frozenset({"low"})] - 0.09  # to follow helps here


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
    assert low.broken == ("low at most 10 % of the jar",)


@pytest.mark.parametrize("name", ["sweet almond oil", "mango butter"])
def test_no_share_could_be_less_than_nothing_or_more_than_all(name: str) -> None:
    answer = substitute(read_brief(DEMO / "brief.toml"), [name])
    shares = [
        end
        for swap in answer.swaps
        for shift in swap.shifts
        if shift.unit == "%" and shift.could_be
        for end in shift.could_be
    ]
    assert len(shares) > 10
    assert 0 <= min(shares) < max(shares) <= 100


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
    assert found.without_figures == (("mystery", NoFigure(("iodine value",))),)
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
    with pytest.raises(BadInput, match=r"is not a line of the formula\. There are: water; gone; butter") as bad:
        substitute(shop(SHELF), ["low", "nothing known"], weights=IODINE)
    assert len(bad.value.faults) == 2
    with pytest.raises(BadInput, match="some line that stays"):
        substitute(shop(SHELF), ["gone", "water", "butter"], weights=IODINE)
    with pytest.raises(BadInput, match="reference"):
        substitute(brief_of(SHELF), ["gone"])


# -- the amounts -------------------------------------------------------------------------------------------------------

FATS = st.lists(st.tuples(st.floats(20, 180), st.floats(2, 20)), min_size=2, max_size=3)
PAIR = {"iodine value": 10.0, "cost": 0.5}


@pytest.mark.sweep
@settings(max_examples=25 if is_long() else 8)
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
            if name in shifts and shifts[name].could_be is not None:
                move = known_part(shifts[name], move)
            total += abs(move)
            assert abs(move) <= swap.worst.distance * np.sign(swap.worst.distance) + 1e-6
            assert abs(move) < 1e-5 or shifts[name].distance == pytest.approx(move, abs=1e-6)
        assert swap.distance == pytest.approx(total, abs=1e-5)
        assert not swap.close or abs(swap.worst.distance) <= 1
        if not swap.broken:
            for asked in brief.limits:
                value, was = asked.property.of(made), asked.property.of(today)
                assert value is None or was is None or not _worse(asked.low, asked.high, was, value)


def known_part(shift: Shift, move: float) -> float:
    """What is told of a move whose figures range: no more than it seems, never the other way, the range around it."""
    assert shift.could_be is not None
    assert shift.could_be[0] - 1e-9 <= shift.after <= shift.could_be[1] + 1e-9
    assert abs(shift.distance) <= abs(move) + 1e-9
    assert shift.distance * move >= 0
    return shift.distance


def _worse(low: float | None, high: float | None, was: float, now: float) -> bool:
    """Whether an end that was kept is kept no longer."""
    below = low is not None and was >= low - 1e-9 and now < low - 1e-4
    return below or (high is not None and was <= high + 1e-9 and now > high + 1e-4)


@pytest.mark.sweep
@settings(max_examples=20 if is_long() else 7)
@given(FATS, st.floats(50, 100), st.floats(0, 0.05))
def test_a_swap_tells_the_truth(figures: list[tuple[float, float]], low: float, follow: float) -> None:
    items = [oil(f"oil {k}", value, price) for k, (value, price) in enumerate(figures)]
    brief = shop((WATER, BUTTER, *items[:-1]), limits={"iodine value": (low, low + 30)}, off_shelf=(items[-1],))
    check(brief, substitute(brief, ["gone"], follow=follow, weights=PAIR), PAIR)


# -- the function's measure --------------------------------------------------------------------------------------------


def test_betaine_goes_for_isethionate_by_active_matter_and_the_water_fills_up() -> None:
    # 9 % of betaine is 2.70 active matter: 3.21 % of isethionate of 84 %, and 5.79 % water
    first = substitute(demo(), ["cocamidopropyl betaine, 30 %"]).swaps[0]
    assert dict(first.parts) == pytest.approx({"sodium cocoyl isethionate": 9 * 0.30 / 0.84}, abs=1e-6)
    assert [(line.ingredient, round(line.after - line.before, 2)) for line in first.follows] == [("water", 5.79)]
    assert first.functions[0].measure == "active surfactant"
    assert first.functions[0].before == pytest.approx(2.7)
    assert first.functions[0].after == pytest.approx(2.7)
    assert first.broken == ()
    assert first.close
    assert any("pH window" in words for words in map(in_words, first.differences))


def surfactant(name: str, active: float, water: float = 0.0) -> Ingredient:
    word = "liquid surfactant" if water else "solid surfactant"
    return ingredient(name, 4.0, word, {"active surfactant": active, "water": water}, phase="water phase")


def test_what_a_line_needs_in_room_the_water_gives() -> None:
    strong, weak = surfactant("strong", 80), surfactant("weak", 20, 80)
    active = {"active surfactant": 0.3}
    brief = shop((WATER, weak), {"water": 0.7, "strong": 0.05, "gone": 0.25}, off_shelf=(strong,))
    (swap,) = substitute(brief, ["strong"], weights=active).swaps
    assert dict(swap.parts) == pytest.approx({"weak": 20.0})
    assert swap.formula.fraction("water") == pytest.approx(0.55)
    assert swap.formula.fraction("gone") == pytest.approx(0.25)


def test_without_room_there_is_no_replacement() -> None:
    strong, weak = surfactant("strong", 80), surfactant("weak", 20, 80)
    brief = shop((WATER, weak), {"water": 0.1, "strong": 0.2, "gone": 0.7}, off_shelf=(strong,))
    assert substitute(brief, ["strong"], weights={"active surfactant": 0.3}).swaps == ()


def test_a_water_that_the_brief_fixes_does_not_make_room() -> None:
    strong, weak = surfactant("strong", 80), surfactant("weak", 20, 80)
    ranges = {"water": Range(0.7, 0.7, "brief")}
    parts = {"water": 0.7, "strong": 0.05, "gone": 0.25}
    brief = shop((WATER, weak), parts, off_shelf=(strong,), ranges=ranges)
    (swap,) = substitute(brief, ["strong"], weights={"active surfactant": 0.3}).swaps
    assert swap.formula.fraction("water") == pytest.approx(0.7)
    assert swap.formula.fraction("gone") == pytest.approx(0.10)  # the main oil


def known(name: str) -> Ingredient:
    item = demo().catalogue.find(name)
    assert item is not None
    return item


def of(shelf: tuple[str, ...], parts: Mapping[str, float]) -> Brief:
    """A brief over known ingredients, with no limit and no figures asked."""
    items = {name: known(name) for name in (*shelf, *parts)}
    brief = brief_of([items[name] for name in shelf])
    lines = tuple(Line(items[name], share, items[name].phase) for name, share in parts.items())
    catalogue = Catalogue({name.casefold(): item for name, item in items.items()}, {})
    return replace(brief, catalogue=catalogue, reference=Formula("today", lines))


NOTHING = {"share of silicone": 1.0}
PARFUM = {"Parfum": 100}


def test_a_preservative_goes_by_its_own_dose_never_in_halves_of_two() -> None:
    donor = "diazolidinyl urea + iodopropynyl butylcarbamate"
    shelf = ("water", donor, "benzyl alcohol + dehydroacetic acid", "rosemary extract")
    brief = of(shelf, {"water": 0.99, "phenoxyethanol + ethylhexylglycerin": 0.01})
    swaps = substitute(brief, ["phenoxyethanol + ethylhexylglycerin"], blend=3, weights=NOTHING).swaps
    doses = {name: share for swap in swaps for name, share in swap.parts}
    assert doses == pytest.approx({donor: 0.4, "benzyl alcohol + dehydroacetic acid": 0.9})
    assert all(len(swap.parts) == 1 for swap in swaps)


def test_a_wax_goes_by_how_it_hardens_and_oil_fills_up() -> None:
    brief = of(("candelilla wax", "olive oil", "soy wax"), {"olive oil": 0.82, "beeswax": 0.18})
    answer = substitute(brief, ["beeswax"], weights=NOTHING)
    (swap,) = answer.swaps
    assert dict(swap.parts) == pytest.approx({"candelilla wax": 9.0})
    assert swap.formula.fraction("olive oil") == pytest.approx(0.91)
    assert answer.without_figures == (("soy wax", NoFigure(("hardening dose",))),)


def test_an_emulsifier_of_another_type_does_not_come_in() -> None:
    parts = {"water": 0.75, "olive oil": 0.2, "emulsifying wax NF": 0.05}
    brief = of(("water", "olive oil", "sorbitan oleate", "cetearyl alcohol + ceteareth-20"), parts)
    answer = substitute(brief, ["emulsifying wax NF"], weights=NOTHING)
    assert [dict(swap.parts) for swap in answer.swaps] == [{"cetearyl alcohol + ceteareth-20": pytest.approx(5.0)}]
    ((name, why),) = ((name, in_words(why)) for name, why in answer.without_figures)
    assert (name, "water in oil" in why) == ("sorbitan oleate", True)
    assert answer.purchase is None


def test_what_does_not_hold_grains_takes_the_place_of_a_gum_only_where_there_are_none() -> None:
    shelf = ("water", "hydroxyethylcellulose")
    plain = of(shelf, {"water": 0.998, "xanthan gum": 0.002})
    scrub = of(shelf, {"water": 0.898, "xanthan gum": 0.002, "pumice, fine": 0.1})
    (swap,) = substitute(plain, ["xanthan gum"], weights=NOTHING).swaps
    assert dict(swap.parts) == pytest.approx({"hydroxyethylcellulose": 0.4})
    assert substitute(scrub, ["xanthan gum"], weights=NOTHING).swaps == ()


def test_what_nobody_knows_the_dose_of_goes_by_its_mass_and_that_is_told() -> None:
    brief = replace(of(("beeswax", "olive oil"), {"olive oil": 0.9, "lanolin": 0.1}), kind="balm")
    answer = substitute(brief, ["lanolin"], weights=NOTHING)
    assert answer.by_mass == ("lanolin",)
    assert dict(answer.swaps[0].parts) == pytest.approx({"beeswax": 10.0})


def test_a_butter_is_not_far_because_its_figures_range_widely() -> None:
    # shea is 0 to 15 % solid at 35 degC, mango 0 to 2: nobody knows whether anything moves
    answer = substitute(demo(), ["mango butter"], weights={"solid fat at 20 degC": 4.0, "solid fat at 35 degC": 2.0})
    shea = next(swap for swap in answer.swaps if [name for name, _ in swap.parts] == ["shea butter, refined"])
    warm = next(shift for shift in shea.shifts if shift.name == "solid fat at 35 degC")
    assert warm.distance == 0
    assert warm.could_be is not None
    assert warm.could_be[0] <= warm.before <= warm.could_be[1]
    assert abs(warm.after - warm.before) > 1e-3  # told all the same
    ends = [shift.could_be for swap in answer.swaps for shift in swap.shifts if shift.could_be]
    assert min(low for low, _ in ends) >= 0, "no butter is less than not solid"


def butter(name: str, cold: tuple[float, float, float], inci: str = "Butter") -> Ingredient:
    made = ingredient(name, 5.0, "butter", contains={inci: 100})
    low, typical, high = cold
    return replace(made, values={**made.values, ("solid fat", 20.0): Value(low, typical, high, "%", "t", Evidence.OWN)})


def test_a_butter_keeps_its_solids_at_20_and_the_main_oil_fills_up() -> None:
    soft, hard = butter("soft", (50, 50, 50)), butter("hard", (80, 80, 80))
    liquid = ingredient("liquid", 2.0, "oil", curve={20.0: 0.0})
    brief = shop((liquid, hard), {"liquid": 0.8, "soft": 0.2}, off_shelf=(soft,))
    (swap,) = substitute(brief, ["soft"], weights={"solid fat at 20 degC": 4.0}).swaps
    assert dict(swap.parts) == pytest.approx({"hard": 12.5})  # 20 x 50 / 80
    assert swap.formula.fraction("liquid") == pytest.approx(0.875)


def test_allergens_that_the_label_has_to_name_now_are_told() -> None:
    old = ingredient("old scent", 30, "fragrance", {"allergen linalool": 0.0}, phase="cool-down", contains=PARFUM)
    new = ingredient("new scent", 30, "fragrance", {"allergen linalool": 5.0}, phase="cool-down", contains=PARFUM)
    brief = shop((WATER, new), {"water": 0.5, "old scent": 0.01, "gone": 0.49}, off_shelf=(old,))
    eu = replace(brief, scope=replace(brief.scope, markets=("EU",)))
    (swap,) = substitute(eu, ["old scent"], weights=NOTHING).swaps
    assert "allergens to declare (EU): Linalool" in map(in_words, swap.differences)
    (abroad,) = substitute(brief, ["old scent"], weights=NOTHING).swaps
    assert not any("allergens to declare" in words for words in map(in_words, abroad.differences))


def test_what_a_maker_will_notice_of_the_exchange_is_told() -> None:
    first = substitute(demo(), ["cocamidopropyl betaine, 30 %"]).swaps[0]
    assert any(
        words.startswith("pH window: sodium cocoyl isethionate 5.5 to 8") for words in map(in_words, first.differences)
    )
    assert any("anionic" in words and "from memory" in words for words in map(in_words, first.differences))


def test_what_the_tool_would_warn_of_is_not_proposed_and_that_is_told() -> None:
    # 1.5 of one is 1.2 of the other, whose maximum use is 1
    old, new = "phenoxyethanol + caprylyl glycol", "phenoxyethanol + ethylhexylglycerin"
    answer = substitute(of(("water", new), {"water": 0.985, old: 0.015}), [old], weights=NOTHING)
    assert answer.swaps == ()
    ((name, why),) = ((name, in_words(why)) for name, why in answer.without_figures)
    assert name == new
    assert "above its maximum use of 1 %" in why
    less = of(("water", new), {"water": 0.9875, old: 0.0125})
    assert len(substitute(less, [old], weights=NOTHING).swaps) == 1


def test_finer_sugar_goes_before_salt_in_place_of_sugar() -> None:
    """Salt of the same size is nearer in every figure, and stings."""
    names = ("sugar, granulated", "sugar, caster", "sea salt, fine", "ground coffee", "sweet almond oil")
    brief = replace(of(names, {"sugar, granulated": 0.6, "sweet almond oil": 0.4}), kind="anhydrous emulsified scrub")
    answer = substitute(brief, ["sugar, granulated"], blend=1)
    assert [name for option in answer.swaps for name, _ in option.parts][:2] == ["sugar, caster", "sea salt, fine"]


def test_an_antioxidant_of_another_kind_goes_by_its_dose() -> None:
    names = ("mixed tocopherols", "rosemary extract", "sunflower oil", "beeswax")
    parts = {"mixed tocopherols": 0.003, "sunflower oil": 0.817, "beeswax": 0.18}
    answer = substitute(replace(of(names, parts), kind="balm"), ["mixed tocopherols"])
    assert dict(answer.swaps[0].parts) == pytest.approx({"rosemary extract": 0.21}, abs=1e-6)


def test_with_the_cost_alone_there_is_no_purchase_and_without_a_weight_no_answer() -> None:
    """What is bought is not judged by what it costs; by nothing at all nothing is near."""
    brief = read_brief(DEMO / "brief.toml")
    answer = substitute(brief, ["cocamidopropyl betaine, 30 %"], weights={"cost": 0.5})
    assert [name for name, _ in answer.swaps[0].parts] == ["sodium cocoyl isethionate"]
    assert answer.purchase is None
    with pytest.raises(BadInput, match="weights"):
        substitute(brief, ["cocamidopropyl betaine, 30 %"], weights={})


def test_of_equal_answers_the_first_by_name_comes_first() -> None:
    twins = [oil(name, 100, inci="Gone") for name in ("zeta", "alpha", "mid")]
    for order in (twins, twins[::-1]):
        swaps = substitute(shop((WATER, BUTTER, *order)), ["gone"], blend=1, weights=IODINE).swaps
        assert [swap.parts[0][0] for swap in swaps] == ["alpha", "mid", "zeta"]


# -- the demo ----------------------------------------------------------------------------------------------------------


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


@cache
def mango() -> Substitutes:
    return substitute(demo(), ["mango butter"])


def test_the_demo_tells_the_truth() -> None:
    check(demo(), mango(), WEIGHTS)
    assert {len(swap.parts) for swap in mango().swaps} == {1, 2}
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
    known = {text.split("%")[0].rstrip("0123456789. ") for text in map(str, today.warnings)}
    told = [warning.text for swap in mango().swaps for warning in swap.new_warnings]
    assert all(text.split("%")[0].rstrip("0123456789. ") not in known for text in told)
    for swap in mango().swaps:
        now = report(swap.formula, setting_of(mango().brief)).warnings
        assert set(swap.new_warnings) <= set(now)


def test_another_figure_in_a_warning_is_no_new_warning() -> None:
    facts = Short("salt", 53.0, 2.0), Short("salt", 54.1, 2.0), Short("sugar", 53.0, 2.0)
    first, again, other = (FormulaWarning("total", "mind", fact, "stock-short") for fact in facts)
    before, now = (replace(mango().today, warnings=warnings) for warnings in ((first,), (again, other)))
    assert new_warnings(now, before) == (other,)


def test_every_family_is_of_known_functions() -> None:
    from optiform.ingredients.ingredient import FUNCTIONS

    words = [word for family in FAMILIES for word in family.functions]
    assert set(words) <= set(FUNCTIONS)
    assert len(words) == len(set(words))


def test_a_breach_that_today_s_formula_has_too_keeps_nothing_out() -> None:
    # no preservative today either: that is no reason against another gum
    brief = of(("water", "hydroxyethylcellulose"), {"water": 0.998, "xanthan gum": 0.002})
    answer = substitute(replace(brief, overrule=()), ["xanthan gum"], weights=NOTHING)
    assert any(warning.level == "stop" for warning in answer.today.warnings)
    assert len(answer.swaps) == 1


def creamy(gone: str, *shelf: str, **more: float) -> Substitutes:
    """A lotion of shipped ingredients in which one is replaced by what is on the shelf."""
    parts = {"water": 75.0, "olive oil": 19.0, "emulsifying wax NF": 5.0, "mixed tocopherols": 0.05} | more
    brief = bare_brief("lotion", dict.fromkeys((*parts, *shelf), 5.0))
    names = {item.name: item for item in brief.mix.ingredients}
    whole = sum(parts.values())
    lines = tuple(Line(names[name], share / whole, names[name].phase) for name, share in parts.items())
    return substitute(replace(brief, reference=Formula("today", lines)), [gone], weights=NOTHING)


def test_an_oil_that_oxidises_faster_is_told_with_the_usual_dose_against_it() -> None:
    answer = creamy("olive oil", "sunflower oil", "squalane")
    told = {
        swap.parts[0][0]: " ".join(map(in_words, swap.differences)) for swap in (*answer.swaps,) if len(swap.parts) == 1
    }
    assert "oxidise faster" in told["sunflower oil"]
    assert "mixed tocopherols, 0.05 to 0.2 % of the oils (from memory)" in told["sunflower oil"]
    assert "oxidise more slowly" in told["squalane"]
    assert "mixed tocopherols, 0.05 to 0.2 % of the oils (from memory)" in told["squalane"]


def test_how_oils_oxidise_is_not_told_where_no_oil_goes_and_none_oxidises_faster() -> None:
    answer = creamy("emulsifying wax NF", "glyceryl stearate + PEG-100 stearate")
    assert "oxidise" not in " ".join(in_words(fact) for swap in answer.swaps for fact in swap.differences)


def test_another_emulsifier_is_told_at_its_least_and_its_most_usual_dose() -> None:
    answer = creamy("emulsifying wax NF", "glyceryl stearate + PEG-100 stearate", "xanthan gum")
    (swap,) = [x for x in answer.swaps if x.parts[0][0] == "glyceryl stearate + PEG-100 stearate"]
    usual = usual_use("lotion", answer.brief.catalogue.ingredients["glyceryl stearate + peg-100 stearate"])
    assert usual is not None
    assert {x.which for x in swap.doses} == {"least usual", "as proposed", "most usual"}
    assert [x.dose for x in swap.doses] == sorted(x.dose for x in swap.doses)
    ends = {x.which: x for x in swap.doses}
    assert (ends["least usual"].dose, ends["most usual"].dose) == pytest.approx((usual.low, usual.high))
    for at in swap.doses:
        assert at.per_oil is not None
        oils = 100 * swap.formula.fraction("olive oil")
        room = oils + swap.parts[0][1] - at.dose  # the main oil makes room
        assert at.per_oil == pytest.approx(100 * at.dose / room, rel=1e-6)
    assert creamy("olive oil", "sunflower oil").swaps[0].doses == ()
