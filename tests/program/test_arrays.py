"""Programs handed over as arrays, one after another into the same solver."""

import numpy as np

from optiform.program.arrays import claim_of
from optiform.program.linear import Program, Row, Sense


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
