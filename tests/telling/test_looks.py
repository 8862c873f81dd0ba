"""Check, compare and weigh, told: the verdict first, on one screen, by every renderer."""

import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from optiform import cli
from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.design.design import design
from optiform.design.steps import Weighed
from optiform.design.weigh import weigh
from optiform.ingredients.formula import mixed, read_formula
from optiform.label.declare import declare
from optiform.reading.paths import DEMO
from optiform.review.check import check_against
from optiform.review.compare import compare
from optiform.review.measures import setting_of
from optiform.telling.check import checked
from optiform.telling.compare import compared
from optiform.telling.declare import declaration
from optiform.telling.document import document
from optiform.telling.frame import frame
from optiform.telling.json.label import declared
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal
from optiform.telling.weigh import weighed
from tests.telling.test_design import FORBIDDEN


@cache
def demo() -> Brief:
    return read_brief(DEMO / "brief.toml")


def looked_at() -> Telling:
    return checked(check_against(DEMO / "today.csv", demo()), setting_of(demo()))


def side_by_side() -> Telling:
    other = read_formula(DEMO / "hand_polish.csv", demo().catalogue).formula
    today = demo().reference
    assert today is not None
    return compared(compare([today, other], setting_of(demo()), demo().step))


def on_the_scale() -> Telling:
    answer = weigh(demo())
    assert isinstance(answer, Weighed)
    return weighed(answer)


@pytest.mark.parametrize("telling", [looked_at, side_by_side, on_the_scale])
def test_it_is_told_by_every_renderer_and_without_a_solvers_words(telling: Callable[[], Telling]) -> None:
    whole = telling()
    text = " ".join(terminal(whole, 90).split())
    assert all(sentence in text for sentence in whole.sentences)
    assert "<table>" in document(whole)
    assert len(frame(whole.table)) == len(whole.table.rows) > 0
    assert FORBIDDEN.findall(terminal(whole.brief(), 90)) == []


@pytest.mark.parametrize(
    "line",
    [
        "design brief.toml",
        "check today.csv --brief brief.toml",
        "check hand_polish.csv --own workshop.csv --market EU",
        "compare today.csv hand_polish.csv --brief brief.toml",
        "weigh brief.toml",
    ],
)
def test_the_default_fits_one_screen(
    line: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(DEMO)
    monkeypatch.setenv("COLUMNS", "90")
    assert cli.main(line.split()) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= 40
    assert max(map(len, lines)) <= 90


def test_the_demo_fits_one_screen(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("COLUMNS", "90")
    assert cli.main(["demo"]) == 0
    assert len(capsys.readouterr().out.splitlines()) <= 45


def test_a_check_says_first_whether_limits_and_law_are_met() -> None:
    second, first, *_ = looked_at().sentences
    assert first.startswith("Law in force on")
    assert "met, as far as our tables go" in first
    assert second == "Limits: all 13 are met."


def test_a_missed_limit_and_a_broken_law_are_named_in_the_verdict(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text(
        "ingredient,percent\nwater,40\nsweet almond oil,50\nphenoxyethanol + ethylhexylglycerin,10\n", "utf-8"
    )
    law, limits, *_ = checked(check_against(path, demo()), setting_of(demo())).sentences
    assert re.search(r"broken by phenoxyethanol \(9 %, at most 1 %\)", law)
    assert "oil phase 50, not 22 to 28 % of the jar" in limits
    text = terminal(checked(check_against(path, demo()), setting_of(demo())).brief(), 90)
    assert text.index("STOP: Law") < text.index("Limits:")
    assert "STOP: Over a legal limit" in text


def test_a_comparison_says_cost_label_what_moved_and_firmness() -> None:
    text = terminal(side_by_side().brief(), 90)
    order = ("costs", "Declaration:", "What moved", "Firmness")
    places = [text.index(words) for words in order]
    assert places == sorted(places)


def test_the_largest_change_stands_first() -> None:
    (table,) = side_by_side().only("lines").tables
    changes = [abs(float(str(row[-1]))) for row in table.rows]
    assert changes == sorted(changes, reverse=True)


def test_what_is_weighed_is_what_the_answer_says() -> None:
    answer = weigh(demo())
    assert isinstance(answer, Weighed)
    (table,) = weighed(answer).only("grams").tables
    assert [row[1] for row in table.rows] == [float(line.grams) for line in answer.lines]
    assert weighed(answer).sentences[1] == "Checked: no formula that your scale can show is cheaper."
    assert design(demo()) is not None


def test_what_is_weighed_is_saved_as_a_formula(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(DEMO, tmp_path / "demo")
    monkeypatch.chdir(tmp_path / "demo")
    assert cli.main(["weigh", "brief.toml", "--write", "new.csv"]) == 0
    assert "optiform batch new.csv --brief brief.toml" in " ".join(capsys.readouterr().out.split())
    formula = read_formula(Path("new.csv"), demo().catalogue).formula
    grams = [4000 * line.fraction for line in formula.lines]
    assert grams == pytest.approx([round(weight) for weight in grams], abs=1e-6)


def test_what_a_brief_overrules_stays_beside_a_formula_that_is_compared_or_declared() -> None:
    rule = "anionic-cationic-sulfate"
    wash = {"water": 60, "sodium coco-sulfate": 8, "behentrimonium methosulfate blend, 25 %": 4, "sea salt, fine": 27}
    washes = [mixed(wash | dose, name=name) for name, dose in (("one", {"glycerin": 1}), ("two", {"glycerin": 2}))]
    setting = replace(setting_of(demo()), overrule=(rule,))
    assert setting.scope is not None
    title = "Cationic with a sulfate or sulfonate: sodium coco-sulfate; behentrimonium methosulfate blend, 25 %."
    beside = compared(compare(washes, setting, 0.1)).brief().sentences
    assert sum(f"Overruled in the brief ({rule}): {title}" in text for text in beside) == 2
    assert f"one: {title}" in compared(compare(washes, replace(setting, overrule=()), 0.1)).brief().sentences
    draft = declare(washes[0], setting.scope, setting=setting)
    assert f"Overruled in the brief ({rule}): {title}" in declaration(draft, {}).brief().sentences
    assert declared(draft)["overruled"][0]["rule"] == rule
    assert declare(washes[0], setting.scope).overruled == ()
