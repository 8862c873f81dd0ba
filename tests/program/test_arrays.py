"""Programs handed over as arrays, one after another into the same solver."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from optiform.program.arrays import SolverFailed, claim_of, cold
from optiform.program.linear import Program, Row, Sense
from optiform.program.solver import solve
from optiform.program.stated import Model


def program(seed: int) -> Program:
    """So many candidates that sum to one, under limits that the even formula keeps; of another size each."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 40))
    even = np.full(count, 1 / count)
    rows = [Row("the whole", np.ones(count), Sense.EQUAL, 1.0)]
    for number in range(int(rng.integers(1, 12))):
        weights = rng.normal(size=count)
        rows.append(Row(f"limit {number}", weights, Sense.AT_MOST, float(weights @ even)))
    return Program(
        tuple(map(str, range(count))), rng.uniform(1, 9, count), np.zeros(count), np.ones(count), tuple(rows)
    )


def impossible(seed: int) -> Program:
    """The same with twice as much of everything."""
    of = program(seed)
    twice = Row("twice", np.ones(len(of.columns)), Sense.AT_LEAST, 2.0)
    return of.with_rows([*of.rows, twice])


def test_what_a_solver_had_before_leaves_no_trace() -> None:
    """To the last digit: the same question has one answer, whatever was asked before it."""
    alone = [claim_of(program(seed)) for seed in range(20)]
    for seed in reversed(range(20)):
        claim_of(impossible(seed + 1))
        again, first = claim_of(program(seed)), alone[seed]
        assert again is not None
        assert first is not None
        assert again.certificate.holds
        assert np.array_equal(again.x, first.x)
        assert np.array_equal(again.y, first.y)


def test_arrays_and_pulp_state_the_same_model() -> None:
    """To the last digit, whichever of them hands it to HiGHS; and the same verdict where nothing fits."""
    for seed in range(20):
        ours, theirs = cold(program(seed)), Model.of(program(seed)).solve("highs")
        assert np.array_equal(ours.x, theirs.x)
        assert np.array_equal(ours.y, theirs.y)
        assert not cold(impossible(seed)).feasible
        assert not Model.of(impossible(seed)).solve("highs").feasible


def test_a_program_without_an_end_has_no_verdict() -> None:
    of = program(1)
    endless = replace(of.with_rows(of.rows[:0]), cost=-of.cost, high=np.full(len(of.columns), np.inf))
    with pytest.raises(SolverFailed, match="highs ended with status Unbounded"):
        cold(endless)


def test_a_linear_program_is_solved_without_pulp(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Model, "of", None)
    assert solve(program(1)).feasible
    assert not solve(impossible(1)).feasible


AFTER_OTHERS = """
import highspy
theirs = highspy.Highs()
theirs.setOptionValue("output_flag", False)
theirs.setOptionValue("threads", 2)
theirs.run()

from optiform.program.arrays import claim_of
from tests.program.test_arrays import program
claim = claim_of(program(1))
print(claim is not None and claim.certificate.holds)
"""


def test_who_solved_before_us_on_more_threads_does_not_have_ours_refused() -> None:
    """HiGHS keeps its threads for a whole process: a notebook may have used it for something else."""
    told = subprocess.run([sys.executable, "-c", AFTER_OTHERS], capture_output=True, text=True, check=True).stdout
    assert told.splitlines()[-1] == "True"
