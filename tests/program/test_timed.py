"""Whole programs that are stopped, by the time or by the keyboard."""

import highspy
import numpy as np
import pytest

from optiform.program import timed
from optiform.program.certificate import NotCertified
from optiform.program.integer import WholeSolution, at_whole_values, solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.timed import solve_within
from optiform.reading.faults import Unsettled


def knapsacks(columns: int, rows: int, seed: int = 1) -> Program:
    """At least so much of several sums of 0-or-1 columns, at the least cost: hard to prove."""
    rng = np.random.default_rng(seed)
    weights = rng.integers(10, 99, (rows, columns)).astype(float)
    asked = [Row(f"row {i}", w, Sense.AT_LEAST, float(np.floor(w.sum() / 2)) + 0.5) for i, w in enumerate(weights)]
    names = tuple(f"x{j}" for j in range(columns))
    cost = weights.mean(axis=0) + rng.uniform(0, 1, columns)
    return Program(names, cost, np.zeros(columns), np.ones(columns), tuple(asked), frozenset(range(columns)))


def test_with_time_enough_it_is_what_the_other_way_says() -> None:
    program = knapsacks(12, 2)
    answer, whole = solve_within(program, 60), solve_whole(program)
    assert answer.best is not None
    assert whole is not None
    assert (answer.finished, answer.stopped) == (True, False)
    assert answer.best.value == pytest.approx(whole.value)


def test_nothing_fits_is_said() -> None:
    program = knapsacks(6, 1)
    most = Row("few", np.ones(6), Sense.AT_MOST, 1.0)
    assert solve_within(program.with_rows([*program.rows, most]), 60).best is None


def test_out_of_time_it_has_a_point_and_a_bound_below_it() -> None:
    answer = solve_within(knapsacks(120, 12), 1.0)
    assert answer.best is not None
    assert (answer.finished, answer.stopped) == (False, False)
    assert answer.best.bound < answer.best.value
    assert answer.best.certificate.holds


def test_the_keyboard_stops_it_with_what_it_has() -> None:
    looks = iter([None, None, None, KeyboardInterrupt()])

    def watch() -> None:
        if (stop := next(looks)) is not None:
            raise stop

    answer = solve_within(knapsacks(120, 12), 60, watch)
    assert answer.best is not None
    assert (answer.finished, answer.stopped) == (False, True)


def test_anything_else_that_is_raised_goes_on_up() -> None:
    def watch() -> None:
        raise ValueError("another page")

    with pytest.raises(ValueError, match="another page"):
        solve_within(knapsacks(120, 12), 60, watch)


def test_without_any_time_there_is_no_answer() -> None:
    with pytest.raises(Unsettled, match="before there was any answer"):
        solve_within(knapsacks(200, 40), 0.0)


@pytest.mark.parametrize("lie", ["nothing fits", "the dearest", "the dearest, with a bound to match"])
def test_what_a_finished_answer_claims_has_a_second_opinion(lie: str, monkeypatch: pytest.MonkeyPatch) -> None:
    program, handed = knapsacks(12, 2), timed._handed

    def lying(asked: Program, seconds: float) -> highspy.Highs:
        most = Row("none", np.ones(12), Sense.AT_MOST, 0.0)
        return handed(asked.with_rows([*asked.rows, most]) if lie == "nothing fits" else asked.with_cost(-asked.cost),
                      seconds)  # fmt: skip

    def matching(asked: Program, claimed: Vector, bound: float) -> WholeSolution:
        return at_whole_values(asked, claimed, float(asked.cost @ claimed) if lie.endswith("match") else bound)

    monkeypatch.setattr(timed, "_handed", lying)
    monkeypatch.setattr(timed, "at_whole_values", matching)
    with pytest.raises(NotCertified, match="two solvers do not agree"):
        solve_within(program, 60)
