"""What is asked only as answers miss it, against the same program with all of it."""

import numpy as np
import pytest

from optiform.program.build import Branch, Demand, Requirements, constant
from optiform.program.disjunctive import with_ways
from optiform.program.integer import solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.ways import Ways
from optiform.properties.base import Terms

LINES, PIECES = 8, 24


def mixture(seed: int) -> Program:
    """Fractions at random costs."""
    cost = np.random.default_rng(seed).uniform(1, 9, LINES)
    balance = Row("whole", np.ones(LINES), Sense.EQUAL, 1.0)
    return Program(tuple(f"line {j}" for j in range(LINES)), cost, np.zeros(LINES), np.ones(LINES), (balance,))


def pieces(seed: int, name: str, side: str, target: float) -> tuple[Demand, ...]:
    draw = np.random.default_rng(seed)
    numerators = draw.integers(-3, 40, (PIECES, LINES)).astype(float)
    terms = (constant(Terms.exact(numerator)) for numerator in numerators)
    return tuple(Demand(name, "%", side, target, "limit", piece) for piece in terms)  # type: ignore[arg-type]


def needed(seed: int) -> Requirements:
    """Any of many pieces at least so much, and all of many at most so much."""
    any_of: tuple[Branch, ...] = tuple((piece,) for piece in pieces(seed, "firm", "low", 33.0))
    return Requirements((any_of, (pieces(seed + 100, "soft", "high", 26.0),)), ())


def asked_as_missed(frame: Program, asked: Requirements) -> tuple[Vector | None, Ways, int]:
    """The answer where nothing more is missed, what was asked for it, and how many programs that took."""
    ways, none = Ways(), np.zeros(LINES)
    for count in range(1, 200):
        best = solve_whole(with_ways(frame, ways.few(asked), none, asked=ways.asked(asked)))
        if best is None or not ways.part(asked, best.x[:LINES]):
            return None if best is None else best.x[:LINES], ways, count
    raise AssertionError("it does not end")


@pytest.mark.parametrize("seed", range(12))
def test_what_is_asked_as_it_is_missed_costs_what_all_of_it_costs(seed: int) -> None:
    frame, asked = mixture(seed), needed(seed)
    whole = solve_whole(with_ways(frame, asked, np.zeros(LINES)))
    x, ways, _ = asked_as_missed(frame, asked)
    assert (x is None) == (whole is None)
    if x is not None and whole is not None:
        assert asked.kept_by(x)
        assert float(frame.cost @ x) == pytest.approx(whole.value, abs=1e-7)
    assert sum(map(len, ways.pieces.values())) < PIECES
    assert all(sorted(n for of in sets for n in of) == list(range(PIECES)) for sets in ways.sets.values())


def test_most_ways_stay_together() -> None:
    """Of the sets that answers told apart there are fewer than ways, or the switches would be as many."""
    counts = [len(sets) for seed in range(12) for sets in asked_as_missed(mixture(seed), needed(seed))[1].sets.values()]
    assert counts
    assert np.mean(counts) < PIECES / 2


def test_a_set_of_ways_passes_what_any_of_them_passes() -> None:
    asked, draw = needed(0), np.random.default_rng(1)
    ways = Ways()
    ways.part(asked, np.eye(LINES)[0] * 0)
    for x in draw.dirichlet(np.ones(LINES) / 2, 300):
        branches = ways.asked(asked).get(0, [()])
        if asked.missed(0, x) <= 0:
            assert min(max((demand.miss(x) for demand in branch), default=0.0) for branch in branches) <= 1e-12
        ways.part(asked, x)


def test_rules_that_begin_with_the_same_way_are_not_taken_for_one() -> None:
    """None of line 0, or much of line 1; none of line 0, or much of line 2, or of 3: the third way is a way too."""
    shares = [constant(Terms.exact(100 * np.eye(LINES)[j])) for j in range(LINES)]
    none = (Demand("line 0", "%", "high", 0.0, "limit", shares[0]),)
    much = [(Demand(f"line {j}", "%", "low", 50.0, "limit", shares[j]),) for j in range(LINES)]
    asked = Requirements(((none, much[1]), (none, much[2], much[3])), ())
    ways = Ways()
    for line in (0, 4):
        ways.part(asked, np.eye(LINES)[line] * (line == 0))
    assert [len(branches) for branches in ways.asked(asked).values()] == [2, 3]


def test_nothing_is_asked_of_what_was_not_missed() -> None:
    asked = needed(0)
    assert not Ways().asked(asked)
    assert Ways().few(asked).branch({}) == ()
