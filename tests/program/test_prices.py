"""Prices of limits, the range they hold on and the price at which a candidate enters, against solving again.

Every re-solve is of the independently assembled brief of tests.builders, by a solver of its own (tests/least.py).
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.design.answer import Binding, Designed
from optiform.design.design import design
from optiform.ingredients.ingredient import Ingredient
from optiform.program.linear import NoPoint, Program
from optiform.program.live import Live, inverse_of
from optiform.program.prices import Pricer, least_beside
from optiform.program.walk import moved_program
from tests.builders import RATIOS, Key, brief_of, cornered, figure, ingredient, plain, random_brief
from tests.sweeps import enough, sweep

pytestmark = pytest.mark.sweep

SEEDS = sweep(range(1000, 1120))
STEP = 2e-5  # relative to the target: beyond the hair the pricer moves by, short of most corners
ROUNDING = 1e-9  # EUR/kg, of a solved cost
GRAM = 1e-5  # mass fraction: 0.01 g in a kg, less than anybody weighs
THIN = (51030, 51054, 51318)  # corners so thin that a solver's usual tolerance of 1e-7 reaches across them
FAR = 1e6  # no target that a person would set


def designed(briefs: Iterable[Brief]) -> Iterator[Designed]:
    for brief in briefs:
        answer = design(brief)
        if isinstance(answer, Designed):
            yield answer


@cache
def generic() -> tuple[Designed, ...]:
    return tuple(designed(random_brief(seed) for seed in SEEDS))


@cache
def degenerate() -> tuple[Designed, ...]:
    """Figures that repeat, and on half of them more limits that all meet in the answer."""
    coarse = (random_brief(seed, coarse=True) if seed % 2 else cornered(seed, coarse=seed % 4 == 0) for seed in SEEDS)
    return tuple(designed([*coarse, *(cornered(seed) for seed in THIN)]))


@pytest.fixture(params=[generic, degenerate], ids=["generic", "degenerate"])
def answers(request: pytest.FixtureRequest) -> tuple[Designed, ...]:
    found: tuple[Designed, ...] = request.param()
    return found


def key(binding: Binding) -> Key:
    return binding.demand.name, binding.demand.side


def is_ratio(binding: Binding) -> bool:
    return binding.demand.name in RATIOS


def looser(binding: Binding, step: float) -> float:
    """The target moved by `step` towards asking for less."""
    return binding.demand.target + (-step if binding.demand.side == "low" else step)


def step_of(binding: Binding, distance: float | None) -> float:
    """A small step, half way to the end of the range at most where that end is near."""
    size = 1 + abs(binding.demand.target)
    if distance is None or distance < 1e-7 * size:  # no end, or the target itself is the end
        return STEP * size
    return min(STEP * size, distance / 2)


def cost_at(answer: Designed, binding: Binding, target: float) -> float:
    """The re-solved cost with this one target moved; infinite where nothing fits."""
    verdict = plain(answer.brief, {key(binding): target})
    return verdict.cost if verdict.feasible else np.inf


def bindings(answers: tuple[Designed, ...], ratio: bool) -> list[tuple[Designed, Binding]]:
    return [(answer, each) for answer in answers for each in answer.binding if is_ratio(each) == ratio]


def ends(binding: Binding) -> tuple[float | None, float | None]:
    """How far the price holds: towards looser, and towards tighter, as distances from the target."""
    start, end, at = binding.valid_from, binding.valid_to, binding.demand.target
    down, up = (None if start is None else at - start), (None if end is None else end - at)
    return (down, up) if binding.demand.side == "low" else (up, down)


# -- the price ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio", [False, True], ids=["plain", "ratio"])
def test_a_little_looser_gains_the_price(answers: tuple[Designed, ...], ratio: bool) -> None:
    checked = bindings(answers, ratio)
    assert len(checked) >= enough(20)
    for answer, binding in checked:
        step = step_of(binding, ends(binding)[0])
        gain = (answer.objective - cost_at(answer, binding, looser(binding, step))) / step
        assert gain == pytest.approx(binding.price, rel=1e-3, abs=2 * ROUNDING / step), binding.demand.words


@pytest.mark.parametrize("ratio", [False, True], ids=["plain", "ratio"])
def test_a_little_tighter_costs_the_price_on_that_side(answers: tuple[Designed, ...], ratio: bool) -> None:
    for answer, binding in bindings(answers, ratio):
        step = step_of(binding, ends(binding)[1])
        loss = (cost_at(answer, binding, looser(binding, -step)) - answer.objective) / step
        if binding.tighter is None:
            assert loss == np.inf, binding.demand.words
        else:
            assert loss == pytest.approx(binding.tighter, rel=1e-3, abs=2 * ROUNDING / step), binding.demand.words


def test_what_is_not_listed_costs_nothing(answers: tuple[Designed, ...]) -> None:
    """Any demand without a price can give way without a gain."""
    for answer in answers[:60]:
        priced = {key(binding) for binding in answer.binding}
        for limit in answer.brief.limits:
            for side, target in (("low", limit.low), ("high", limit.high)):
                name = limit.property.name
                if target is not None and (name, side) not in priced:
                    moved = target + 1e-3 * (-1 if side == "low" else 1)
                    cost = plain(answer.brief, {(name, side): moved}).cost
                    assert cost == pytest.approx(answer.objective, rel=1e-9), f"{name} {side}"


def test_the_degenerate_briefs_have_corners() -> None:
    """Guard: on some the two sides of a target differ in price, on some there is no tighter side."""
    found = [each for answer in (*degenerate(), *generic()) for each in answer.binding]
    assert sum(each.tighter is None for each in found) >= 5
    assert sum(each.tighter is not None and each.tighter > 1.01 * each.price for each in found) >= 5


# -- the range ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ratio", [False, True], ids=["plain", "ratio"])
def test_the_target_lies_in_its_range(answers: tuple[Designed, ...], ratio: bool) -> None:
    for _, binding in bindings(answers, ratio):
        for distance in ends(binding):
            assert distance is None or distance >= -1e-7 * (1 + abs(binding.demand.target)), binding.demand.words


@pytest.mark.parametrize("ratio", [False, True], ids=["plain", "ratio"])
def test_an_end_that_is_no_end_is_not_given_as_a_number(answers: tuple[Designed, ...], ratio: bool) -> None:
    for _, binding in bindings(answers, ratio):
        for end in (binding.valid_from, binding.valid_to):
            assert end is None or abs(end) < FAR, f"{binding.demand.words}: {end}"


def test_inside_the_range_the_cost_is_a_straight_line(answers: tuple[Designed, ...]) -> None:
    for answer, binding in bindings(answers, ratio=False):
        for sign, distance in zip((1, -1), ends(binding), strict=True):
            for part in (0.1, 0.5, 0.99):
                gone = sign * part * (1.0 if distance is None else distance)
                cost = cost_at(answer, binding, looser(binding, gone))
                expected = answer.objective - binding.price * gone
                assert cost == pytest.approx(expected, rel=1e-7, abs=1e-8), binding.demand.words


def test_beyond_the_range_the_slope_is_another() -> None:
    """Or nothing fits any more. Generic figures only: with repeated ones a new basis may have the old slope."""
    checked = 0
    for answer, binding in bindings(generic(), ratio=False):
        for sign, distance in zip((1, -1), ends(binding), strict=True):
            if distance is None:
                continue
            gone = sign * (max(distance, 0.0) + 1e-3 * (1 + abs(binding.demand.target)))
            cost = cost_at(answer, binding, looser(binding, gone))
            assert cost > answer.objective - binding.price * gone + 1e-8, binding.demand.words
            checked += 1
    assert checked >= enough(100)


def test_inside_the_range_of_a_ratio_the_same_candidates_stay_in_use() -> None:
    """The basis stays; the price itself does not, because the group grows or shrinks with the target."""
    checked = 0
    for answer, binding in bindings(generic(), ratio=True):
        if answer.tie is not None:
            continue
        at_home = used(plain(answer.brief).x)
        for sign, distance in zip((1, -1), ends(binding), strict=True):
            if distance is None or not 1e-3 <= distance <= FAR:
                continue
            for part in (0.1, 0.5, 0.95):
                verdict = plain(answer.brief, {key(binding): looser(binding, sign * part * distance)})
                assert verdict.feasible
                assert used(verdict.x) == at_home, f"{binding.demand.words} {binding.valid_from} {binding.valid_to}"
            checked += 1
    assert checked >= enough(15)


def used(x: np.ndarray[tuple[int], np.dtype[np.float64]]) -> set[int]:
    return set(np.flatnonzero(x > 1e-7).tolist())


# -- the way in --------------------------------------------------------------------------------------------------------


def priced_at(brief: Brief, name: str, price: float) -> Brief:
    """The brief with another price for one candidate."""
    items = tuple(repriced(item, price) if item.name == name else item for item in brief.mix.ingredients)
    return replace(brief, mix=replace(brief.mix, ingredients=items))


def repriced(item: Ingredient, price: float) -> Ingredient:
    return replace(item, values={**item.values, ("price", None): figure(price, "EUR/kg")})


def test_a_candidate_enters_just_below_its_price_and_not_just_above(answers: tuple[Designed, ...]) -> None:
    checked = 0
    for answer in answers:
        for entry in answer.entries:
            if entry.below is None:
                continue
            index = [item.name for item in answer.brief.mix.ingredients].index(entry.ingredient)
            below = plain(priced_at(answer.brief, entry.ingredient, entry.below - 1e-3 * (1 + entry.below)))
            above = plain(priced_at(answer.brief, entry.ingredient, entry.below + 1e-3 * (1 + entry.below)))
            assert below.cost < answer.objective - ROUNDING, entry
            assert below.x[index] > 1e-6, entry
            assert above.x[index] < 1e-9, entry
            checked += 1
    assert checked >= enough(30)


def test_no_price_above_zero_lets_the_others_in(answers: tuple[Designed, ...]) -> None:
    """An entry without a price stays out even when it is all but free."""
    for answer in answers:
        for entry in answer.entries:
            if entry.below is None:
                index = [item.name for item in answer.brief.mix.ingredients].index(entry.ingredient)
                nearly_free = plain(priced_at(answer.brief, entry.ingredient, 1e-6))
                assert nearly_free.x[index] < GRAM or nearly_free.cost >= answer.objective - ROUNDING, entry


# -- by hand -----------------------------------------------------------------------------------------------------------


def test_prices_of_a_brief_worked_out_by_hand() -> None:
    """Oil at 5, butter at 9, filler at 1 EUR/kg; butter at least 10 %, oil phase at least 30 %, oil at most 50 %.

    Best: 10 % butter, 20 % oil, 70 % filler: 2.60 EUR/kg. One point of butter less turns to oil: 0.04. One point of
    oil phase less turns oil to filler: 0.04. Butter can go from 0 to 30 %; the oil phase from 10 to 60 %.
    """
    candidates = [ingredient("oil", 5.0, "oil"), ingredient("butter", 9.0, "butter"), ingredient("filler", 1.0)]
    limits = {"share of butter": (10.0, None), "oil phase": (30.0, None), "share of oil": (None, 50.0)}
    answer = design(brief_of(candidates, limits))
    assert isinstance(answer, Designed)
    assert answer.objective == pytest.approx(2.6)
    found = {binding.demand.name: binding for binding in answer.binding}
    assert set(found) == {"share of butter", "oil phase"}
    for name, start, end in (("share of butter", 0.0, 30.0), ("oil phase", 10.0, 60.0)):
        assert found[name].price == pytest.approx(0.04)
        assert found[name].tighter == pytest.approx(0.04)
        assert found[name].price_unit == "EUR/kg per %"
        assert (found[name].valid_from, found[name].valid_to) == pytest.approx((start, end))


def test_a_pinned_line_is_priced_on_the_side_that_pays() -> None:
    """A costly line pinned at 10 % beside a filler: its `at least` costs 0.08 per point, its `at most` nothing."""
    candidates = [ingredient("costly", 9.0), ingredient("filler", 1.0)]
    answer = design(brief_of(candidates, ranges={"costly": Range(0.1, 0.1, "brief")}))
    assert isinstance(answer, Designed)
    assert [(each.demand.name, each.demand.side) for each in answer.binding] == [("costly", "low")]
    assert answer.binding[0].price == pytest.approx(0.08)
    assert answer.binding[0].tighter is None
    assert answer.binding[0].valid_from == pytest.approx(0.0)


def test_two_limits_in_one_corner_have_a_price_on_each_side() -> None:
    """At least 30 % of oil phase, of which at most 30 % is oil: one point more must be butter, at twice the price."""
    candidates = [ingredient("oil", 5.0, "oil"), ingredient("butter", 9.0, "butter"), ingredient("filler", 1.0)]
    answer = design(brief_of(candidates, {"oil phase": (30.0, None), "share of oil": (None, 30.0)}))
    assert isinstance(answer, Designed)
    found = {binding.demand.name: binding for binding in answer.binding}
    assert set(found) == {"oil phase"}, "one point more of oil alone would gain nothing"
    assert found["oil phase"].price == pytest.approx(0.04)
    assert found["oil phase"].tighter == pytest.approx(0.08)
    assert (found["oil phase"].valid_from, found["oil phase"].valid_to) == pytest.approx((0.0, 30.0))


def test_a_candidate_of_which_no_more_than_a_pinch_fits_has_a_price_too() -> None:
    """Five parts in a million of it fit, each in the place of oil at 5 EUR/kg: it would pay below that."""
    candidates = [ingredient("oil", 5.0), ingredient("pinch", 6.0)]
    answer = design(brief_of(candidates, ranges={"pinch": Range(0.0, 5e-6, "brief")}))
    assert isinstance(answer, Designed)
    (entry,) = answer.entries
    assert entry.ingredient == "pinch"
    assert entry.below == pytest.approx(5.0)


def test_the_inverse_of_a_basis_is_that_of_its_columns() -> None:
    """Whatever is in the basis and in whatever order: activities of rows, columns, all or none of either."""
    rng = np.random.default_rng(5)
    for share in (0.0, 0.3, 0.7, 1.0):
        for _ in range(20):
            rows, width = int(rng.integers(1, 9)), 9
            matrix = np.hstack([rng.normal(size=(rows, width)), -np.eye(rows)])
            own = width + np.flatnonzero(rng.random(rows) < share)
            basic = rng.permutation([*own, *rng.choice(width, rows - len(own), replace=False)]).astype(np.intp)
            assert inverse_of(matrix, basic) @ matrix[:, basic] == pytest.approx(np.eye(rows), abs=1e-8)


def test_the_answers_own_basis_prices_as_the_solver_does(answers: tuple[Designed, ...]) -> None:
    """On both sides of each limit: what its own factorisation says, and what a move of the target finds."""
    own_basis = both = 0
    for answer in answers[: enough(25)]:
        program = answer.program
        quick, plain = Pricer(program), Pricer(program)
        plain.__dict__["_basis"] = None  # never ask the answer's own
        for row in (i for i, row in enumerate(program.rows) if row.key is not None):
            for side in ("looser", "tighter"):
                one, other = getattr(quick, side)(row), getattr(plain, side)(row)
                assert (one is None) == (other is None)
                if one is None:
                    continue
                both += 1
                own = quick._own(row)
                own_basis += own is not None and own.start < one.origin < own.end
                assert one.price_at(one.origin) == pytest.approx(other.price_at(one.origin), rel=1e-5, abs=1e-8)
                assert one.objective_at(one.origin) == pytest.approx(other.objective_at(one.origin), rel=1e-9)
    assert both > enough(100)
    assert own_basis > both / 3


def cost_of(program: Program, row: int, change: float) -> float:
    """The least cost with the target of a row moved, solved from nothing; infinite where nothing fits."""
    try:
        live = Live(moved_program(program, row, change))
    except NoPoint:
        return np.inf
    live.solve()
    return np.inf if live.optimum is None else live.optimum.value


def test_what_a_basis_proves_beside_it_is_never_above_the_cost_there() -> None:
    """Amounts and ratios, limits whose own activity is in the basis too; near by one step often tells all there is."""
    near, exact, proven, ratios = 0, 0, 0, 0
    for answer in (*generic()[: enough(25)], *degenerate()[: enough(25)]):
        program = answer.program
        basis = Live(program).basis()
        for row in (i for i, row in enumerate(program.rows) if row.key is not None):
            for step in (-0.5, -1e-4, 1e-4, 0.5):
                change = step * (1 + abs(program.rows[row].target))
                least, cost = least_beside(basis, program, row, change), cost_of(program, row, change)
                assert least <= cost + ROUNDING * (1 + abs(cost)), program.rows[row].words
                if np.isfinite(least) and abs(step) < 0.5:
                    near, exact = near + 1, exact + int(least >= cost - ROUNDING * (1 + abs(cost)))
                proven += int(np.isposinf(least))
                ratios += int(np.isfinite(least) and program.rows[row].group is not None)
    assert near >= enough(20)
    assert exact >= near / 4
    assert ratios >= enough(10)
    assert proven >= enough(20)
