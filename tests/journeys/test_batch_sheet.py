"""optiform batch as a maker and as another program meet it."""

import csv
import json
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT
from optiform.reading.paths import DEMO

BRIEF, MAKING = str(DEMO / "brief.toml"), str(DEMO / "making.toml")


def text(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = ANSWERED) -> str:
    assert main(["batch", *arguments]) == code
    return capsys.readouterr().out


def data(capsys: pytest.CaptureFixture[str], *arguments: str, code: int = ANSWERED) -> dict[str, Any]:
    found = json.loads(text(capsys, *arguments, "--json", code=code))
    assert isinstance(found, dict)
    return found


def test_the_keys_other_tools_rely_on(capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, "--brief", BRIEF, "--making", MAKING)
    assert set(found) >= {"status", "title", "batch", "phases", "steps", "parts", "warnings", "cautions"}
    assert found["status"] == "batch"
    assert set(found["batch"]) >= {"planned_g", "weighed_g", "loss", "jars", "jar_g", "left_g"}
    assert set(found["phases"][0]["lines"][0]) >= {"ingredient", "percent", "grams", "steps", "note"}
    assert set(found["steps"][0]) >= {"words", "temperature", "minutes", "source"}
    lines = [line for phase in found["phases"] for line in phase["lines"]]
    assert sum(line["grams"] for line in lines) == found["batch"]["weighed_g"] == 4091
    assert sum(part["jars"] for part in found["parts"]) == found["batch"]["jars"] == 26


def test_the_brief_s_reference_is_what_is_made_unless_another_is_given(capsys: pytest.CaptureFixture[str]) -> None:
    same = data(capsys, str(DEMO / "today.csv"), "--brief", BRIEF)
    assert same == data(capsys, "--brief", BRIEF)
    assert same["batch"]["weighed_g"] == 4000


def test_a_mass_or_a_number_of_jars(capsys: pytest.CaptureFixture[str]) -> None:
    assert data(capsys, "--brief", BRIEF, "--batch", "2.5 kg")["batch"]["weighed_g"] == 2500
    assert data(capsys, "--brief", BRIEF, "--jars", "12")["batch"]["weighed_g"] == 1800
    parted = data(capsys, "--brief", BRIEF, "--making", MAKING, "--jars", "13")
    assert [part["jars"] for part in parted["parts"]] == [7, 6]


def test_files_and_text(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    page, table = tmp_path / "sheet.html", tmp_path / "lines.csv"
    told = text(capsys, "--brief", BRIEF, "--making", MAKING, "--html", str(page), "--csv", str(table))
    assert "Weigh 4091 g for 26 jars of 151 g (net 150 g); 4 % of it is lost; 1.4 g are left." in " ".join(told.split())
    steps = text(capsys, "--brief", BRIEF, "--making", MAKING, "--part", "steps")
    assert "Caution: Hot fats and waxes burn the skin." in steps
    assert "* common practice, no source." in steps
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert sum(Decimal(row["grams"]) for row in rows) == 4091
    assert {row["part"] for row in rows} == {"", "Juniper", "Juniper, red"}
    assert {row["grams weighed"] for row in rows} == {""}


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        (["--batch", "4 litres"], "--batch"),
        (["--batch", "0 g"], "more than nothing"),
        (["--jars", "0"], "1 or more"),
        (["--html", "no-folder/a.html"], "there is no folder no-folder"),
        (["--html", str(DEMO)], "is a folder, and no file. Give a file name"),
        (["--csv", "a" * 300], "cannot be written (File name too long)"),
        (["--making", "none.toml"], "there is no such file"),
    ],
)
def test_bad_input(capsys: pytest.CaptureFixture[str], wrong: list[str], words: str) -> None:
    assert main(["batch", "--brief", BRIEF, *wrong, "--json"]) == BAD_INPUT
    out, errors = capsys.readouterr()
    assert json.loads(out)["status"] == "bad input"
    assert words in errors


def test_a_brief_without_a_formula_or_a_jar(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    shop = Path(shutil.copytree(DEMO, tmp_path / "shop"))
    brief = shop / "brief.toml"
    lines = brief.read_text(encoding="utf-8").splitlines()
    brief.write_text("\n".join(line for line in lines if not line.startswith(("reference", "jar"))), encoding="utf-8")
    assert main(["batch", "--brief", str(brief)]) == BAD_INPUT
    assert "a key reference in the brief" in capsys.readouterr().err
    assert main(["batch", str(shop / "today.csv"), "--brief", str(brief), "--jars", "4"]) == BAD_INPUT
    assert "Its net mass" in capsys.readouterr().err
    assert "No net mass of a jar is known" in text(capsys, str(shop / "today.csv"), "--brief", str(brief))


def test_the_same_sheet_twice(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["--brief", BRIEF, "--making", MAKING]
    assert text(capsys, *asked) == text(capsys, *asked)
