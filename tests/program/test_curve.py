"""The exact trade-off curve against solving afresh at many targets, by scipy's linprog."""

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.program import walk
from optiform.program.build import Demand
from optiform.program.certificate import NotCertified
from optiform.program.curve import Curve, per_group, residual, trade_off
from optiform.program.linear import Program, Sense, Vector
from optiform.program.search import search
from optiform.program.solver import solve
from optiform.program.usual import requirements
from optiform.reading.faults import Absent, Unsettled
from tests.builders import RATIOS, brief_of, cornered, ingredient, plain, random_brief
from tests.sweeps import cases, enough, sweep, tier

pytestmark = pytest.mark.sweep

DEMO = Path(__file__).resolve().parents[2] / "optiform" / "demo" / "brief.toml"
SEEDS = sweep(range(2000, 2030))
EDGE = 1e-6  # relative: closer to an end than this the two solvers' tolerances decide
ROUNDING = 1e-9


def demands(brief: Brief) -> tuple[Demand, ...]:
    return requirements(brief).branch({})


def program_of(brief: Brief) -> Program:
    return search(brief, demands(brief)).program


def without_group(program: Program) -> Program:
    """The program without the demand that a mean has something to be over."""
    rows = [row for row in program.rows if "has a meaning" not in row.words]
    assert len(rows) < len(program.rows)
    return program.with_rows(rows)


def row_of(program: Program, words: str) -> int:
    return next(i for i, row in enumerate(program.rows) if row.words.startswith(words))


def again(program: Program, row: int, coefficients: Vector, rhs: float) -> float | None:
    """The optimum by linprog with this row in place of the program's own."""
    matrix, right = program.matrix.copy(), program.rhs.copy()
    matrix[row], right[row] = coefficients, rhs
    senses = np.array([each.sense for each in program.rows])
    least, most, same = (senses == sense for sense in (Sense.AT_LEAST, Sense.AT_MOST, Sense.EQUAL))
    found = linprog(
        program.cost,
        A_ub=np.vstack([-matrix[least], matrix[most]]),
        b_ub=np.concatenate([-right[least], right[most]]),
        A_eq=matrix[same],
        b_eq=right[same],
        bounds=list(zip(program.low, program.high, strict=True)),
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    assert found.status in (0, 2), found.message
    return float(found.fun) if found.status == 0 else None


def near_an_end(curve: Curve, target: float) -> bool:
    return curve.fits is not None and any(abs(target - end) <= EDGE * (1 + abs(end)) for end in curve.fits)


def fits(curve: Curve, target: float) -> bool:
    return curve.fits is not None and curve.fits[0] <= target <= curve.fits[1]


# -- by hand -----------------------------------------------------------------------------------------------------------

WATER = ingredient("plain water", 1.0, "water", {"alpha": 0.0})
OIL = ingredient("thin oil", 4.0, "oil", {"alpha": 1.0, "iodine value": 80.0})
BUTTER = ingredient("firm butter", 10.0, "butter", {"alpha": 4.0, "iodine value": 30.0})


def small() -> tuple[Program, int]:
    """Water 1, oil 4 with alpha 1, butter 10 with alpha 4 EUR/kg; oil at most half."""
    limits = {"alpha": (0.5, None), "share of oil": (None, 50.0)}
    program = program_of(brief_of([WATER, OIL, BUTTER], limits))
    return program, row_of(program, "alpha")


def test_a_curve_that_can_be_worked_out_on_paper() -> None:
    """A unit of alpha costs 3 by oil in place of water, or 9/4 by butter: butter from the start, up to all butter."""
    program, row = small()
    curve = trade_off(program, row, 0.0, 5.0)
    assert curve.fits == pytest.approx((0.0, 4.0))
    assert [point.target for point in curve.points] == pytest.approx([0.0, 4.0])
    assert curve.objective_at(2.0) == pytest.approx(1 + 2 * 2.25)
    assert curve.price_at(1.0) == pytest.approx(2.25)
    assert curve.point_at(2.0) == pytest.approx([0.5, 0.0, 0.5])


def test_a_ratio_that_can_be_worked_out_on_paper() -> None:
    """Fat at least 40 %, iodine value at most v: butter b of the fat gives 80 - 50 b, so b = (80 - v) / 50."""
    brief = brief_of([WATER, OIL, BUTTER], {"iodine value": (None, 60.0), "oil phase": (40.0, None)})
    program = program_of(brief)
    curve = trade_off(program, row_of(program, "iodine value"), 10.0, 100.0)
    assert curve.fits == pytest.approx((30.0, 100.0))
    assert [point.target for point in curve.points] == pytest.approx([30.0, 80.0, 100.0])
    for v in (30.0, 47.5, 80.0):
        assert curve.objective_at(v) == pytest.approx(0.6 + 0.4 * (4 + 6 * (80 - v) / 50))
    assert curve.objective_at(90.0) == pytest.approx(2.2)
    assert curve.price_at(90.0) == 0


def test_a_limit_that_never_binds_gives_a_flat_line() -> None:
    program = program_of(brief_of([WATER, OIL, BUTTER], {"oil phase": (20.0, None), "water phase": (0.0, None)}))
    curve = trade_off(program, row_of(program, "water phase at least"), 0.0, 70.0)
    assert len(curve.points) == 2
    assert [point.objective for point in curve.points] == pytest.approx([1.6, 1.6])


def test_nothing_fits_anywhere() -> None:
    program, row = small()
    curve = trade_off(program, row, 4.5, 6.0)
    assert curve.fits is None
    assert curve.points == ()
    with pytest.raises(Absent, match="no formula"):
        curve.objective_at(5.0)


def test_a_single_target_is_a_curve_of_one_point() -> None:
    program, row = small()
    for target in (2.0, 4.0):
        curve = trade_off(program, row, target, target)
        assert [point.objective for point in curve.points] == pytest.approx([1 + 2.25 * target])
        assert curve.objective_at(target) == pytest.approx(1 + 2.25 * target)


@pytest.mark.parametrize("ends", [(2.0, 1.0), (0.0, np.inf), (np.nan, 1.0)])
def test_a_range_has_to_be_one(ends: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="no range"):
        trade_off(*small(), *ends)


def test_outside_the_range_there_is_no_answer() -> None:
    curve = trade_off(*small(), 1.0, 2.0)
    for target in (0.999, 2.001):
        with pytest.raises(Absent, match="no formula"):
            curve.point_at(target)


def test_a_pinned_line_moves_one_way_only() -> None:
    """Both sides of a pin stand; moving one of them against the other leaves nothing."""
    program = program_of(brief_of([WATER, OIL, BUTTER], {"share of butter": (20.0, 20.0)}))
    low = trade_off(program, row_of(program, "share of butter at least"), 10.0, 30.0)
    high = trade_off(program, row_of(program, "share of butter at most"), 10.0, 30.0)
    assert low.fits == pytest.approx((10.0, 20.0))
    assert high.fits == pytest.approx((20.0, 30.0))


def equal(program: Program, row: int) -> Program:
    rows = list(program.rows)
    rows[row] = replace(rows[row], sense=Sense.EQUAL)
    return program.with_rows(rows)


def test_exactly_a_target_falls_and_rises() -> None:
    """With some oil asked for, the cheapest share of water is the largest; exactly less of it costs more."""
    program = program_of(brief_of([WATER, OIL, BUTTER], {"alpha": (1.0, None), "oil phase": (30.0, 60.0)}))
    program = equal(program, row_of(program, "oil phase at least"))
    curve = trade_off(program, row_of(program, "oil phase at least"), 0.0, 100.0)
    assert curve.fits == pytest.approx((25.0, 60.0))


def test_a_ratio_over_what_may_be_nothing_is_not_asked_for_exactly() -> None:
    program = without_group(program_of(brief_of([WATER, OIL, BUTTER], {"iodine value": (40.0, None)})))
    row = row_of(program, "iodine value")
    with pytest.raises(Unsettled, match="may be nothing"):
        trade_off(equal(program, row), row, 30.0, 60.0)


def test_beyond_the_end_of_a_ratio_its_group_may_be_left_out() -> None:
    """Fat is free to be none: no fat has an iodine value above 80, and a limit above that is kept with none at all."""
    tonic = ingredient("tonic", 20.0, "humectant", {"alpha": 5.0})
    brief = brief_of([WATER, OIL, BUTTER, tonic], {"iodine value": (40.0, None), "alpha": (1.0, None)})
    program = without_group(program_of(brief))
    row = row_of(program, "iodine value")
    curve = trade_off(program, row, 40.0, 120.0)
    assert curve.fits == (40.0, 120.0)
    assert curve.objective_at(80.0) == pytest.approx(1 + 3.0)  # all oil
    assert curve.objective_at(80.1) == pytest.approx(1 + 19 / 5)  # no fat at all
    assert residual(program, curve) <= ROUNDING


# -- the demo ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "ends", "count"),
    cases(
        [
            ("undissolved salt at 20 degC at least", (0.0, 30.0), 200),
            ("active surfactant at least", (0.0, 5.0), 200),
            ("emulsifier per 100 of oil phase at most", (15.0, 50.0), 200),
            ("solid fat at 30 degC at least", (2.0, 16.0), 1000),
        ],
        1,
        2,
    ),
)
def test_the_demo_at_many_targets(words: str, ends: tuple[float, float], count: int) -> None:
    brief = read_brief(DEMO)
    program, asked = program_of(brief), demands(brief)
    row = row_of(program, words)
    curve = trade_off(program, row, *ends)
    key = program.rows[row].key
    assert key is not None
    worst, inside = 0.0, 0
    for target in np.linspace(*ends, count):
        moved = asked[key].moved(float(target)).row(np.zeros(len(program.columns)), key)
        value = again(program, row, moved.coefficients, moved.rhs)
        if not near_an_end(curve, float(target)):
            assert (value is not None) == fits(curve, float(target)), target
        if value is not None and fits(curve, float(target)):
            worst, inside = max(worst, abs(value - curve.objective_at(float(target)))), inside + 1
    assert inside > 0.4 * count
    assert worst <= 1e-6
    assert residual(program, curve) <= ROUNDING


# -- at random ---------------------------------------------------------------------------------------------------------

Case = tuple[Brief, Program, int, Demand, Curve]


def curves(briefs: list[Brief]) -> Iterator[Case]:
    """The curve of every limit and line of the brief's own, to 80 % of its target to both sides."""
    for brief in briefs:
        asked = demands(brief)
        found = search(brief, asked)
        for row, each in enumerate(found.program.rows):
            if each.key is not None:
                demand = asked[each.key]
                width = 0.8 * abs(demand.target) + 0.1
                target = demand.target
                yield brief, found.program, row, demand, trade_off(found.program, row, target - width, target + width)


@cache
def generic() -> tuple[Case, ...]:
    return tuple(curves([random_brief(seed) for seed in SEEDS]))


@cache
def degenerate() -> tuple[Case, ...]:
    coarse = [random_brief(seed, coarse=True) if seed % 2 else cornered(seed, coarse=seed % 4 == 0) for seed in SEEDS]
    return tuple(curves(coarse))


@pytest.fixture(params=[generic, degenerate], ids=["generic", "degenerate"])
def found(request: pytest.FixtureRequest) -> tuple[Case, ...]:
    cases: tuple[Case, ...] = request.param()
    return cases


def test_every_target_has_the_cost_of_solving_afresh(found: tuple[Case, ...]) -> None:
    rng, inside = np.random.default_rng(0), 0
    for brief, _, _, demand, curve in found:
        for target in rng.uniform(*curve.asked, size=4):
            verdict = plain(brief, {(demand.name, demand.side): float(target)})
            if near_an_end(curve, target):
                continue
            assert verdict.feasible == fits(curve, target), f"{demand.words} -> {target}"
            if verdict.feasible:
                inside += 1
                assert curve.objective_at(target) == pytest.approx(verdict.cost, abs=1e-6), f"{demand.words} {target}"
    assert inside >= enough(300)


def test_where_it_ends_nothing_fits_beyond(found: tuple[Case, ...]) -> None:
    ended = 0
    for brief, _, _, demand, curve in found:
        if curve.fits is None:
            continue
        for end, limit, way in zip(curve.fits, curve.asked, (-1, 1), strict=True):
            if end != limit:
                ended += 1
                step = way * 10 * EDGE * (1 + abs(end))
                assert not plain(brief, {(demand.name, demand.side): end + step}).feasible, demand.words
                assert plain(brief, {(demand.name, demand.side): end - step}).feasible or len(curve.points) == 1
    assert ended >= enough(30)


def test_the_proof_holds_along_every_curve(found: tuple[Case, ...]) -> None:
    assert max(residual(program, curve) for _, program, _, _, curve in found) <= 1e-7


def test_pieces_join_without_gaps_in_rising_order(found: tuple[Case, ...]) -> None:
    for *_, curve in found:
        for one, other in pairwise(curve.pieces):
            assert one.start < one.end == other.start


def test_an_amount_gets_dearer_the_more_is_asked(found: tuple[Case, ...]) -> None:
    """The optimum of a linear program is convex in a right-hand side."""
    checked = 0
    for *_, demand, curve in found:
        if demand.name not in RATIOS:
            prices = [price for pair in curve.prices for price in pair]
            checked += len(prices) > 2
            assert all(b >= a - 1e-7 * (1 + abs(a)) for a, b in pairwise(prices)), demand.words
    assert checked >= enough(10)


def test_the_point_at_every_break_fits_and_has_that_cost(found: tuple[Case, ...]) -> None:
    for brief, program, row, demand, curve in found:
        for point in curve.points:
            assert float(program.cost @ point.x) == pytest.approx(point.objective, abs=1e-9)
            assert point.x.sum() == pytest.approx(1.0)
            assert point.x.min() >= -1e-9
            others = [each for key, each in enumerate(demands(brief)) if key != program.rows[row].key]
            assert all(each.met(point.x) for each in (*others, demand.moved(point.target))), demand.words


def test_the_random_briefs_have_ratios_bends_and_corners() -> None:
    """Guard: what the tests above look at is there."""
    found = [(demand, curve) for *_, demand, curve in (*generic(), *degenerate())]
    assert sum(demand.name in RATIOS and len(curve.points) > 2 for demand, curve in found) >= enough(10)
    assert sum(len(curve.points) > 3 for _, curve in found) >= enough(10)
    cornered = sum(len(curve.pieces) > len(curve.points) - 1 for _, curve in found)
    assert cornered or tier() == "long"  # the third of the seeds and the last but one have some


def test_a_walk_that_is_helped_on_at_every_corner_finds_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if every corner were a circle: the solver names each next basis."""
    monkeypatch.setattr(walk, "IDLE", 1)
    compared = 0
    for _, program, row, demand, curve in degenerate()[::2]:
        if curve.fits is None:
            continue
        helped = trade_off(program, row, *curve.asked)
        assert helped.fits is not None
        assert helped.fits == pytest.approx(curve.fits, rel=1e-5, abs=1e-5)
        for target in np.linspace(*curve.fits, 7)[1:-1]:
            compared += 1
            assert helped.objective_at(target) == pytest.approx(curve.objective_at(target), abs=1e-4), demand.words
    assert compared >= enough(50)


def test_a_wrong_curve_does_not_pass_the_proof() -> None:
    program, row = small()
    curve = trade_off(program, row, 0.0, 4.0)
    piece = curve.pieces[0]
    lazy = replace(piece.segment, step=0.5 * piece.segment.step)
    with pytest.raises(NotCertified, match="does not check"):
        residual(program, replace(curve, pieces=(replace(piece, segment=lazy),)))
    dear = replace(piece.segment, x=np.array([0.0, 0.0, 1.0]), step=0 * piece.segment.step)
    with pytest.raises(NotCertified, match="does not check"):
        residual(program, replace(curve, pieces=(replace(piece, segment=dear),)))


# -- exactly, and a ratio as the cost ----------------------------------------------------------------------------------


def test_exactly_a_target_at_random() -> None:
    inside = 0
    for _, program, row, demand, wide in generic()[::3]:
        if demand.name in RATIOS:
            continue
        curve = trade_off(equal(program, row), row, *wide.asked)
        for target in np.linspace(*wide.asked, 9):
            moved = program.rows[row].moved(float(target) - program.rows[row].target)
            value = again(equal(program, row), row, moved.coefficients, moved.rhs)
            if near_an_end(curve, target):
                continue
            assert (value is not None) == fits(curve, target), demand.words
            if value is not None:
                inside += 1
                assert curve.objective_at(target) == pytest.approx(value, abs=1e-6)
    assert inside >= enough(100)


def dinkelbach(program: Program, group: Vector, row: int, change: float) -> float | None:
    """The least  cost x / group x  with the row's target moved, by linprog again and again."""
    moved, value = program.rows[row].moved(change), 0.0
    for _ in range(60):
        least = again(program.with_cost(program.cost - value * group), row, moved.coefficients, moved.rhs)
        if least is None:
            return None
        if abs(least) < 1e-10:
            return value
        value = improved(program, group, row, change, value)
    return value


def improved(program: Program, group: Vector, row: int, change: float, value: float) -> float:
    """The ratio at the point that is best for the last ratio."""
    rows = list(program.rows)
    rows[row] = rows[row].moved(change)
    x = solve(replace(program, rows=tuple(rows), cost=program.cost - value * group)).x
    return float(program.cost @ x) / float(group @ x)


def test_the_cost_may_be_a_mean_over_a_group() -> None:
    inside = 0
    for _, program, row, demand, wide in generic()[::4]:
        group = np.where(np.arange(len(program.columns)) % 2, 1.0, 0.2)
        if wide.fits is None:
            continue
        ratio = per_group(program, group, row)
        curve = trade_off(ratio, row, *wide.asked)
        assert residual(ratio, curve) <= 1e-7
        for target in np.linspace(*wide.asked, 4):
            if near_an_end(curve, target):
                continue
            value = dinkelbach(program, group, row, float(target) - program.rows[row].target)
            assert (value is not None) == fits(curve, target), demand.words
            if value is not None:
                inside += 1
                assert curve.objective_at(target) == pytest.approx(value, abs=1e-6)
                point = curve.point_at(target)
                x = point[:-1] / point[-1]
                assert float(program.cost @ x) / float(group @ x) == pytest.approx(value, abs=1e-6)
    assert inside >= enough(60)


def test_a_ratio_of_a_program_that_nothing_fits_is_refused() -> None:
    program = program_of(
        brief_of([WATER, OIL], {"oil phase": (80.0, None), "water phase": (40.0, None), "water": (0.0, None)})
    )
    with pytest.raises(ValueError, match="no feasible point"):
        per_group(program, np.ones(2), row_of(program, "water at least"))
