"""optiform new: a brief that the next command answers, from what is usual or from what is made today."""

import json
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.reading.paths import DEMO

GEL = """ingredient,percent
water,63.6
"cocamidopropyl betaine, 30 %",20
"decyl glucoside, 50 %",9
glycerin,5
xanthan gum,1
citric acid,0.6
sodium benzoate,0.5
potassium sorbate,0.2
disodium EDTA,0.1
"""

Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("kind", ["body butter", "lotion", "cream scrub"])
def test_a_formula_stands_at_once_from_what_is_usual(kind: str, capsys: Captured) -> None:
    assert main(["new", "--kind", kind, "--market", "EU"]) == 0
    assert "To decide next" in capsys.readouterr().out
    assert main(["design", "brief.toml", "--json"]) == 0
    lines = json.loads(capsys.readouterr().out)["formula"]
    assert sum(line["percent"] for line in lines) == pytest.approx(100)
    assert len(lines) > 2


def test_a_brief_that_is_there_is_not_written_over(here: Path, capsys: Captured) -> None:
    (here / "brief.toml").write_text('title = "mine"\n', encoding="utf-8")
    assert main(["new", "--kind", "balm"]) == 2
    assert (here / "brief.toml").read_text(encoding="utf-8") == 'title = "mine"\n'
    assert "brief.toml" in capsys.readouterr().err


def test_todays_formula_stands_as_it_is(here: Path, capsys: Captured) -> None:
    (here / "today.csv").write_bytes((DEMO / "today.csv").read_bytes())
    assert main(["new", "--from", "today.csv", "--kind", "cream scrub"]) == 0
    assert "The amounts were read as % of the jar; they add up to 100." in capsys.readouterr().out
    assert main(["design", "brief.toml", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    percent = {line["ingredient"]: line["percent"] for line in answer["formula"]}
    assert percent["sea salt, fine"] == pytest.approx(32, abs=0.01)


def test_what_todays_formula_has_and_the_shelf_lacks_is_told(here: Path, capsys: Captured) -> None:
    (here / "today.csv").write_text('ingredient,percent\nbeeswax,20\nolive oil,60\n"shea butter, refined",20\n')
    (here / "shelf.csv").write_text("ingredient,price (EUR/kg)\nolive oil,9\n")
    assert main(["new", "--from", "today.csv", "--kind", "balm", "--own", "shelf.csv"]) == 0
    words = " ".join(capsys.readouterr().out.split())
    lacks = "The shelf: your tables lack beeswax; shea butter, refined of today's formula. Give each a row"
    assert lacks in words
    (here / "shelf.csv").write_text('ingredient,price (EUR/kg)\nolive oil,9\nbeeswax,12\n"shea butter, refined",8\n')
    assert main(["new", "whole.toml", "--from", "today.csv", "--kind", "balm", "--own", "shelf.csv"]) == 0
    assert "The shelf:" not in capsys.readouterr().out


def test_a_lip_balm_is_begun_for_the_lips(capsys: Captured) -> None:
    assert main(["new", "--kind", "stick and lip balm", "--json"]) == 0
    brief = json.loads(capsys.readouterr().out)["brief"]
    assert 'area = "lips"' in brief


def test_a_name_of_todays_formula_that_is_not_known_is_asked_back(here: Path, capsys: Captured) -> None:
    (here / "today.csv").write_text("ingredient,percent\nbeeswaxx,20\nolive oil,80\n", encoding="utf-8")
    assert main(["new", "--from", "today.csv"]) == 2
    assert "beeswax" in capsys.readouterr().err
    assert not (here / "brief.toml").exists()


def test_neither_a_kind_nor_a_formula_is_no_beginning(capsys: Captured) -> None:
    assert main(["new"]) == 2
    assert "Write a kind or a formula: --kind 'body butter', or --from today.csv." in capsys.readouterr().err


def test_a_gel_that_is_no_kind_begins_from_its_formula_as_the_message_says(here: Path, capsys: Captured) -> None:
    assert main(["new", "--kind", "shower gel"]) == 2
    assert "begin from a formula of yours (`optiform new --from today.csv`)" in capsys.readouterr().err
    (here / "today.csv").write_text(GEL, encoding="utf-8")
    assert main(["new", "--from", "today.csv"]) == 0
    capsys.readouterr()
    assert main(["design", "brief.toml", "--json"]) == 0
    percent = {line["ingredient"]: line["percent"] for line in json.loads(capsys.readouterr().out)["formula"]}
    assert (percent["water"], percent["decyl glucoside, 50 %"]) == (pytest.approx(63.6), pytest.approx(9))


def test_the_brief_is_in_the_json(capsys: Captured) -> None:
    assert main(["new", "--kind", "balm", "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert answer["status"] == "written"
    assert 'kind = "balm"' in answer["brief"]


def test_what_is_there_is_not_said_to_be_replaced_by_an_option_that_there_is_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "brief.toml"
    path.write_text("title = 'mine'\n", encoding="utf-8")
    assert main(["new", str(path), "--kind", "lotion"]) == 2
    told = capsys.readouterr().err
    assert "there already, and not replaced unasked. Give a new name." in told
    assert "--force" not in told
    assert path.read_text(encoding="utf-8") == "title = 'mine'\n"
