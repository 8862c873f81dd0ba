"""What a solver says of whole numbers, where its own tolerances get in the way."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from optiform.program import integer
from optiform.program.certificate import Certificate, NotCertified
from optiform.program.integer import WholeSolution
from optiform.program.linear import Program, Row, Sense


def thin() -> Program:
    """A share between 0.00999999999 and 0.01 and its switches, one up and one down: it fits where it stands."""
    rows = (
        Row.of("at least", 3, {0: 100.0}, Sense.AT_LEAST, 0.999999999),
        Row.of("at most", 3, {0: 100.0}, Sense.AT_MOST, 1.0),
        Row.of("up", 3, {0: 1.0, 1: -1e-9, 2: 1e-4}, Sense.AT_MOST, 0.01),
        Row.of("down", 3, {0: 1.0, 1: -1e-4, 2: 1.01e-9}, Sense.AT_LEAST, 0.01),
    )
    return Program(("share", "up", "down"), np.array([1.0, 0, 0]), np.zeros(3), np.ones(3), rows, frozenset({1, 2}))


def test_that_nothing_fits_is_asked_again_without_presolve() -> None:
    """Presolve divides a hundred thousand millionth by a ten thousandth, and calls the switch broken."""
    claim = integer._claimed(thin(), "highs")
    assert claim is not None
    assert claim.x == pytest.approx([0.01, 0.0, 0.0])


def test_without_whole_columns_the_bound_is_what_the_duals_prove(monkeypatch: pytest.MonkeyPatch) -> None:
    """And not the value itself, where the proof closes to its tolerance only."""
    program = replace(thin(), whole=frozenset())
    proof = Certificate(0.0, 0.0, 0.0, 4e-7)
    loose = WholeSolution(np.zeros(3), 1.0, np.inf, proof)
    monkeypatch.setattr(integer, "at_whole_values", lambda *_: loose)
    claim = integer._claimed(program, "cbc")
    assert claim is not None
    assert claim.bound == pytest.approx(1.0 - 8e-7, abs=1e-12)
    assert claim.gap == pytest.approx(4e-7)


def switched(seed: int, most: int = 2) -> Program:
    """A mix of six at random costs, each 0.2 to 0.6 where it is used, at most `most` of them, of the first two 0.3."""
    cost = np.concatenate([np.random.default_rng(seed).uniform(1, 9, 6), np.zeros(6)])
    rows = [Row.of("whole", 12, dict.fromkeys(range(6), 1.0), sense, 1.0) for sense in (Sense.AT_LEAST, Sense.AT_MOST)]
    rows.append(Row.of("the first two", 12, {0: 1.0, 1: 1.0}, Sense.AT_LEAST, 0.3))
    for j in range(6):
        rows.append(Row.of(f"no more of {j}", 12, {j: 1.0, 6 + j: -0.6}, Sense.AT_MOST, 0.0))
        rows.append(Row.of(f"no less of {j}", 12, {j: 1.0, 6 + j: -0.2}, Sense.AT_LEAST, 0.0))
    rows.append(Row.of("lines", 12, dict.fromkeys(range(6, 12), 1.0), Sense.AT_MOST, float(most)))
    names = tuple(f"column {j}" for j in range(12))
    return Program(names, cost, np.zeros(12), np.ones(12), tuple(rows), frozenset(range(6, 12)))


def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[np.ndarray]:
    """The switches of every node that is solved after the first, where they are all set."""
    honest, switches = integer._Search._solved, []

    def solved(self: integer._Search, low: np.ndarray, high: np.ndarray) -> object:
        if np.array_equal(low[6:], high[6:]):
            switches.append(low[6:].copy())
        return honest(self, low, high)

    monkeypatch.setattr(integer._Search, "_solved", solved)
    return switches


@pytest.mark.parametrize("seed", range(8))
def test_the_best_of_every_choice_without_a_look_at_more_lines_than_may_be(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    program, switches = switched(seed), looked_at(monkeypatch)
    dear = [
        min(0.4 * cost[i] + 0.6 * cost[j], 0.6 * cost[i] + 0.4 * cost[j])
        for cost in [program.cost]
        for i, j in combinations(range(6), 2)
        if i < 2
    ]
    best = integer.solve_whole(program)
    assert best is not None
    assert best.value == pytest.approx(min(dear))
    assert all(setting.sum() <= 2 for setting in switches)


def test_a_root_that_is_no_better_than_asked_is_not_looked_into(monkeypatch: pytest.MonkeyPatch) -> None:
    switches = looked_at(monkeypatch)
    assert integer.solve_whole(switched(0, most=3), below=0.5) is None
    assert not switches


def test_a_point_that_is_proven_is_not_asked_of_another_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []

    def claimed(program: Program, solver: str, seconds: float | None = None) -> None:  # noqa: ARG001
        asked.append(solver)

    best = integer.solve_whole(switched(1))
    assert best is not None
    assert best.proven
    monkeypatch.setattr(integer, "_claimed", claimed)
    monkeypatch.setattr(integer, "LARGE", 0)  # no proof of our own
    assert integer.second_opinion(switched(1), best, "highs") is best
    assert not asked
    word = replace(best, proven=False)
    assert integer.second_opinion(switched(1), word, "highs") is word
    assert asked == ["cbc"]


@pytest.mark.parametrize("seed", range(3))
def test_the_other_solver_is_asked_for_what_is_better_than_the_word_of_the_first(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    program = switched(seed)
    best = integer.solve_whole(program)
    monkeypatch.setattr(integer, "LARGE", 0)
    word = integer.solve_whole(program, twice=False)
    assert best is not None
    assert word is not None
    assert not word.proven
    assert word.value == pytest.approx(best.value)
    assert integer.second_opinion(program, word, "highs") is word
    dearer = replace(word, value=word.value + 0.1)
    with pytest.raises(NotCertified, match="do not agree"):
        integer.second_opinion(program, dearer, "highs")
