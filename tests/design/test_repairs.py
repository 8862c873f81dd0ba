"""A repair leaves room for what is usual: no more of it gives than without the limits that the repair moves."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief, Limit
from optiform.brief.file import brief_of as brief_from
from optiform.design.answer import Change, NoFormula
from optiform.design.design import Best, best
from optiform.properties.registry import find_property
from optiform.reading.documents import read_document
from optiform.reading.paths import DEMO
from optiform.telling.impossible import impossible
from tests.builders import brief_of, ingredient
from tests.design.test_kinds import first_trials
from tests.kind_shelves import bare_brief
from tests.program.test_conflict import applied
from tests.program.test_usual import FUNCTIONS, least_breach, random_brief
from tests.sweeps import sweep


def clashing(seed: int) -> Brief:
    """Two shares that do not fit into one jar, among usual ranges of all six."""
    rng = np.random.default_rng(seed)
    first, second = map(str, rng.permutation(FUNCTIONS)[:2])
    lows = {first: float(rng.uniform(40, 70)), second: float(rng.uniform(61, 90))}
    limits = (Limit(find_property(f"share of {function}", "EUR"), low, None) for function, low in lows.items())
    return replace(random_brief(seed), limits=tuple(limits))


def without(brief: Brief, repair: tuple[Change, ...]) -> Brief:
    """The brief without the limits that a repair moves."""
    moved = {change.demand.name for change in repair}
    return replace(brief, limits=tuple(limit for limit in brief.limits if limit.property.name not in moved))


def breach(brief: Brief) -> float:
    """The least sum of breaches of what is usual; infinite where no formula meets the brief."""
    limits = tuple(replace(limit, high=100.0) for limit in brief.limits)
    total = least_breach(replace(brief, limits=limits))
    return np.inf if total is None else total


@pytest.mark.sweep
@pytest.mark.parametrize("seed", sweep(range(40)))
def test_no_more_of_what_is_usual_gives_than_without_the_limits_that_move(seed: int) -> None:
    answer = best(clashing(seed))
    assert isinstance(answer, NoFormula)
    assert len(answer.repairs) >= 2
    for repair in answer.repairs:
        least = breach(without(answer.brief, repair))
        assert np.isfinite(least)
        assert breach(applied(answer.brief, repair)) == pytest.approx(least, abs=1e-4)
        if len(repair) == 1:
            (change,) = repair
            fewer = replace(change, target=change.target + 0.01 * (change.demand.target - change.target))
            assert breach(applied(answer.brief, (fewer,))) > least + 1e-4, "it goes no farther than that asks"


def rich() -> Brief:
    brief = bare_brief("lotion", {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines})
    brief = brief.with_goal(lowest="cost")
    for name, low in (("oil phase", "60 %"), ("water phase", "70 %")):
        brief = brief.with_limit(name, low=low)
    return brief


def test_a_rich_lotion_keeps_its_preservative() -> None:
    """Phases that fill the jar to the brim leave 1 % of water, which needs none, in 67 % of glycerin."""
    brief = rich()
    answer = best(brief)
    assert isinstance(answer, NoFormula)
    assert sorted(change.demand.name for (change,) in answer.repairs) == ["oil phase", "water phase"]
    for repair in answer.repairs:
        repaired = best(applied(brief, repair))
        assert isinstance(repaired, Best)
        formula = repaired.formula
        assert formula.fraction("phenoxyethanol + ethylhexylglycerin") >= 0.005 - 1e-6
        assert formula.fraction("glycerin") < 0.06
        assert formula.fraction("water") > 0.3


def test_a_line_that_moves_leaves_room_too() -> None:
    """Water at 99.9 % of a lotion: less until all that a lotion must have is in."""
    brief = rich()
    brief = replace(brief, limits=()).with_limit("water", low="99.95 %")
    answer = best(brief)
    assert isinstance(answer, NoFormula)
    ((change,),) = (repair for repair in answer.repairs if len(repair) == 1)
    repaired = best(applied(brief, (change,)))
    assert isinstance(repaired, Best)
    assert not repaired.gave


def test_a_repair_to_a_round_figure_reads_as_what_it_is() -> None:
    """The edge lies at 4 % of oil exactly: not at 3.99, which rounding away from it would show."""
    items = [ingredient("water", 0.5, "water", {"water": 100.0}), ingredient("oil", 5.0, "oil")]
    answer = best(brief_of(items, {"share of water": (96.0, None), "share of oil": (5.0, None)}))
    assert isinstance(answer, NoFormula)
    told = {change.demand.name: change for (change,) in answer.repairs}
    assert {name: change.target for name, change in told.items()} == {"share of water": 95.0, "share of oil": 4.0}
    assert all(isinstance(best(applied(answer.brief, repair)), Best) for repair in answer.repairs)
    assert any("from 5 to 4 % of the jar" in sentence for sentence in impossible(answer).sentences)


def test_a_repair_moves_no_limit_that_holds_as_it_stands() -> None:
    """Where one limit was to be raised though a low end was to be eased, and the repair stood there twice."""
    document = dict(read_document(DEMO / "brief.toml"))
    fats = ["cocoa butter", "coconut oil", "shea butter, refined"]
    answer = best(brief_from(DEMO / "brief.toml", document | {"choose": [{"of": fats, "exactly": 1, "dose": "20 %"}]}))
    assert isinstance(answer, NoFormula)
    assert answer.repairs
    for change in (change for repair in answer.repairs for change in repair):
        eased = change.target - change.demand.target
        assert eased > 0 if change.demand.side == "high" else eased < 0
    moved = [tuple(change.demand.name for change in repair) for repair in answer.repairs]
    assert len(set(moved)) == len(moved)


def test_two_phases_that_fill_the_jar_are_eased_until_the_rest_that_rules_ask_for_has_room() -> None:
    """To the brim there is no room for a preservative, and no way is then told; the least that leaves it is."""
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines}
    brief = bare_brief("lotion", shelf, limits={"water": {"low": "71 %"}, "oil phase": {"low": "30 %"}})
    answer = best(brief)
    assert isinstance(answer, NoFormula)
    assert {change.demand.name for repair in answer.repairs for change in repair} == {"water", "oil phase"}
    for repair in answer.repairs:
        assert isinstance(best(applied(brief, repair)), Best)
