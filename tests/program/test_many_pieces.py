"""A limit of many pieces, parted by sets of them, against the same one looked at piece by piece."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.design import best
from optiform.ingredients.catalogue import read_catalogue
from optiform.program import boxes
from optiform.program.build import Branch, Demand, Requirements, constant, firm_requirements
from optiform.program.many_pieces import MANY, AnyPiece, Pieces, any_of
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch
from optiform.program.tree import OneOf, Settled, Tree
from optiform.program.usual import requirements, usual_of
from optiform.properties.base import Terms
from tests.builders import brief_of, figure
from tests.sweeps import cases

WAXES = (
    "beeswax",
    "candelilla wax",
    "carnauba wax",
    "cetyl alcohol",
    "stearyl alcohol",
    "stearic acid",
    "rice bran wax",
)
OTHERS = ("sunflower oil", "shea butter, refined", "cocoa butter", "glyceryl stearate", "castor oil")


def _piece(numerator: list[float], target: float = 9.0, side: str = "low") -> Demand:
    return Demand(
        "solids", "%", "low" if side == "low" else "high", target, "limit", constant(Terms.exact(np.array(numerator)))
    )


def _pieces(seed: int, side: str) -> tuple[Demand, ...]:
    draw = np.random.default_rng(seed)
    return tuple(_piece(draw.integers(-3, 40, 6).tolist(), 9.0, side) for _ in range(int(draw.integers(MANY, 16))))


@pytest.mark.parametrize("side", ["low", "high"])
@pytest.mark.parametrize("seed", cases(range(5), 2, 3))
def test_what_keeps_one_of_the_pieces_keeps_what_is_asked_of_all(seed: int, side: str) -> None:
    pieces, draw = Pieces(_pieces(seed, side)), np.random.default_rng(seed)
    for x in draw.dirichlet(np.ones(6) / 2, 200):
        least = min(piece.miss(x) for piece in pieces.demands)
        assert AnyPiece(pieces).miss(x) == pytest.approx(least)
        assert pieces.loosest.miss(x) <= least + 1e-12
        first, second = pieces.halves(x)
        assert min(first.loosest.miss(x), second.loosest.miss(x)) <= least + 1e-12
        assert {*first.demands, *second.demands} == set(pieces.demands)


def test_nothing_is_asked_before_it_is_missed_and_the_last_piece_is_itself() -> None:
    one, other = _piece([10.0, 0.0, 0.0]), _piece([0.0, 10.0, 0.0])
    whole = AnyPiece(Pieces((one, other)))
    assert whole.relaxation() == ()
    (asked,) = whole.split(np.array([0.3, 0.3, 0.4]))
    assert len(asked.relaxation()) == 1
    halves = asked.split(np.array([0.5, 0.5, 0.0]))
    assert {half.relaxation()[0] for half in halves if isinstance(half, Settled)} == {one, other}


def test_pieces_of_several_limits_or_few_are_looked_at_one_by_one() -> None:
    few = tuple((piece,) for piece in _pieces(0, "low"))[:MANY]
    assert isinstance(any_of(few), AnyPiece)
    assert isinstance(any_of(few[: MANY - 1]), OneOf)
    assert isinstance(any_of((*few, (replace(few[0][0], name="other"),))), OneOf)
    assert isinstance(any_of((*few, few[0] * 2)), OneOf)


def _brief(seed: int) -> Brief:
    """Solids of six waxes, fatty alcohols and acids that oil dissolves some of, at prices drawn at random."""
    draw = np.random.default_rng(seed)
    shipped = read_catalogue().ingredients
    items = [
        replace(item, values={**item.values, ("price", None): figure(float(draw.uniform(2, 30)), "EUR/kg")})
        for item in map(shipped.__getitem__, (*WAXES, *OTHERS))
    ]
    high = float(draw.uniform(20, 60))
    limits: dict[str, tuple[float | None, float | None]] = {
        "structuring solids at 20 degC": (float(draw.uniform(10, 30)), high),
        "structuring solids at 35 degC": (float(draw.uniform(4, 15)), None),
        "share of butter": (float(draw.uniform(0, 30)), None),
    }
    return brief_of(items, limits)


def _nodes(brief: Brief, monkeypatch: pytest.MonkeyPatch) -> tuple[float | None, int]:
    """The value, None where nothing fits; and how many nodes that took."""
    for known in (requirements, usual_of, firm_requirements):
        known.cache_clear()
    honest, count = Tree._solution, 0

    def solution(self: Tree, branch: object) -> object:  # type: ignore[type-arg]
        nonlocal count
        count += 1
        return honest(self, branch)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(Tree, "_solution", solution)
        answer = best(brief)
    if isinstance(answer, NoFormula):
        assert answer.decided
        return None, count
    assert not answer.solution.local
    return answer.value, count


@pytest.mark.parametrize("seed", cases(range(12), 3))
def test_the_answer_is_that_of_each_piece_in_turn_in_fewer_nodes(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    value, nodes = _nodes(_brief(seed), monkeypatch)
    monkeypatch.setattr(boxes, "any_of", OneOf)
    truth, several = _nodes(_brief(seed), monkeypatch)
    assert value == (truth and pytest.approx(truth, rel=1e-7))
    assert nodes <= several + 2


@pytest.mark.parametrize("any_way", [True, False])
def test_an_answer_that_keeps_a_piece_is_asked_for_anew_only_where_its_price_is_wanted(any_way: bool) -> None:
    """Cut off at its own value, a job that asked anew would be left without the answer that it has."""
    pieces = tuple(_piece([10.0 + k, 0.0]) for k in range(MANY))
    solved: list[Branch] = []

    def solve(branch: Branch) -> SolvedNode[str] | InfeasibleNode[str]:
        solved.append(branch)
        return SolvedNode("answer", np.array([1.0, 0.0]), 1.0, 1.0) if len(solved) == 1 else InfeasibleNode("cut off")

    outcome = best_branch(Requirements((tuple((piece,) for piece in pieces),), ()), solve, any_way=any_way)
    assert (outcome.best is not None) == any_way
    assert (len(solved) == 1) == any_way
