"""Why nothing fits, and what would make it fit, against the independently assembled brief (tests.builders.plain)."""

import re
from dataclasses import replace
from functools import cache

import pytest

from optiform.brief.brief import Brief, Limit, Range
from optiform.design.answer import Change, Designed, NoFormula
from optiform.design.design import Best, best, design
from optiform.program.build import Demand
from optiform.program.conflict import beyond
from optiform.properties.base import Terms
from optiform.reading.rounded import outward
from optiform.telling.design import designed
from optiform.telling.impossible import impossible as told_impossible
from optiform.telling.terminal import terminal
from tests.builders import GROUPS, RATIOS, Key, asked, brief_of, ingredient, plain, random_brief
from tests.sweeps import enough, sweep

pytestmark = pytest.mark.sweep

SEEDS = sweep(range(2000, 2420))
FAR = 1e6  # relative to the target
NOTICEABLE = 1e-3  # relative to the target; a repair smaller than this is too close to its own safety margin


def test_past_what_rounding_leaves_of_nothing_is_nothing() -> None:
    floor = Demand("beeswax", "%", "low", 3.0, "line", Terms.exact)
    assert [beyond(floor, reached) for reached in (0.0, 1.02e-7, 5e-7)] == [0, 0, 0]
    assert beyond(floor, 1e-3) == pytest.approx(1e-3, rel=1e-3)
    assert beyond(replace(floor, side="high"), 0.0) > 0


@cache
def impossible() -> tuple[NoFormula, ...]:
    answers = [best(random_brief(seed, coarse=seed % 3 == 0, strain=1.0)) for seed in SEEDS]
    return tuple(answer for answer in answers if isinstance(answer, NoFormula))


def keys(answer: NoFormula) -> set[Key]:
    return {(demand.name, demand.side) for demand in answer.conflict}


def moved(repair: tuple[Change, ...]) -> dict[Key, float]:
    return {(change.demand.name, change.demand.side): change.target for change in repair}


def partly(repair: tuple[Change, ...], part: float) -> dict[Key, float]:
    """Only a part of the way from each asked target to the repaired one."""
    return {
        (change.demand.name, change.demand.side): change.demand.target + part * (change.target - change.demand.target)
        for change in repair
    }


def noticeable(repair: tuple[Change, ...]) -> bool:
    return all(
        abs(change.target - change.demand.target) > NOTICEABLE * (1 + abs(change.demand.target)) for change in repair
    )


def applied(brief: Brief, repair: tuple[Change, ...]) -> Brief:
    """The brief as its maker would rewrite it after the repair."""
    targets = moved(repair)
    limits = tuple(_limit(limit, targets) for limit in brief.limits)
    names = [item.name for item in brief.mix.ingredients]
    ranges = tuple(_range(name, old, targets) for name, old in zip(names, brief.ranges, strict=True))
    return replace(brief, limits=limits, ranges=ranges)


def _limit(limit: Limit, targets: dict[Key, float]) -> Limit:
    name = limit.property.name
    return replace(limit, low=targets.get((name, "low"), limit.low), high=targets.get((name, "high"), limit.high))


def _range(name: str, old: Range, targets: dict[Key, float]) -> Range:
    low, high = targets.get((name, "low"), 100 * old.low), targets.get((name, "high"), 100 * old.high)
    return replace(old, low=low / 100, high=high / 100)


def test_there_are_conflicts_of_every_size() -> None:
    """Guard against an empty run: many conflicts, of two, three and more demands, with and without ratios."""
    assert len(impossible()) >= enough(80)
    assert sum(len(answer.conflict) == 2 for answer in impossible()) >= enough(20)
    assert sum(len(answer.conflict) >= 3 for answer in impossible()) >= enough(15)
    assert sum(any(name in RATIOS for name, _ in keys(answer)) for answer in impossible()) >= enough(20)


# -- the conflict ------------------------------------------------------------------------------------------------------


def test_the_conflict_alone_cannot_hold() -> None:
    for answer in impossible():
        assert keys(answer) <= set(asked(answer.brief))
        assert not plain(answer.brief, only=keys(answer)).feasible


def test_without_any_one_of_it_the_rest_of_the_conflict_can_hold() -> None:
    for answer in impossible():
        for key in keys(answer):
            assert plain(answer.brief, only=keys(answer) - {key}).feasible, f"{key} is not needed"


def test_the_proof_holds_and_the_words_are_the_briefs() -> None:
    for answer in impossible():
        assert answer.certificate is not None
        assert answer.certificate.holds
        for demand in answer.conflict:
            most = "at least" if demand.side == "low" else "at most"
            assert demand.words.startswith(f"{demand.name} {most} ")


# -- repairs -----------------------------------------------------------------------------------------------------------


def test_every_repair_is_enough() -> None:
    repairs = [(answer.brief, repair) for answer in impossible() for repair in answer.repairs]
    assert len(repairs) >= enough(150)
    for brief, repair in repairs:
        assert plain(brief, moved(repair)).feasible, moved(repair)
        assert isinstance(best(applied(brief, repair)), Best), moved(repair)


@pytest.mark.parametrize("ratio", [False, True], ids=["plain", "ratio"])
def test_a_single_repair_is_the_smallest(ratio: bool) -> None:
    singles = [
        (answer.brief, repair)
        for answer in impossible()
        for repair in answer.repairs
        if len(repair) == 1 and (repair[0].demand.name in RATIOS) == ratio and noticeable(repair)
    ]
    assert len(singles) >= enough(12)
    for brief, repair in singles:
        assert not plain(brief, partly(repair, 0.99)).feasible, (
            f"{repair[0].demand.words}: less than {repair[0].target:g} is enough"
        )


def test_where_moving_one_target_far_is_enough_there_is_a_repair_of_it() -> None:
    """Far, not away: emulsifier over no oil at all is a ratio that no target reaches."""
    for answer in impossible():
        single = {key for repair in answer.repairs if len(repair) == 1 for key in moved(repair)}
        targets = asked(answer.brief)
        for key in keys(answer) - {(group, "low") for group in GROUPS.values()}:  # those are not the maker's to move
            far = FAR * (1 + abs(targets[key])) * (-1.0 if key[1] == "low" else 1.0)
            enough = plain(answer.brief, {key: targets[key] + far}).feasible
            assert (key in single) == enough, f"{key} in {sorted(keys(answer))}"


def test_a_combined_repair_does_no_more_than_it_must() -> None:
    """Where all is linear, 99 % of the way on every target is not enough, and every part of it is needed."""
    combined = [
        (answer.brief, repair)
        for answer in impossible()
        for repair in answer.repairs
        if len(repair) > 1 and not any(name in RATIOS for name, _ in asked(answer.brief))
    ]
    assert len(combined) >= 3
    for brief, repair in combined:
        if noticeable(repair):
            assert not plain(brief, partly(repair, 0.99)).feasible
        for left in repair:
            assert not plain(brief, moved(tuple(change for change in repair if change is not left))).feasible


def test_a_repair_moves_towards_asking_for_less_and_only_what_is_the_makers() -> None:
    for answer in impossible():
        for change in (change for repair in answer.repairs for change in repair):
            assert change.demand.kind in ("limit", "line")
            gone = change.target - change.demand.target
            assert gone < 0 if change.demand.side == "low" else gone > 0


# -- what is not the maker's to move -----------------------------------------------------------------------------------

PRESERVATIVE = ingredient("phenoxyethanol", 20.0, "preservative", contains={"Phenoxyethanol": 100.0})
FRAGRANCE = ingredient("fragrance", 60.0, "fragrance", {"certificate maximum 9": 0.5})
BUTTER = ingredient("butter", 8.0, "butter")
FILLER = ingredient("filler", 1.0)


def kinds(answer: Designed | NoFormula) -> set[str]:
    assert isinstance(answer, NoFormula)
    return {demand.kind for demand in answer.conflict}


def changes(answer: Designed | NoFormula) -> set[tuple[str, float]]:
    assert isinstance(answer, NoFormula)
    return {(change.demand.name, round(change.target, 4)) for repair in answer.repairs for change in repair}


def test_a_law_is_not_moved() -> None:
    """Phenoxyethanol: 1 % at most, Regulation (EC) 1223/2009 Annex V, in the tables; the brief asks for 2 %."""
    wanted = {"phenoxyethanol": Range(0.02, 0.02, "brief")}
    answer = design(brief_of([PRESERVATIVE, FILLER], ranges=wanted, markets=("EU",)))
    assert kinds(answer) == {"law", "line"}
    assert changes(answer) == {("phenoxyethanol", 1.0)}
    assert isinstance(design(brief_of([PRESERVATIVE, FILLER], ranges=wanted)), Designed)  # no market, no law


def test_a_certificate_is_not_moved() -> None:
    wanted = {"fragrance": Range(0.01, 1.0, "brief")}
    answer = design(brief_of([FRAGRANCE, FILLER], ranges=wanted))
    assert kinds(answer) == {"certificate", "line"}
    assert changes(answer) == {("fragrance", 0.5)}


def test_an_advised_maximum_is_not_moved() -> None:
    advised = {"butter": Range(0.0, 0.1, "advice")}
    answer = design(brief_of([BUTTER, FILLER], {"share of butter": (20.0, None)}, advised))
    assert kinds(answer) == {"advice", "limit"}
    assert changes(answer) == {("share of butter", 10.0)}


def test_a_law_that_nothing_can_keep_has_no_repair() -> None:
    """Preservative alone: the law stands alone in the conflict, and no change of the brief's numbers helps."""
    answer = design(brief_of([PRESERVATIVE], markets=("EU",)))
    assert kinds(answer) == {"law"}
    assert changes(answer) == set()


def test_a_law_and_two_wishes() -> None:
    """Three in one conflict: either wish may give way, the law may not, nor may it share in a combined repair."""
    strong = ingredient("half phenoxyethanol", 5.0, "active", {"alpha": 1.0}, contains={"Phenoxyethanol": 50.0})
    mild = ingredient("mild", 9.0, "active", {"alpha": 0.1})
    answer = design(
        brief_of([strong, mild], {"alpha": (0.3, None)}, {"mild": Range(0.0, 0.97, "brief")}, markets=("EU",))
    )
    assert isinstance(answer, NoFormula)
    assert "law" in kinds(answer)
    assert all(change.demand.kind in ("limit", "line") for repair in answer.repairs for change in repair)


def test_a_conflict_worked_out_by_hand() -> None:
    """Butter at least 40 %, filler at least 70 %: 110 % in all. Either gives way by 10 points."""
    answer = design(brief_of([BUTTER, FILLER], {"share of butter": (40.0, None), "cool-down": (70.0, None)}))
    assert isinstance(answer, NoFormula)
    assert {demand.words for demand in answer.conflict} == {
        "share of butter at least 40 % of the jar",
        "cool-down at least 70 % of the jar",
    }
    singles = {(repair[0].demand.name, round(repair[0].target, 4)) for repair in answer.repairs if len(repair) == 1}
    assert singles == {("share of butter", 30.0), ("cool-down", 60.0)}


def test_the_smallest_repair_of_a_mean_worked_out_by_hand() -> None:
    """Oil of iodine value 80, butter of 30, at least 10 % butter and 20 % filler: 70 % oil at most.

    The highest iodine value of the fats is then (80 * 70 + 30 * 10) / 80 = 73.75.
    """
    candidates = [
        ingredient("oil", 5.0, "oil", {"iodine value": 80.0}),
        ingredient("butter", 3.0, "butter", {"iodine value": 30.0}),
        FILLER,
    ]
    limits = {"iodine value": (90.0, None), "share of butter": (10.0, None), "cool-down": (20.0, None)}
    answer = design(brief_of(candidates, limits))
    assert isinstance(answer, NoFormula)
    assert ("iodine value", 73.75) in changes(answer)


def test_a_least_mean_over_nothing_is_not_kept_by_having_nothing() -> None:
    """Water alone has no fat to have an iodine value: a limit of at least 40 asks for some fat, or says it cannot."""
    water, oil = ingredient("water", 1.0, "water"), ingredient("oil", 9.0, "oil", {"iodine value": 80.0})
    asks = {"iodine value": (40.0, None)}
    answer = design(brief_of([water, oil], asks))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("oil") == pytest.approx(0.001)
    assert "butters and oils at least 0.1 % of the jar (so that iodine value has a meaning)" in [
        bound.demand.words for bound in answer.binding
    ]
    none = design(brief_of([water, ingredient("syrup", 2.0, "humectant")], asks))
    assert isinstance(none, NoFormula)
    assert [demand.kind for demand in none.conflict] == ["model"]


def test_a_greatest_mean_over_nothing_asks_nothing_and_is_said_not_to_apply() -> None:
    brief = brief_of([ingredient("water", 1.0, "water")], {"iodine value": (None, 40.0)})
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert answer.report.measures[0].state == "does not apply"
    assert "iodine value does not apply: nothing in the formula has it." in [*map(str, answer.report.warnings)]
    text = terminal(designed(answer), 100)
    (line,) = [line for line in text.splitlines() if line.strip().startswith("iodine value  ")]
    assert "does not apply" in line


def test_a_repair_is_printed_with_its_unit() -> None:
    water, oil = ingredient("water", 1.0, "water"), ingredient("oil", 9.0, "oil")
    answer = design(brief_of([water, oil], {"oil phase": (60.0, None), "water phase": (60.0, None)}))
    assert isinstance(answer, NoFormula)
    assert re.search(r"lower the minimum oil phase from 60 to [\d.]+ % of the jar\n", terminal(told_impossible(answer)))


@pytest.mark.parametrize("scale", [1e-6, 1e-3, 1.0, 1e6, 1e9])
def test_a_repair_as_it_is_shown_suffices_at_every_size_of_the_figures(scale: float) -> None:
    """An own column of 7 and 0 to the scale, asked for at most 4/7 of it together with 60 % of what has it."""
    strong = ingredient("strong", 1.0, figures={"strength": 7 * scale})
    weak = ingredient("weak", 2.0, figures={"strength": 0.0}, function="oil")
    asks: dict[str, tuple[float | None, float | None]] = {
        "strength": (None, 4 * scale),
        "share of active": (60.0, None),
    }
    answer = design(brief_of([strong, weak], asks))
    assert isinstance(answer, NoFormula)
    singles = [repair[0] for repair in answer.repairs if len(repair) == 1]
    assert {change.demand.name for change in singles} == set(asks)
    for change in singles:
        shown = float(outward(change.demand.side, change.target))
        assert shown == pytest.approx(4.2 * scale if change.demand.side == "high" else 400 / 7, rel=0.05)
        ends = (shown, None) if change.demand.side == "low" else (None, shown)
        assert isinstance(design(brief_of([strong, weak], {**asks, change.demand.name: ends})), Designed)


def test_a_column_of_millions_has_its_conflict() -> None:
    """At least 3,000,000 of a column that reaches 2,000,000: missed by a million even at best."""
    candidates = [ingredient("strong", 1.0, figures={"units": 2e6}), ingredient("weak", 2.0, figures={"units": 0.0})]
    answer = design(brief_of(candidates, {"units": (3e6, None)}))
    assert isinstance(answer, NoFormula)
    assert [demand.words for demand in answer.conflict] == ["units at least 3000000"]
    assert answer.certificate is not None
    assert ("units", 2e6) in {(name, round(target, -1)) for name, target in changes(answer)}
