"""A brief of three lines: the first trial has all parts of its kind, in usual amounts, and nothing to be minded."""

import csv
import datetime
import os
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from optiform.brief.brief import KINDS
from optiform.brief.goal import Lowest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import Best, design, explained, unrounded
from optiform.ingredients.formula import Formula, Line, mixed
from optiform.properties.base import Mix, fractions
from optiform.properties.cost import cost
from optiform.properties.registry import find_property
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope
from optiform.rules.usual import COUNT, UsualRange, added, additives_without_a_row, grain_in, unasked, usual_ranges
from tests.kind_shelves import bare_brief, random_shelf, scope_of, shipped, trial_of
from tests.sweeps import cases

TRIALS = Path(__file__).parent / "first_trials.csv"
OFF = 1e-4  # of a usual range's unit: what an eased end is put beyond it


def first_trials() -> dict[str, Formula]:
    """One formula a kind, put together by hand to lie inside every usual range; none of them was made."""
    lines: dict[str, list[Line]] = defaultdict(list)
    with TRIALS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            item = shipped().ingredients[row["ingredient"].casefold()]
            lines[row["kind"]].append(Line(item, float(row["percent"]) / 100, row["phase"]))
    return {kind: Formula(kind, tuple(of_kind)) for kind, of_kind in lines.items()}


def outside(formula: Formula, kind: str) -> Iterator[tuple[UsualRange, float]]:
    """The usual ranges that a formula lies outside, each with its value there."""
    mix, x = Mix.of(formula), fractions(formula)
    grain = grain_in(kind, {line.ingredient: line.fraction for line in formula.lines})
    for row in usual_ranges(kind, grain):
        if row.property != COUNT:
            value = find_property(row.property, "EUR").at(mix, x).at(x) or 0.0
            if not (row.low - OFF <= value <= row.high + OFF or (row.if_used and value == 0)):
                yield row, value


@pytest.mark.parametrize("kind", KINDS)
def test_a_sound_formula_of_each_kind_passes(kind: str) -> None:
    formula = first_trials()[kind]
    words = scope_of(kind)
    scope = Scope(words["use"], words["area"], ("EU",), datetime.date(2026, 11, 26))
    grave = [w for w in report(formula, Setting(kind, scope)).warnings if w.level in ("stop", "mind")]
    assert grave == []
    assert list(outside(formula, kind)) == []


def first_trial(kind: str, seed: int) -> None:
    trial = trial_of(kind, seed)
    assert isinstance(trial, Best), trial
    answer = explained(trial)
    formula = answer.report.formula
    gave = {end.demand.name for end in answer.gave}
    assert [row.property for row, _ in outside(formula, kind) if row.property not in gave] == []
    assert [w.text for w in answer.report.warnings if w.level in ("stop", "mind")] == []
    assert answer.binding == (), "half ranges are no money"
    assert min(line.fraction for line in formula.lines) >= 0.0005 - OFF / 100, "no line too small to do anything"


SHELVES = int(os.environ.get("OPTIFORM_SHELVES", "5"))


@pytest.mark.parametrize(("seed", "kind"), cases([*product((0, 1), KINDS)], len(KINDS), len(KINDS)))
def test_a_bare_brief_gives_a_first_trial(seed: int, kind: str) -> None:
    first_trial(kind, seed)


@pytest.mark.exhaustive
@pytest.mark.parametrize("kind", KINDS)
def test_many_shelves_give_a_first_trial_each(kind: str) -> None:
    """By hand forty of each kind, OPTIFORM_SHELVES=40, which takes some twenty minutes."""
    for seed in range(2, SHELVES):
        first_trial(kind, seed)


def test_a_sugar_cream_keeps_its_grains() -> None:
    """2.04 g of sugar go into each g of water at 20 degC: of what is weighed out, 10 % of the jar at least stays."""
    shelf = dict.fromkeys(
        ["water", "sugar, caster", "glycerin", "emulsifying wax NF", "cetyl alcohol", "xanthan gum", "sweet almond oil",
         "shea butter, refined", "phenoxyethanol + ethylhexylglycerin"], 5.0,
    )  # fmt: skip
    answer = design(bare_brief("cream scrub", shelf))
    assert isinstance(answer, Designed)
    formula = answer.report.formula
    assert answer.gave == ()
    assert formula.fraction("sugar, caster") - 2.04 * formula.fraction("water") >= 0.1


def test_the_formula_is_nearer_to_usual_than_the_one_by_hand() -> None:
    """Of the same ingredients: the sum of half ranges off is least, as a hand could not make it smaller."""
    for kind, by_hand in first_trials().items():
        brief = bare_brief(kind, {line.ingredient.name: 5.0 for line in by_hand.lines})
        answer = unrounded(brief)
        assert isinstance(answer, Best)
        value = brief.goal.value_at(brief.mix, brief.mix.vector(by_hand))
        assert value is not None
        assert answer.value <= value + 1e-9


def test_of_ingredients_that_serve_alike_makers_first_then_the_cheaper() -> None:
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["balm"].lines}
    rare = {"argan oil": 0.1, "squalane": 0.1}
    answer = design(bare_brief("balm", {**shelf, **rare}))
    assert isinstance(answer, Designed)
    assert not {line.ingredient.name for line in answer.report.formula.lines} & set(rare), "cheap, but no maker's first"
    alike = {"sesame oil": 3.0, "avocado oil": 2.0, "beeswax": 5.0, "shea butter, refined": 5.0}
    answer = design(bare_brief("balm", alike))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("avocado oil") > 0.6, "neither is on the list: the cheaper"
    assert answer.report.formula.fraction("sesame oil") == 0


def test_a_shelf_that_lacks_a_part_is_told_which_and_what_to_buy() -> None:
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines}
    del shelf["glyceryl stearate + PEG-100 stearate"]
    answer = design(bare_brief("lotion", shelf))
    assert isinstance(answer, NoFormula)
    (part,) = answer.lacking
    assert (part.part, part.low, part.high) == ("share of emulsifier", 3.0, 8.0)
    assert part.buy[0] == "glyceryl stearate + PEG-100 stearate"


def test_too_little_of_a_part_is_a_part_that_is_lacking() -> None:
    """Of one surfactant 30 % is usual in a bar, which needs 50 % of such."""
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["solid cleansing bar"].lines}
    for name in ("sodium cocoyl isethionate", "sodium lauryl sulfoacetate"):
        del shelf[name]
    answer = design(bare_brief("solid cleansing bar", shelf))
    assert isinstance(answer, NoFormula)
    assert "share of solid surfactant" in [part.part for part in answer.lacking]


def test_a_scent_without_its_certificate_is_not_put_in() -> None:
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines}
    assert "fragrance oil" in shelf
    answer = design(bare_brief("lotion", shelf))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("fragrance oil") == 0


def test_less_of_the_oil_phase_brings_no_formula_nearer_to_a_ratio() -> None:
    """An aim at a ratio counts what is off in the whole of a usual product: it falls with the distance alone."""
    brief = bare_brief("lotion", {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines})
    (aim,) = (aim for aim in brief.goal.aims if aim.wanted.name == "emulsifier per 100 of oil phase")  # type: ignore[union-attr]
    names = [item.name for item in brief.mix.ingredients]

    def off(oil: float, emulsifier: float) -> float:
        formula = mixed({"sunflower oil, high oleic": oil, names[names.index("glyceryl stearate + PEG-100 stearate")]:
                         emulsifier, "water": 100 - oil - emulsifier})  # fmt: skip
        return abs(float(aim.away(brief.mix) @ brief.mix.vector(formula)))

    assert off(16, 4.16) == pytest.approx(0)
    assert off(16, 5.2) == pytest.approx(off(8, 3.12)), "a point too much is a point too much"
    assert np.argmin([off(oil, 5.2) for oil in (8, 12, 16, 20)]) == 3


def test_an_acid_that_sets_the_ph_is_no_filler_of_a_bar() -> None:
    """It is the cheapest powder of the shelf, and a tenth of a percent of it is sour enough."""
    shelf = dict.fromkeys(
        (
            "sodium cocoyl isethionate", "sodium lauryl sulfoacetate", "cocamidopropyl betaine, 30 %", "stearic acid",
            "cocoa butter", "corn starch", "phenoxyethanol + ethylhexylglycerin",
        ),
        20.0,
    )  # fmt: skip
    brief = bare_brief("solid cleansing bar", {**shelf, "citric acid": 1.0})
    answer = design(replace(brief, goal=Lowest(cost("EUR"))))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("citric acid") <= 0.003 * (1 + 1e-9)


#: What is reached for, beside what a kind's shelf holds: cost, and ends that leave many formulas as good.
REACHED = (
    {"lowest": "cost"}, {"highest": "oil phase"}, {"lowest": "oil phase"}, {"highest": "water"},
    {"lowest": "share of emulsifier"}, {"highest": "humectant active"},
)  # fmt: skip


def no_filler(kind: str, seed: int, goal: dict[str, str]) -> None:
    """Of additives that the brief does not name no more than is proposed unasked, none of what a maker chooses."""
    brief = bare_brief(kind, random_shelf(kind, seed), goal=goal)
    answer = unrounded(brief)
    assert isinstance(answer, Best), answer
    rows = usual_ranges(kind, grain_in(kind, dict.fromkeys(brief.mix.ingredients, 1.0)))
    most = {row.property: unasked(row) for row in (*rows, *additives_without_a_row(rows)) if added(row.property)}
    gave = {end.demand.name for end in answer.gave}
    for part, top in most.items():
        share = find_property(part, "EUR").of(answer.formula) or 0.0
        assert share <= top + OFF or part in gave, (kind, seed, goal, part, share)


@pytest.mark.parametrize("kind", cases(KINDS, 5))
def test_an_additive_is_no_filler_whatever_is_reached_for(kind: str) -> None:
    place = KINDS.index(kind)
    for goal in (REACHED[0], REACHED[1 + place % 5]):
        no_filler(kind, 1000 + place, goal)


@pytest.mark.exhaustive
@pytest.mark.parametrize("kind", KINDS)
def test_on_many_shelves_an_additive_is_no_filler(kind: str) -> None:
    """Sixty random shelves and more, by hand as many as OPTIFORM_SHELVES says."""
    for seed in range(2000, 2000 + SHELVES):
        for goal in REACHED:
            no_filler(kind, seed, goal)


def test_a_bar_with_little_on_the_shelf_is_filled_up_with_what_makers_take() -> None:
    """With one solid surfactant all else is at the top of its use: clay fills up, which bars have, not polysorbate."""
    names = (
        "sodium cocoyl isethionate", "cocamidopropyl betaine, 30 %", "stearic acid", "cocoa butter",
        "shea butter, refined", "phenoxyethanol + ethylhexylglycerin", "polysorbate 60", "kaolin",
    )  # fmt: skip
    answer = design(bare_brief("solid cleansing bar", dict.fromkeys(names, 5.0) | {"polysorbate 60": 0.5}))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("kaolin") > 0.01
    assert answer.report.formula.fraction("polysorbate 60") == 0


def test_what_the_brief_names_of_an_additive_is_free_to_its_usual_top() -> None:
    shelf = {line.ingredient.name: 5.0 for line in first_trials()["lotion"].lines} | {"iron oxide, red": 0.1}
    cheapest = {"lowest": "cost"}
    unnamed = unrounded(bare_brief("lotion", shelf, goal=cheapest))
    named = unrounded(bare_brief("lotion", shelf, goal=cheapest, lines={"iron oxide, red": {"high": "0.4 %"}}))
    wanted = unrounded(bare_brief("lotion", shelf, goal={"highest": "share of colourant"}))
    assert isinstance(unnamed, Best)
    assert isinstance(named, Best)
    assert isinstance(wanted, Best)
    shares = [100 * best.formula.fraction("iron oxide, red") for best in (unnamed, named, wanted)]
    assert shares == pytest.approx([0.0, 0.4, 1.0])
