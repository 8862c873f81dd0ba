"""Limits protected against figures at their worse ends, against trying the worst by brute force."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.program.build import Demand
from optiform.program.linear import Vector
from optiform.program.robust import doubts, protected, worst_value
from optiform.program.search import BestFormula, Infeasible, search
from optiform.program.usual import requirements
from tests.builders import random_brief
from tests.sweeps import is_long

pytestmark = pytest.mark.sweep
SEEDS = range(8000, 8090 if is_long() else 8012)


def met(count: int) -> int:
    """How many cases of a kind all briefs meet, and in the README's run the first of them."""
    return count if is_long() else max(1, count // 16)


RANGED = ("alpha", "beta", "gamma", "iodine value")


def doubtful(brief: Brief, seed: int, width: float = 0.15) -> Brief:
    """The same brief, with a range around every figure but the price."""
    rng = np.random.default_rng(seed)

    def ranged(item: Ingredient) -> Ingredient:
        values = dict(item.values)
        for word in RANGED:
            if (value := values.get((word, None))) is not None:
                down, up = width * value.figure * rng.random(2)
                ends = value.figure - float(down), value.figure + float(up)
                values[word, None] = Value(ends[0], value.figure, ends[1], value.unit, "own file", Evidence.OWN)
        return replace(item, values=values)

    return replace(brief, mix=replace(brief.mix, ingredients=tuple(map(ranged, brief.mix.ingredients))))


BRIEFS = [doubtful(random_brief(seed, strain=0.0), seed) for seed in SEEDS]


def held(brief: Brief, budget: int | None) -> BestFormula | Infeasible:
    asked = requirements(brief).branch({})
    return search(brief, asked, shape=lambda program, at: protected(program, asked, at, budget))


def found(brief: Brief, budget: int | None) -> BestFormula | None:
    answer = held(brief, budget)
    return answer if isinstance(answer, BestFormula) else None


def size(brief: Brief) -> int:
    return len(brief.mix.ingredients)


def limits(brief: Brief) -> list[Demand]:
    return [demand for demand in requirements(brief).branch({}) if demand.kind == "limit"]


def kept(demand: Demand, value: float | None) -> bool:
    if value is None:
        return True
    slack = value - demand.target if demand.side == "low" else demand.target - value
    return slack >= -1e-6 * (1 + abs(demand.target))


def value_with(demand: Demand, x: Vector, wrong: Sequence[int]) -> float | None:
    """The value when just these lines have their figure at the worse end, put together by hand."""
    terms = demand.terms(x)
    p = terms.numerator.copy()
    worse = terms.low if demand.side == "low" else terms.high
    p[list(wrong)] = worse[list(wrong)]
    group = float(terms.denominator @ x)
    return None if group <= 1e-12 else float(p @ x) / group


def by_enumeration(brief: Brief, budget: int) -> float | None:
    """The least cost when every choice of `budget` figures is a row of its own; scipy."""
    rows = []
    for demand in requirements(brief).branch({}):
        terms, sign = demand.terms(np.zeros(size(brief))), 1.0 if demand.side == "low" else -1.0
        worse = terms.low if demand.side == "low" else terms.high
        lines = np.flatnonzero(terms.numerator != worse) if demand.kind == "limit" else np.zeros(0, dtype=int)
        for wrong in combinations(lines, min(budget, len(lines))):
            p = terms.numerator.copy()
            p[list(wrong)] = worse[list(wrong)]
            rows.append(sign * (demand.target * terms.denominator - p))
    prices = np.array([item.values["price", None].figure for item in brief.mix.ingredients])
    ones = np.ones((1, size(brief)))
    solved = linprog(prices, np.array(rows), np.zeros(len(rows)), ones, [1.0], (0, 1), method="highs")
    return float(solved.fun) if solved.status == 0 else None


def test_there_is_something_to_protect() -> None:
    """Guard: on many briefs the protection costs something, on some nothing fits any more, on many it still does."""
    nominal, full = [found(brief, 0) for brief in BRIEFS], [found(brief, None) for brief in BRIEFS]
    pairs = [(a, b) for a, b in zip(nominal, full, strict=True) if a]
    assert sum(b is None for _, b in pairs) >= met(3)
    assert sum(b is not None and b.value > a.value + 1e-6 for a, b in pairs) >= met(15)


def test_without_a_budget_of_errors_nothing_changes() -> None:
    for brief in BRIEFS:
        plain, none = search(brief, requirements(brief).branch({})), held(brief, 0)
        assert isinstance(plain, BestFormula) == isinstance(none, BestFormula)
        if isinstance(plain, BestFormula) and isinstance(none, BestFormula):
            assert none.value == pytest.approx(plain.value, rel=1e-9)
            assert len(none.program.columns) == len(plain.program.columns)


def test_a_budget_of_all_figures_is_the_full_worst_case() -> None:
    for brief in BRIEFS:
        full, all_of_them = found(brief, None), found(brief, size(brief))
        assert (full is None) == (all_of_them is None)
        if full and all_of_them:
            assert all_of_them.value == pytest.approx(full.value, rel=1e-9)


def test_no_figure_within_its_range_breaks_a_limit() -> None:
    """Any mixture of ends and figures between, 200 at random for each brief."""
    rng = np.random.default_rng(1)
    for brief in BRIEFS:
        full = found(brief, None)
        for demand in limits(brief) if full else ():
            assert full is not None
            terms, x = demand.terms(full.x), full.x
            group = float(terms.denominator @ x)
            if group <= 1e-9:
                continue
            part = rng.random((200, len(x)))
            part[:100] = np.round(part[:100])
            values = (terms.low + part * (terms.high - terms.low)) @ x / group
            assert all(kept(demand, float(value)) for value in values), demand.words


@pytest.mark.parametrize("budget", [1, 2, 3])
def test_any_figures_within_the_budget_may_be_wrong(budget: int) -> None:
    checked = 0
    for brief in BRIEFS:
        answer = found(brief, budget)
        for demand in limits(brief) if answer else ():
            assert answer is not None
            lines = np.flatnonzero(doubts(demand, answer.x)).tolist()
            tried = [value_with(demand, answer.x, wrong) for wrong in combinations(lines, min(budget, len(lines)))]
            assert all(kept(demand, value) for value in tried), demand.words
            known = [value for value in tried if value is not None]
            worst = worst_value(demand, answer.x, budget)
            if known and worst is not None and len(lines) >= budget:
                checked += 1
                assert worst == pytest.approx(min(known) if demand.side == "low" else max(known), rel=1e-9, abs=1e-9)
    assert checked >= met(50)


@pytest.mark.parametrize("budget", [1, 2])
def test_the_answer_is_the_best_of_all_that_survive(budget: int) -> None:
    """Not merely one that survives: the same cost as with every choice of wrong figures written out."""
    for brief in BRIEFS:
        outside, answer = by_enumeration(brief, budget), found(brief, budget)
        assert (outside is None) == (answer is None)
        if answer and outside is not None:
            assert answer.value == pytest.approx(outside, rel=1e-7, abs=1e-7)


def test_a_larger_budget_never_costs_less() -> None:
    dearer = lost = 0
    for brief in BRIEFS:
        answers = [found(brief, budget) for budget in (0, 1, 2, 3, None)]
        values = [answer.value if answer else np.inf for answer in answers]
        assert all(a <= b + 1e-9 * (1 + abs(a)) for a, b in pairwise(values) if np.isfinite(a))
        assert all(np.isinf(b) for a, b in pairwise(values) if np.isinf(a))
        dearer += any(a < b - 1e-6 for a, b in pairwise(values) if np.isfinite(b))
        lost += any(np.isfinite(a) and np.isinf(b) for a, b in pairwise(values))
    assert dearer >= met(10), "briefs of which protection costs something"
    assert lost, "briefs that cannot be protected against everything"


def test_lines_and_laws_stay_as_they_are() -> None:
    seen = 0
    for brief in BRIEFS:
        for demand in requirements(brief).branch({}):
            if demand.kind != "limit":
                seen += 1
                assert not doubts(demand, np.zeros(size(brief))).any()
    assert seen >= met(100)
