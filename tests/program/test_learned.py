"""What a branch and bound learns of its columns, and what it does with it."""

import numpy as np
import pytest

from optiform.program import integer
from optiform.program.learned import SURE, Learned
from optiform.program.linear import Program
from tests.program.test_integer import switched

ALL = np.arange(3)
HALF = np.full(3, 0.5)
BROKEN = np.ones(3, dtype=bool)


def test_the_column_that_raises_the_bound_most_both_ways_is_the_dearest() -> None:
    raises = Learned().of(("one way", "both ways", "little"))
    for up, ways in ((False, (9.0, 2.0, 1.0)), (True, (0.1, 2.0, 1.0))):
        for column, raised in enumerate(ways):
            raises.learn(column, up, raised)
    assert raises.dearest(ALL, HALF, BROKEN) == 1
    assert raises.dearest(ALL, HALF, np.array([True, False, True])) == 2


def test_a_column_is_tried_until_it_was_seen_often_enough_each_way() -> None:
    raises = Learned().of(("a", "b", "c"))
    assert sorted(raises.unsure(ALL, HALF, BROKEN)) == [0, 1, 2]
    for _ in range(SURE):
        raises.learn(0, False, 1.0)
    assert 0 in raises.unsure(ALL, HALF, BROKEN)
    for _ in range(SURE):
        raises.learn(0, True, 1.0)
    assert sorted(raises.unsure(ALL, HALF, BROKEN)) == [1, 2]
    assert list(raises.unsure(ALL, HALF, np.array([True, True, False]))) == [1]


def test_what_one_program_taught_is_known_of_the_next_by_the_names_of_its_columns() -> None:
    learned = Learned()
    learned.of(("a", "b")).learn(1, True, 3.0)
    later = learned.of(("b", "new"))
    assert later.raised.tolist() == [[0.0, 0.0], [3.0, 0.0]]
    assert later.seen.tolist() == [[0.0, 0.0], [1.0, 0.0]]
    later.learn(0, True, 1.0)
    assert learned.of(("b",)).raised[1, 0] == 4.0


@pytest.mark.parametrize("seed", range(8))
def test_what_was_learned_changes_no_answer(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Taught by programs of another cost and count, right or wrong, and never tried: the same best, as well proven."""
    program, learned = switched(seed), Learned()
    for other in (switched(seed + 1, most=3), switched(seed, most=1)):
        integer.solve_whole(other, learned=learned)
    alone, taught = integer.solve_whole(program), integer.solve_whole(program, learned=learned)
    monkeypatch.setattr("optiform.program.learned.SURE", 0)
    untried = integer.solve_whole(program)
    for best in (alone, taught, untried):
        assert best is not None
        assert best.proven
        assert best.value == pytest.approx(_by_cbc(program), rel=1e-9)
        assert best.gap <= 1e-9


def _by_cbc(program: Program) -> float:
    best = integer.solve_whole(program, "cbc")
    assert best is not None
    return best.value


def test_a_switch_that_has_nothing_better_one_way_is_set_and_not_branched_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """With a known answer for a cutoff, tries alone settle what takes branches without them."""
    known = [_by_cbc(switched(seed)) + 1e-6 for seed in range(8)]
    honest, waiting = integer._Search._branch, 0

    def branch(self: integer._Search, *node: object) -> None:
        nonlocal waiting
        before = len(self.waiting)
        honest(self, *node)  # type: ignore[arg-type]
        waiting += len(self.waiting) - before

    monkeypatch.setattr(integer._Search, "_branch", branch)
    answers = [integer.solve_whole(switched(seed), below=below) for seed, below in enumerate(known)]
    tried, waiting = waiting, 0
    monkeypatch.setattr("optiform.program.learned.SURE", 0)
    untried = [integer.solve_whole(switched(seed), below=below) for seed, below in enumerate(known)]
    assert [best and best.value for best in answers] == pytest.approx([best and best.value for best in untried])
    assert tried < waiting
