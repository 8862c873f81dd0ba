"""The README names every command, every key of a brief and every column of an own table that the code reads."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from optiform import cli
from optiform.batch import file as makingfile
from optiform.brief.brief import CLAIMS, KINDS
from optiform.brief.file import KEYS
from optiform.ingredients import own_table as ownfile
from optiform.ingredients.catalogue import read_catalogue
from optiform.rules.law import AREAS, MARKETS, USES

TEXT = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
#: Columns that the reader of own tables treats by name; the sets are its own, so a new one must come to the README.
WORDS: set[str] = vars(ownfile)["WORDS"]
UNITS: dict[str, str] = vars(ownfile)["KNOWN_UNITS"]
BY_NAME = {"price", "pack price", "pack", "certificate maximum", "allergen"}


def section(title: str) -> str:
    """The text under a heading of the third level."""
    found = re.search(rf"^### {re.escape(title)}\n(.*?)(?=^##|\Z)", TEXT, flags=re.DOTALL | re.MULTILINE)
    assert found is not None, title
    return found[1]


def first_cells(table: str) -> list[str]:
    """The words in code type of each row's first cell."""
    return [word for line in table.splitlines() if line.startswith("| `") for word in coded(line.split("|")[1])]


def coded(text: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text)


def commands() -> list[str]:
    """The commands that `optiform --help` lists."""
    run = [sys.executable, "-m", "optiform", "--help"]
    text = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    return re.findall(r"^    ([a-z][a-z-]+)(?:  |$)", text, flags=re.MULTILINE)


def lines() -> list[str]:
    """The command lines of the list, as they are to be typed; what a line does stands two spaces after it or below."""
    listed = TEXT[TEXT.index("## Your own formula") : TEXT.index("### What a brief can limit")]
    return [re.split(" {2,}", line.strip())[0] for line in listed.splitlines() if line.startswith("    optiform ")]


#: Lines that tests/journeys/test_three_questions.py runs on the demo (the second with `--blend 1`): they take seconds.
ELSEWHERE = {"optiform cheaper brief.toml", 'optiform substitute brief.toml "mango butter"'}


def test_every_line_of_the_list_works_on_the_demo_as_it_is_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One after the other, as a new maker types them. `app` alone is left out: it serves until it is stopped."""
    monkeypatch.chdir(tmp_path)
    first, *rest = (line for line in lines() if not line.startswith("optiform app"))
    assert first == "optiform demo --copy my-folder"
    assert set(rest) >= ELSEWHERE
    assert len(rest) > 30
    assert cli.main(shlex.split(first)[1:]) == 0
    monkeypatch.chdir("my-folder")
    for line in (line for line in rest if line not in ELSEWHERE):
        capsys.readouterr()
        assert cli.main(shlex.split(line)[1:]) == 0, f"{line}\n{capsys.readouterr().err}"


def test_no_line_of_the_list_names_a_day() -> None:
    """That day would pass, and the line, or one after it, would no longer do what it says."""
    assert [line for line in lines() if re.search(r"\d{4}-\d{2}-\d{2}", line)] == []


def test_every_command() -> None:
    found = commands()
    assert {"design", "cheaper", "substitute", "from-label", "demo"} <= set(found)
    assert [
        name for name in found if f"    optiform {name} " not in TEXT and f"    optiform {name}\n" not in TEXT
    ] == []


def test_every_key_of_a_brief_and_no_other() -> None:
    named = [word.strip("[]") for word in first_cells(section("The brief's keys"))]
    assert sorted(named) == sorted(KEYS)


def test_every_key_of_a_making_file_and_no_other() -> None:
    text = section("How it is made")
    assert sorted(word.strip("[]") for word in first_cells(text)) == sorted(makingfile.KEYS)
    assert [word for word in (*makingfile.COOLING_KEYS, *makingfile.PART_KEYS) if word not in text] == []


@pytest.mark.parametrize("word", [*USES, *AREAS, *MARKETS, *CLAIMS, "owned", "in stock", "refuse", "leave out"])
def test_the_words_a_key_can_have(word: str) -> None:
    assert f'`"{word}"' in section("The brief's keys")


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_product(kind: str) -> None:
    assert f"`{kind}`" in TEXT


@pytest.mark.parametrize("column", sorted({*WORDS, *UNITS, *BY_NAME}))
def test_every_column_of_an_own_table(column: str) -> None:
    example = r" at 20 degC$| 9 \(%\)$| limonene \(%\)$"
    named = [re.sub(example, "", word) for word in first_cells(section("Your own table"))]
    assert column in named


@pytest.mark.parametrize(("column", "unit"), sorted(UNITS.items()))
def test_the_unit_of_a_column_stands_beside_it(column: str, unit: str) -> None:
    (row,) = (line for line in section("Your own table").splitlines() if f"`{column}" in line.split("|")[:2][-1])
    assert unit.replace("-", "a number") in row.split("|")[2]


def test_a_table_with_every_column_the_readme_names_is_read(tmp_path: Path) -> None:
    """Headers as the README writes them; a column it names and the reader refuses would be a fault here."""
    words = {
        "ingredient": "my rose water",
        "synonyms": "rosewater; hydrolate",
        "phase": "water phase",
        "functions": "water; active",
        "origin": "plant",
        "inci": "Aqua 70; Glycerin 30",
        "note": "from the garden",
        "supplier": "own",
        "price": "4.20 EUR/kg",
        "pack price": "21 EUR",
        "pack": "5 kg",
        "stock": "800 g",
        "melting range": "18 to 22",
    }
    headers = [name for name in first_cells(section("Your own table")) if name != "density at 20 degC"]
    path = tmp_path / "own.csv"
    path.write_text(";".join(headers) + "\n" + ";".join(f'"{words.get(name, 10)}"' for name in headers) + "\n")
    item = read_catalogue([path]).ingredients["my rose water"]
    assert item.functions == ("water", "active")
    assert item.values["stock", None].figure == 0.8
    assert item.values["certificate maximum 9", None].figure == 10
    assert item.values["allergen limonene", None].figure == 10
    assert item.values["solid fat", 20.0].figure == 10
    assert {name for name, _ in item.values} >= set(UNITS)
