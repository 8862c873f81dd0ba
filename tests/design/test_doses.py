"""Nothing that is proposed stands below what makers weigh: a line is used at its least dose, or not at all."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.brief.doses import ENOUGH, least_doses
from optiform.brief.file import read_brief
from optiform.brief.limits import Range
from optiform.design.answer import Designed, NoFormula
from optiform.design.cheaper import cheaper
from optiform.design.design import Best, best, best_fractions, design
from optiform.design.doses import dosed, too_little
from optiform.design.explore import TradeOff, explore_limit
from optiform.ingredients.formula import Formula, Line, mixed
from optiform.program.optimum import best_formula
from optiform.program.usual import requirements
from optiform.properties.registry import find_property
from optiform.reading.paths import DEMO
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.telling.explore import explore
from tests.kind_shelves import bare_brief

OILS = {
    "water": 0.4, "glycerin": 4.0, "emulsifying wax NF": 10.0, "cetyl alcohol": 9.0, "shea butter, refined": 12.0,
    "soybean oil": 2.0, "xanthan gum": 30.0, "mixed tocopherols": 40.0, "rosemary extract": 90.0,
    "phenoxyethanol + ethylhexylglycerin": 30.0, "disodium EDTA": 15.0,
}  # fmt: skip


def lotion(**more: float) -> Brief:
    """A lotion at the least cost whose cheapest oil oxidises fast."""
    return bare_brief("lotion", OILS | more).with_goal(lowest="cost").with_limit("oil phase", low="15 %")


def small(brief: Brief, formula: Formula) -> list[str]:
    return list(too_little(replace(brief, doses=()), [formula]))


def test_an_antioxidant_that_a_rule_asks_for_is_at_its_least_dose() -> None:
    """0.05 % of the oils that are there keeps the rule: 0.007 % of the jar, which nobody weighs."""
    brief = lotion()
    outcome = best_formula(brief, requirements(brief))
    assert outcome.best is not None
    place = [item.name for item in brief.mix.ingredients].index("mixed tocopherols")
    assert 0 < outcome.best[1].x[place] < 0.0001
    answer = design(brief)
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("mixed tocopherols") == pytest.approx(0.0005)
    assert small(brief, answer.report.formula) == []
    assert "mixed tocopherols at least 0.05 %" in " ".join(bound.demand.words for bound in answer.binding)


def test_none_or_the_least_dose_costs_least_of_all_ways() -> None:
    """Against each way tried by itself: without, or at its dose or more."""
    brief = lotion()
    answer = best(brief)
    assert isinstance(answer, Best)
    none = best(brief.without("mixed tocopherols"))
    dose = best(brief.with_limit("mixed tocopherols", low="0.05 %"))
    values = [way.value for way in (none, dose) if isinstance(way, Best)]
    assert answer.value == pytest.approx(min(values), abs=1e-9)


def test_a_step_of_the_scale_is_the_least_where_that_is_more() -> None:
    coarse = replace(lotion(), step=1.0, batch=1.0)
    names = [item.name for item in coarse.mix.ingredients]
    assert least_doses(coarse)[names.index("mixed tocopherols")] == pytest.approx(0.001)
    answer = best(coarse)
    assert isinstance(answer, Best)
    assert answer.formula.fraction("mixed tocopherols") == pytest.approx(0.001)


def test_what_the_maker_asks_of_a_line_stands() -> None:
    """An amount that is named, less than the least dose, and today's formula."""
    brief = lotion()
    names = [item.name for item in brief.mix.ingredients]
    at = names.index("mixed tocopherols")
    named = brief.with_limit("mixed tocopherols", low="0.01 %")
    little = replace(
        brief, ranges=tuple(Range(0.0, 0.0002, "brief") if j == at else r for j, r in enumerate(brief.ranges))
    )
    today = replace(brief, reference=mixed({"water": 99.98, "mixed tocopherols": 0.02}))
    assert [least_doses(x)[at] for x in (brief, named, little)] == pytest.approx([0.0005, 0.0, 0.0])
    assert least_doses(today)[at] == pytest.approx(0.0002)
    assert least_doses(brief).max() <= ENOUGH
    warned = replace(brief, usual=(), ranges=tuple(Range() for _ in names))
    assert not least_doses(warned).any(), "nothing usual holds there"


def test_a_dose_that_cannot_be_had_leaves_the_answer_as_it_was() -> None:
    brief = lotion()

    def job(asked: Brief, _: Formula | None) -> Formula | None:
        return None if asked.doses else mixed({"water": 99.99, "mixed tocopherols": 0.01})

    answer = dosed(brief, job, lambda formula: [formula] if formula else [])
    assert answer is not None
    assert answer.fraction("mixed tocopherols") == pytest.approx(0.0001)


def test_doses_go_on_from_the_search_before_and_what_clashes_with_them_is_not_looked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A conflict takes far longer than an answer, and nobody is told it where the answer before stands."""
    brief = lotion()
    answer = best_fractions(brief)
    assert isinstance(answer, Best)
    monkeypatch.setattr("optiform.design.conflicts.impossible", lambda *_: pytest.fail("nobody asks why"))
    dosed_brief = replace(brief, doses=("mixed tocopherols",))
    again = best_fractions(dosed_brief, before=answer)
    assert again == best_fractions(dosed_brief)
    too_much = dosed_brief.with_limit("water", low="99.9 %")
    assert isinstance(best_fractions(too_much, before=answer), NoFormula)


def test_no_option_of_cheaper_brings_in_less_than_a_dose(monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo's options take 1.2 % of coconut oil; of 3 % it comes in at that, or not at all."""
    brief = read_brief(DEMO / "brief.toml")
    doses = 0.03 * np.array([item.name == "coconut oil" for item in brief.mix.ingredients])
    before = [rung.report.formula.fraction("coconut oil") for rung in cheaper(brief, least_saving=0.0).rungs]
    assert any(0 < share < 0.03 for share in before)
    monkeypatch.setattr("optiform.design.few_changes.least_doses", lambda _: doses)
    after = [rung.report.formula.fraction("coconut oil") for rung in cheaper(brief, least_saving=0.0).rungs]
    assert after
    assert all(share == 0 or share >= 0.03 - 1e-9 for share in after), after


def test_a_curve_says_which_lines_are_too_little_somewhere_on_it() -> None:
    """It is over fractions of any size: with a least dose of every line there are too many ways to follow."""
    brief = lotion()
    curve = explore_limit(brief, "oil phase", "low", 12.0, 24.0)
    assert isinstance(curve, TradeOff)
    assert curve.little == ("mixed tocopherols",)
    assert "below its least dose somewhere" in " ".join(explore("curve", [curve]).sentences)
    for target in np.linspace(12.5, 23.5, 5):
        there = best_fractions(brief.with_limit("oil phase", low=float(target)))
        assert isinstance(there, Best)
        assert curve.value_at(float(target)) == pytest.approx(there.value, abs=1e-6)


def test_an_impossible_brief_stays_impossible() -> None:
    assert isinstance(best(lotion().with_limit("water", low="99.9 %")), NoFormula)


# -- what runs in the heat ---------------------------------------------------------------------------------------------

STICK = {"beeswax": 20.0, "candelilla wax": 25.0, "sunflower oil, high oleic": 2.0, "coconut oil": 1.0, "BHT": 40.0}
SCRUB = {
    "sugar, granulated": 9.0, "sunflower oil, high oleic": 1.0, "shea butter, refined": 5.0, "cetyl alcohol": 9.0,
    "emulsifying wax NF": 9.0, "stearic acid": 9.0, "mixed tocopherols": 40.0,
}  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "shelf", "name", "low", "high"),
    [
        ("stick and lip balm", STICK, "solids of the oil phase at 35 degC", 18.0, 34.0),
        ("anhydrous emulsified scrub", SCRUB, "melted oil per 100 of solids at 35 degC", 0.0, 100.0),
    ],
)
def test_what_must_not_run_in_the_heat_does_not(
    kind: str, shelf: dict[str, float], name: str, low: float, high: float
) -> None:
    """At the least cost it would run: such a range can be kept in several ways, and is kept in the cheapest of them."""
    brief = bare_brief(kind, shelf).with_goal(lowest="cost")
    if kind != "stick and lip balm":
        brief = brief.with_limit("grains", high="46 %")
    wanted = find_property(name, "EUR")
    runs, keeps = best_fractions(brief), best(brief)
    assert isinstance(runs, Best)
    assert isinstance(keeps, Best)
    before, after = wanted.of(runs.formula), wanted.of(keeps.formula)
    assert before is not None
    assert after is not None
    assert not low <= before <= high
    assert low - 1e-4 <= after <= high + 1e-4
    assert keeps.value > runs.value
    assert [end.demand.words for end in keeps.gave] == [end.demand.words for end in runs.gave]
    texts = [w.text for w in report(runs.formula, Setting(kind, brief.scope)).warnings]
    assert any(name in text for text in texts), "the tool warns of what it does not propose"


def test_what_runs_in_the_heat_whatever_is_weighed_is_named_with_what_it_reached() -> None:
    """As much carnauba wax as is usual makes 11 % solids at 35 degC, of which a stick has 18 to 34."""
    shelf = {"carnauba wax": 20.0, "sweet almond oil": 5.0, "cocoa butter": 8.0, "mixed tocopherols": 40.0}
    answer = design(bare_brief("stick and lip balm", shelf))
    assert isinstance(answer, Designed)
    reached = find_property("solids of the oil phase at 35 degC", "EUR").of(answer.report.formula)
    assert reached is not None
    assert reached < 18
    named = {(end.demand.name, end.demand.side, end.demand.target): end.reached for end in answer.gave}
    assert named["solids of the oil phase at 35 degC", "low", 18.0] == pytest.approx(reached)


def test_a_line_that_goes_down_to_save_ends_at_none_or_at_its_least_dose() -> None:
    """Where only the tops of usual use hold, three lines would take emulsifying wax from 4 % to 0.24; 1 % is enough."""
    brief = bare_brief("lotion", OILS | {"cetyl alcohol": 60.0, "glycerin": 50.0})
    shares = {
        "water": 76.3, "soybean oil": 12.0, "emulsifying wax NF": 4.0, "cetyl alcohol": 2.0, "glycerin": 4.0,
        "mixed tocopherols": 0.2, "xanthan gum": 0.3, "phenoxyethanol + ethylhexylglycerin": 1.0, "disodium EDTA": 0.2,
    }  # fmt: skip
    there = {item.name: item for item in brief.mix.ingredients}
    lines = tuple(Line(there[name], share / 100, there[name].phase) for name, share in shares.items())
    today = replace(brief, reference=Formula("today", lines), usual=())
    answer = cheaper(today, {"oil phase": 50.0})
    least = dict(zip((item.name for item in today.mix.ingredients), least_doses(today).tolist(), strict=True))
    ended = [
        (line.ingredient.name, line.fraction)
        for rung in answer.rungs
        for line in rung.report.formula.lines
        if 1e-6 < line.fraction < least[line.ingredient.name] * (1 - 1e-6)
    ]
    assert answer.rungs
    assert ended == []
