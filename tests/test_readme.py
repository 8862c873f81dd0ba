"""README and guide: every line runs, every example is read, and all that a reader takes is named."""

import re
import shlex
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from optiform import cli
from optiform.batch import file as makingfile
from optiform.batch.file import read_making
from optiform.brief import file as brieffile
from optiform.brief.brief import KINDS
from optiform.brief.file import read_brief
from optiform.commands.arguments.help import TOPICS
from optiform.commands.arguments.parser import commands_of
from optiform.costs import file as costsfile
from optiform.costs import plan as planfile
from optiform.costs.file import read_costs
from optiform.costs.plan import read_plan
from optiform.design.answer import Designed
from optiform.design.design import design
from optiform.ingredients import own_table as ownfile
from optiform.ingredients.catalogue import read_catalogue
from optiform.reading.demo import copy_demo
from optiform.reading.paths import GUIDE
from optiform.rules.claims import CLAIMS
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.telling.guide import plain, topic
from optiform.workshop.supplies import read_lots, read_offers
from tests.dates import ANY_DAY
from tests.every import every

pytestmark = pytest.mark.usefixtures("shared_answers")

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
GUIDE_TEXT = {name: topic(name) for name in TOPICS}
ALL = "\n".join([README, *GUIDE_TEXT.values()])
#: Columns that the reader of own tables treats by name; the sets are its own, so a new one must come to the guide.
WORDS: set[str] = vars(ownfile)["WORDS"]
UNITS: dict[str, str] = vars(ownfile)["KNOWN_UNITS"]
BY_NAME = {"price", "pack price", "pack", "certificate maximum", "allergen"}
OWN_TABLE = GUIDE_TEXT["own-table"]


def first_cells(text: str) -> list[str]:
    """The words in code type of each row's first cell."""
    return [word for line in text.splitlines() if line.startswith("| `") for word in coded(line.split("|")[1])]


def coded(text: str) -> list[str]:
    return re.findall(r"`([^`]+)`", text)


def keys(name: str) -> list[str]:
    return [word.strip("[]") for word in first_cells(GUIDE_TEXT[name])]


def lines(text: str) -> list[str]:
    """The command lines of a text, as they are to be typed; what a line does stands two spaces after it or below."""
    return [re.split(" {2,}", line.strip())[0] for line in text.splitlines() if line.startswith("    optiform ")]


def examples(text: str, language: str) -> dict[str, str]:
    """What stands between fences of a language, by the word behind it."""
    return dict(re.findall(rf"^```{language} ?(\w*)\n(.*?)^```", text, flags=re.DOTALL | re.MULTILINE))


# -- every line runs ---------------------------------------------------------------------------------------------------

#: Lines that tests/journeys/test_three_questions.py runs on the demo (the second with `--blend 1`): they take seconds.
ELSEWHERE = {"optiform cheaper brief.toml", 'optiform substitute brief.toml "mango butter"'}


def test_every_line_works_on_the_demo_as_it_is_copied(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """README first, then the guide, one line after the other. `app` is left out: it serves until it is stopped."""
    monkeypatch.chdir(tmp_path)
    first, *rest = (line for line in lines(ALL) if not line.startswith("optiform app"))
    assert first == "optiform demo --copy my-folder"
    assert set(rest) >= ELSEWHERE
    assert len(rest) >= 40
    assert cli.main(shlex.split(first)[1:]) == 0
    monkeypatch.chdir("my-folder")
    for line in (line for line in rest if line not in ELSEWHERE):
        capsys.readouterr()
        assert cli.main(shlex.split(line)[1:]) == 0, f"{line}\n{capsys.readouterr().err}"


def test_no_line_names_a_day() -> None:
    """That day would pass, and the line, or one after it, would no longer do what it says."""
    assert [line for line in lines(ALL) if re.search(r"\d{4}-\d{2}-\d{2}", line)] == []


def test_every_command_is_named() -> None:
    commands = set(commands_of(cli.parser()))
    assert {"design", "cheaper", "substitute", "from-label", "demo", "guide", "completion"} <= commands
    assert {name for name in commands if f"optiform {name}" not in ALL} == set()


def test_the_readme_is_short() -> None:
    assert 60 <= len(README.splitlines()) <= 80


# -- every example is read ---------------------------------------------------------------------------------------------


def test_the_brief_of_the_readme_has_twelve_lines_and_the_answer_beside_it(tmp_path: Path) -> None:
    brief = examples(README, "toml")[""]
    assert len(brief.splitlines()) == 12
    copy_demo(tmp_path / "demo", ANY_DAY)
    path = tmp_path / "demo" / "hand.toml"
    path.write_text(brief, encoding="utf-8")
    answer = design(read_brief(path))
    assert isinstance(answer, Designed)
    made = [f"{line.ingredient.name} {100 * line.fraction:.2f}" for line in answer.report.formula.lines]
    assert f": {', '.join(made)}\n" in README
    assert f"at {answer.objective:.2f} EUR/kg" in README


def test_every_example_of_the_guide_is_read(tmp_path: Path) -> None:
    copy_demo(tmp_path / "demo", ANY_DAY)
    catalogue = read_catalogue()
    demo = read_brief(tmp_path / "demo" / "brief.toml")
    today = demo.reference
    assert today is not None
    read: dict[str, Callable[[Path], object]] = {
        "brief": read_brief,
        "making": lambda path: read_making(path, demo.catalogue, today),
        "costs": lambda path: read_costs(path, catalogue, "EUR"),
        "plan": read_plan,
        "offers": lambda path: read_offers(path, [catalogue]),
        "lots": lambda path: read_lots(path, [catalogue]),
        "own": lambda path: read_catalogue([path]),
    }
    examined = examples(ALL, "toml") | examples(ALL, "csv")
    assert set(examined) - {""} == set(read)
    for name, reader in read.items():
        path = tmp_path / "demo" / f"example-{name}.{'csv' if name in ('offers', 'lots', 'own') else 'toml'}"
        path.write_text(examined[name], encoding="utf-8")
        assert reader(path)


def test_the_python_session_runs_in_a_copy_of_the_demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy_demo(tmp_path / "demo", ANY_DAY)
    monkeypatch.chdir(tmp_path / "demo")
    session = examples(README, "python")[""]
    names: dict[str, object] = {}
    exec(compile(session, "README.md", "exec"), names)
    assert isinstance(names["answer"], Designed)
    assert "A jar costs" in Path("sheet.html").read_text(encoding="utf-8")


# -- all that a reader takes is named ----------------------------------------------------------------------------------


def test_every_key_of_a_brief_and_no_other() -> None:
    assert sorted(keys("brief")) == sorted(brieffile.KEYS)


def test_every_key_of_a_making_file_and_no_other() -> None:
    assert sorted(keys("making")) == sorted(makingfile.KEYS)
    others = (*makingfile.COOLING, *makingfile.PART)
    assert [word for word in others if word not in GUIDE_TEXT["making"]] == []


def test_every_key_of_a_costs_file_and_no_other() -> None:
    assert sorted(keys("costs")) == sorted(costsfile.KEYS)


def test_every_key_of_a_plan_and_no_other() -> None:
    assert sorted(keys("buying")) == sorted(planfile.KEYS)


@every("word", [*USES, *AREAS, *MARKETS, *CLAIMS, "owned", "in stock", "refuse", "leave out"])
def test_the_words_a_key_can_have(word: str) -> None:
    assert f'`"{word}"' in GUIDE_TEXT["brief"]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_product(kind: str) -> None:
    assert f"`{kind}`" in GUIDE_TEXT["brief"]


@every("column", sorted({*WORDS, *UNITS, *BY_NAME}))
def test_every_column_of_an_own_table(column: str) -> None:
    example = r" at 20 degC$| 9 \(%\)$| limonene \(%\)$"
    named = [re.sub(example, "", word) for word in first_cells(OWN_TABLE)]
    assert column in named


@every("column, unit", sorted(UNITS.items()))
def test_the_unit_of_a_column_stands_beside_it(column: str, unit: str) -> None:
    (row,) = (line for line in OWN_TABLE.splitlines() if f"`{column}" in line.split("|")[:2][-1])
    assert unit.replace("-", "a number").replace("degC", "°C") in row.split("|")[2]


def test_a_table_with_every_column_the_guide_names_is_read(tmp_path: Path) -> None:
    """Headers as the guide writes them; a column it names and the reader refuses would be a fault here."""
    words = {
        "ingredient": "my rose water",
        "synonyms": "rosewater; hydrolate",
        "phase": "water phase",
        "functions": "water; active",
        "origin": "plant",
        "inci": "Aqua 70; Glycerin 30",
        "note": "from the garden",
        "supplier": "own",
        "like": "water",
        "supplier statement": "refining history: letter of 2026-03-01; category 3: tallow.pdf",
        "price": "4.20 EUR/kg",
        "pack price": "21 EUR",
        "pack": "5 kg",
        "stock": "800 g",
        "melting range": "18 to 22",
    }
    headers = [name for name in first_cells(OWN_TABLE) if name != "density at 20 degC"]
    path = tmp_path / "own.csv"
    path.write_text(";".join(headers) + "\n" + ";".join(f'"{words.get(name, 10)}"' for name in headers) + "\n")
    item = read_catalogue([path]).ingredients["my rose water"]
    assert item.functions == ("water", "active")
    assert item.values["stock", None].figure == 0.8
    assert item.values["certificate maximum 9", None].figure == 10
    assert item.values["allergen limonene", None].figure == 10
    assert item.values["solid fat", 20.0].figure == 10
    assert {name for name, _ in item.values} >= set(UNITS)


# -- the guide in a terminal -------------------------------------------------------------------------------------------


def test_every_topic_is_a_file_and_every_file_a_topic() -> None:
    assert {path.stem for path in GUIDE.iterdir()} == set(TOPICS)


@pytest.mark.parametrize("name", TOPICS)
@pytest.mark.parametrize("width", [80, 110])
def test_a_topic_in_a_terminal_is_plain_and_no_wider_than_the_window(name: str, width: int) -> None:
    text = plain(GUIDE_TEXT[name], width)
    written = lines(GUIDE_TEXT[name])
    code = "".join(examples(GUIDE_TEXT[name], "toml").values()) + "".join(examples(GUIDE_TEXT[name], "csv").values())
    wide = [line for line in text.splitlines() if len(line) > width and line.strip() not in written]
    assert [line for line in wide if line.strip() not in code] == []
    noise = re.compile(r"`|^#|^\||\*\*|\]\(|^ *```")
    assert [line for line in text.splitlines() if noise.search(line)] == []


def test_examples_keep_their_lines_in_a_terminal() -> None:
    text = plain(GUIDE_TEXT["costs"], 80)
    (example,) = examples(GUIDE_TEXT["costs"], "toml").values()
    assert tomllib.loads(example)
    assert all(f"  {line}".rstrip() in text.splitlines() for line in example.splitlines())


def test_alone_it_lists_the_topics_and_an_unknown_one_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["guide"]) == 0
    listed = capsys.readouterr().out
    assert [name for name in TOPICS if f"optiform guide {name}" not in listed] == []
    with pytest.raises(SystemExit):
        cli.main(["guide", "weather"])
    assert "“weather” is not known here. Write one of: brief, words" in capsys.readouterr().err
