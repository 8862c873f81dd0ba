"""How far each candidate can move near the best, and points far apart, against scipy's linprog and full enumeration."""

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.program.linear import Program, Sense, Vector
from optiform.program.search import BestFormula, search
from optiform.program.spread import UNLIKE, apart, distances, ranges
from optiform.program.usual import requirements
from tests.builders import cornered, random_brief
from tests.sweeps import enough, sweep

pytestmark = pytest.mark.sweep

SEEDS = sweep(range(3000, 3040))


def programs() -> list[Program]:
    briefs = [random_brief(seed, coarse=bool(seed % 2)) for seed in SEEDS] + [cornered(seed) for seed in SEEDS]
    found = [search(brief, requirements(brief).branch({})) for brief in briefs]
    return [each.program for each in found if isinstance(each, BestFormula)]


PROGRAMS = programs()


def extreme(program: Program, cost: Vector, most: float | None = None) -> float:
    """The least of this cost, by linprog, with the program's own cost at most `most`."""
    senses = np.array([each.sense for each in program.rows])
    least, top, same = (senses == sense for sense in (Sense.AT_LEAST, Sense.AT_MOST, Sense.EQUAL))
    upper = [-program.matrix[least], program.matrix[top]]
    right = [-program.rhs[least], program.rhs[top]]
    if most is not None:
        upper, right = [*upper, program.cost[np.newaxis, :]], [*right, np.array([most])]
    found = linprog(
        cost,
        A_ub=np.vstack(upper),
        b_ub=np.concatenate(right),
        A_eq=program.matrix[same],
        b_eq=program.rhs[same],
        bounds=list(zip(program.low, program.high, strict=True)),
    )
    assert found.status == 0, found.message
    return float(found.fun)


@pytest.mark.parametrize("share", [0.01, 0.2])
def test_the_ranges_are_those_of_solving_each_afresh(share: float) -> None:
    assert len(PROGRAMS) >= enough(50)
    for program in PROGRAMS[:30]:
        best = extreme(program, program.cost)
        spread = ranges(program, best, share * best)
        width = len(program.columns)
        for j in range(width):
            unit = np.eye(width)[j]
            assert spread.low[j] == pytest.approx(extreme(program, unit, best * (1 + share)), abs=1e-6)
            assert spread.high[j] == pytest.approx(-extreme(program, -unit, best * (1 + share)), abs=1e-6)
        assert spread.residual <= 1e-6


def test_every_extreme_point_is_good_enough_and_fits() -> None:
    for program in PROGRAMS:
        best = extreme(program, program.cost)
        spread = ranges(program, best, 0.05 * best)
        activity = spread.points @ program.matrix.T - program.rhs
        size = 1e-6 * (1 + np.abs(program.rhs))
        assert (program.cost @ spread.points.T <= 1.05 * best + 1e-6).all()
        assert (activity >= -size)[:, program.at_least].all()
        assert (activity <= size)[:, program.at_most].all()


def test_without_slack_only_the_optima_are_left() -> None:
    single = 0
    for program in PROGRAMS:
        best = extreme(program, program.cost)
        spread = ranges(program, best, 0.0)
        assert program.cost @ spread.points.T == pytest.approx(best, abs=1e-6)
        single += bool((spread.high - spread.low).max() < 1e-5)
    assert single >= len(PROGRAMS) // 2


def test_more_slack_never_narrows_a_range() -> None:
    for program in PROGRAMS[:30]:
        best = extreme(program, program.cost)
        narrow, wide = ranges(program, best, 0.02 * best), ranges(program, best, 0.1 * best)
        assert (wide.low <= narrow.low + 1e-7).all()
        assert (wide.high >= narrow.high - 1e-7).all()


def test_only_the_first_columns_are_asked_for() -> None:
    program = PROGRAMS[0]
    best = extreme(program, program.cost)
    every, two = ranges(program, best, 0.1 * best), ranges(program, best, 0.1 * best, count=2)
    assert two.low == pytest.approx(every.low[:2], abs=1e-7)
    assert two.high == pytest.approx(every.high[:2], abs=1e-7)
    assert two.points.shape == (4, len(program.columns))


def test_better_than_the_best_is_refused() -> None:
    program = PROGRAMS[0]
    with pytest.raises(ValueError, match="no feasible point"):
        ranges(program, extreme(program, program.cost) - 0.5, 0.1)


# -- far apart ---------------------------------------------------------------------------------------------------------


def closest(pool: Vector, chosen: tuple[int, ...] | list[int]) -> float:
    return min(float(distances(pool[[i]], pool[j])[0]) for i, j in combinations(chosen, 2))


def test_distances_are_points_that_change_hands() -> None:
    assert distances(np.array([[0.5, 0.5, 0.0], [0.2, 0.3, 0.5]]), np.array([0.5, 0.5, 0.0])) == pytest.approx([0, 50])


@pytest.mark.parametrize("seed", range(20))
def test_the_choice_is_at_least_half_as_wide_as_the_best_one_with_the_same_start(seed: int) -> None:
    """Gonzalez's bound, against every choice of four of twelve that has the first point in it."""
    pool = np.random.default_rng(seed).dirichlet(np.full(5, 0.5), size=12)
    chosen = apart(pool, 4)
    assert chosen[0] == 0
    assert len(set(chosen)) == 4
    widest = max(closest(pool, (0, *rest)) for rest in combinations(range(1, 12), 3))
    assert closest(pool, chosen) >= widest / 2


def test_each_next_one_is_nearer_to_those_before() -> None:
    pool = np.random.default_rng(5).dirichlet(np.ones(6), size=40)
    chosen = apart(pool, 8)
    steps = [min(float(distances(pool[[i]], pool[j])[0]) for i in chosen[:k]) for k, j in enumerate(chosen) if k]
    assert steps == sorted(steps, reverse=True)


def test_what_cannot_be_told_apart_counts_once() -> None:
    one = np.array([0.5, 0.5, 0.0])
    hair = UNLIKE / 100 / 4 * np.array([1.0, -1.0, 0.0])
    other = np.array([0.0, 0.5, 0.5])
    assert apart([one, one + hair, other, other], 5) == [0, 2]
    assert apart([one], 5) == [0]
