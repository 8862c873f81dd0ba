"""Proofs looked at together say what each says of the program whose targets have moved."""

import numpy as np
import pytest

from optiform.program.certificate import certify_infeasible, proven_bound, signed
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.proofs import joined, proofs_of
from tests.every import every

LIMITS = 3


def program(seed: int) -> Program:
    """Three limits on six lines, the first two over a group, so that their coefficients move; the last has two rows."""
    rng = np.random.default_rng(seed)
    rows = [Row("balance", np.ones(6), Sense.EQUAL, 1.0)]
    for number in range(4):
        sense = Sense.AT_LEAST if number % 2 else Sense.AT_MOST
        group = (rng.random(6) < 0.5).astype(float) if number < 2 else None
        per_target = 0.0 if number < 2 else 1.0
        rows.append(
            Row(f"limit {number}", rng.normal(size=6), sense, rng.normal(), number, rng.normal(), per_target, group)
        )
    return Program(tuple("abcdef"), rng.uniform(1, 9, 6), np.zeros(6), np.ones(6), tuple(rows))


MOVING = (-1, 0, 1, 2, 2)


def moved(start: Program, position: Vector) -> Program:
    rows = zip(start.rows, MOVING, strict=True)
    return start.with_rows([row if k < 0 else row.moved(float(position[k])) for row, k in rows])


@every("seed", range(20))
def test_proofs_together_say_what_each_says_of_the_program_where_it_stands(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    starts = program(seed), program(seed + 50)
    weights = [[signed(start, rng.normal(size=5)) for _ in range(4)] for start in starts]
    parts = [
        proofs_of(start, MOVING, LIMITS, weighted[:2], weighted[2:])
        for start, weighted in zip(starts, weights, strict=True)
    ]
    for position in (np.zeros(LIMITS), np.array([0.0, 0.0, 0.7]), rng.normal(size=LIMITS), 9 * rng.normal(size=LIMITS)):
        expected: list[float] = []
        for start, weighted in zip(starts, weights, strict=True):
            now = moved(start, position)
            expected.append(proven_bound(now, np.zeros(5)))
            expected += [proven_bound(now, y) for y in weighted[:2]]
            expected += [np.inf if certify_infeasible(now, y).holds else -np.inf for y in weighted[2:]]
        assert joined(parts).at(position) == pytest.approx(expected, rel=1e-12, abs=1e-12)
        assert np.concatenate([part.at(position) for part in parts]) == pytest.approx(expected, rel=1e-12, abs=1e-12)


def test_each_once_they_say_the_same() -> None:
    rng = np.random.default_rng(7)
    start = program(3)
    duals = [signed(start, rng.normal(size=5)) for _ in range(3)]
    ray = signed(start, rng.normal(size=5))
    several = joined([proofs_of(start, MOVING, LIMITS, [*duals, duals[1]], [ray]) for _ in range(2)])
    once, number = several.once()
    assert len(several.demand) == 12
    assert len(once.demand) == 5
    assert once.most == several.most
    for position in (np.zeros(LIMITS), rng.normal(size=LIMITS)):
        assert once.at(position)[number] == pytest.approx(several.at(position), rel=1e-12, abs=1e-12)


def test_some_of_these_rays_prove_that_nothing_fits() -> None:
    rows = (
        Row("balance", np.ones(2), Sense.EQUAL, 1.0),
        Row("oil", np.array([1.0, 0.0]), Sense.AT_LEAST, 0.4, 0, 0.4, 1.0),
    )
    start = Program(("oil", "water"), np.ones(2), np.zeros(2), np.ones(2), rows)
    proofs = proofs_of(start, (-1, 0), 1, (), [np.array([0.0, 1.0])])
    ends = [proofs.at(np.array([change]))[1] for change in (0.0, 0.6, 0.61)]
    assert ends == [-np.inf, -np.inf, np.inf]
