"""What can be kept in several ways by switches: as good as by branching, on random briefs."""

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.program.build import Branch, Requirements, constant, firm_requirements, frame
from optiform.program.build import Demand as Asked
from optiform.program.disjunctive import with_ways
from optiform.program.integer import solve_whole
from optiform.program.optimum import best_formula
from optiform.properties.base import Terms
from optiform.properties.cost import cost
from tests.builders import random_brief


def in_one_of_two_ways(brief: Brief, seed: int) -> Requirements:
    """What a brief asks, and three times that a sum of some lines is small or another is large."""
    rng, count = np.random.default_rng(seed), len(brief.mix.ingredients)

    def sum_of(name: str, side: str, target: float) -> Branch:
        terms = Terms.exact(np.where(rng.random(count) < 0.5, 100.0, 0.0))
        return (Asked(name, "%", side, target, "rule", constant(terms)),)  # type: ignore[arg-type]

    more = tuple(
        (sum_of(f"few {k}", "high", float(rng.uniform(0, 10))), sum_of(f"many {k}", "low", float(rng.uniform(20, 60))))
        for k in range(3)
    )
    firm = firm_requirements(brief, ())
    return Requirements((*firm.limits, *more), firm.rest)


@pytest.mark.parametrize("seed", range(30))
def test_switches_cost_what_branching_costs(seed: int) -> None:
    brief = random_brief(seed)
    needed = in_one_of_two_ways(brief, seed)
    none = np.zeros(len(brief.mix.ingredients))
    prices = cost(brief.currency).terms(brief.mix, none).numerator
    whole = solve_whole(with_ways(frame(brief, prices), needed, none))
    branched = best_formula(brief, needed).best
    if branched is None or brief.goal.wanted is None or brief.goal.wanted.name != "cost":
        assert (whole is None) == (branched is None)
        return
    assert whole is not None
    assert whole.value == pytest.approx(branched[1].value, abs=1e-6)
    assert needed.kept_by(whole.x[: len(none)])


def test_both_ends_are_tried() -> None:
    """Of these briefs some have a formula and some have none."""
    found = {
        best_formula(brief, in_one_of_two_ways(brief, k)).best is None for k in range(30) if (brief := random_brief(k))
    }
    assert found == {True, False}


def test_what_is_not_asked_yet_can_only_make_it_cheaper() -> None:
    brief = random_brief(3)
    needed = in_one_of_two_ways(brief, 3)
    none = np.zeros(len(brief.mix.ingredients))
    base = frame(brief, cost(brief.currency).terms(brief.mix, none).numerator)
    first, *others = needed.disjunctions
    values = []
    for places in ([], [first], [first, *others], None):
        asked_ways = None if places is None else {place: needed.limits[place] for place in places}
        program = with_ways(base, needed, none, asked=asked_ways)
        ways = [name for name in program.columns if name.startswith("way ")]
        asked = needed.disjunctions if places is None else places
        assert len(ways) == sum(len(needed.limits[place]) for place in asked)
        best = solve_whole(program)
        values.append(np.inf if best is None else best.value)
    assert values == sorted(values)
    assert values[2] == values[3]
