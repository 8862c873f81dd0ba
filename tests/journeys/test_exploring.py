"""explore, weigh and from-label from the command line, on the demo."""

import csv
import json
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT, CRASHED, IMPOSSIBLE, UNPROVEN
from optiform.design import explore
from optiform.reading.paths import DEMO
from tests.builders import NO_RULES

pytestmark = pytest.mark.usefixtures("shared_answers")

BRIEF = str(DEMO / "brief.toml")
LIMIT = ["--limit", "solid fat at 30 degC", "--from", "0", "--to", "12"]


def data(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = ANSWERED) -> dict[str, Any]:
    assert main([*arguments, "--json"]) == code
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def text(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = ANSWERED) -> str:
    assert main(list(arguments)) == code
    return capsys.readouterr().out


def test_a_trade_off_curve_with_its_table_and_its_picture(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    table, picture = tmp_path / "curve.csv", tmp_path / "curve.svg"
    found = data(capsys, "explore", BRIEF, *LIMIT, "--csv", str(table), "--chart", str(picture))["trade_off"]
    targets = [corner["target"] for corner in found["corners"]]
    costs = [corner["value"] for corner in found["corners"]]
    assert targets[0] == 0
    assert targets == sorted(targets)
    assert costs == sorted(costs)  # asking for more never gets cheaper
    assert found["residual"] < 1e-6
    assert "solid fat at 30 °C at least" in picture.read_text(encoding="utf-8")
    rows = list(csv.reader(table.read_text(encoding="utf-8").splitlines()))
    assert sorted({float(row[0]) for row in rows[1:]}) == pytest.approx(targets, rel=1e-5)
    assert "from there each %" in text(capsys, "explore", BRIEF, *LIMIT)


def test_steps_of_a_limit_that_bends_with_their_table_and_picture(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    asked = ["--limit", "water activity", "--from", "0.7", "--to", "0.75"]
    table, picture = tmp_path / "steps.csv", tmp_path / "steps.svg"
    steps = data(capsys, "explore", BRIEF, *asked, "--csv", str(table), "--chart", str(picture))["trade_off"]["steps"]
    assert {step["status"] for step in steps} == {"proven", "nothing"}
    assert next(step["value"] for step in steps if step["target"] == 0.74) == pytest.approx(4.790022, abs=1e-5)
    rows = list(csv.reader(table.read_text(encoding="utf-8").splitlines()))
    assert sorted({float(row[0]) for row in rows[1:]}) == pytest.approx([step["target"] for step in steps])
    assert {row[-1] for row in rows[1:]} == {"proven best", "nothing fits"}
    assert "between dots only drawn" in picture.read_text(encoding="utf-8")
    assert "With 0.7407 nothing fits." in " ".join(text(capsys, "explore", BRIEF, *asked).split())


def test_alternatives_are_what_explore_gives_by_itself(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "explore", BRIEF)["alternatives"]
    best = found["value"]["value"]
    assert 2 <= len(found["options"]) <= 5
    assert all(option["value"]["value"] <= best * 1.02 + 1e-9 for option in found["options"])
    assert all(row["low"] <= row["best"] + 1e-6 <= row["high"] + 2e-6 for row in found["leeway"])
    assert "as unlike each other as possible" in " ".join(text(capsys, "explore", BRIEF).split())


@pytest.mark.anew
def test_the_same_seed_gives_the_same_answer(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["explore", BRIEF, "--prices", "10 %", "--scenarios", "500", "--seed", "7"]
    first, second = data(capsys, *asked), data(capsys, *asked)
    assert first == second
    assert 0 < first["prices"]["chosen"]["cheapest_in"]["value"] <= 100
    other = data(capsys, *asked[:-1], "8")
    assert other["prices"]["chosen"]["regret"] != first["prices"]["chosen"]["regret"]
    assert f"the cheapest in {first['prices']['chosen']['cheapest_in']['value']:.1f} %" in text(capsys, *asked)


def test_protection_says_what_it_costs_or_what_clashes(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "explore", BRIEF, "--protect", "1")["protected"]
    assert found["price"]["value"] > 0
    every = data(capsys, "explore", BRIEF, "--protect", code=IMPOSSIBLE)
    assert every["status"] == "infeasible"
    assert "any one figure" in text(capsys, "explore", BRIEF, "--protect", "1")


@pytest.mark.parametrize(
    "wrong",
    [
        ["--limit", "no such thing", "--from", "0", "--to", "1"],
        ["--limit", "oil phase"],
        ["--prices", "cheap"],
        ["--within", "-1 %"],
        ["--chart", "no-folder/a.svg"],
        ["--chart", "a.gif"],
        ["--chart", "a.svg"],
    ],
)
def test_what_cannot_be_explored_is_bad_input(
    capsys: pytest.CaptureFixture[str], wrong: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["explore", BRIEF, *wrong]) == BAD_INPUT
    assert capsys.readouterr().err.strip()


def test_grams_are_whole_steps_and_sum_to_the_batch(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    table = tmp_path / "weigh.csv"
    found = data(capsys, "weigh", BRIEF, "--csv", str(table))
    grams = [Decimal(row["grams"]) for row in csv.DictReader(table.read_text(encoding="utf-8").splitlines())]
    assert sum(grams) == 4000
    assert all(each == each.to_integral_value() for each in grams)
    assert abs(found["proof"]["gap"]) < 1e-6
    assert "than the best formula if any amount could be weighed" in " ".join(text(capsys, "weigh", BRIEF).split())


def test_the_least_dose_is_that_of_the_finest_scale_and_is_named(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """0.4 % glycerin of 1 kg are 4 g: 40 steps of the fine scale, but only 4 of the coarse one."""
    (tmp_path / "own.csv").write_text("ingredient,price (EUR/kg)\nwater,0\nglycerin,100\n", encoding="utf-8")
    brief = tmp_path / "brief.toml"
    lines = [
        'own_files = ["own.csv"]',
        'scale = "1 g"',
        f"overrule = {list(NO_RULES)}",
        "[limits]",
        '"humectant active" = { low = "0.4 %" }',
    ]
    brief.write_text("\n".join(lines), encoding="utf-8")
    asked = ("weigh", str(brief), "--step", "1 g")
    fine, coarse = data(capsys, *asked, "--fine-step", "0.1 g"), data(capsys, *asked)
    assert (fine["cost"]["value"], coarse["cost"]["value"]) == (pytest.approx(0.4, abs=0.11), pytest.approx(2.0))
    assert any("at least 0.2 % of the batch (2 g)" in note for note in fine["notes"])
    assert any("at least 2 % of the batch (20 g)" in note for note in coarse["notes"])


def test_a_given_formula_is_rounded_as_near_as_can_be(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    new = tmp_path / "new.csv"
    assert main(["design", BRIEF, "--write", str(new)]) == ANSWERED
    capsys.readouterr()
    found = data(capsys, "weigh", BRIEF, "--formula", str(new))
    assert found["proof"]["value"]["value"] < 0.2  # points that change hands


def test_too_few_lines_are_said_to_be_too_few(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "weigh", BRIEF, "--most", "8", code=IMPOSSIBLE)
    assert found["status"] == "infeasible"
    assert main(["weigh", BRIEF, "--apart", "water", "no such thing"]) == BAD_INPUT
    assert "no such thing" in capsys.readouterr().err


def test_a_label_gives_ranges(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    label = tmp_path / "label.txt"
    label.write_text("Aqua, Glycerin, Cetearyl Alcohol, Phenoxyethanol, Parfum", encoding="utf-8")
    found = data(capsys, "from-label", str(label), "--market", "EU", "--one-percent", "4", "--cap", "Glycerin=10 %")
    ranges = {row["inci"]: row for row in found["ranges"]}
    assert ranges["Glycerin"]["high"] == pytest.approx(10)
    assert ranges["Phenoxyethanol"]["high"] <= 1
    assert sum(row["centre"] for row in found["ranges"]) == pytest.approx(100)
    assert "These are ranges, not a recipe" in " ".join(text(capsys, "from-label", str(label)).split())
    assert main(["from-label", str(label), "--cap", "Glycerin=lots"]) == BAD_INPUT
    assert main(["from-label", str(tmp_path / "none.txt")]) == BAD_INPUT
    capsys.readouterr()


@pytest.mark.anew
@pytest.mark.parametrize(
    "asked", [["explore", *LIMIT], ["explore", "--within", "2 %"], ["explore", "--protect", "1"], ["weigh"]]
)
def test_what_is_not_decided_is_not_called_impossible(
    asked: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("optiform.program.optimum.MOST_NODES", 0)
    explore._own_best.cache_clear()  # what was decided before stays so
    command, *options = asked
    assert data(capsys, command, BRIEF, *options, code=UNPROVEN)["status"] == "undecided"


@pytest.mark.anew
@pytest.mark.parametrize(
    ("command", "most"),
    [("cheaper", "optiform.design.few_changes.MOST_ROUNDS"), ("texture", "optiform.program.optimum.MOST_NODES")],
)
def test_what_is_not_decided_is_not_called_the_end(
    command: str, most: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(most, 0)
    found = data(capsys, command, BRIEF, code=UNPROVEN)
    assert found["status"] == "undecided"
    assert found["note"].startswith("not decided whether")


def test_a_crash_inside_is_no_fault_of_the_command_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def singular(*_: object) -> None:
        raise np.linalg.LinAlgError("Singular matrix")

    monkeypatch.setattr("optiform.commands.explore.alternatives", singular)
    assert main(["explore", BRIEF]) == CRASHED
    assert "LinAlgError: Singular matrix" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (["--limit", "solid fats at 30 degC", "--from", "0", "--to", "1"], "solid fat at"),
        (["--limit", "undissolved grains at 500 degC", "--from", "0", "--to", "1"], "500 degC is outside"),
        (["--limit", "water", "--from", "30", "--to", "20"], "the lowest first"),
        (["--limit", "water"], "--from and --to"),
    ],
)
def test_what_cannot_be_explored_is_told_with_its_place(
    asked: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (fault,) = data(capsys, "explore", BRIEF, *asked, code=BAD_INPUT)["faults"]
    assert told in fault["expected"] + fault["read"]
    assert asked[1] in fault["place"] + fault["read"]


@pytest.mark.exhaustive
def test_what_is_not_protected_is_printed(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    brief = shutil.copytree(DEMO, tmp_path / "demo", dirs_exist_ok=True) / "brief.toml"
    words = brief.read_text(encoding="utf-8").replace("[limits]\n", '[limits]\n"water activity" = { high = "0.99" }\n')
    brief.write_text(words, encoding="utf-8")
    shown = " ".join(text(capsys, "explore", str(brief), "--protect", "1", "--all").split())
    assert "Water activity met with typical figures only: the model gives no range." in shown
    assert "Checked: gap " in shown
    assert "Watch out for" in shown
