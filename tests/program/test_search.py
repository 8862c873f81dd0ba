"""Limits that bend, goals that are ratios or distances: against other ways of solving the same brief.

References used here: linear programs assembled in this file and solved by scipy's linprog; the transformation of
Charnes and Cooper (1962, Naval Research Logistics Quarterly 9, 181) for a ratio as the goal; bisection and grids.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest
from scipy.optimize import brentq, linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief, Limit
from optiform.brief.goal import TOWARDS, Highest, Lowest, Nearest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.registry import find_property
from optiform.properties.solubility import solubility
from optiform.properties.water_activity import water_activity
from optiform.telling.design import designed as telling
from optiform.telling.terminal import terminal
from tests.builders import Key, Vector, asked, brief_of, ingredient, plain, random_brief, shares
from tests.sweeps import cases, enough, sweep

Ends = tuple[float | None, float | None]

WATER = ingredient("water", 0.5, "water", {"water": 100.0}, contains={"Aqua": 100.0})
SALT = ingredient("salt", 0.2, "grain", solute="sodium chloride", contains={"Sodium Chloride": 100.0})
PUMICE = ingredient("pumice", 2.0, "grain")
OIL = ingredient("oil", 5.0, "oil")
GLYCERIN = ingredient(
    "glycerin", 2.0, "humectant", {"humectant active": 100.0, "water": 0.0}, contains={"Glycerin": 100.0}
)
BRINE = solubility("sodium chloride", 20.0)  # g of salt per g of water


def designed(brief: Brief) -> Designed:
    answer = design(brief)
    assert isinstance(answer, Designed), answer
    return answer


def share(answer: Designed, name: str) -> float:
    return answer.report.formula.fraction(name)


def measured(answer: Designed, name: str) -> float:
    value = next(measure.value for measure in answer.report.measures if measure.name == name)
    assert value is not None
    return value


# -- grains that dissolve ----------------------------------------------------------------------------------------------


def scrub_cost(prices: tuple[float, float, float], wet: tuple[float, float], *rows: tuple[Vector, float]) -> float:
    """Least cost of (water, salt, oil) with the water within `wet`, 20 % oil or more, and rows a x <= b."""
    found = linprog(
        prices,
        A_ub=np.array([row for row, _ in rows]),
        b_ub=np.array([rhs for _, rhs in rows]),
        A_eq=np.ones((1, 3)),
        b_eq=[1.0],
        bounds=[wet, (0, 1), (0.2, 1)],
        method="highs",
    )
    return float(found.fun) if found.status == 0 else np.inf


def scrub(words: str, ends: Ends, wet: tuple[float, float], prices: tuple[float, float, float]) -> Brief:
    names = (WATER, SALT, OIL)
    priced = [ingredient_at(item, price) for item, price in zip(names, prices, strict=True)]
    limits: dict[str, Ends] = {words: ends, "share of water": (100 * wet[0], 100 * wet[1]), "oil phase": (20.0, None)}
    return brief_of(priced, limits)


def ingredient_at(item: Ingredient, price: float) -> Ingredient:
    value = item.values["price", None]
    return replace(item, values={**item.values, ("price", None): replace(value, typical=price)})


UNDISSOLVED = np.array([-BRINE, 1.0, 0.0])  # salt less what the water holds; the limit acts where it is positive
HELD, GRAINS = np.array([BRINE, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
PRICES = [(0.5, 0.2, 5.0), (0.5, 3.0, 5.0), (2.0, 0.2, 1.0), (0.1, 4.0, 0.2)]


def agrees(brief: Brief, best: float) -> None:
    answer = design(brief)
    if np.isinf(best):
        assert isinstance(answer, NoFormula)
        return
    assert isinstance(answer, Designed), answer
    assert answer.objective == pytest.approx(best, rel=1e-6)
    assert not [measure.name for measure in answer.report.measures if measure.missed]


@pytest.mark.parametrize("prices", PRICES)
@pytest.mark.parametrize("least", [5.0, 20.0, 50.0, 75.0])
def test_undissolved_salt_at_least(least: float, prices: tuple[float, float, float]) -> None:
    """max(0, g - s W) >= L is the same as g - s W >= L."""
    wet = (0.1, 0.6)
    best = scrub_cost(prices, wet, (-UNDISSOLVED, -least / 100))
    agrees(scrub("undissolved salt at 20 degC", (least, None), wet, prices), best)


@pytest.mark.parametrize("prices", PRICES)
@pytest.mark.parametrize("most", [0.0, 2.0, 20.0])
def test_undissolved_salt_at_most(most: float, prices: tuple[float, float, float]) -> None:
    """max(0, g - s W) <= U is the same as g - s W <= U."""
    wet = (0.1, 0.6)
    best = scrub_cost(prices, wet, (UNDISSOLVED, most / 100))
    agrees(scrub("undissolved salt at 20 degC", (None, most), wet, prices), best)


@pytest.mark.parametrize("prices", PRICES)
@pytest.mark.parametrize("least", [5.0, 15.0, 25.0])
def test_dissolved_salt_at_least(least: float, prices: tuple[float, float, float]) -> None:
    """min(g, s W) >= L asks both of g and of s W."""
    wet = (0.1, 0.6)
    best = scrub_cost(prices, wet, (-HELD, -least / 100), (-GRAINS, -least / 100))
    agrees(scrub("dissolved salt at 20 degC", (least, None), wet, prices), best)


@pytest.mark.parametrize("prices", PRICES)
@pytest.mark.parametrize("wet", [(0.1, 0.6), (0.5, 0.6)], ids=["dry", "wet"])
def test_dissolved_salt_at_most(wet: tuple[float, float], prices: tuple[float, float, float]) -> None:
    """min(g, s W) <= U asks one of g and s W: the better of two programs. Little salt in much water is an answer."""
    best = min(scrub_cost(prices, wet, (HELD, 0.05)), scrub_cost(prices, wet, (GRAINS, 0.05)))
    agrees(scrub("dissolved salt at 20 degC", (None, 5.0), wet, prices), best)


def test_grains_that_never_dissolve_count_as_undissolved() -> None:
    """30 % undissolved of pumice at 2 and salt at 0.2 EUR/kg, in 40 % water that must not turn to brine: salt wins."""
    limits: dict[str, Ends] = {
        "undissolved grains at 20 degC": (30.0, None),
        "share of water": (40.0, None),
        "oil phase": (5.0, None),
    }
    answer = designed(brief_of([WATER, SALT, PUMICE, OIL], limits))
    best = linprog(
        [0.5, 0.2, 2.0, 5.0],
        A_ub=[[BRINE, -1.0, -1.0, 0.0], [0.0, 0.0, -1.0, 0.0]],
        b_ub=[-0.3, 0.0],
        A_eq=np.ones((1, 4)),
        b_eq=[1.0],
        bounds=[(0.4, 1), (0, 1), (0, 1), (0.05, 1)],
        method="highs",
    )
    assert answer.objective == pytest.approx(best.fun, rel=1e-6)
    assert measured(answer, "undissolved grains at 20 degC") == pytest.approx(
        100 * (share(answer, "salt") - BRINE * share(answer, "water")) + 100 * share(answer, "pumice")
    )


# -- required HLB ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Emulsion:
    """Two emulsifiers and two oils in 60 % water or more; prices in EUR/kg."""

    hlb: tuple[float, float]
    required: tuple[float, float]
    prices: tuple[float, float, float, float]
    tolerance: float = 0.5

    def brief(self, least_emulsifier: float | None) -> Brief:
        items = [WATER]
        for number, (hlb, price) in enumerate(zip(self.hlb, self.prices[:2], strict=True)):
            items.append(ingredient(f"emulsifier {number}", price, "emulsifier", {"hlb": hlb}))
        for number, (required, price) in enumerate(zip(self.required, self.prices[2:], strict=True)):
            items.append(ingredient(f"oil {number}", price, "oil", {"required hlb": required}))
        limits: dict[str, Ends] = {
            "hlb difference": (-self.tolerance, self.tolerance),
            "emulsifier per 100 of oil phase": (least_emulsifier, 30.0),
            "oil phase": (25.0, 30.0),
            "share of water": (60.0, None),
        }
        return brief_of(items, limits)

    def best(self, least_emulsifier: float) -> float:
        """Lowest cost over a fine grid of required HLB, each a linear program with the target held."""
        return min(
            self._held(target, least_emulsifier) for target in np.linspace(min(self.required), max(self.required), 201)
        )

    def _held(self, target: float, least_emulsifier: float) -> float:
        e, o = np.array([0.0, 1, 1, 0, 0]), np.array([0.0, 0, 0, 1, 1])
        hlb, required = np.array([0.0, *self.hlb, 0, 0]), np.array([0.0, 0, 0, *self.required])
        rows = [
            hlb - (target + self.tolerance) * e,
            (target - self.tolerance) * e - hlb,
            least_emulsifier / 100 * o - e,
            e - 0.3 * o,
            -(e + o),
            e + o,
        ]
        found = linprog(
            [0.5, *self.prices],
            A_ub=np.array(rows),
            b_ub=[0, 0, 0, 0, -0.25, 0.3],
            A_eq=np.array([np.ones(5), required - target * o]),
            b_eq=[1.0, 0.0],
            bounds=[(0.6, 1), *[(0, 1)] * 4],
            method="highs",
        )
        return float(found.fun) if found.status == 0 else np.inf


EMULSIONS = [
    Emulsion((4.0, 15.0), (7.0, 11.0), (6.0, 9.0, 5.0, 3.0)),
    Emulsion((4.0, 15.0), (7.0, 11.0), (9.0, 6.0, 3.0, 5.0)),
    Emulsion((3.5, 16.0), (6.0, 14.0), (8.0, 8.0, 4.0, 4.5), tolerance=0.2),
    Emulsion((8.0, 10.0), (7.0, 12.0), (6.0, 7.0, 3.0, 5.0), tolerance=0.1),
]


@pytest.mark.parametrize("emulsion", cases(EMULSIONS, 2, 2))
def test_hlb_within_a_tolerance_of_what_the_oils_require(emulsion: Emulsion) -> None:
    """There is a formula (the grid has one), so one must be found; on its true HLB, and no dearer than the grid's."""
    best = emulsion.best(20.0)
    assert np.isfinite(best)
    answer = design(emulsion.brief(20.0))
    assert isinstance(answer, Designed), [demand.words for demand in getattr(answer, "conflict", ())]
    difference = true_difference(emulsion, answer)
    assert abs(difference) <= emulsion.tolerance + 1e-6
    assert measured(answer, "hlb difference") == pytest.approx(difference, abs=1e-6)
    assert answer.objective == pytest.approx(best, rel=1e-4)


def true_difference(emulsion: Emulsion, answer: Designed) -> float:
    e = np.array([share(answer, "emulsifier 0"), share(answer, "emulsifier 1")])
    o = np.array([share(answer, "oil 0"), share(answer, "oil 1")])
    return float(np.array(emulsion.hlb) @ e / e.sum() - np.array(emulsion.required) @ o / o.sum())


def test_without_an_emulsifier_the_hlb_asks_nothing() -> None:
    answer = designed(EMULSIONS[0].brief(None))
    assert share(answer, "emulsifier 0") == share(answer, "emulsifier 1") == 0.0


# -- water activity ----------------------------------------------------------------------------------------------------


def glycerin_for(activity: float, wet: float) -> float:
    """Glycerin per whole so that `wet` of water and glycerin together has this water activity."""

    def miss(glycerin: float) -> float:
        return water_activity({"Aqua": wet - glycerin, "Glycerin": glycerin}).value - activity

    return float(brentq(miss, 0.0, 0.59 * wet))


@pytest.mark.parametrize("activity", [0.97, 0.92, 0.85, 0.82])
def test_water_activity_at_most(activity: float) -> None:
    """Glycerin is dearer than water, so the answer has just enough of it; 20 % oil, the rest water."""
    glycerin = glycerin_for(activity, 0.8)
    answer = designed(brief_of([WATER, GLYCERIN, OIL], {"water activity": (None, activity), "oil phase": (20.0, None)}))
    assert share(answer, "glycerin") == pytest.approx(glycerin, abs=1e-5)
    assert measured(answer, "water activity") <= activity + 1e-6


@pytest.mark.parametrize("activity", [0.97, 0.92, 0.90, 0.85, 0.82])
def test_water_activity_at_most_in_a_formula_of_much_water(activity: float) -> None:
    """With 40 % water and 40 % glycerin the activity is 0.81, so each of these can be met."""
    glycerin = glycerin_for(activity, 0.8)
    assert water_activity({"Aqua": 0.4, "Glycerin": 0.4}).value < 0.815
    limits: dict[str, Ends] = {
        "water activity": (None, activity),
        "oil phase": (20.0, None),
        "share of water": (40.0, None),
    }
    answer = design(brief_of([WATER, GLYCERIN, OIL], limits))
    assert isinstance(answer, Designed), [demand.words for demand in getattr(answer, "conflict", ())]
    assert share(answer, "glycerin") == pytest.approx(glycerin, abs=1e-5)


def test_water_activity_where_the_cheapest_formula_lies_outside_the_model() -> None:
    """Glycerin cheaper than water: the first step leaves the range of the model, but an answer lies well inside it."""
    cheap = ingredient_at(GLYCERIN, 0.1)
    limits: dict[str, Ends] = {"water activity": (0.9, None), "oil phase": (20.0, None), "share of water": (5.0, None)}
    answer = design(brief_of([WATER, cheap, OIL], limits))
    assert isinstance(answer, Designed), getattr(answer, "reason", "")
    assert share(answer, "glycerin") == pytest.approx(glycerin_for(0.9, 0.8), abs=1e-5)


def test_outside_the_model_the_answer_says_so_in_words() -> None:
    """70 parts of glycerin to 10 of water, pinned: beyond the 60 % of the table. The model stands in the conflict."""
    limits: dict[str, Ends] = {
        "water activity": (None, 0.9),
        "share of water": (10.0, 10.0),
        "share of humectant": (70.0, 70.0),
    }
    answer = design(brief_of([WATER, GLYCERIN, OIL], limits))
    assert isinstance(answer, NoFormula)
    words = [demand.words for demand in answer.conflict]
    assert any("Glycerin" in each and "the model of water activity holds no further" in each for each in words)
    assert all(change.demand.kind == "limit" for repair in answer.repairs for change in repair)


def test_a_water_activity_out_of_reach_is_not_answered() -> None:
    """45 % water with all else glycerin reaches 0.77 at best; 0.6 can never be, and nothing may claim it."""
    limits: dict[str, Ends] = {"water activity": (None, 0.6), "share of water": (45.0, None)}
    answer = design(brief_of([WATER, GLYCERIN], limits))
    assert isinstance(answer, NoFormula)
    assert answer.reason or answer.conflict


# -- a ratio as the goal -----------------------------------------------------------------------------------------------


def charnes_cooper(brief: Brief, words: str, sign: float) -> float:
    """Lowest sign * p x / g x over the brief: minimise sign * p y with g y = 1, sum y = t, A y <= b t, y, t >= 0."""
    items = brief.mix.ingredients
    p, g = shares(words, items)
    rows = [row_of(brief, key, target) for key, target in asked(brief).items()]
    found = linprog(
        np.append(sign * p, 0.0),
        A_ub=np.array([np.append(row, 0.0) for row in rows]),
        b_ub=np.zeros(len(rows)),
        A_eq=np.array([np.append(g, 0.0), np.append(np.ones(len(items)), -1.0)]),
        b_eq=[1.0, 0.0],
        bounds=(0, None),
        method="highs",
    )
    assert found.status == 0, found.message
    return sign * float(found.fun)


def row_of(brief: Brief, key: Key, target: float) -> Vector:
    """Coefficients that must be at most 0; every row is homogeneous because fractions sum to one."""
    name, side = key
    items = brief.mix.ingredients
    own = np.array([100.0 * (item.name == name) for item in items])
    p, g = (own, np.ones(len(items))) if own.any() else shares(name, items)
    return (target * g - p) * (1.0 if side == "low" else -1.0)


def with_fats(brief: Brief) -> Brief:
    """The brief with 5 % butter or more, so that a mean over the fats has something to be a mean of."""
    kept = tuple(limit for limit in brief.limits if limit.property.name != "share of butter")
    butter = Limit(find_property("share of butter", "EUR"), 5.0, None)
    return replace(brief, limits=(*kept, butter))


@pytest.mark.sweep
@pytest.mark.parametrize("direction", ["lowest", "highest"])
def test_a_ratio_as_the_goal(direction: str) -> None:
    checked = 0
    for seed in sweep(range(4000, 4080)):
        brief = with_fats(random_brief(seed, coarse=seed % 3 == 0))
        if not plain(brief).feasible:
            continue
        goal = TOWARDS[direction](find_property("iodine value", "EUR"))
        answer = designed(replace(brief, goal=goal))
        best = charnes_cooper(brief, "iodine value", 1.0 if direction == "lowest" else -1.0)
        assert answer.objective == pytest.approx(best, rel=1e-6), f"brief {seed}"
        assert measured(answer, "iodine value") == pytest.approx(best, rel=1e-6)
        assert answer.certificate.holds
        checked += 1
    assert checked >= enough(20)


def test_the_highest_solid_fat_within_a_price() -> None:
    """Butters of 60 and 90 % solid fat at 6 and 12 EUR/kg, oil of 0 % at 4, 10 % oil at least, cost at most 8.20.

    The butters share 90 %: 0.4 + 6 a + 12 b = 8.2 with a + b = 0.9 gives b = 0.4, so (60 * 0.5 + 90 * 0.4) / 1 = 66.
    """
    fats = [
        ingredient("hard butter", 12.0, "butter", curve={10.0: 90.0, 20.0: 80.0}),
        ingredient("soft butter", 6.0, "butter", curve={10.0: 60.0, 20.0: 40.0}),
        ingredient("oil", 4.0, "oil", curve={10.0: 0.0, 20.0: 0.0}),
    ]
    goal = Highest(find_property("solid fat at 10 degC", "EUR"))
    answer = designed(brief_of(fats, {"cost": (None, 8.2), "share of oil": (10.0, None)}, goal=goal))
    assert answer.objective == pytest.approx(66.0)
    assert share(answer, "hard butter") == pytest.approx(0.4)
    by_name = {binding.demand.name: binding for binding in answer.binding}
    assert by_name["cost"].price == pytest.approx(5.0)  # 1 EUR/kg turns 1/6 of the whole from soft to hard: 30 / 6
    assert by_name["cost"].price_unit == "% per EUR/kg"


@pytest.mark.parametrize("direction", ["lowest", "highest"])
def test_a_ratio_that_cannot_be_changed_is_still_an_answer(direction: str) -> None:
    """One butter only: whatever the formula, the iodine value of its fats is 35.4."""
    items = [
        ingredient("butter", 7.3, "butter", {"iodine value": 35.4}),
        *(ingredient(f"filler {number}", 1.7 + number, "active", {"alpha": 1.3 * number}) for number in range(5)),
    ]
    goal = TOWARDS[direction](find_property("iodine value", "EUR"))
    answer = design(brief_of(items, {"share of butter": (7.0, 41.3), "alpha": (1.1, 3.7)}, goal=goal))
    assert isinstance(answer, Designed), getattr(answer, "reason", "")
    assert answer.objective == pytest.approx(35.4)


def test_a_mean_as_the_goal_is_of_something() -> None:
    """The lowest iodine value of a formula that may do without fats: it has 0.1 % at least, and a value."""
    fat = ingredient("oil", 5.0, "oil", {"iodine value": 80.0})
    goal = Lowest(find_property("iodine value", "EUR"))
    for limits in ({"water phase": (None, 100.0)}, {"oil phase": (5.0, None)}):
        answer = designed(brief_of([WATER, fat], limits, goal=goal))
        assert answer.objective == pytest.approx(80.0)
        assert share(answer, "oil") >= 1e-3 - 1e-9


# -- nearest to a formula ----------------------------------------------------------------------------------------------

BUTTER = ingredient("butter", 8.0, "butter")


def formula(*lines: tuple[Ingredient, float]) -> Formula:
    return Formula("today", tuple(Line(item, fraction, item.phase) for item, fraction in lines))


def test_nearest_worked_out_by_hand() -> None:
    """60 water, 30 oil, 10 butter; butter at most 6, oil phase at least 38: 2 of the 4 points go to oil, 2 to water."""
    today = formula((WATER, 0.6), (OIL, 0.3), (BUTTER, 0.1))
    limits: dict[str, Ends] = {"share of butter": (None, 6.0), "oil phase": (38.0, 38.0)}
    answer = designed(brief_of([WATER, OIL, BUTTER], limits, goal=Nearest(today)))
    assert answer.objective == pytest.approx(4.0)
    assert [share(answer, name) for name in ("water", "oil", "butter")] == pytest.approx([0.62, 0.32, 0.06])
    assert answer.certificate.holds
    prices = {binding.demand.name: binding.price for binding in answer.binding}
    assert prices["share of butter"] == pytest.approx(1.0)


def test_nearest_to_what_already_fits_changes_nothing() -> None:
    today = formula((WATER, 0.6), (OIL, 0.3), (BUTTER, 0.1))
    answer = designed(brief_of([WATER, OIL, BUTTER], {"oil phase": (35.0, None)}, goal=Nearest(today)))
    assert answer.objective == pytest.approx(0.0, abs=1e-9)
    assert [share(answer, name) for name in ("water", "oil", "butter")] == pytest.approx([0.6, 0.3, 0.1])


def test_what_is_no_longer_a_candidate_counts_as_changed() -> None:
    """10 % butter of today is not to be had: 10 points must change hands, whatever takes its place."""
    today = formula((WATER, 0.6), (OIL, 0.3), (BUTTER, 0.1))
    answer = designed(brief_of([WATER, OIL], goal=Nearest(today)))
    assert answer.objective == pytest.approx(10.0)


@pytest.mark.sweep
def test_nearest_on_random_briefs() -> None:
    checked = 0
    for seed in sweep(range(4100, 4150)):
        brief = random_brief(seed)
        if not plain(brief).feasible:
            continue
        items = brief.mix.ingredients
        wanted = np.random.default_rng(seed).dirichlet(np.ones(len(items)))
        today = formula(*zip(items, wanted.tolist(), strict=True))
        answer = designed(replace(brief, goal=Nearest(today)))
        assert answer.objective == pytest.approx(least_moved(brief, wanted), rel=1e-6, abs=1e-8), f"brief {seed}"
        reached = np.array([answer.report.formula.fraction(item.name) for item in items])
        assert 50 * np.abs(reached - wanted).sum() == pytest.approx(answer.objective, rel=1e-6, abs=1e-6)
        assert answer.certificate.holds
        checked += 1
    assert checked >= enough(25)


def least_moved(brief: Brief, wanted: Vector) -> float:
    """Half the least sum of distances d with -d <= x - r <= d, in percentage points."""
    count = len(wanted)
    rows = [np.append(row_of(brief, key, target), np.zeros(count)) for key, target in asked(brief).items()]
    eye = np.eye(count)
    found = linprog(
        np.append(np.zeros(count), np.full(count, 50.0)),
        A_ub=np.vstack([*rows, np.hstack([eye, -eye]), np.hstack([-eye, -eye])]),
        b_ub=np.concatenate([np.zeros(len(rows)), wanted, -wanted]),
        A_eq=np.append(np.ones(count), np.zeros(count))[np.newaxis, :],
        b_eq=[1.0],
        bounds=(0, 1),
        method="highs",
    )
    return float(found.fun)


# -- how the goal is told ----------------------------------------------------------------------------------------------


def text_of(answer: Designed) -> str:
    return terminal(telling(answer), 120)


def test_a_goal_without_a_unit_is_told_without_one() -> None:
    water = ingredient("water", 1.0, "water", {"alpha": 2.0})
    told = text_of(designed(brief_of([water], goal=Highest(find_property("alpha", "EUR", [water])))))
    assert "Goal: highest alpha = 2.\n" in told


def test_a_goal_that_no_candidate_brings_is_said_to_be_idle() -> None:
    water = ingredient("water", 1.0, "water", {"alpha": 2.0})
    told = text_of(designed(brief_of([water], goal=Highest(find_property("grains", "EUR")))))
    assert "No candidate brings any grains" in told
    rich = text_of(designed(brief_of([water], goal=Highest(find_property("alpha", "EUR", [water])))))
    assert "No candidate brings" not in rich


def test_rounding_is_no_change() -> None:
    water, oil = ingredient("water", 1.0, "water"), ingredient("oil", 2.0, "oil")
    told = ((0.5 + 1e-9, "Nothing changes against today."), (0.6, "It changes 10 % of the jar against today."))
    for share, words in told:
        today = Formula("today", (Line(water, share, "water phase"), Line(oil, 1 - share, "oil phase")))
        goal = Nearest(today)
        assert words in text_of(designed(brief_of([water, oil], {"oil phase": (50.0, None)}, goal=goal)))
