"""Limits that can be kept in more than one way, against every way solved on its own by scipy's linprog.

The rows are assembled here from the figures and the solubilities; nothing of optiform.program takes part in them.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped, unused-ignore]

from optiform.brief.brief import Brief, Limit
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.ingredients.ingredient import Ingredient
from optiform.program import optimum
from optiform.program.optimum import SolvedNode, best_branch, best_formula, searched
from optiform.program.tree import asked_of
from optiform.program.usual import requirements
from optiform.properties.base import Side
from optiform.properties.solubility import solubility
from optiform.telling.facts import in_words
from tests.builders import Vector, brief_of, figure, ingredient
from tests.sweeps import cases

SOLUTES = {"sugar": "sucrose", "salt": "sodium chloride", "epsom salt": "magnesium sulfate heptahydrate"}
WATER = ingredient("water", 0.5, "water", {"water": 100.0})
GRAINS = [ingredient(name, 1.0, "grain", solute=solute) for name, solute in SOLUTES.items()]
OTHERS = [ingredient("pumice", 2.0, "grain"), ingredient("oil", 5.0, "oil"), ingredient("butter", 8.0, "butter")]
CANDIDATES = [WATER, *GRAINS, *OTHERS]
OILS = np.array([0.0, 0, 0, 0, 0, 100, 100])
Ends = tuple[float | None, float | None]


def random_brief(seed: int) -> Brief:
    """2 or 3 limits on grains that dissolve, some water and oil, and prices that pull here and there."""
    rng = np.random.default_rng(seed)
    limits: dict[str, Ends] = {"share of water": (float(rng.uniform(5, 40)), None), "oil phase": (10.0, 40.0)}
    for _ in range(int(rng.integers(2, 4))):
        temperature = float(rng.choice([10, 20, 30]))
        kind = str(rng.choice(list(SOLUTES)))
        if rng.random() < 0.5:
            limits[f"undissolved grains at {temperature:g} degC"] = (float(rng.uniform(1, 40)), None)
        else:
            limits[f"dissolved {kind} at {temperature:g} degC"] = (None, float(rng.uniform(0, 10)))
        if rng.random() < 0.6:
            limits[f"undissolved {kind} at {temperature:g} degC"] = (float(rng.uniform(1, 25)), None)
    prices = rng.uniform(0.1, 8, len(CANDIDATES))
    priced = [costing(item, float(price)) for item, price in zip(CANDIDATES, prices, strict=True)]
    return brief_of(priced, limits)


def costing(item: Ingredient, price: float) -> Ingredient:
    return replace(item, values={**item.values, ("price", None): figure(price, "EUR/kg")})


def rows_of(name: str, side: str, target: float) -> list[tuple[Vector, float]]:
    """The ways to keep one side of a limit, each a row a x <= b with x in fractions."""
    own = {"share of water": np.eye(7)[0] * 100, "oil phase": OILS}
    if name in own:
        sign = 1.0 if side == "high" else -1.0
        return [(sign * own[name], sign * target)]
    words, temperature = name.removesuffix(" degC").split(" at ")
    state, kind = words.split(" ", 1)
    grains = {each: 100 * np.eye(7)[1 + k] for k, each in enumerate(SOLUTES)}
    held = {each: 100 * np.eye(7)[0] * solubility(solute, float(temperature)) for each, solute in SOLUTES.items()}
    if state == "dissolved":
        return [(grains[kind], target), (held[kind], target)]
    kinds = list(SOLUTES) if kind == "grains" else [kind]
    rest = 100 * np.eye(7)[4] if kind == "grains" else np.zeros(7)
    sets = [[k for k, inside in zip(kinds, some, strict=True) if inside] for some in product([0, 1], repeat=len(kinds))]
    return [(-rest - sum((grains[k] - held[k] for k in some), np.zeros(7)), -target) for some in sets]


def ways_of(brief: Brief) -> Iterator[list[tuple[Vector, float]]]:
    sides = [
        rows_of(limit.property.name, side, target)
        for limit in brief.limits
        for side, target in (("low", limit.low), ("high", limit.high))
        if target is not None
    ]
    yield from map(list, product(*sides))


@cache
def by_every_branch(seed: int) -> float:
    """The least cost of all ways; infinity where none has any."""
    brief = random_brief(seed)
    prices = np.array([item.values["price", None].typical for item in brief.mix.ingredients])
    best = np.inf
    for rows in ways_of(brief):
        a, b = np.array([row for row, _ in rows]), np.array([rhs for _, rhs in rows])
        found = linprog(prices, A_ub=a, b_ub=b, A_eq=np.ones((1, 7)), b_eq=[1.0], bounds=(0, 1), method="highs")
        assert found.status in (0, 2), found.message
        best = min(best, float(found.fun) if found.status == 0 else np.inf)
    return best


SEEDS = range(20)
SIDES: tuple[Side, ...] = ("low", "high")


@pytest.mark.parametrize("seed", cases(SEEDS, 4, 8))
def test_the_best_of_all_ways(seed: int) -> None:
    answer, best = design(random_brief(seed)), by_every_branch(seed)
    if np.isinf(best):
        assert isinstance(answer, NoFormula)
        assert answer.decided
    else:
        assert isinstance(answer, Designed)
        assert answer.objective == pytest.approx(best, rel=1e-6)
        assert not [measure.name for measure in answer.report.measures if measure.missed]
        assert answer.certificate.holds


@pytest.mark.exhaustive
def test_the_random_briefs_are_worth_it() -> None:
    """Both verdicts, many ways, and answers that only a later way has."""
    counts = [len(list(ways_of(random_brief(seed)))) for seed in SEEDS]
    assert max(counts) >= 64
    assert 4 <= sum(np.isinf(by_every_branch(seed)) for seed in SEEDS) <= 18
    assert sum(by_every_branch(seed) + 1e-6 < first_way(random_brief(seed)) for seed in SEEDS) >= 3


def first_way(brief: Brief) -> float:
    found = searched(brief, requirements(brief).branch(dict.fromkeys(requirements(brief).disjunctions, 0)))
    return found.value if isinstance(found, SolvedNode) else np.inf


@pytest.mark.parametrize("seed", cases(SEEDS, 4, 8))
def test_a_conflict_over_several_ways_is_one_and_is_minimal(seed: int) -> None:
    answer = design(random_brief(seed))
    if not isinstance(answer, NoFormula):
        return
    names = {(demand.name, demand.side) for demand in answer.conflict}
    brief = answer.brief
    assert names
    assert not fits(only(brief, names))
    assert all(fits(only(brief, names - {name})) for name in names)
    for repair in answer.repairs:
        assert fits(moved_to(brief, {(change.demand.name, change.demand.side): change.target for change in repair}))


def only(brief: Brief, names: set[tuple[str, Side]]) -> Brief:
    dropped = [(limit.property.name, side) for limit in brief.limits for side in SIDES]
    return moved_to(brief, {key: None for key in dropped if key not in names})


def moved_to(brief: Brief, targets: Mapping[tuple[str, Side], float | None]) -> Brief:
    def moved(limit: Limit) -> Limit:
        name = limit.property.name
        return replace(limit, low=targets.get((name, "low"), limit.low), high=targets.get((name, "high"), limit.high))

    return replace(brief, limits=tuple(map(moved, brief.limits)))


def fits(brief: Brief) -> bool:
    for rows in ways_of(brief):
        a, b = np.array([row for row, _ in rows]).reshape(-1, 7), np.array([rhs for _, rhs in rows])
        found = linprog(np.zeros(7), A_ub=a, b_ub=b, A_eq=np.ones((1, 7)), b_eq=[1.0], bounds=(0, 1), method="highs")
        if found.status == 0:
            return True
    return False


# -- many of them ------------------------------------------------------------------------------------------------------


def crowded(count: int, clash: bool = False) -> Brief:
    """`count` limits of eight ways each."""
    limits: dict[str, Ends] = {
        f"undissolved grains at {10 + 2.5 * k:g} degC": (30 - 0.5 * k, None) for k in range(count)
    }
    limits |= {"share of water": (25.0, None), "oil phase": (10.0, None), "share of butter": (1.0, None)}
    limits |= {f"dissolved {name} at 20 degC": (2.0, None) for name in SOLUTES}
    limits |= {"share of grain": (None, 30.0)} if clash else {}
    return brief_of(CANDIDATES, limits)


def test_eight_limits_of_eight_ways_take_a_few_looks() -> None:
    """8^8 ways are 16 million; what is looked at is counted, not timed."""
    brief, seen = crowded(8), []
    needed = requirements(brief)
    assert [len(needed.limits[place]) for place in needed.disjunctions] == [8] * 8
    outcome = best_branch(needed, lambda branch: seen.append(branch) or searched(brief, branch))  # type: ignore[func-returns-value]
    assert outcome.best is not None
    assert len(seen) <= 40
    assert len(outcome.best[0]) == len(needed.branch({})) + 8, "every limit is settled in the end, and can be priced"


@pytest.mark.parametrize("seed", range(4))
def test_a_search_for_more_goes_on_from_what_one_for_less_ended_with(seed: int) -> None:
    """The same answer from fewer looks, and no node of the cover hides a formula below its bound."""
    brief = random_brief(seed)
    needed = requirements(brief)
    first = next(iter(needed.disjunctions))
    less = replace(needed, limits=tuple(limit for place, limit in enumerate(needed.limits) if place != first))
    before, whole = best_formula(brief, less), best_formula(brief, needed)
    assert before.cover is not None
    cover = before.cover.of_more(needed)
    assert cover is not None
    for node, bound in zip(cover.nodes, cover.bounds, strict=True):
        alone = searched(brief, asked_of(node, needed.rest))
        assert bound <= alone.value + 1e-9 if isinstance(alone, SolvedNode) else np.isfinite(bound) or bound > 0
    after = best_formula(brief, needed, before=before.cover)
    assert (after.best is None) == (whole.best is None)
    if after.best is not None and whole.best is not None:
        assert after.best[1].value == pytest.approx(whole.best[1].value, abs=1e-9)
        assert needed.kept_by(after.best[1].x)


def test_a_search_for_less_begins_anew() -> None:
    """What a node of more leaves out may keep less."""
    brief = random_brief(0)
    needed = requirements(brief)
    cover = best_formula(brief, needed).cover
    assert cover is not None
    assert cover.of_more(replace(needed, limits=needed.limits[1:])) is None
    assert cover.of_more(needed) is not None


def test_a_clash_under_eight_limits_of_eight_ways_is_told() -> None:
    answer = design(crowded(8, clash=True))
    assert isinstance(answer, NoFormula)
    assert answer.certificate is not None
    assert "share of grain" in {demand.name for demand in answer.conflict}


def test_too_many_ways_are_refused_and_the_limits_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(optimum, "MOST_NODES", 2)
    answer = design(crowded(2, clash=True))
    assert isinstance(answer, NoFormula)
    assert not answer.decided
    assert "undissolved grains at 10 degC at least 30 % of the jar; undissolved grains at 12.5 degC" in in_words(
        answer.reason
    )


def test_a_limit_that_bends_beside_one_of_several_ways() -> None:
    """Little salt may dissolve: there is little of it, or little water. The same as each way searched on its own."""
    wet = ingredient("water", 0.5, "water", {"water": 100.0}, contains={"Aqua": 100.0})
    salt = ingredient("salt", 0.2, "grain", solute="sodium chloride", contains={"Sodium Chloride": 100.0})
    sugar = ingredient("sugar", 0.9, "grain", solute="sucrose", contains={"Sucrose": 100.0})
    limits: dict[str, Ends] = {
        "water activity": (None, 0.9),
        "dissolved salt at 20 degC": (None, 3.0),
        "undissolved grains at 20 degC": (20.0, None),
        "oil phase": (20.0, 50.0),
        "share of water": (4.0, None),
    }
    brief = brief_of([wet, salt, sugar, OTHERS[0], OTHERS[1]], limits)
    needed = requirements(brief)
    numbers = product(*(range(len(needed.limits[place])) for place in needed.disjunctions))
    every = [dict(zip(needed.disjunctions, numbers_, strict=True)) for numbers_ in numbers]
    assert len(every) == 8
    alone = [searched(brief, needed.branch(chosen)) for chosen in every]
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert not answer.local  # the water activity is branched on as well
    assert answer.objective == pytest.approx(
        min(each.value for each in alone if isinstance(each, SolvedNode)), rel=1e-5
    )
    assert not [measure.name for measure in answer.report.measures if measure.missed]


def test_what_a_formula_keeps_may_be_kept_in_any_way() -> None:
    brief = brief_of(CANDIDATES, {"dissolved salt at 20 degC": (None, 2.0), "oil phase": (35.0, None)})
    needed = requirements(brief)
    dry, sweet, wrong = (np.zeros(7) for _ in range(3))
    dry[[0, 2, 5]] = 0.05, 0.6, 0.35  # little water
    sweet[[0, 1, 2, 5]] = 0.3, 0.34, 0.01, 0.35  # little salt
    wrong[[0, 2, 5]] = 0.4, 0.3, 0.3  # neither, and too little oil
    assert [needed.kept_by(x) for x in (dry, sweet, wrong)] == [True, True, False]
    same = needed.without_broken(dry)
    assert same.disjunctions == needed.disjunctions
    assert same.kept_by(sweet)
    assert needed.without_broken(wrong).demands == ()
    assert needed.without_broken(wrong, ("law",)).kept_by(wrong) is False


def test_a_repair_asks_for_nothing_rather_than_for_less_than_nothing() -> None:
    """20 % undissolved and at most 1 % dissolved in half water: the terms g - s W go below 0, the salt does not."""
    limits: dict[str, Ends] = {
        "undissolved salt at 20 degC": (20.0, None),
        "dissolved salt at 20 degC": (None, 1.0),
        "share of water": (50.0, None),
    }
    answer = design(brief_of([WATER, GRAINS[1], OTHERS[1]], limits))
    assert isinstance(answer, NoFormula)
    targets = {change.demand.name: change.target for repair in answer.repairs for change in repair}
    assert targets["undissolved salt at 20 degC"] == 0.0
    fitting = brief_of([WATER, GRAINS[1], OTHERS[1]], {**limits, "undissolved salt at 20 degC": (0.0, None)})
    assert isinstance(design(fitting), Designed)
