"""Many price lists at once, against solving each by an outside solver, and the two ways against each other."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design.price_moves import PriceModel
from optiform.program.certificate import TOLERANCE
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.scenarios import Scenarios, best_under, merged
from optiform.program.search import BestFormula, search
from optiform.program.usual import requirements
from tests.builders import brief_of, cornered, figure, ingredient, plain, random_brief
from tests.sweeps import is_long

SEEDS = range(7000, 7040 if is_long() else 7005)
DRAWS = 12

pytestmark = pytest.mark.sweep


def solved(brief: Brief) -> Program | None:
    found = search(brief, requirements(brief).branch({}))
    return found.program if isinstance(found, BestFormula) else None


@cache
def briefs() -> list[tuple[Brief, Program]]:
    """Random ones that have a formula, with its program."""
    drawn = (brief for seed in SEEDS for brief in (random_brief(seed), cornered(seed, coarse=True)))
    return [(brief, program) for brief in drawn if (program := solved(brief))]


def draws(program: Program, spread: float = 0.5, scenarios: int = DRAWS) -> Vector:
    model = PriceModel(np.full(len(program.cost), spread), 0.0, 5)
    return model.draw(program.cost, scenarios)


def priced(brief: Brief, prices: Vector) -> Brief:
    """The same brief with other prices."""
    items = tuple(
        replace(item, values={**item.values, ("price", None): figure(float(price), "EUR/kg")})
        for item, price in zip(brief.mix.ingredients, prices, strict=True)
    )
    return replace(brief, mix=replace(brief.mix, ingredients=items))


def wide(columns: int = 40, rows: int = 8) -> Program:
    """Nearly every scenario of wide independent prices has a basis of its own."""
    rng = np.random.default_rng(3)
    inside = rng.dirichlet(np.ones(columns))
    made = [Row("balance", np.ones(columns), Sense.EQUAL, 1.0)]
    for number in range(rows):
        coefficients = 100 * rng.random(columns)
        made.append(Row(f"limit {number}", coefficients, Sense.AT_LEAST, float(coefficients @ inside) + 1, number))
    names = tuple(f"candidate {j}" for j in range(columns))
    return Program(names, rng.uniform(1, 20, columns), np.zeros(columns), np.ones(columns), tuple(made))


def check_shape(found: Scenarios, program: Program, costs: Vector) -> None:
    """Objectives are those of the points, every point is feasible and the best of some scenario."""
    assert found.objectives == pytest.approx(np.einsum("kn,kn->k", costs, found.points[found.which]), rel=1e-6)
    assert set(found.which) == set(range(len(found.points)))
    assert list(found.shares) == sorted(found.shares, reverse=True)
    assert found.gap <= TOLERANCE
    slack = found.points @ program.matrix.T - program.rhs
    assert np.where(program.at_least, slack, 0).min() >= -1e-6 * (1 + np.abs(program.rhs).max())
    assert np.where(program.at_most, slack, 0).max() <= 1e-6 * (1 + np.abs(program.rhs).max())


def test_there_are_briefs() -> None:
    assert len(briefs()) >= len(SEEDS)


def test_every_scenario_has_the_optimum_of_an_outside_solver() -> None:
    for brief, program in briefs():
        costs = draws(program)
        found = best_under(program, costs)
        check_shape(found, program, costs)
        outside = [plain(priced(brief, prices)).cost for prices in costs]
        assert found.objectives == pytest.approx(outside, rel=1e-7, abs=1e-7)


def test_one_basis_for_many_and_one_by_one_agree() -> None:
    for _, program in briefs():
        costs = draws(program, 0.3, 60)
        pooled, alone = best_under(program, costs), best_under(program, costs, pool=False)
        assert alone.solved == len(costs)
        assert pooled.objectives == pytest.approx(alone.objectives, rel=1e-9, abs=1e-9)


def test_few_bases_answer_for_many_scenarios() -> None:
    """Guard: most scenarios are never solved."""
    runs = [best_under(program, draws(program, 0.1, 400)).solved for _, program in briefs()[:20]]
    assert np.median(runs) < 40


def test_a_basis_for_nearly_every_scenario() -> None:
    program = wide()
    costs = np.random.default_rng(4).uniform(1, 20, (1500, len(program.cost)))
    found, alone = best_under(program, costs), best_under(program, costs, pool=False)
    check_shape(found, program, costs)
    assert len(found.points) > 1000
    assert found.objectives == pytest.approx(alone.objectives, rel=1e-9)


def test_the_same_seed_gives_the_same_answer() -> None:
    program = wide()
    first, again = (best_under(program, draws(program, 0.4, 500)) for _ in range(2))
    assert np.array_equal(first.objectives, again.objectives)
    assert np.array_equal(first.which, again.which)
    assert np.array_equal(first.points, again.points)
    assert first.solved == again.solved
    other = PriceModel(np.full(len(program.cost), 0.4), 0.0, 6).draw(program.cost, 500)
    assert not np.array_equal(draws(program, 0.4, 500), other)


def test_progress_runs_from_some_to_all() -> None:
    program = wide()
    told: list[tuple[int, int]] = []
    best_under(program, draws(program, 0.4, 500), lambda done, total: told.append((done, total)))
    assert told == sorted(told)
    assert told[-1] == (500, 500)
    assert len(told) < 400


def test_two_ingredients_by_hand() -> None:
    """Half of either at most three quarters: the cheaper one takes 0.75."""
    program = Program(
        ("first", "second"),
        np.array([1.0, 2.0]),
        np.zeros(2),
        np.full(2, 0.75),
        (Row("balance", np.ones(2), Sense.EQUAL, 1.0),),
    )
    found = best_under(program, np.array([[1.0, 2.0], [1.0, 3.0], [5.0, 1.0], [2.0, 2.5]]))
    assert found.objectives == pytest.approx([1.25, 1.5, 2.0, 2.125])
    assert found.points == pytest.approx(np.array([[0.75, 0.25], [0.25, 0.75]]))
    assert list(found.which) == [0, 0, 1, 0]


def test_of_two_programs_the_better_one_counts_in_each_scenario() -> None:
    _, program = max(briefs(), key=lambda pair: len(pair[1].cost))
    costs = draws(program, 0.5, 200)
    free = replace(program, rows=program.rows[:1])
    best = merged([best_under(program, costs), best_under(free, costs)])
    assert best.objectives == pytest.approx(costs.min(axis=1), rel=1e-9)
    assert best.objectives == pytest.approx(np.einsum("kn,kn->k", costs, best.points[best.which]), rel=1e-6)


def test_nothing_that_fits_is_an_error() -> None:
    brief = brief_of([ingredient("water", 1.0, "water"), ingredient("oil", 5.0, "oil")])
    program = solved(brief)
    assert program is not None
    never = replace(program.rows[0], rhs=3.0)
    with pytest.raises(ValueError, match="no feasible point"):
        best_under(program.with_rows([never]), draws(program))
