"""The certificate holds for what is true and for nothing else, whoever claims it."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from optiform.brief.brief import Brief
from optiform.brief.goal import Highest
from optiform.program.certificate import certify_infeasible, certify_optimal
from optiform.program.elastic import least_breach
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.search import BestFormula, Infeasible, search
from optiform.program.usual import requirements
from tests.builders import random_brief
from tests.sweeps import is_long

pytestmark = pytest.mark.sweep
PLAIN = settings(max_examples=60 if is_long() else 15, derandomize=True)

briefs = st.builds(random_brief, st.integers(0, 2**32 - 1), st.booleans(), st.sampled_from([0.0, 0.2]))
strained = st.builds(random_brief, st.integers(0, 2**32 - 1), st.booleans(), st.just(1.0))


def optimum(brief: Brief) -> BestFormula:
    found = search(brief, requirements(brief).branch({}))
    assume(isinstance(found, BestFormula))
    assert isinstance(found, BestFormula)
    return found


def proof_of_none(brief: Brief) -> tuple[Program, Vector]:
    """The program of an infeasible brief and Farkas weights for it."""
    nothing = search(brief, requirements(brief).branch({}))
    assume(isinstance(nothing, Infeasible))
    assert isinstance(nothing, Infeasible)
    keyed = {i: 1.0 for i, row in enumerate(nothing.program.rows) if row.key is not None}
    return nothing.program, least_breach(nothing.program, keyed).y


def two_columns(*rows: Row) -> Program:
    """Minimise a + 2 b with a + b = 1, both between 0 and 1: a = 1 at a cost of 1, dual 1."""
    balance = Row("sum", np.ones(2), Sense.EQUAL, 1.0)
    return Program(("a", "b"), np.array([1.0, 2.0]), np.zeros(2), np.ones(2), (balance, *rows))


# -- optimal -----------------------------------------------------------------------------------------------------------


@PLAIN
@given(briefs)
def test_a_true_optimum_holds(brief: Brief) -> None:
    found = optimum(brief)
    assert certify_optimal(found.program, found.point, found.y).holds


@PLAIN
@given(briefs, st.data())
def test_another_point_does_not_hold(brief: Brief, data: st.DataObject) -> None:
    """One fraction moved: the balance breaks."""
    found = optimum(brief)
    column = data.draw(st.integers(0, len(found.x) - 1))
    move = data.draw(st.floats(1e-4, 0.5)) * data.draw(st.sampled_from([1.0, -1.0]))
    x = found.point.copy()
    x[column] += move
    assert not certify_optimal(found.program, x, found.y).holds


@PLAIN
@given(briefs, st.data())
def test_a_feasible_point_that_costs_more_does_not_hold(brief: Brief, data: st.DataObject) -> None:
    """A feasible mixture of the optimum with the dearest formula: only the gap and complementarity can tell."""
    found = optimum(brief)
    dearest = search_dearest(brief)
    share = data.draw(st.floats(0.01, 1.0))
    x = (1 - share) * found.point + share * dearest
    cost, best = float(found.program.cost @ x), float(found.program.cost @ found.point)
    assume(cost - best > 1e-4 * (1 + cost))
    certificate = certify_optimal(found.program, x, found.y)
    assert certificate.primal < 1e-6
    assert certificate.gap > 1e-5
    assert not certificate.holds


def search_dearest(brief: Brief) -> Vector:
    assert brief.goal.wanted is not None
    dearest = search(replace(brief, goal=Highest(brief.goal.wanted)), requirements(brief).branch({}))
    assert isinstance(dearest, BestFormula)
    return dearest.point


@PLAIN
@given(briefs, st.data())
def test_other_duals_do_not_hold(brief: Brief, data: st.DataObject) -> None:
    """One dual moved: the bound it proves drops below the cost, or its sign or slackness is wrong.

    A dual may move where it proves the same bound (a degenerate corner), so the spoilt proof is judged by its own
    bound, recomputed here without the module under test.
    """
    found = optimum(brief)
    row = data.draw(st.integers(0, len(found.program.rows) - 1))
    move = data.draw(st.floats(0.01, 10.0)) * data.draw(st.sampled_from([1.0, -1.0]))
    y = found.y.copy()
    y[row] += move
    program = found.program
    cost = float(program.cost @ found.point)
    reduced = program.cost - y @ program.matrix
    bound = sum(y * program.rhs) + sum(np.minimum(reduced * program.low, reduced * program.high))
    wrong_sign = program.rows[row].sense is Sense.AT_LEAST and y[row] < 0
    wrong_sign |= program.rows[row].sense is Sense.AT_MOST and y[row] > 0
    still_a_proof = not wrong_sign and abs(cost - bound) <= 1e-6 * (1 + abs(cost))
    assert certify_optimal(program, found.point, y).holds == still_a_proof


@PLAIN
@given(briefs, st.data())
def test_a_spoilt_coefficient_does_not_hold(brief: Brief, data: st.DataObject) -> None:
    """A coefficient of a tight row, at a column in use, changed after the fact."""
    found = optimum(brief)
    program = found.program
    row = data.draw(st.sampled_from([i for i, y in enumerate(found.y) if abs(y) > 1e-3]))
    column = data.draw(st.sampled_from(list(np.flatnonzero(found.point > 0.01))))
    coefficients = program.rows[row].coefficients.copy()
    coefficients[column] += (1 + abs(program.rows[row].rhs)) * data.draw(st.sampled_from([0.5, -0.5]))
    rows = [replace(old, coefficients=coefficients) if i == row else old for i, old in enumerate(program.rows)]
    assert not certify_optimal(program.with_rows(rows), found.point, found.y).holds


@pytest.mark.parametrize("spoilt", [np.nan, np.inf, -np.inf])
def test_what_is_no_number_does_not_hold(spoilt: float) -> None:
    program = two_columns()
    assert certify_optimal(program, np.array([1.0, 0.0]), np.array([1.0])).holds
    with np.errstate(all="ignore"):
        assert not certify_optimal(program, np.array([spoilt, 0.0]), np.array([1.0])).holds
        assert not certify_optimal(program, np.array([1.0, 0.0]), np.array([spoilt])).holds


# -- infeasible --------------------------------------------------------------------------------------------------------


@PLAIN
@given(strained)
def test_true_farkas_weights_hold(brief: Brief) -> None:
    assert certify_infeasible(*proof_of_none(brief)).holds


@PLAIN
@given(strained, st.data())
def test_farkas_weights_without_a_row_they_need_do_not_hold(brief: Brief, data: st.DataObject) -> None:
    """Without a row of the proof the rest may be satisfiable; where it is, no weights can hold."""
    program, y = proof_of_none(brief)
    heavy = [i for i, weight in enumerate(y) if abs(weight) > 1e-6 and program.rows[i].key is not None]
    index = data.draw(st.sampled_from(heavy))
    weights = y.copy()
    weights[index] = 0.0
    needed = proves(program, weights)
    assert certify_infeasible(program, weights).holds == needed


@PLAIN
@given(strained, st.floats(0.1, 10.0))
def test_farkas_weights_of_the_wrong_sign_do_not_hold(brief: Brief, factor: float) -> None:
    program, y = proof_of_none(brief)
    assert not certify_infeasible(program, -factor * y).holds


@PLAIN
@given(briefs, st.integers(0, 2**32 - 1))
def test_no_weights_hold_for_a_program_that_has_a_point(brief: Brief, seed: int) -> None:
    found = optimum(brief)
    program = found.program
    weights = np.abs(np.random.default_rng(seed).normal(size=len(program.rows)))
    weights = np.where(program.at_least & program.at_most, weights - 1, np.where(program.at_least, weights, -weights))
    assert not certify_infeasible(program, weights).holds


def proves(program: Program, weights: Vector) -> bool:
    """Farkas in plain words: even the best point within the bounds stays below what the weighted rows ask."""
    best = 0.0
    for j in range(len(program.columns)):
        pull = sum(w * row.coefficients[j] for w, row in zip(weights, program.rows, strict=True))
        best += max(pull * program.low[j], pull * program.high[j])
    asked = sum(w * row.rhs for w, row in zip(weights, program.rows, strict=True))
    return bool(asked - best > 1e-8 * (1 + abs(asked)))


def test_a_speck_of_the_wrong_sign_does_not_prove_a_feasible_program_empty() -> None:
    """a <= 1000 % cannot be in the way of anything, however small its wrong-signed weight beside another."""
    idle = Row("nothing at all", np.zeros(2), Sense.AT_LEAST, 0.0)
    loose = Row("a at most 1000 %", np.array([100.0, 0.0]), Sense.AT_MOST, 1000.0)
    assert not certify_infeasible(two_columns(idle, loose), np.array([0.0, 1.0, 1.5e-6])).holds


def test_weights_that_are_no_numbers_do_not_hold() -> None:
    with np.errstate(all="ignore"):
        assert not certify_infeasible(two_columns(), np.array([np.nan])).holds
        assert not certify_infeasible(two_columns(), np.zeros(1)).holds
