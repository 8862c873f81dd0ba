"""The command line as other tools and people meet it: printed answers, JSON, exit codes, files."""

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pulp
import pytest

from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT, IMPOSSIBLE, UNPROVEN
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.program.certificate import NotCertified
from optiform.reading.paths import DEMO
from optiform.reading.tables import read_records
from optiform.reading.units import parse_quantity
from tests.sweeps import cases

pytestmark = pytest.mark.usefixtures("shared_answers")

COMMANDS = ("design", "check", "compare", "ingredients", "demo")
BRIEF = (DEMO / "brief.toml").read_text(encoding="utf-8")
DEMAND = tomllib.loads(BRIEF)
(COLD,) = re.findall(r'^"solid fat at 30 degC" = \{.*\}$', BRIEF, re.MULTILINE)
TOO_COLD = '"solid fat at 30 degC" = { low = "40 %" }'


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A copy of the demo workshop."""
    return Path(shutil.copytree(DEMO, tmp_path / "shop"))


class Shell:
    """Runs commands in process and keeps what they print."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys
        self.errors = ""

    def text(self, *words: object, code: int = 0) -> str:
        """Standard output of a command that must end with this exit code."""
        assert main([str(word) for word in words]) == code
        out, self.errors = self.capsys.readouterr()
        return out

    def data(self, *words: object, code: int = 0) -> dict[str, Any]:
        """The one JSON object that a command prints."""
        found = json.loads(self.text(*words, "--json", code=code))
        assert isinstance(found, dict)
        return found


@pytest.fixture
def shell(capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(capsys)


def process(*words: object) -> subprocess.CompletedProcess[str]:
    """A command in a process of its own, where the solver is used for the first time."""
    environment = {**os.environ, "PYTHONPATH": str(DEMO.parent.parent)}
    line = [sys.executable, "-m", "optiform", *map(str, words)]
    return subprocess.run(line, capture_output=True, text=True, check=False, env=environment)


def edit(path: Path, before: str, after: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert text.count(before) == 1
    path.write_text(text.replace(before, after), encoding="utf-8")


# -- in a process of its own -------------------------------------------------------------------------------------------


@pytest.mark.parametrize("solver", cases(["highs", "cbc"], 1))
def test_the_first_use_of_a_solver_prints_nothing_but_the_json(solver: str) -> None:
    done = process("design", DEMO / "brief.toml", "--solver", solver, "--json")
    assert done.returncode == 0
    assert done.stderr == ""
    assert json.loads(done.stdout)["status"] == "optimal"


def test_exit_codes_of_the_process(shop: Path) -> None:
    edit(shop / "brief.toml", COLD, TOO_COLD)
    impossible = process("design", shop / "brief.toml", "--json")
    assert (impossible.returncode, json.loads(impossible.stdout)["status"]) == (1, "infeasible")
    bad = process("design", shop / "none.toml", "--json")
    assert (bad.returncode, json.loads(bad.stdout)["status"]) == (2, "bad input")
    assert "none.toml: there is no such file" in bad.stderr
    nonsense = process("cook", "soup")
    assert nonsense.returncode == 2
    assert nonsense.stdout == ""


def test_a_reader_that_leaves_early_is_no_crash() -> None:
    environment = {**os.environ, "PYTHONPATH": str(DEMO.parent.parent)}
    with subprocess.Popen(
        [sys.executable, "-m", "optiform", "ingredients"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
    ) as running:  # fmt: skip
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        assert "Traceback" not in running.stderr.read()


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("more", cases([[], ["--json"]], 1))
def test_an_output_that_is_full_is_no_answer_and_no_crash(more: list[str]) -> None:
    """A traceback would end with 1: the brief cannot be met."""
    environment = {**os.environ, "PYTHONPATH": str(DEMO.parent.parent)}
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        done = subprocess.run(
            [sys.executable, "-m", "optiform", "design", str(DEMO / "brief.toml"), *more],
            stdout=full, stderr=subprocess.PIPE, text=True, env=environment, check=False,
        )  # fmt: skip
    assert done.returncode == 2
    assert done.stderr == "optiform: No space left on device: make room, or write to another place\n"


# -- design ------------------------------------------------------------------------------------------------------------

CONTRACT = {
    "status", "formula", "cost", "properties", "binding", "conflict", "repairs", "warnings", "certificate"
}  # fmt: skip


def test_the_json_of_an_answer_keeps_the_contract(shell: Shell) -> None:
    found = shell.data("design", DEMO / "brief.toml")
    assert set(found) >= CONTRACT
    assert found["status"] == "optimal"
    for line in found["formula"]:
        assert set(line) >= {"ingredient", "inci", "phase", "percent"}
    assert sum(line["percent"] for line in found["formula"]) == pytest.approx(100)
    assert sum(line["grams"] for line in found["formula"]) == pytest.approx(4000)
    assert sum(line["cost"] for line in found["formula"]) == pytest.approx(found["cost"]["value"])
    assert found["cost"]["unit"] == "EUR/kg"
    for measured in found["properties"].values():
        assert set(measured) >= {"value", "unit", "basis", "low", "high", "evidence"}
    for bound in found["binding"]:
        assert set(bound) >= {"limit", "side", "price", "price_unit", "valid_from", "valid_to"}
        assert bound["price"] > 0
    assert found["binding"]
    assert (found["conflict"], found["repairs"]) == ([], [])
    proof = found["certificate"]
    assert proof["holds"] is True
    assert max(abs(proof[key]) for key in ("gap", "primal", "dual")) < 1e-6


def test_the_answer_keeps_every_limit_of_the_brief(shell: Shell) -> None:
    found = shell.data("design", DEMO / "brief.toml")
    told = {" ".join(name.split()): one for name, one in found["properties"].items()}
    for name, ends in DEMAND["limits"].items():
        value = told[name]["value"]
        assert value >= parse_quantity(ends.get("low", -1e9), told[name]["unit"]) - 1e-6, name
        assert value <= parse_quantity(ends.get("high", 1e9), told[name]["unit"]) + 1e-6, name
    assert all(rule["kept"] for rule in found["rules"] if rule["kind"] in ("maximum", "prohibited", "certificate"))


def test_the_answer_keeps_every_line_and_leaves_out_what_it_must(shell: Shell) -> None:
    found = shell.data("design", DEMO / "brief.toml")
    share = {line["ingredient"]: line["percent"] for line in found["formula"]}
    for name, given in DEMAND["lines"].items():
        ends = given if isinstance(given, dict) else {"low": given, "high": given}
        assert share.get(name, 0) >= parse_quantity(ends.get("low", 0), "%") - 1e-6, name
        assert share.get(name, 0) <= parse_quantity(ends.get("high", 100), "%") + 1e-6, name
    left_out = {one["ingredient"]: one["reason"] for one in found["left_out"]}
    assert left_out.items() >= dict.fromkeys(DEMAND["exclude"], "excluded by the brief").items()
    assert left_out["mango butter"] == "out of stock"
    assert not set(left_out) & set(share)


def test_the_second_solver_gives_the_same_answer(shell: Shell) -> None:
    first, second = (shell.data("design", DEMO / "brief.toml", "--solver", name) for name in ("highs", "cbc"))
    assert second["cost"]["value"] == pytest.approx(first["cost"]["value"], abs=1e-7)
    assert [line["ingredient"] for line in second["formula"]] == [line["ingredient"] for line in first["formula"]]
    assert [line["percent"] for line in second["formula"]] == pytest.approx(
        [line["percent"] for line in first["formula"]], abs=1e-5
    )


def test_the_text_says_what_the_json_says(shell: Shell) -> None:
    data, text = shell.data("design", DEMO / "brief.toml"), shell.text("design", DEMO / "brief.toml", "--all")
    assert f"{data['cost']['value']:.3f} EUR/kg" in text
    for line in data["formula"]:
        assert re.search(rf"{re.escape(line['ingredient'])} +\d+ +{line['percent']:.2f} ", text), line
    for name, why in ((one["ingredient"], one["reason"]) for one in data["left_out"]):
        assert re.search(rf"Left out, {re.escape(why)}: [^.]*{re.escape(name)}", " ".join(text.split())), name
    for warning in data["warnings"]:
        assert warning["text"].split()[0] in text


def test_a_mean_over_nothing_is_no_goal_and_no_crash(shell: Shell, tmp_path: Path) -> None:
    brief = tmp_path / "b.toml"
    brief.write_text('candidates = ["water", "glycerin"]\n[goal]\nlowest = "iodine value"\n')
    found = shell.data("design", brief, code=IMPOSSIBLE)
    assert found["status"] == "infeasible"
    assert found["goal"] == {"words": "lowest iodine value", "value": None}
    assert found["formula"] == []
    assert any("so that iodine value has a meaning" in each["words"] for each in found["conflict"])


def test_an_answer_that_fails_its_own_check_is_not_shown(
    shell: Shell, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise NotCertified("the gap does not close")

    monkeypatch.setattr("optiform.commands.design.design", fails)
    target = shop / "new.csv"
    found = shell.data("design", shop / "brief.toml", "--write", target, code=UNPROVEN)
    assert found["status"] == "unproven"
    assert not found.get("formula")
    assert "the gap does not close" in shell.errors
    assert not target.exists()
    assert UNPROVEN not in (ANSWERED, IMPOSSIBLE, BAD_INPUT)


# -- infeasible --------------------------------------------------------------------------------------------------------


def test_an_impossible_brief_names_the_clash_and_a_repair_that_works(shop: Path, shell: Shell) -> None:
    brief = shop / "brief.toml"
    edit(brief, COLD, TOO_COLD)
    found = shell.data("design", brief, code=1)
    assert set(found) >= CONTRACT
    assert (found["status"], found["formula"], found["cost"]) == ("infeasible", [], None)
    assert "solid fat at 30 degC at least 40 % of the fats" in [demand["words"] for demand in found["conflict"]]
    assert found["certificate"]["holds"] is True
    assert found["repairs"]

    text = shell.text("design", brief, code=1)
    for demand in found["conflict"]:
        assert f"- {demand['words'].replace('degC', '°C')}" in text
    printed = re.search(r"- lower the minimum solid fat at 30 °C from 40 to ([\d.]+) % of the fats\n", text)
    assert printed, "the repair of the limit that was moved stands alone"
    edit(brief, '{ low = "40 %" }', f'{{ low = "{printed[1]} %" }}')
    assert shell.data("design", brief)["status"] == "optimal"


def test_a_repair_is_the_smallest_change(shop: Path, shell: Shell) -> None:
    brief = shop / "brief.toml"
    edit(brief, COLD, TOO_COLD)
    repairs = shell.data("design", brief, code=1)["repairs"]
    (alone,) = [changes[0] for changes in repairs if [c["limit"] for c in changes] == ["solid fat at 30 degC"]]
    edit(brief, '{ low = "40 %" }', f'{{ low = "{alone["new"] + 0.01} %" }}')
    assert shell.data("design", brief, code=1)["status"] == "infeasible"


def test_each_conflict_is_minimal(shop: Path, shell: Shell) -> None:
    """Any one of the conflict taken out of the brief, and the rest of the conflict no longer binds it shut."""
    brief = shop / "brief.toml"
    edit(brief, COLD, TOO_COLD)
    conflict = {demand["limit"] for demand in shell.data("design", brief, code=1)["conflict"]}
    edit(brief, TOO_COLD, "")
    assert "solid fat at 30 degC" in conflict
    assert shell.data("design", brief)["status"] == "optimal"


# -- --write -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("suffix", ["csv", "toml"])
def test_a_written_formula_reads_back_and_checks_the_same(shop: Path, shell: Shell, suffix: str) -> None:
    target = shop / f"new.{suffix}"
    designed = shell.data("design", shop / "brief.toml", "--write", target)
    assert f"written: {target}" in shell.errors
    checked = shell.data("check", target, "--brief", shop / "brief.toml")
    assert checked["cost"]["value"] == pytest.approx(designed["cost"]["value"], abs=1e-6)
    assert checked["total"] == {"read": pytest.approx(100), "rescaled": False}
    assert not [each for each in checked["warnings"] if "outside the brief's" in each["text"]]


def test_the_written_model_solves_to_the_same_cost_elsewhere(shop: Path, shell: Shell) -> None:
    target = shop / "model.mps"
    cost = shell.data("design", shop / "brief.toml", "--write", target)["cost"]["value"]
    _, model = pulp.LpProblem.fromMPS(str(target))
    assert model.solve(pulp.HiGHS(msg=False)) == pulp.LpStatusOptimal
    assert pulp.value(model.objective) == pytest.approx(cost, abs=1e-6)


def test_the_written_lp_says_what_is_minimised_in_words(shop: Path, shell: Shell) -> None:
    shell.text("design", shop / "brief.toml", "--write", shop / "model.lp")
    text = (shop / "model.lp").read_text(encoding="utf-8")
    assert re.search(r"^minimi[sz]e$", text, re.IGNORECASE | re.MULTILINE)
    assert "glycerin" in text


def test_an_impossible_brief_writes_no_formula(shop: Path, shell: Shell) -> None:
    edit(shop / "brief.toml", COLD, TOO_COLD)
    shell.text("design", shop / "brief.toml", "--write", shop / "new.csv", code=1)
    assert not (shop / "new.csv").exists()


@pytest.mark.parametrize("name", ["new.xlsx", "new", "nowhere/new.csv", "folder.csv"])
def test_a_file_that_cannot_be_written_is_the_only_thing_told(shop: Path, shell: Shell, name: str) -> None:
    (shop / "folder.csv").mkdir()
    found = shell.data("design", shop / "brief.toml", "--write", shop / name, code=2)
    assert found["status"] == "bad input"
    assert found["faults"][0]["file"] == "--write"


# -- check and compare -------------------------------------------------------------------------------------------------


def test_check_says_how_the_numbers_were_read(shop: Path, shell: Shell) -> None:
    path = shop / "f.csv"
    path.write_text('ingredient,percent\nwater,98\n"sea salt, fine",49\n')
    base = shell.data("check", path, "--basis", "base")
    assert (base["status"], base["basis"]) == ("checked", "base")
    assert base["total"] == {"read": 98, "rescaled": True}
    assert any("of the base sum to 98" in each["text"] for each in base["warnings"])
    # grains stay per 100 of base: 49 on 100
    assert [line["percent"] for line in base["formula"]] == pytest.approx([100 / 1.49, 49 / 1.49])
    whole = shell.data("check", path)
    assert (whole["basis"], whole["total"]) == ("whole", {"read": 147, "rescaled": True})
    text = shell.text("check", path, "--basis", "base")
    assert "The amounts were read as % of the base, with the grains on top; they add up to 98" in " ".join(text.split())
    assert "sum to 98, not 100" in text


def test_check_with_the_makers_prices_and_a_batch(shop: Path, shell: Shell) -> None:
    path = shop / "f.csv"
    path.write_text("ingredient,percent\nwater,95\nglycerin,5\n")
    found = shell.data("check", path, "--own", shop / "workshop.csv", "--batch", "2 kg")
    # water 4.00 for 10 kg, glycerin 21.00 for 5 kg
    assert found["cost"] == {"value": pytest.approx(0.95 * 0.4 + 0.05 * 4.2), "unit": "EUR/kg"}
    assert [line["grams"] for line in found["formula"]] == pytest.approx([1900, 100])
    assert shell.data("check", path, "--own", shop / "workshop.csv", "--currency", "gbp")["cost"]["value"] is None


def test_check_switches_the_law_by_options(shop: Path, shell: Shell) -> None:
    path = shop / "f.csv"
    path.write_text("ingredient,percent\nwater,99.3\nsodium benzoate,0.7\n")
    over = [("leave-on", "EU", True), ("rinse-off", "EU", False), ("leave-on", "US", False)]
    for use, market, expected in over:
        found = shell.data("check", path, "--use", use, "--market", market)
        assert any("Over a legal limit" in each["text"] for each in found["warnings"]) is expected
    assert shell.data("check", path)["rules"] == []


def test_check_against_the_demo_brief(shell: Shell) -> None:
    found = shell.data("check", DEMO / "today.csv", "--brief", DEMO / "brief.toml")
    design = shell.data("demo")
    assert found["cost"]["value"] == pytest.approx(sum(line["cost"] for line in design["today"]))
    assert found["cost"]["value"] > design["cost"]["value"]
    text = shell.text("check", DEMO / "today.csv", "--brief", DEMO / "brief.toml")
    assert "mango butter" in text
    assert "Cautions" in text


def test_compare_shows_what_differs(shop: Path, shell: Shell) -> None:
    shell.text("design", shop / "brief.toml", "--write", shop / "new.csv")
    files = (shop / "today.csv", shop / "new.csv")
    found = shell.data("compare", *files, "--brief", shop / "brief.toml")
    assert found["status"] == "compared"
    assert found["formulas"] == ["today", "new"]
    # 1 g in 4 kg
    assert found["resolution"] == {"value": pytest.approx(0.025), "unit": "%"}
    rows = {row["ingredient"]: row for row in found["lines"]}
    assert rows["mango butter"]["percent"] == [pytest.approx(4), 0]
    assert rows["fragrance oil"]["same"] is True
    costs = found["properties"]["cost"]["values"]
    assert costs[1] < costs[0]
    text = shell.text("compare", *files, "--brief", shop / "brief.toml")
    assert "mango butter" in text
    assert "which the scale cannot tell apart: " in " ".join(text.split())


def test_compare_tells_of_a_total_it_had_to_rescale(shop: Path, shell: Shell) -> None:
    short, full = shop / "short.csv", shop / "full.csv"
    short.write_text("ingredient,percent\nwater,90\n")
    full.write_text("ingredient,percent\nwater,95\nglycerin,5\n")
    assert shell.data("compare", full, full)["warnings"] == []
    (told,) = shell.data("compare", full, short)["warnings"]
    assert told["text"].startswith("short: The percentages of the whole sum to 90, not 100")
    assert "sum to 90, not 100" in shell.text("compare", full, short)


def test_compare_needs_two_and_tells_the_faults_of_all(shop: Path, shell: Shell) -> None:
    assert shell.data("compare", shop / "today.csv", code=2)["faults"][0]["place"] == "FORMULA"
    found = shell.data("compare", shop / "none.csv", shop / "gone.csv", shop / "today.csv", code=2)
    assert [Path(fault["file"]).name for fault in found["faults"]] == ["none.csv", "gone.csv"]


@pytest.mark.parametrize(
    "options",
    [
        ("--area", "knees"),
        ("--market", "MARS"),
        ("--kind", "soup"),
        ("--date", "tomorrow"),
        ("--batch", "-1 kg"),
        ("--batch", "much"),
        ("--own", "none.csv"),
    ],
)
def test_a_wrong_option_is_refused_by_name(shop: Path, shell: Shell, options: tuple[str, str]) -> None:
    found = shell.data("check", shop / "today.csv", *options, code=2)
    (fault,) = found["faults"]
    assert set(fault) == {"file", "place", "read", "expected"}
    assert options[1] in fault["read"] or options[1] in fault["file"]


def test_several_wrong_options_are_told_at_once(shop: Path, shell: Shell) -> None:
    found = shell.data("check", shop / "today.csv", "--area", "knees", "--market", "MARS", "--date", "x", code=2)
    assert {fault["place"] for fault in found["faults"]} == {"--area", "--market", "--date"}


@pytest.mark.parametrize("options", [("--market", "US"), ("--use", "leave-on"), ("--batch", "2 kg"), ("--own", "x")])
def test_an_option_beside_a_brief_is_refused_not_passed_over(
    shop: Path, shell: Shell, options: tuple[str, str]
) -> None:
    found = shell.data("check", shop / "today.csv", "--brief", shop / "brief.toml", *options, code=2)
    assert [fault["place"] for fault in found["faults"]] == [options[0]]


# -- bad input ---------------------------------------------------------------------------------------------------------


def test_every_fault_of_a_brief_is_printed_with_file_and_place(shop: Path, shell: Shell) -> None:
    brief = shop / "brief.toml"
    edit(brief, 'area = "feet"', 'area = "elbows"')
    edit(brief, '"oil phase" = { low = "22 %"', '"oil fase" = { low = "22 %"')
    edit(shop / "workshop.csv", '"glycerin",21.00,5,', '"glycerin",cheap,5,')
    found = shell.data("design", brief, code=2)
    places = {(Path(fault["file"]).name, fault["place"]) for fault in found["faults"]}
    assert places >= {
        ("brief.toml", "area"),
        ("brief.toml", "[limits] oil fase"),
        ("workshop.csv", "row 3, column pack price (eur)"),
    }
    assert shell.errors.count("\n") == len(found["faults"])
    assert shell.text("design", brief, code=2) == "", "without --json the faults go to the error stream"


# -- ingredients -------------------------------------------------------------------------------------------------------


def test_ingredients_are_searched_by_every_word(shell: Shell) -> None:
    found = shell.data("ingredients", "shea")
    names = [item["name"] for item in found["ingredients"]]
    assert {"shea butter, refined", "shea butter, unrefined"} <= set(names)
    text = shell.text("ingredients", "shea")
    assert f"{len(names)} ingredients" in text
    assert len(shell.data("ingredients")["ingredients"]) == len(read_catalogue().ingredients)


@pytest.mark.parametrize("words", [["glycerin"], ["vegetable", "glycerin"]])
def test_a_full_name_or_synonym_shows_every_figure_with_its_source(shell: Shell, words: list[str]) -> None:
    (item,) = shell.data("ingredients", *words)["ingredients"]
    assert item["name"] == "glycerin"
    assert {part["inci"] for part in item["constituents"]} == {"Glycerin", "Aqua"}
    for value in item["values"]:
        assert value["source"]
        assert value["evidence"] in ("published", "recalled", "practice", "derived")
    text = shell.text("ingredients", *words)
    assert "density at 20 °C" in text
    assert "1.261" in text
    assert "W-SUP-GLY995" in text
    assert "Sources" in shell.text("ingredients", *words, "--part", "sources")


def test_an_ingredient_that_is_not_there_gets_near_ones(shell: Shell) -> None:
    assert shell.data("ingredients", "glycerrin")["ingredients"] == []
    assert "Did you mean glycerin" in shell.text("ingredients", "glycerrin")


def test_an_own_file_is_validated(shop: Path, shell: Shell) -> None:
    rows = len(read_records(shop / "workshop.csv"))
    text = shell.text("ingredients", "--validate", shop / "workshop.csv")
    assert f"{rows} ingredients read, no fault found" in " ".join(text.split())
    found = shell.data("ingredients", "--validate", shop / "workshop.csv")
    assert len(found["ingredients"]) == rows
    assert {value["evidence"] for item in found["ingredients"] for value in item["values"]} >= {"own", "derived"}


def test_an_own_file_with_faults_has_all_of_them_told(shop: Path, shell: Shell) -> None:
    path = shop / "own.csv"
    path.write_text("ingredient,price,stock,water\nglycerin,4,-1,500\nmoon dust,5 EUR,,\nwater,5 EUR/L,x,\n")
    found = shell.data("ingredients", "--validate", path, code=2)
    assert [fault["place"] for fault in found["faults"]] == [
        "row 2, column price",
        "row 2, column stock",
        "row 2, column water",
        "row 4, column price",
        "row 4, column stock",
        "row 3",
    ], "the cells, and in the same breath that moon dust is new"
    path.write_text("ingredient,price\nmoon dust,5 EUR\n")
    (fault,) = shell.data("ingredients", "--validate", path, code=2)["faults"]
    assert "phase and functions" in fault["expected"]


# -- demo, help, words -------------------------------------------------------------------------------------------------


def test_the_demo_is_the_main_job_and_says_what_to_try_next(shell: Shell) -> None:
    text = shell.text("demo")
    assert text.startswith("Salt and oat foot polish")
    assert re.search(r"^Next$", text, re.MULTILINE)
    assert "less than today's formula" in " ".join(text.split())
    assert shell.data("demo") == shell.data("design", DEMO / "brief.toml")


def test_what_the_demo_says_to_try_works(shop: Path, shell: Shell) -> None:
    edit(shop / "brief.toml", COLD, TOO_COLD)
    text = " ".join(shell.text("design", shop / "brief.toml", code=1).split())
    assert "These limits contradict each other. Take any one of them away and the others can be met;" in text
    repairs = text.split("makes it possible:")[1].split("Left out")[0].count("- lower ")
    assert ("Each of these makes" in text) == (repairs > 1)
    named = re.findall(r"^ .*optiform ingredients (.*)$", shell.text("demo", "--all"), re.MULTILINE)
    assert named
    for words in named:
        assert len(shell.data("ingredients", *words.split())["ingredients"]) == 1


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main([command, "--help"])
    assert left.value.code == 0
    text = capsys.readouterr().out
    assert "--json" in text
    assert f"optiform {command}" in text


@pytest.mark.parametrize("words", [["cook"], ["design"], ["check", "x.csv", "--use", "eaten"]])
def test_a_command_line_that_is_none_ends_with_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(words)
    assert left.value.code == 2
    out, errors = capsys.readouterr()
    assert out == ""
    assert "For what it takes: optiform" in errors


CLAIM = re.compile(
    r"\b(?:is|are|be|stays?|remains?) (?:safe|stable)\b|\bpreserved\b|\bshelf[ -]?life\b|\bkeeps for\b|"
    r"\b(?:safe|stable) (?:to|for|until)\b",
    re.IGNORECASE,
)


@pytest.mark.parametrize("sentence", ["It is safe.", "stays stable", "well preserved", "shelf life 12 months"])
def test_the_search_for_claims_finds_claims(sentence: str) -> None:
    assert CLAIM.search(sentence)


def test_nothing_printed_claims_what_no_calculation_shows(shop: Path, shell: Shell) -> None:
    plain = shop / "plain.csv"
    plain.write_text("ingredient,percent\nwater,99\nphenoxyethanol + ethylhexylglycerin,1\n")
    printed = [
        shell.text("demo", "--all"),
        shell.text("demo", "--json"),
        shell.text("check", shop / "today.csv", "--brief", shop / "brief.toml", "--all"),
        shell.text("check", plain, "--market", "EU", "--use", "leave-on", "--kind", "lotion"),
        shell.text("check", plain, "--market", "EU", "--use", "leave-on", "--kind", "lotion", "--json"),
        shell.text("compare", plain, shop / "today.csv"),
    ]
    edit(shop / "brief.toml", COLD, TOO_COLD)
    printed.append(shell.text("design", shop / "brief.toml", code=1))
    assert [found[0] for text in printed for found in CLAIM.finditer(text)] == []


def test_a_written_formula_is_the_designed_one(shop: Path, shell: Shell) -> None:
    data = shell.data("design", shop / "brief.toml", "--write", shop / "new.toml")
    back = read_formula(shop / "new.toml", read_catalogue()).formula
    assert {line.ingredient.name: 100 * line.fraction for line in back.lines} == pytest.approx(
        {line["ingredient"]: line["percent"] for line in data["formula"]}, abs=1e-5
    )


def test_a_single_repair_is_not_called_one_of_several(shell: Shell, tmp_path: Path) -> None:
    brief = tmp_path / "b.toml"
    lines = '[lines]\n"water" = "50 %"\n[limits]\n"humectant active" = { high = "20 %" }\n'
    brief.write_text('candidates = ["water", "glycerin"]\n[goal]\nlowest = "water"\n' + lines)
    found = shell.data("design", brief, code=1)
    text = shell.text("design", brief, code=1)
    words = "This makes it possible:" if len(found["repairs"]) == 1 else "Each of these makes it possible:"
    assert found["repairs"]
    assert words in text


OF_DEMO = str(DEMO / "brief.toml")


@pytest.mark.parametrize(
    ("words", "places"),
    [
        (["from-label", "x.txt", "--cap", "Aqua=much", "--cap", "Glycerin=x", "--date", "soon"],
         ["--date", "--cap", "--cap"]),
        (["weigh", OF_DEMO, "--step", "x", "--fine-step", "0 g", "--least-dose", "101 %", "--apart", "milk", "stone"],
         ["--step", "--fine-step", "--least-dose", "--apart", "--apart"]),
        (["cheaper", OF_DEMO, "--saving", "much", "--most-change", "-1 %"], ["--saving", "--most-change"]),
        (["explore", OF_DEMO, "--prices", "x", "--within", "y", "--limit", "oil phase"],
         ["--prices", "--within", "--limit"]),
        (["check", "x.csv", "--batch", "0 kg", "--area", "moon", "--date", "soon"], ["--area", "--date", "--batch"]),
        (["compare", "a.csv", "b.csv", "--scale", "much"], ["--scale", "file", "file"]),
        (["batch", "--brief", OF_DEMO, "--batch", "x", "--maker", "EH", "--room", "y"],
         ["--batch", "--maker", "--room", "--room"]),
        (["stock", "--days", "-1", "--batch", "x"], ["--batch", "--days"]),
        (["trial", "predict", "x.csv", "--at", "hot", "--at", "cold"], ["--at", "--at"]),
        (["trial", "next", OF_DEMO, "--ask", "x", "--mass", "y", "--step", "0 g"], ["--ask", "--mass", "--step"]),
        (["costs", "--brief", OF_DEMO, "--costs", "x", "--batch", "x", "--price", "0 EUR"], ["--batch", "--price"]),
    ],
)  # fmt: skip
def test_every_fault_of_the_options_is_told_at_once(
    words: list[str], places: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert main([*words, "--json"]) == BAD_INPUT
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [fault["place"] for fault in faults] == places
    assert all(set(fault) == {"file", "place", "read", "expected"} for fault in faults)


def test_a_fault_of_usage_is_an_object_too_where_main_is_called(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        main(["design", "--json"])
    assert left.value.code == BAD_INPUT
    (fault,) = json.loads(capsys.readouterr().out)["faults"]
    assert set(fault) == {"file", "place", "read", "expected"}


def test_a_copy_of_the_demo_says_as_data_what_it_copied(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo", "--copy", str(tmp_path / "shop"), "--json"]) == ANSWERED
    told = json.loads(capsys.readouterr().out)
    assert told["status"] == "copied"
    assert "brief.toml" in told["files"]
    assert sorted(told["files"]) == sorted(path.name for path in Path(told["folder"]).iterdir())


# -- names of substances -----------------------------------------------------------------------------------------------


def test_names_are_resolved_one_by_one_and_in_order(shell: Shell) -> None:
    names = ["PHENOXYETHANOL", "E415", "Phenoxyethanl", "moon dust", "PHENOXYETHANOL"]
    found = shell.data("ingredients", "--resolve", *names)
    assert list(found) == ["schema", "status", "names"]
    assert [one["name"] for one in found["names"]] == names
    assert all(list(one) == ["name", "inci", "certain", "near"] for one in found["names"])
    assert [(one["inci"], one["certain"]) for one in found["names"][:4]] == [
        ("Phenoxyethanol", True),
        ("Xanthan Gum", False),
        (None, False),
        (None, False),
    ]
    assert [one["near"][:1] for one in found["names"]] == [[], ["Xanthan Gum"], ["Phenoxyethanol"], [], []]


def test_names_are_resolved_in_words(shell: Shell) -> None:
    told = shell.text("ingredients", "--resolve", "glycerine", "E415", "Phenoxyethanl")
    assert re.search(r"glycerine +Glycerin +taken", told)
    assert re.search(r"E415 +Xanthan Gum +offered", told)
    assert re.search(r"Phenoxyethanl +- +not taken", told)
    assert "E415: the spelling is from memory. Do you mean Xanthan Gum?" in told
