"""Ties are reported where there are any and only there, and the answer hangs on neither solver nor order."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.design.design import Best, best
from optiform.ingredients.formula import Formula
from optiform.program import ties
from optiform.program.linear import Program
from optiform.program.solver import SolverName
from optiform.program.ties import optimal_pair
from tests.builders import Vector, brief_of, ingredient, plain, random_brief, reordered, shares
from tests.sweeps import enough, sweep

pytestmark = pytest.mark.sweep

SEEDS = sweep(range(3000, 3090))
SAME = 1e-5  # mass fraction


@cache
def designed(brief: Brief, solver: SolverName = "highs") -> Best:
    answer = best(brief, solver)
    assert isinstance(answer, Best)
    return answer


def generic_briefs() -> list[Brief]:
    briefs = [random_brief(seed, strain=0.0) for seed in SEEDS]
    return [brief for brief in briefs if plain(brief).feasible]


def with_twin(brief: Brief) -> Brief:
    """The brief with a free copy, at the same price, of the candidate it uses most beyond what it must."""
    used = plain(brief).x
    spare = used - np.array([range_.low for range_ in brief.ranges])
    model = brief.mix.ingredients[int(np.argmax(spare))]
    items = (*brief.mix.ingredients, replace(model, name="twin"))
    mix = replace(brief.mix, ingredients=items, phases=(*brief.mix.phases, model.phase))
    return replace(brief, mix=mix, ranges=(*brief.ranges, Range()))


GENERIC = generic_briefs()
TWINNED = [with_twin(brief) for brief in GENERIC]


def fractions(brief: Brief, formula: Formula) -> Vector:
    return np.array([formula.fraction(item.name) for item in brief.mix.ingredients])


def by_name(formula: Formula, names: Sequence[str]) -> Vector:
    return np.array([formula.fraction(name) for name in names])


def cost(brief: Brief, x: Vector) -> float:
    return float(shares("cost", brief.mix.ingredients)[0] @ x)


def keeps(brief: Brief, x: Vector) -> bool:
    """Whether x keeps every limit and range of the brief, by the figures themselves."""
    for limit in brief.limits:
        p, g = shares(limit.property.name, brief.mix.ingredients)
        for target, sign in ((limit.low, 1.0), (limit.high, -1.0)):
            if target is not None and sign * float((p - target * g) @ x) < -1e-6 * (1 + abs(target)):
                return False
    return all(range_.low - 1e-9 <= share <= range_.high + 1e-9 for range_, share in zip(brief.ranges, x, strict=True))


def test_there_are_enough_briefs() -> None:
    assert len(GENERIC) >= enough(60)


@pytest.mark.parametrize("brief", TWINNED, ids=lambda brief: "twin")
def test_an_equal_candidate_at_an_equal_price_is_a_tie(brief: Brief) -> None:
    answer = designed(brief)
    assert answer.tie is not None
    one, other = fractions(brief, answer.formula), fractions(brief, answer.tie)
    assert np.abs(one - other).max() > SAME
    assert cost(brief, other) == pytest.approx(cost(brief, one), rel=1e-7)
    assert keeps(brief, one)
    assert keeps(brief, other)


def test_without_an_equal_there_is_no_tie() -> None:
    """Prices and figures drawn from a continuum: two best formulas have probability nought."""
    for brief in GENERIC:
        assert designed(brief).tie is None


def test_a_hair_in_the_price_ends_the_tie() -> None:
    oils = [ingredient("oil", 5.0, "oil"), ingredient("other oil", 5.0, "oil"), ingredient("filler", 1.0)]
    limits: dict[str, tuple[float | None, float | None]] = {"oil phase": (30.0, None)}
    assert designed(brief_of(oils, limits)).tie is not None
    dearer = [oils[0], ingredient("other oil", 5.001, "oil"), oils[2]]
    assert designed(brief_of(dearer, limits)).tie is None


def test_a_tie_between_unlike_formulas() -> None:
    """Half strong and half filler costs what all medium does, 2 EUR/kg, and brings the same alpha, 5."""
    items = [
        ingredient("strong", 3.0, figures={"alpha": 10.0}),
        ingredient("medium", 2.0, figures={"alpha": 5.0}),
        ingredient("filler", 1.0, figures={"alpha": 0.0}),
    ]
    answer = designed(brief_of(items, {"alpha": (5.0, None)}))
    assert answer.value == pytest.approx(2.0)
    assert answer.tie is not None
    found = {round(formula.fraction("medium"), 6) for formula in (answer.formula, answer.tie)}
    assert found == {0.0, 1.0}


def test_the_order_of_candidates_does_not_matter_without_a_tie() -> None:
    for number, brief in enumerate(GENERIC):
        order = np.random.default_rng(number).permutation(len(brief.ranges)).tolist()
        names = [item.name for item in brief.mix.ingredients]
        one, other = designed(brief), designed(reordered(brief, order))
        assert by_name(other.formula, names) == pytest.approx(by_name(one.formula, names), abs=SAME)


def test_the_order_of_candidates_does_not_matter_with_a_tie() -> None:
    for number, brief in enumerate(TWINNED[:30]):
        order = np.random.default_rng(number).permutation(len(brief.ranges)).tolist()
        names = [item.name for item in brief.mix.ingredients]
        one, other = designed(brief), designed(reordered(brief, order))
        assert by_name(other.formula, names) == pytest.approx(by_name(one.formula, names), abs=SAME)


def test_the_solver_does_not_matter_with_a_tie() -> None:
    for brief in TWINNED[:25]:
        one, other = designed(brief), designed(brief, "cbc")
        expected = fractions(brief, one.formula)
        assert fractions(brief, other.formula) == pytest.approx(expected, abs=SAME)
        assert other.tie is not None


def test_what_the_rank_of_a_face_tells_two_weighings_tell_too(monkeypatch: pytest.MonkeyPatch) -> None:
    solved = [designed(brief).solution for brief in (*GENERIC, *TWINNED)]
    by_rank = [optimal_pair(place.program, place.point, place.y) for place in solved]
    asked: list[Program] = []

    def weighed(face: Program) -> None:
        asked.append(face)

    monkeypatch.setattr(ties, "_only_point", weighed)
    for place, (first, other) in zip(solved, by_rank, strict=True):
        again, another = optimal_pair(place.program, place.point, place.y)
        assert again == pytest.approx(first, abs=1e-9)
        assert (another is None) == (other is None)
    assert len(asked) >= len(solved)
