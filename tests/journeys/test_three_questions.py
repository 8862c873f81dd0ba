"""Cheaper, substitute, firmer or softer at the command line: JSON, tables, pictures, bad input."""

import csv
import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT, IMPOSSIBLE
from optiform.reading.paths import DEMO
from tests.sweeps import cases
from tests.telling.test_charts import size, words

pytestmark = pytest.mark.usefixtures("shared_answers")

COMMANDS = {
    "cheaper": ("cheaper", "brief.toml"),
    "substitute": ("substitute", "brief.toml", "mango butter", "--blend", "1"),
    "texture": ("texture", "brief.toml", "--step", "20"),
}
each = pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo workshop, and we stand in it."""
    folder = Path(shutil.copytree(DEMO, tmp_path / "shop"))
    monkeypatch.chdir(folder)
    return folder


def data(capsys: pytest.CaptureFixture[str], *line: str, code: int = ANSWERED) -> dict[str, Any]:
    """The one JSON object that a command prints."""
    assert main([*line, "--json"]) == code
    found = json.loads(capsys.readouterr().out)
    assert isinstance(found, dict)
    return found


def edit(path: Path, before: str, after: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(before) == 1
    path.write_text(text.replace(before, after), encoding="utf-8")


# -- answers -----------------------------------------------------------------------------------------------------------


@each
@pytest.mark.usefixtures("shop")
def test_json_is_one_object_and_files_are_real(command: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, *command, "--csv", "table.csv", "--chart", "picture.svg")
    assert found
    rows = list(csv.reader(Path("table.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) > 2
    assert len({len(row) for row in rows}) == 1
    assert {"today", "cold room", "warm room, 35 °C"} <= words(Path("picture.svg"))
    assert main([*command, "--chart", "picture.png"]) == ANSWERED
    assert size(Path("picture.png"))[0] > 400


@pytest.mark.usefixtures("shop")
def test_what_the_json_holds(capsys: pytest.CaptureFixture[str]) -> None:
    cheaper = data(capsys, *COMMANDS["cheaper"])
    first = cheaper["options"][0]
    assert first["saving"]["value"] == pytest.approx(cheaper["today"]["cost"]["value"] - first["cost"]["value"])
    replaced = data(capsys, *COMMANDS["substitute"])
    assert replaced["missing"] == ["mango butter"]
    assert replaced["options"][0]["distance"] > 0
    first = replaced["options"][0]
    today = data(capsys, "check", "today.csv", "--brief", "brief.toml")["cost"]["value"]
    assert first["cost"]["value"] - first["cost_change"]["value"] == pytest.approx(today)
    assert main(list(COMMANDS["substitute"])) == ANSWERED
    assert f"{first['cost']['value']:.3f}  " in (text := capsys.readouterr().out)
    assert f"{first['cost_change']['value']:+.3f}" in text
    assert f"EUR/kg, {-first['cost_change']['value']:.3f} less than today's formula" in " ".join(text.split())
    moved = data(capsys, *COMMANDS["texture"])
    assert moved["wanted"] == pytest.approx(120)
    assert moved["options"][0]["lines_changed"] == 2


@each
@pytest.mark.usefixtures("shop")
def test_the_text_says_what_it_is(command: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(list(command)) == ANSWERED
    out = capsys.readouterr().out
    assert out.startswith("Salt and oat foot polish, Quillmere workshop")
    assert "trial" in out
    assert not re.search(r"\b(safe|stable|preserved|shelf life)\b", out)


def test_a_table_is_no_program_for_a_spreadsheet(shop: Path) -> None:
    workshop = shop / "workshop.csv"
    workshop.write_text(
        workshop.read_text(encoding="utf-8").replace("coconut oil,39.00", "=1+1 oil,39.00"), encoding="utf-8"
    )
    edit(workshop, "ingredient,pack price (EUR)", "ingredient,functions,phase,pack price (EUR)")
    lines = workshop.read_text(encoding="utf-8").splitlines()
    fixed = [lines[0], *(_with_function(line) for line in lines[1:])]
    workshop.write_text("\n".join(fixed) + "\n", encoding="utf-8")
    edit(shop / "brief.toml", 'currency = "EUR"', 'currency = "EUR"\nmissing = "leave out"')
    edit(shop / "today.csv", "xanthan gum,0.3,", "=1+1 oil,0.3,")
    assert main(["cheaper", "brief.toml", "--saving", "0", "--csv", "table.csv"]) == ANSWERED
    cells = [cell for row in csv.reader((shop / "table.csv").read_text(encoding="utf-8").splitlines()) for cell in row]
    assert "'=1+1 oil" in cells
    assert not [cell for cell in cells if cell[:1] in ("=", "+", "@")]


def _with_function(line: str) -> str:
    name = next(csv.reader([line]))[0]
    written = f'"{name}"' if line.startswith('"') else name
    rest = line[len(written) :]
    return f"{written},{'active,cool-down' if name == '=1+1 oil' else ','}{rest}"


@pytest.mark.usefixtures("shop")
def test_options_reach_the_job(capsys: pytest.CaptureFixture[str]) -> None:
    every = data(capsys, "cheaper", "brief.toml")
    few = data(capsys, "cheaper", "brief.toml", "--saving", "0.1 EUR/kg", "--no-new", "--most-change", "4 %")
    assert len(few["options"]) < len(every["options"])
    assert few["options"]
    for move in (change for option in few["options"] for change in option["changes"]):
        free = move["ingredient"] in ("water", "mango butter")  # the balance, and what is sold out
        assert free or abs(move["after"] - move["before"]) <= 4 + 1e-6
    warm = data(capsys, "texture", "brief.toml", "--step", "10", "--at", "86 degF", "--cold-most", "1000")
    assert warm["temperature"]["value"] == pytest.approx(30)
    assert warm["cold_most"] == 1000


def test_a_brief_that_cannot_be_met_says_why_instead_of_cheap_already(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(shop / "brief.toml", '"solid fat at 30 degC" = { low = "7 %" }', '"solid fat at 30 degC" = { low = "40 %" }')
    assert main(["cheaper", "brief.toml"]) == IMPOSSIBLE
    out = capsys.readouterr().out
    assert "nothing on the shelf" not in out.casefold()
    assert "- solid fat at 30 °C at least 40 %" in out
    assert "ower the minimum solid fat at 30 °C from 40 to 13.8 %" in " ".join(out.split())
    found = data(capsys, "cheaper", "brief.toml", code=IMPOSSIBLE)
    assert found["status"] == "infeasible"
    assert found["conflict"]
    assert found["repairs"]


COMMANDS_ON_TODAY = (
    "cheaper brief.toml",
    "texture brief.toml --step 0",
    "check new.csv --brief brief.toml",
    "compare hand_polish.csv new.csv --brief brief.toml",
    "batch --brief brief.toml",
    "substitute brief.toml 'coconut oil' --blend 1",
    "texture brief.toml --step 10",
    "explore brief.toml",
    "weigh brief.toml --most 16",
    "trial predict new.csv --brief brief.toml --at '10 degC' --records .",
)


@pytest.mark.parametrize("line", cases(COMMANDS_ON_TODAY, 5, 5))
def test_a_formula_that_design_wrote_is_one_every_command_starts_from(line: str, shop: Path) -> None:
    """It sits on its limits, and a file rounds it: that is neither impossible nor an answer that fails its check."""
    assert main(["design", "brief.toml", "--write", "new.csv"]) == ANSWERED
    edit(shop / "brief.toml", 'reference = "today.csv"', 'reference = "new.csv"')
    if "--records" in line:
        assert main(["stock", "import", "workshop", "--records", "."]) == ANSWERED
    assert main(shlex.split(line)) == ANSWERED


# -- bad input ---------------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("shop")
def test_an_ingredient_that_is_not_there_names_the_lines(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("cocoa butter", "moon dust"):
        found = data(capsys, "substitute", "brief.toml", name, code=BAD_INPUT)
        assert found["status"] == "bad input"
        assert name in found["faults"][0]["read"]
        for line in ("water", "mango butter", "sea salt, fine"):
            assert line in found["faults"][0]["expected"]


@each
def test_without_a_formula_of_today(command: tuple[str, ...], shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(shop / "brief.toml", 'reference = "today.csv"', "")
    (fault,) = data(capsys, *command, code=BAD_INPUT)["faults"]
    assert fault["place"] == "reference"


BAD = [
    (("cheaper", "brief.toml", "--saving", "a lot"), "--saving"),
    (("cheaper", "brief.toml", "--most-change", "120 %"), "--most-change"),
    (("substitute", "brief.toml", "mango butter", "--follow=-1 %"), "--follow"),
    (("texture", "brief.toml", "--step", "5", "--at", "warm"), "--at"),
    (("texture", "brief.toml", "--step=-100"), "step"),
    (("texture", "brief.toml", "--step", "5", "--at=-30 degC"), "firmness of the reference"),
]


@pytest.mark.parametrize(("line", "place"), BAD)
@pytest.mark.usefixtures("shop")
def test_bad_options_exit_with_2(line: tuple[str, ...], place: str, capsys: pytest.CaptureFixture[str]) -> None:
    (fault,) = data(capsys, *line, code=BAD_INPUT)["faults"]
    assert fault["place"] == place


@each
@pytest.mark.usefixtures("shop")
def test_files_are_looked_at_before_the_work(command: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    found = data(capsys, *command, "--csv", "no/where.csv", "--chart", "picture.bmp", code=BAD_INPUT)
    assert [fault["file"] for fault in found["faults"]] == ["--csv", "--chart"]
    assert not Path("picture.bmp").exists()


@each
@pytest.mark.usefixtures("shop")
def test_a_folder_in_the_way_of_a_file_is_told(command: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    Path("table.csv").mkdir()
    found = data(capsys, *command, "--csv", "table.csv", code=BAD_INPUT)
    assert found["faults"][0]["file"] == "--csv"


def test_a_usage_error_is_json_too_where_asked_for() -> None:
    environment = {**os.environ, "PYTHONPATH": str(DEMO.parent.parent)}
    for line in (["texture", "--json", "--step", "much"], ["substitute", "brief.toml", "x", "--blend", "9", "--json"]):
        done = subprocess.run(
            [sys.executable, "-m", "optiform", *line], capture_output=True, text=True, check=False, env=environment
        )
        assert done.returncode == BAD_INPUT
        assert json.loads(done.stdout)["status"] == "bad input"
        assert "For what it takes: optiform" in done.stderr
