"""The answer to a brief, told: short by default, whole behind --all, in plain words and with honest figures."""

import re
import shutil
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest, Lowest, Nearest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.wishes import wishes
from optiform.properties.registry import find_property
from optiform.reading.paths import DEMO
from optiform.review.answer import FormulaWarning
from optiform.rules.forms import Level
from optiform.telling import report
from optiform.telling.design import designed, proof_sentence
from optiform.telling.document import document, fragment
from optiform.telling.frame import comma_separated, frame
from optiform.telling.goal import better
from optiform.telling.impossible import impossible
from optiform.telling.parts import Level as Mark
from optiform.telling.parts import Step, Telling
from optiform.telling.steps import after_design
from optiform.telling.steps import demo as demo_steps
from optiform.telling.terminal import terminal

#: Words of a solver, and of a first edition, that no maker is told by default.
GONE = "Not used:"
FORBIDDEN = re.compile(
    r"\b(?:gap|slackness|residual|duals?|basis|binding|rung|course|rival|known how|asked|degC|kept)\b", re.IGNORECASE
)


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


@cache
def answer() -> Designed:
    found = design(demo())
    assert isinstance(found, Designed)
    return found


@cache
def told() -> Telling:
    return designed(answer())


def plain(telling: Telling) -> str:
    return " ".join(terminal(telling, 90).split())


def without(name: str) -> Brief:
    """The demo without one of its own limits or lines."""
    items = zip(demo().mix.ingredients, demo().ranges, strict=True)
    ranges = tuple(replace(own, low=0.0, high=1.0) if item.name == name else own for item, own in items)
    return replace(demo(), limits=tuple(x for x in demo().limits if x.property.name != name), ranges=ranges)


# -- short by default --------------------------------------------------------------------------------------------------


def test_the_demo_is_told_on_one_screen_with_what_to_try_next() -> None:
    lines = terminal(replace(told(), steps=demo_steps(whole=False)).brief(), 90).splitlines()
    assert len(lines) <= 45
    assert max(map(len, lines)) <= 90


def test_the_answer_comes_first_then_what_to_weigh_then_a_line_on_each_matter() -> None:
    text = terminal(told().brief(), 90)
    order = (
        demo().title, "Cream scrub", "The ingredients cost", "Checked: no formula within your limits is cheaper.",
        "Weigh this, for 4 kg", "Limits:", "Law in force on", "Could be missed", "Your wishes that cost", "Cautions:",
    )  # fmt: skip
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_no_word_of_a_solver_reaches_the_short_telling() -> None:
    assert FORBIDDEN.findall(plain(told().brief())) == []
    assert "gap" in plain(told().only("proof"))


def test_everything_else_stands_in_parts_of_its_own() -> None:
    assert {"limits", "law", "cautions", "unused", "prices", "proof"} <= set(told().names)
    for name in told().names:
        assert told().only(name).sections


def test_it_is_told_by_every_renderer() -> None:
    page = document(told())
    for sentence in told().sentences:
        assert sentence in plain(told())
    assert fragment(told()) in page or "Weigh this" in page
    assert "sweet almond oil" in page
    assert len(frame(told().table)) == len(answer().report.formula.lines)
    assert comma_separated(told().table).count("\n") == len(answer().report.formula.lines) + 1


# -- figures -----------------------------------------------------------------------------------------------------------


def test_the_grams_are_whole_steps_that_sum_to_the_batch() -> None:
    (section,) = told().only("formula").sections
    (table,) = told().only("formula").tables
    grams = [row[1] for row in table.rows if row[1] is not None]
    assert section.title == "Weigh this, for 4 kg"
    assert sum(float(str(weight)) for weight in grams) == 4000
    assert all(float(str(weight)) == int(str(weight).split(".")[0]) for weight in grams)


def test_grams_that_meet_a_limit_but_for_rounding_are_said_to() -> None:
    """201 g of glycerin, 99.5 % pure, are 4.9999 % of humectant in 4 kg; the limit is 5."""
    line = plain(told().only("summary"))
    assert "Limits: all 13 are met, 8 only just; rounded to your scale, within one step of it." in line
    finer = plain(designed(replace(answer(), brief=replace(demo(), step=1e-4))).only("summary"))
    assert "with these grams all 13 are met" in finer


def test_grams_that_miss_a_limit_are_said_to() -> None:
    """Steps of 100 g in 4 kg are 2.5 %: no such batch has the demo's 0.2 % of gum."""
    coarse = replace(demo(), step=100.0)
    line = plain(designed(replace(answer(), brief=coarse)).only("summary"))
    assert "but not in whole steps of your scale" in line
    (weigh, *_) = after_design(coarse, answer().report.formula, Path("brief.toml"), None, "optiform design brief.toml")
    assert weigh == Step("Grams that meet every limit", "optiform weigh brief.toml")


@pytest.mark.parametrize(
    "name", ["fragrance oil", "colloidal oatmeal", "active surfactant", "structuring solids at 20 degC"]
)
def test_a_wish_saves_in_all_what_the_best_formula_without_it_saves(name: str) -> None:
    (wish,) = [wish for wish in wishes(answer().binding) if wish.bound.demand.name == name]
    other = design(without(name))
    assert isinstance(other, Designed)
    saved = answer().objective - other.objective
    if wish.least:
        assert saved >= wish.saving - 1e-9
    else:
        assert saved == pytest.approx(wish.saving, rel=0.02)


def test_wishes_that_cost_most_come_first_and_in_money() -> None:
    savings = [wish.saving for wish in wishes(answer().binding)]
    assert savings == sorted(savings, reverse=True)
    (line,) = [words for words in told().sentences if words.startswith("Your wishes")]
    assert "in EUR/kg: fragrance oil 0.57; colloidal oatmeal 0.39; " in line


def test_what_is_in_todays_formula_and_cannot_be_used_is_told_with_its_reason(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    shutil.copytree(DEMO, folder)
    path, owned = folder / "brief.toml", folder / "workshop.csv"
    words = path.read_text(encoding="utf-8").replace('lowest = "cost"', 'nearest = "usual"')
    path.write_text(words.replace('"fragrance oil" = "0.6 %"\n', ""), encoding="utf-8")
    owned.write_text(owned.read_text(encoding="utf-8").replace(",0.5,0.4,8.9,", ",0.5,0.4,,"), encoding="utf-8")
    other = design(read_brief(path))
    assert isinstance(other, Designed)
    assert other.report.formula.fraction("fragrance oil") == 0.0
    (line,) = [words for words in designed(other).sentences if GONE in words]
    assert "mango butter (out of stock); fragrance oil (no certificate maximum for class 9 in your table)" in line
    (line,) = [words for words in told().sentences if GONE in words]
    assert line == f"{GONE} mango butter (out of stock)."
    assert f"less than today's formula. {line}" in plain(told())


def test_a_percentage_says_of_what() -> None:
    words = " ".join(terminal(told().only("limits", "prices", "properties"), 120).split())
    assert "solid fat at 10 °C at most 36 % of the fats" in words
    assert "structuring solids at 20 °C at least 9 % of the jar" in words
    assert re.search(r"polyunsaturated share [\d.]+ % of the fatty acids", words)


# -- what is proven ----------------------------------------------------------------------------------------------------


def test_what_is_proven_is_said_by_the_goal() -> None:
    cost, fat = find_property("cost", "EUR"), find_property("oil phase", "EUR")
    assert better(Lowest(cost)) == "cheaper"
    assert better(Highest(fat)) == "higher in oil phase"
    today = demo().reference
    assert today is not None
    assert better(Nearest(today)) == "nearer to today"


def test_what_is_proven_near_itself_only_is_said_to_be() -> None:
    goal = demo().goal
    near = proof_sentence(goal, True, None, None)
    assert near.level is Mark.MIND
    assert near.text.startswith("Not proven for all formulas")
    assert "by more than 0.01 EUR/kg" in proof_sentence(goal, False, 0.01, None).text
    assert "near this formula only" in proof_sentence(goal, True, 0.01, None).text
    assert "another is exactly as good" in proof_sentence(goal, False, None, demo().reference).text


# -- warnings ----------------------------------------------------------------------------------------------------------


def test_every_stop_is_told_and_of_the_others_five() -> None:
    levels: tuple[Level, ...] = ("mind",) * 8 + ("stop",) * 7
    warned = [
        FormulaWarning("dose", level, f"{level} {number % 8}", "usual-use") for number, level in enumerate(levels)
    ]
    short = report.warnings(warned).brief()
    words = [part.text for part in short.parts if hasattr(part, "text")]
    assert [text for text in words if text.startswith("stop")] == [f"stop {number}" for number in range(7)]
    assert [text for text in words if text.startswith("mind")] == [f"mind {number}" for number in range(5)]
    assert words[-1] == "3 more warnings: --part warnings"


# -- impossible --------------------------------------------------------------------------------------------------------


def test_limits_that_may_not_all_be_needed_are_told_so() -> None:
    limits = tuple(replace(x, low=40.0) if x.property.name == "solid fat at 30 degC" else x for x in demo().limits)
    none = design(replace(demo(), limits=limits))
    assert isinstance(none, NoFormula)
    assert "Take any one of them away and the others can be met" in " ".join(impossible(none).sentences)
    perhaps = " ".join(impossible(replace(none, minimal=False)).sentences)
    assert "Among these limits some contradict each other" in perhaps
    assert "Take any one of them away" not in perhaps


def test_an_impossible_brief_names_the_limits_and_what_to_lower() -> None:
    limits = tuple(replace(x, low=40.0) if x.property.name == "solid fat at 30 degC" else x for x in demo().limits)
    none = design(replace(demo(), limits=limits))
    assert isinstance(none, NoFormula)
    text = plain(impossible(none).brief())
    assert "STOP: No formula can meet this brief." in text
    assert "- share of oil at least 8 % of the jar - solid fat at 30 °C at least 40 % of the fats" in text
    assert re.search(r"- lower the minimum solid fat at 30 °C from 40 to [\d.]+ % of the fats", text)
    assert FORBIDDEN.findall(text) == []
    assert "sum" not in text
    assert document(impossible(none)).count("<li>") >= 3


def test_what_the_brief_overrules_stays_on_the_short_telling() -> None:
    def warning(level: Level, words: str, overruled: bool = False) -> FormulaWarning:
        return FormulaWarning("dose", level, words, "some-rule", overruled=overruled)

    notes = [warning("note", f"note {k}") for k in range(3)]
    minds = [warning("mind", f"mind {k}") for k in range(9)]
    overruled = warning("note", "acid", overruled=True)
    section = report.warnings([*notes, *minds, overruled])
    said = [getattr(part, "text", "") for part in section.brief().parts]
    assert said[0] == "Overruled in the brief (some-rule): acid"
    assert len(said) == 1 + report.MOST_WARNINGS + 1, "and how many more there are"
    cut = [getattr(part, "text", "") for part in section.brief(fewer=9).parts]
    assert cut == ["Overruled in the brief (some-rule): acid", "12 more warnings: --part warnings"], "nor is it cut"
    assert report.warnings([*notes, overruled]).short
    assert not report.warnings(notes).short
