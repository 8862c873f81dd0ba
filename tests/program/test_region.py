"""A critical region tells what solving anew tells, wherever its basis is the best, and nothing elsewhere."""

import numpy as np
import pytest

from optiform.program.bases import answer_by
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.live import Live, Now
from optiform.program.region import Known, Region, region_of
from optiform.program.solver import solve
from tests.sweeps import cases

LIMITS = 4
#: The limit of each row: two amounts, two ratios, the last of which has two rows.
MOVING = (-1, 0, 1, 2, 3, 3)


def program(seed: int) -> Program:
    """Limits on eight lines around a formula that keeps them, some of them just."""
    rng = np.random.default_rng(seed)
    inside = rng.dirichlet(np.ones(8))
    rows = [Row("balance", np.ones(8), Sense.EQUAL, 1.0)]
    for number, limit in enumerate(MOVING[1:]):
        sense, figures = (Sense.AT_LEAST, Sense.AT_MOST)[number % 2], rng.uniform(0, 10, 8)
        group = np.append(np.ones(4), (rng.random(4) < 0.5).astype(float)) if limit >= 2 else np.ones(8)
        target = float(figures @ inside / (group @ inside)) * (1 + (0.02 if sense is Sense.AT_MOST else -0.02))
        if limit < 2:
            rows.append(Row(f"limit {limit}", figures, sense, target, number, target, 1.0))
        else:
            rows.append(Row(f"limit {limit}", figures - target * group, sense, 0.0, number, target, 0.0, group))
    return Program(tuple("abcdefgh"), rng.uniform(1, 9, 8), np.zeros(8), np.full(8, 0.7), tuple(rows))


def moved(start: Program, position: Vector) -> Program:
    rows = zip(start.rows, MOVING, strict=True)
    return start.with_rows([row if k < 0 else row.moved(float(position[k])) for row, k in rows])


def basis_at(start: Program, position: Vector) -> Known | None:
    """The basis that the solver ends with at a position; None where nothing fits."""
    live = Live(moved(start, position))
    if not live.solve():
        return None
    basis = live.basis()
    return Known(tuple(basis.basic.tolist()), tuple(np.flatnonzero(basis.at_high[: len(start.columns)]).tolist()))


def holds(region: Region, position: Vector) -> float | None:
    """What the region says the objective is at a position."""
    seen = region.turned(np.append(position, 1.0))
    return None if seen is None else region.answer(seen).value


def positions(seed: int, count: int) -> Vector:
    """Up to three limits moved."""
    rng = np.random.default_rng(seed)
    drawn = rng.normal(size=(count, LIMITS)) * rng.uniform(0.01, 0.6, (count, 1))
    return drawn * (rng.random((count, LIMITS)) < 0.6)


@pytest.mark.parametrize("seed", cases(range(25), 6, 19))
def test_it_says_what_a_fresh_solve_says_where_it_holds_and_holds_where_its_basis_does(seed: int) -> None:
    start, held = program(seed), 0
    basis = basis_at(start, np.zeros(LIMITS))
    assert basis is not None
    region = region_of(start, MOVING, LIMITS, basis, ())
    assert region is not None
    for position in positions(100 + seed, 30):
        now = moved(start, position)
        numbers = Now(now.matrix, now.rhs, now.at_least, now.at_most, now.cost, now.low, now.high)
        value, other = holds(region, position), answer_by(basis, numbers)
        assert (value is None) == (other is None)
        if value is None or other is None:
            continue
        held += 1
        fresh = solve(now)
        assert fresh.feasible
        assert value == pytest.approx(fresh.value, abs=1e-9)
        seen = region.turned(np.append(position, 1.0))
        assert seen is not None
        assert region.answer(seen).x == pytest.approx(other.x, abs=1e-9)
    assert held > 3


def test_a_way_that_is_held_and_not_kept_is_told() -> None:
    start = program(3)
    basis = basis_at(start, np.zeros(LIMITS))
    assert basis is not None
    x = solve(start).x
    used = int(x.argmax())
    share = np.zeros(8)
    share[used] = 100.0
    ends = (100 * x[used] + 1.0, 100 * x[used] - 1.0)
    for end, kept in zip(ends, (True, False), strict=True):
        way = Row("less of it", share, Sense.AT_MOST, end, 0, end, 1.0)
        region = region_of(start, MOVING, LIMITS, basis, [(way, -1)])
        assert region is not None
        seen = region.turned(np.append(np.zeros(LIMITS), 1.0))
        assert seen is not None
        assert region.held(seen) == kept
        assert (region.at(np.append(np.zeros(LIMITS), 1.0)) is not None) == kept


def test_what_is_no_basis_has_no_region() -> None:
    start = program(0)
    assert region_of(start, MOVING, LIMITS, Known((0, 1), ()), ()) is None  # two lines for six rows that bind


def test_what_is_nearly_no_basis_has_no_region() -> None:
    """Five lines in five rows that bind, two of which differ by a speck: its inverse does not lead back to them."""

    def of(speck: float) -> Region | None:
        rng = np.random.default_rng(1)
        figures = [np.ones(5), *rng.uniform(1, 9, (3, 5))]
        figures.append(figures[-1] + speck * rng.uniform(1, 9, 5))
        rows = [Row("balance", figures[0], Sense.EQUAL, 1.0)]
        rows += [Row(f"limit {k}", a, Sense.AT_LEAST, 5.0, k, 5.0, 1.0) for k, a in enumerate(figures[1:])]
        start = Program(tuple("abcde"), np.arange(1.0, 6.0), np.zeros(5), np.ones(5), tuple(rows))
        return region_of(start, (-1, 0, -1, -1, -1), 1, Known((0, 1, 2, 3, 4), ()), ())

    assert of(1e-12) is None
    assert of(0.1) is not None


def right_by(start: Program, basis: Known, row: int, moved: float) -> float | None:
    """By how much the duals of a basis are right where one ratio has moved; None where they have no such number.

    That is where the basis has no inverse, nearly none, or has had none on the way there.
    """
    matrix, width, basic = start.matrix.copy(), len(start.columns), np.array(basis.basic)
    matrix[row] = start.rows[row].moved(moved).coefficients
    tight = np.setdiff1d(np.arange(len(matrix)), basic[basic >= width] - width)
    used, duals = basic[basic < width], np.zeros(len(matrix))
    core, before = matrix[np.ix_(tight, used)], start.matrix[np.ix_(tight, used)]
    if np.linalg.det(core) / np.linalg.det(before) < 1e-3:
        return None
    duals[tight] = np.linalg.solve(core.T, start.cost[used])
    side, signs = np.ones(width), start.at_least * 1.0 - start.at_most * 1.0
    side[list(basis.at_high)] = -1.0
    reduced = np.delete(side * (start.cost - duals @ matrix), used)
    return float(np.concatenate([reduced, (signs * duals)[tight[signs[tight] != 0]]]).min())


def test_a_ratio_can_move_as_far_as_the_duals_of_its_basis_are_right() -> None:
    met = {True: 0, False: 0}
    for seed in range(12):
        start = program(seed)
        basis = basis_at(start, np.zeros(LIMITS))
        assert basis is not None
        region = region_of(start, MOVING, LIMITS, basis, ())
        assert region is not None
        for k, (low, high) in enumerate(region.turning.lasts):
            row = [i for i, limit in enumerate(MOVING) if limit >= 2][region.turning.tight[k]]
            for moved in np.random.default_rng(seed).normal(0, 20, 100).tolist():
                right = right_by(start, basis, row, moved)
                if right is not None and abs(right) > 1e-8:
                    assert (low <= moved <= high) == (right > 0)
                    met[right > 0] += 1
    assert min(met.values()) > 50
