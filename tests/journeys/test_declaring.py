"""Drafting a declaration from the command line: markets, files, faults."""

import csv
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from optiform.cli import main
from optiform.reading.paths import DEMO


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A copy of the demo workshop."""
    return Path(shutil.copytree(DEMO, tmp_path / "shop"))


class Shell:
    """Runs `optiform declare` in process."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self.capsys = capsys

    def text(self, *words: object, code: int = 0) -> str:
        assert main(["declare", *map(str, words)]) == code
        out, err = self.capsys.readouterr()
        return out if code == 0 else err

    def data(self, *words: object) -> dict[str, Any]:
        found = json.loads(self.text(*words, "--json"))
        assert isinstance(found, dict)
        return found


@pytest.fixture
def shell(capsys: pytest.CaptureFixture[str]) -> Shell:
    return Shell(capsys)


def test_the_demo_names_what_is_above_the_threshold_and_not_what_is_below(shop: Path, shell: Shell) -> None:
    found = shell.data(shop / "today.csv", "--brief", shop / "brief.toml", "--market", "EU")
    assert found["allergens"] == ["Limonene", "Linalyl Acetate"]
    below = {each["name"]: each["percent"] for each in found["allergen_details"] if not each["declared"]}
    assert below == {"Coumarin": pytest.approx(0.0054)}
    assert found["allergens_known"] is True
    assert found["declaration"][:3] == ["Maris Sal", "Aqua", "Prunus Amygdalus Dulcis Oil"]
    assert found["net"]["words"] == "150 g"


@pytest.mark.parametrize(
    ("date", "allergens"), [("2026-07-31", ["Limonene"]), ("2026-08-01", ["Limonene", "Linalyl Acetate"])]
)
def test_the_date_decides_which_list(shop: Path, shell: Shell, date: str, allergens: list[str]) -> None:
    words = (shop / "today.csv", "--own", shop / "workshop.csv", "--market", "eu", "--date", date)
    assert shell.data(*words)["allergens"] == allergens


def test_the_us_has_other_names_and_both_units(shop: Path, shell: Shell) -> None:
    found = shell.data(shop / "today.csv", "--brief", shop / "brief.toml", "--market", "US")
    assert found["declaration"][:2] == ["Sea Salt", "Water"]
    assert "Fragrance" in found["declaration"]
    assert found["allergens"] == []
    assert found["net"]["words"] == "5.29 oz (150 g)"


def test_a_fragrance_without_a_list_is_never_silent(shop: Path, shell: Shell) -> None:
    found = shell.data(shop / "today.csv", "--market", "EU")
    assert found["allergens_known"] is False
    assert found["without_allergen_list"] == ["fragrance oil"]
    assert "allergens of fragrance oil are not known" in shell.text(shop / "today.csv", "--market", "EU")


def test_the_market_of_a_brief_with_one_is_taken_and_of_several_asked(shop: Path, shell: Shell) -> None:
    words = (shop / "today.csv", "--brief", shop / "brief.toml")
    assert shell.data(*words)["market"] == "EU"
    brief = shop / "brief.toml"
    brief.write_text(brief.read_text(encoding="utf-8").replace('["EU"]', '["EU", "US"]'), encoding="utf-8")
    assert "one of the brief's: EU, US" in shell.text(*words, code=2)
    assert shell.data(*words, "--market", "us")["market"] == "US"


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ((), "--market: nothing is written here. Write one of: EU, GB, US"),
        (("--market", "CA"), "one of: EU, GB, US"),
        (("--market", "EU", "--date", "1.8.2026"), "a date such as 2026-11-25"),
        (("--market", "EU", "--net", "250"), "--net: “250” does not go here"),
        (("--market", "EU", "--net", "-5 g"), "above nothing"),
        (("--market", "EU", "--net", "20 degC"), "a mass or a volume"),
        (("--market", "EU", "--html", "nowhere/page.html"), "there is no folder nowhere"),
    ],
)
def test_what_cannot_be_read_is_told(shop: Path, shell: Shell, words: tuple[str, ...], expected: str) -> None:
    assert expected in shell.text(shop / "today.csv", *words, code=2)


def test_a_brief_says_its_use_and_date_itself(shop: Path, shell: Shell) -> None:
    told = shell.text(shop / "today.csv", "--brief", shop / "brief.toml", "--use", "leave-on", code=2)
    assert "--use" in told


def test_the_net_content_may_be_a_volume(shop: Path, shell: Shell) -> None:
    words = (shop / "today.csv", "--brief", shop / "brief.toml", "--market", "US", "--net", "200 mL")
    assert shell.data(*words)["net"]["words"] == "6.76 fl oz (200 mL)"


def test_the_page_and_the_table_are_written(shop: Path, shell: Shell) -> None:
    html, table = shop / "draft.html", shop / "draft.csv"
    shell.text(shop / "today.csv", "--brief", shop / "brief.toml", "--html", html, "--csv", table)
    assert "Limonene (allergen)" in html.read_text(encoding="utf-8")
    rows = list(csv.DictReader(table.read_text(encoding="utf-8").splitlines()))
    assert [row["name"] for row in rows if row["allergen"] == "yes"] == ["Limonene", "Linalyl Acetate"]
    assert rows[0]["name"] == "Maris Sal"
    assert rows[0]["free order"] == ""


def test_a_misspelt_allergen_is_a_fault_with_near_names(shop: Path, shell: Shell) -> None:
    own = shop / "workshop.csv"
    own.write_text(own.read_text(encoding="utf-8").replace("limonene", "limonen"), encoding="utf-8")
    told = shell.text(shop / "today.csv", "--own", own, "--market", "EU", code=2)
    assert "“allergen limonen” is not an allergen of our tables" in told
    assert "Did you mean limonene" in told


def test_names_a_spreadsheet_would_run_are_written_as_text(shop: Path, shell: Shell) -> None:
    (shop / "own.csv").write_text("ingredient;phase;functions;inci\nodd;grains;grain;=1+1 100%\n", encoding="utf-8")
    (shop / "odd.csv").write_text("ingredient,percent\nodd,50\nwater,50\n", encoding="utf-8")
    table = shop / "draft.csv"
    shell.text(shop / "odd.csv", "--own", shop / "own.csv", "--market", "EU", "--csv", table)
    assert "'=1+1" in table.read_text(encoding="utf-8")
