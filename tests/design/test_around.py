"""Holding a formula: what is held, the brief it becomes, and what the three questions share; briefs at random."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optiform.brief.brief import Brief, Limit, Range
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest
from optiform.brief.leftout import NoFigure
from optiform.design.answer import Designed, NoFormula
from optiform.design.around import (
    KEEPING,
    NOTICED,
    Held,
    as_kept_by,
    as_mild,
    balance_of,
    held,
    holding,
    only,
    today_of,
    with_lines_of,
)
from optiform.design.design import design
from optiform.design.facts import Fact
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.program.build import OWN_KINDS
from optiform.program.usual import requirements
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from tests.builders import Vector, asked, brief_of, ingredient, plain, random_brief, shares

WATER = ingredient("water", 0.1, "water")
OIL = ingredient("oil", 5.0, "oil", {"iodine value": 100})
BUTTER = ingredient("butter", 9.0, "butter", {"iodine value": 50})
SOAP = ingredient("soap", 3.0, "emulsifier")
ITEMS = (WATER, OIL, BUTTER, SOAP)


def today(**shares: float) -> Formula:
    lines = tuple(Line(item, shares[item.name], item.phase) for item in ITEMS if shares.get(item.name, 0) > 0)
    return Formula("today", lines)


def kitchen(**shares: float) -> Brief:
    return replace(brief_of(ITEMS), reference=today(**shares))


# -- by hand -----------------------------------------------------------------------------------------------------------


def test_held_are_the_properties_today_has_at_their_values() -> None:
    brief = kitchen(water=0.6, oil=0.3, butter=0.1)
    found = held(brief, {"oil phase": 1.5, "iodine value": 10.0, "active surfactant": 0.3, "share of butter": 2.0})
    assert [each.name for each in found] == ["oil phase", "iodine value", "share of butter"]  # no surfactant to hold
    assert [each.value for each in found] == pytest.approx([40.0, 87.5, 10.0])
    assert [each.tolerance for each in found] == [1.5, 10.0, 2.0]


def test_what_is_not_known_of_today_is_not_held() -> None:
    plainly = ingredient("mystery", 2.0, "oil")
    formula = Formula("today", (Line(WATER, 0.5, "water phase"), Line(plainly, 0.5, "oil phase")))
    brief = replace(brief_of((*ITEMS, plainly)), reference=formula)
    assert [each.name for each in held(brief, {"iodine value": 10.0, "oil phase": 1.0})] == ["oil phase"]


def test_holding_adds_limits_and_the_briefs_own_stand() -> None:
    brief = kitchen(water=0.6, oil=0.3, butter=0.1)
    own = Limit(find_property("oil phase", "EUR"), 20.0, 60.0)
    kept = (Held("oil phase", 40.0, 1.5), Held("share of butter", 10.0, 12.0))
    limits = {each.property.name: (each.low, each.high) for each in holding(replace(brief, limits=(own,)), kept).limits}
    assert limits == {"oil phase": (20.0, 60.0), "share of butter": (0.0, 22.0)}  # never below nothing


def test_candidates_without_a_figure_are_left_out_with_the_reason() -> None:
    mystery = ingredient("mystery", 2.0, "oil")
    brief = replace(brief_of((*ITEMS, mystery)), reference=today(water=0.6, oil=0.4))
    found = holding(brief, held(brief, {"iodine value": 10.0}))
    assert [item.name for item in found.mix.ingredients] == [item.name for item in ITEMS]
    assert len(found.ranges) == len(found.mix.phases) == len(ITEMS)
    assert found.left_out == (("mystery", NoFigure(("iodine value",))),)
    asks = brief_of((*ITEMS, mystery), ranges={"mystery": Range(0.1, 1.0, "brief")})
    with pytest.raises(BadInput, match="no figure for iodine value"):
        holding(asks, held(brief, {"iodine value": 10.0}))


def test_lines_that_are_no_candidates_come_along_but_do_not_grow() -> None:
    brief = replace(brief_of((WATER, OIL)), reference=today(water=0.6, oil=0.3, butter=0.1))
    assert brief.reference is not None
    wide = with_lines_of(brief, brief.reference)
    assert [item.name for item in wide.mix.ingredients] == ["water", "oil", "butter"]
    assert wide.ranges[2].high == pytest.approx(0.1)
    assert wide.ranges[2].low == 0
    assert wide.mix.phases[2] == "oil phase"


def test_a_limit_missed_by_rounding_is_asked_as_today_keeps_it_and_no_other() -> None:
    brief = brief_of(ITEMS, {"oil phase": (40.0, None), "share of butter": (10.0, 20.0)})
    x = np.array([0.6 + 1e-8, 0.4 - 1e-8, 0.0, 0.0])  # water and oil: the oil phase a hair short, no butter at all
    needed = as_kept_by(requirements(brief), x)
    targets = {(demand.name, demand.side): demand.target for demand in needed.demands}
    assert targets["oil phase", "low"] == pytest.approx(40 - 1e-6, abs=1e-9)
    assert targets["oil phase", "low"] < 40
    assert targets["share of butter", "low"] == 10
    assert targets["share of butter", "high"] == 20
    assert needed.limits[0][0][0].miss(x) <= 0


def test_the_formulas_own_phases_win() -> None:
    formula = Formula("today", (Line(OIL, 1.0, "cool-down"),))
    assert with_lines_of(brief_of((WATER, OIL)), formula).mix.phases == ("water phase", "cool-down")


def test_only_keeps_ranges_with_their_lines() -> None:
    brief = brief_of(ITEMS, ranges={"butter": Range(0.1, 0.2, "brief")})
    few = only(brief, frozenset({"butter", "water", "not there"}))
    assert [item.name for item in few.mix.ingredients] == ["water", "butter"]
    assert few.ranges == (Range(), Range(0.1, 0.2, "brief"))


def test_the_balance_is_the_water_else_the_largest() -> None:
    assert balance_of(today(water=0.2, oil=0.8)).name == "water"
    assert balance_of(today(oil=0.3, butter=0.7)).name == "butter"


def test_a_formula_is_needed_and_one_the_limits_can_judge() -> None:
    with pytest.raises(BadInput, match="reference"):
        today_of(brief_of(ITEMS))
    demo = read_brief(DEMO / "brief.toml")
    assert demo.reference is not None
    swap = {"water": -0.16, "glycerin": 0.16}  # glycerin far above what the model of water activity covers
    lines = tuple(
        replace(line, fraction=line.fraction + swap.get(line.ingredient.name, 0.0)) for line in demo.reference.lines
    )
    sweet = replace(demo, reference=Formula("sweet", lines))
    assert today_of(sweet).name == "sweet"
    limited = replace(sweet, limits=(*demo.limits, Limit(find_property("water activity", "EUR"), None, 0.9)))
    with pytest.raises(BadInput, match=r"water activity.*sweet.*outside 0 to 60"):
        today_of(limited)


def test_every_noticed_property_is_one_that_can_be_limited() -> None:
    for name, tolerance in NOTICED.items():
        assert find_property(name, "EUR").name == name
        assert tolerance > 0


# -- briefs at random --------------------------------------------------------------------------------------------------

SEEDS = st.integers(0, 20_000)
quick = settings(max_examples=30)


def cost_of(brief: Brief) -> float:
    found = design(brief)
    return found.objective if isinstance(found, Designed) else np.inf


@quick
@given(SEEDS, st.floats(0.0, 0.9), st.integers(0, 7))
def test_a_tighter_brief_is_never_cheaper(seed: int, by: float, which: int) -> None:
    brief = random_brief(seed)
    assume(brief.limits)
    chosen = brief.limits[which % len(brief.limits)]
    size = 1 + abs(chosen.low if chosen.low is not None else chosen.high or 0.0)
    low = None if chosen.low is None else chosen.low + by * size
    high = None if chosen.high is None else chosen.high - by * size
    tighter = replace(brief, limits=tuple(replace(x, low=low, high=high) if x is chosen else x for x in brief.limits))
    before, after = cost_of(brief), cost_of(tighter)
    assert after >= before - 1e-7 * (1 + abs(before)) if np.isfinite(before) else np.isinf(after)


def groups_there(brief: Brief, x: Vector) -> bool:
    """Whether a point has some of every group that a least mean is asked of; the second opinion takes none as well."""
    means = [each.property.name for each in brief.limits if each.low is not None]
    groups = [shares(name, brief.mix.ingredients)[1] for name in means]
    return all(np.all(group == 1) or group @ x >= 0.0011 for group in groups)


@quick
@given(SEEDS)
def test_every_repair_makes_the_brief_feasible(seed: int) -> None:
    brief = random_brief(seed, strain=0.9)
    found = design(brief)
    assume(isinstance(found, NoFormula))
    assert isinstance(found, NoFormula)
    for repair in found.repairs:
        moved: dict[tuple[str, str], float] = {(c.demand.name, c.demand.side): c.target for c in repair}
        assert all(change.demand.kind in OWN_KINDS for change in repair)
        assert set(moved) <= set(asked(brief))
        eased = {key: _eased(target, key[1]) for key, target in moved.items()}
        assert plain(brief, moved=eased).feasible
    second = plain(brief)
    assert not second.feasible or not groups_there(brief, second.x)


def _eased(target: float, side: str) -> float:
    """A hair looser than the repair, which stands exactly where it begins to fit."""
    hair = 1e-6 * (1 + abs(target))
    return target - hair if side == "low" else target + hair


@quick
@given(SEEDS)
def test_holding_todays_formula_always_leaves_todays_formula(seed: int) -> None:
    brief = random_brief(seed, strain=0.0)
    found = design(replace(brief, goal=Highest(find_property("cost", "EUR"))))
    assume(isinstance(found, Designed))
    assert isinstance(found, Designed)
    made = found.report.formula
    fixed = replace(brief, reference=made)
    kept = held(fixed, {"oil phase": 0.1, "share of butter": 0.1, "iodine value": 0.1})
    held_brief = holding(fixed, kept)
    cheapest = plain(held_brief)
    assert cheapest.feasible
    assume(groups_there(held_brief, np.array([made.fraction(i.name) for i in held_brief.mix.ingredients])))
    assert cheapest.cost <= found.objective + 1e-6
    x = np.array([found.report.formula.fraction(item.name) for item in held_brief.mix.ingredients])
    assert all(demand.met(x) for demand in requirements(held_brief).branch({}))


@pytest.mark.parametrize("function", KEEPING)
def test_what_keeps_a_product_is_not_saved_on_unless_the_maker_says_so(function: str) -> None:
    items = (ingredient("water", 1.0, "water"), ingredient("keeper", 30.0, function))
    brief = replace(brief_of(items), reference=Formula("today", (
        Line(items[0], 0.99, "water phase"), Line(items[1], 0.01, "cool-down"))))  # fmt: skip
    (kept,) = [limit for limit in holding(brief, ()).limits if limit.property.name == f"share of {function}"]
    assert kept.low == pytest.approx(1.0)
    assert kept.high is None
    own = replace(brief, ranges=(Range(), Range(0.005, 0.01, "brief")))
    assert holding(own, ()).limits == own.limits


def test_no_more_of_a_sulfate_than_today_has_but_what_the_brief_names() -> None:
    items = read_catalogue().ingredients
    mild, harsh, other = (
        items[name] for name in ("sodium cocoyl isethionate", "sodium coco-sulfate", "sodium lauryl sulfate, powder")
    )
    formula = Formula("today", (Line(mild, 0.8, "water phase"), Line(harsh, 0.2, "water phase")))
    brief = as_mild(brief_of((mild, harsh, other)), formula)
    assert [item.name for item in brief.mix.ingredients] == [mild.name, harsh.name]
    assert [span.high for span in brief.ranges] == [1.0, 0.2]
    assert brief.left_out == ((other.name, Fact.HARSHER),)
    named = as_mild(brief_of((mild, harsh, other), ranges={other.name: Range(0.0, 0.1, "brief")}), formula)
    assert [span.high for span in named.ranges] == [1.0, 0.2, 0.1]
