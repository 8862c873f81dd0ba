"""Whole columns against full enumeration: every subset, every way to share out the steps."""

from collections.abc import Iterator
from itertools import combinations, pairwise, product

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.program import integer
from optiform.program.integer import solve_whole
from optiform.program.linear import Program, Row, Sense
from optiform.program.search import BestFormula, search
from optiform.program.solver import SolverName
from optiform.program.usage import ceilings, in_steps, least_miss, solve_opening, used_or_not
from optiform.program.usual import requirements
from tests.builders import random_brief
from tests.sweeps import cases, sweep

Vector = NDArray[np.float64]


def small_programs(most: int, count: int, coarse: bool = False) -> list[tuple[int, Program]]:
    """Programs of random briefs that have a formula and at most so many candidates, with their seeds."""
    found = []
    for seed in range(10_000):
        brief = random_brief(seed, coarse)
        if len(brief.mix.ingredients) <= most:
            answer = search(brief, requirements(brief).branch({}))
            if isinstance(answer, BestFormula):
                found.append((seed, answer.program))
        if len(found) == count:
            return found
    raise AssertionError("too few programs")


def linear(program: Program, low: Vector, high: Vector) -> float | None:
    """The least cost between these bounds by scipy; None if nothing fits."""
    over = [(row.coefficients, row.rhs) for row in program.rows if row.sense is Sense.AT_MOST]
    over += [(-row.coefficients, -row.rhs) for row in program.rows if row.sense is Sense.AT_LEAST]
    equal = [(row.coefficients, row.rhs) for row in program.rows if row.sense is Sense.EQUAL]
    found = linprog(
        program.cost,
        A_ub=np.array([a for a, _ in over]) if over else None,
        b_ub=np.array([b for _, b in over]) if over else None,
        A_eq=np.array([a for a, _ in equal]),
        b_eq=np.array([b for _, b in equal]),
        bounds=list(zip(low, high, strict=True)),
    )
    return float(found.fun) if found.status == 0 else None


def by_subsets(program: Program, least: float, most: int, apart: tuple[int, int]) -> float | None:
    """The best over every subset of the columns that may be used together."""
    count, values = len(program.columns), []
    for size in range(1, most + 1):
        for used in combinations(range(count), size):
            if set(apart) <= set(used):
                continue
            inside = np.isin(np.arange(count), used)
            low, high = np.where(inside, np.maximum(program.low, least), 0.0), np.where(inside, program.high, 0.0)
            values.append(linear(program, low, high))
    return min((value for value in values if value is not None), default=None)


@pytest.mark.parametrize("coarse", cases([True, False], 1))
def test_used_or_not_is_the_best_subset(coarse: bool) -> None:
    reached = 0
    for seed, program in small_programs(6, 25, coarse):
        rng = np.random.default_rng(seed)
        count = len(program.columns)
        most, least = int(rng.integers(2, count + 1)), float(rng.choice([0.0, 0.05, 0.2]))
        apart = (0, count - 1)
        wide = used_or_not(program, dict.fromkeys(range(count), least), most, [apart])
        wanted, found = by_subsets(program, least, most, apart), solve_whole(wide)
        assert (found is None) == (wanted is None), seed
        if found is not None and wanted is not None:
            reached += 1
            assert found.value == pytest.approx(wanted, rel=1e-7, abs=1e-8), seed
            used = found.x[count:] > 0.5
            assert used.sum() <= most
            assert not (used[0] and used[-1])
            assert (np.abs(found.x[:count][~used]) < 1e-12).all()
            assert (found.x[:count][used] >= least - 1e-7).all()
    assert reached > 8


def shared_out(count: int, total: int) -> Iterator[tuple[int, ...]]:
    """Every way to share so many steps out among so many columns."""
    for bars in combinations(range(total + count - 1), count - 1):
        edges = (-1, *bars, total + count - 1)
        yield tuple(b - a - 1 for a, b in pairwise(edges))


def keeps(program: Program, points: Vector) -> NDArray[np.bool_]:
    """Which points keep every row. Shape (points,)."""
    slack = points @ program.matrix.T - program.rhs
    broken = np.where(program.at_least, -slack, 0.0), np.where(program.at_most, slack, 0.0)
    kept: NDArray[np.bool_] = np.maximum(*broken).max(axis=1) <= 1e-7
    return kept


def by_steps(program: Program, sizes: list[int], total: int) -> float | None:
    count = len(program.columns)
    points = np.array([p for p in shared_out(count, total) if not any(n % s for n, s in zip(p, sizes, strict=True))])
    points = points / total
    kept = keeps(program, points)
    return float((points[kept] @ program.cost).min()) if kept.any() else None


@pytest.mark.parametrize("coarse", cases([False, True], 1))
@pytest.mark.parametrize("fine", cases([True, False], 1))
def test_whole_steps_are_the_best_way_to_share_out(coarse: bool, fine: bool) -> None:
    total, reached, missed = 20, 0, 0
    for seed, program in small_programs(5, 25, coarse):
        count = len(program.columns)
        sizes = [1 + 3 * (fine and j % 2) for j in range(count)]
        wide = in_steps(program, dict(enumerate(sizes)), total)
        wanted, found = by_steps(program, sizes, total), solve_whole(wide)
        opened = solve_opening(program, wide, np.array(sizes) / total)
        assert (found is None) == (wanted is None) == (opened is None), seed
        missed += wanted is None
        if found is not None and wanted is not None and opened is not None:
            reached += 1
            assert found.value == pytest.approx(wanted, rel=1e-7, abs=1e-8), seed
            assert opened.solution.value == pytest.approx(wanted, rel=1e-7, abs=1e-8), seed
            assert opened.solution.bound <= wanted + 1e-6
            assert int(np.array(sizes) @ found.x[count : 2 * count]) == total
    assert reached > 5
    assert missed > 0


@pytest.mark.sweep
def test_few_lines_are_opened_and_none_is_forgotten() -> None:
    """The search over the lines that could pay gives the optimum over all, on briefs too large to enumerate."""
    spared = 0
    for seed, program in small_programs(12, len(sweep(range(40)))):
        wide = in_steps(program, dict.fromkeys(range(len(program.columns)), 1), 200)
        everything, opened = solve_whole(wide), solve_opening(program, wide, np.full(len(program.columns), 1 / 200))
        assert (everything is None) == (opened is None), seed
        if everything is not None and opened is not None:
            assert opened.solution.value == pytest.approx(everything.value, rel=1e-7, abs=1e-8), seed
            spared += int((~opened.among).sum())
    assert spared > 0


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_both_solvers_agree(solver: SolverName) -> None:
    for seed, program in small_programs(5, 6):
        count = len(program.columns)
        wide = used_or_not(in_steps(program, dict.fromkeys(range(count), 1), 20), dict.fromkeys(range(count), 0.1), 3)
        found = solve_whole(wide, solver)
        points = np.array([p for p in shared_out(count, 20) if np.count_nonzero(p) <= 3]) / 20
        points = points[((points == 0) | (points >= 0.1 - 1e-12)).all(axis=1)]
        kept = keeps(program, points)
        assert (found is None) == (not kept.any()), seed
        if found is not None:
            assert found.value == pytest.approx(float((points[kept] @ program.cost).min()), rel=1e-6, abs=1e-7)


@pytest.mark.parametrize("solver", ["highs", "cbc"])
def test_whole_values_within_the_solvers_rounding_but_not_within_the_rows_are_not_taken(solver: SolverName) -> None:
    # x <= 0.2 unless u, and x >= 0.2 + 4e-7: a hair that branch and bound by itself lets pass with u = 0
    rows = (
        Row.of("only where used", 2, {0: 1.0, 1: -0.5}, Sense.AT_MOST, 0.2),
        Row.of("a hair more", 2, {0: 1.0}, Sense.AT_LEAST, 0.2 + 4e-7),
    )
    program = Program(("x", "u"), np.array([0.0, 1.0]), np.zeros(2), np.ones(2), rows, frozenset({1}))
    found = solve_whole(program, solver)
    assert found is not None
    assert found.x[1] == 1


def test_ceilings_cut_off_nothing() -> None:
    for seed, program in small_programs(8, 20):
        high = ceilings(program)
        for j in range(len(program.columns)):
            most = linear(program.with_cost(-np.eye(len(program.columns))[j]), program.low, program.high)
            assert most is not None
            assert -most <= high[j] + 1e-7, seed


def test_a_ceiling_by_hand() -> None:
    rows = (
        Row("half a at most 20 %", np.array([0.5, 0.0, 0.0]), Sense.AT_MOST, 0.2),
        Row("b and c together at most 30 %", np.array([0.0, 1.0, 1.0]), Sense.AT_MOST, 0.3),
        Row("no ceiling with a minus sign", np.array([1.0, -1.0, 0.0]), Sense.AT_MOST, 0.1),
    )
    program = Program(("a", "b", "c"), np.zeros(3), np.zeros(3), np.ones(3), rows)
    assert ceilings(program) == pytest.approx([0.4, 0.3, 0.3])


def test_the_nearest_miss_is_the_least_of_all() -> None:
    """Ten steps among three; a pinned to 0.25 and b + 2 c at least 1.13 cannot both hold in tenths."""
    rows = (
        Row("everything", np.ones(3), Sense.EQUAL, 1.0),
        Row("a", np.array([1.0, 0.0, 0.0]), Sense.EQUAL, 0.25, key=0),
        Row("b and c", np.array([0.0, 1.0, 2.0]), Sense.AT_LEAST, 1.13, key=1),
        Row("c", np.array([0.0, 0.0, 1.0]), Sense.AT_MOST, 0.35, key=2),
    )
    program = Program(("a", "b", "c"), np.zeros(3), np.zeros(3), np.ones(3), rows)
    prices = {1: 1.0, 2: 0.5, 3: 2.0}
    firm = program.with_rows(rows[:1])
    whole = in_steps(firm, dict.fromkeys(range(3), 1), 10)
    extra = len(whole.columns) - 3
    whole = whole.with_rows([*whole.rows, *(row.widened(extra) for row in rows[1:])])
    place = len(whole.rows) - 3
    found = least_miss(whole, {place + k: price for k, price in enumerate(prices.values())})

    def breach(a: float, b: float, c: float) -> float:
        return abs(a - 0.25) + 0.5 * max(0.0, 1.13 - b - 2 * c) + 2 * max(0.0, c - 0.35)

    tenths = [(a / 10, b / 10, (10 - a - b) / 10) for a, b in product(range(11), range(11)) if a + b <= 10]
    assert found is not None
    assert breach(*found[:3]) == pytest.approx(min(breach(*point) for point in tenths))
    assert np.round(10 * found[:3]) == pytest.approx(10 * found[:3])


def test_rows_that_must_hold_are_not_broken_for_a_miss() -> None:
    rows = (
        Row("everything", np.ones(2), Sense.EQUAL, 1.0),
        Row("law", np.array([1.0, 0.0]), Sense.AT_MOST, 0.1),
        Row("limit", np.array([1.0, 0.0]), Sense.AT_LEAST, 0.5, key=0),
    )
    program = Program(("a", "b"), np.zeros(2), np.zeros(2), np.ones(2), rows)
    whole = in_steps(program.with_rows(rows[:2]), {0: 1, 1: 1}, 10)
    whole = whole.with_rows([*whole.rows, rows[2].widened(len(whole.columns) - 2)])
    found = least_miss(whole, {len(whole.rows) - 1: 1.0})
    assert found is not None
    assert found[:2] == pytest.approx([0.1, 0.9])
    impossible = whole.with_rows([*whole.rows, Row("law", whole.rows[0].coefficients, Sense.AT_MOST, 0.5)])
    assert least_miss(impossible, {len(whole.rows) - 1: 1.0}) is None


def test_an_impossible_program_is_told() -> None:
    program = small_programs(4, 1)[0][1]
    clash = Row("clash", np.ones(len(program.columns)), Sense.AT_MOST, 0.5)
    program = program.with_rows([*program.rows, clash])
    wide = in_steps(program, dict.fromkeys(range(len(program.columns)), 1), 10)
    assert solve_opening(program, wide, np.full(len(program.columns), 0.1)) is None


def test_whole_values_are_proven_without_the_word_of_a_second_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    """By bounds that are recomputed; a value that is not the best, and a verdict that is wrong, are not proven."""
    asked: list[str] = []
    honest = integer._branch_and_bound

    def branch_and_bound(program: Program, name: SolverName, seconds: float | None) -> tuple[Vector, float] | None:
        asked.append(name)
        return honest(program, name, seconds)

    monkeypatch.setattr(integer, "_branch_and_bound", branch_and_bound)
    solved = 0
    for _, program in small_programs(6, 12):
        wide = used_or_not(program, dict.fromkeys(range(len(program.columns)), 0.05), 3)
        found = solve_whole(wide)
        assert integer._none_better(wide, np.inf) == (found is None)
        if found is not None:
            solved += 1
            assert integer._none_better(wide, found.value - 1e-6 * (1 + abs(found.value)))
            assert not integer._none_better(wide, found.value + 1e-4 * (1 + abs(found.value)))
    assert solved >= 8
    assert asked == []
