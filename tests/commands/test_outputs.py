"""No output option writes over what the maker has: every one of them, against every file of the demo's folder."""

import os
import shutil
import stat
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.cli import main, parser
from optiform.commands.arguments.parser import Parser, commands_of
from optiform.reading.faults import Fault
from optiform.reading.output import Output, kind_of
from optiform.reading.paths import DEMO

pytestmark = pytest.mark.usefixtures("shared_answers")

FORMULA = ("today.csv", "--brief", "brief.toml")
BATCH = "Q26-031"
NEXT = ("--records", ".", "--ask", "firmness at 10 degC", "--most", "140")
PAPERS = {"--csv": "new.csv", "--html": "new.html"}
OPTIONS = {**PAPERS, "--chart": "new.svg"}
#: Every command that saves files: its words, and each option with a name of its kind; the words alone name an export.
OUTPUTS: list[tuple[tuple[str, ...], dict[str, str]]] = [
    (("design", "brief.toml"), {**PAPERS, "--write": "new.toml"}),
    *((("design", "brief.toml"), {"--write": f"new.{ending}"}) for ending in ("csv", "lp", "mps")),
    (("cheaper", "brief.toml"), {**OPTIONS, "--write": "new.toml"}),
    (("substitute", "brief.toml", "mango butter"), {**PAPERS, "--chart": "new.png", "--write": "other.csv"}),
    (("texture", "brief.toml", "--step", "20"), {**OPTIONS, "--write": "other.csv"}),
    (("explore", "brief.toml"), PAPERS),
    (("explore", "brief.toml", "--limit", "water phase", "--from", "38", "--to", "48"), {"--chart": "new.svg"}),
    (("sheet", "brief.toml"), {"--html": "new.html"}),
    (("weigh", "brief.toml"), {**PAPERS, "--write": "new.toml"}),
    (("from-label", "label.txt"), PAPERS),
    (("from-label", "label.txt"), {"--write": "new.csv"}),
    (("declare", *FORMULA), PAPERS),
    (("batch", *FORMULA, "--making", "making.toml"), PAPERS),
    (("costs", *FORMULA, "--costs", "costs.toml"), PAPERS),
    (("costs", *FORMULA, "--costs", "costs.toml", "--jar-cost", "4.55"), {"--write": "new.csv"}),
    (("buy", "plan.toml", "--records", "."), PAPERS),
    (("range", "plan.toml", "--records", "."), {**PAPERS, "--write": "other.csv"}),
    (("check", *FORMULA), PAPERS),
    (("compare", "today.csv", "hand_polish.csv", "--brief", "brief.toml"), PAPERS),
    (("ingredients", "shea"), PAPERS),
    (("rules", "charge"), PAPERS),
    (("stock", "--records", "."), PAPERS),
    (("stock", "versions", "--records", "."), PAPERS),
    (("stock", "batch", BATCH, "--records", "."), PAPERS),
    (("trial", "show", "--records", "."), PAPERS),
    (("trial", "fit", "--records", ".", "--brief", "brief.toml"), PAPERS),
    (("trial", "next", "brief.toml", *NEXT), PAPERS),
    (
        ("trial", "between", "brief.toml", "F-2", "F-3", "--firmness", "100", "--records", "."),
        {**PAPERS, "--write": "other.csv"},
    ),
    (("trial", "predict", "today.csv", "--records", ".", "--brief", "brief.toml"), PAPERS),
    (("stock", "export", "--records", "."), {"": "new.zip"}),
]
IDS = [" ".join((*words[: 2 if words[0] in ("trial", "stock") else 1], *names.values())) for words, names in OUTPUTS]
NAMES = ("csv", "html", "chart", "write")


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's folder with its records, and an export of them, in one piece."""
    folder = tmp_path_factory.mktemp("demo") / "shop"
    shutil.copytree(DEMO, folder)
    assert main(["stock", "import", str(folder / "workshop"), "--records", str(folder)]) == 0
    assert main(["stock", "export", str(folder / "export.zip"), "--records", str(folder)]) == 0
    return folder


@pytest.fixture
def shop(demo: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "shop"
    shutil.copytree(demo, folder)
    monkeypatch.chdir(folder)
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but SQLite's passing ones."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(p.relative_to(folder)): p.read_bytes() for p in files if not p.name.endswith(("-wal", "-shm"))}


def saved(words: tuple[str, ...], names: Mapping[str, str], *more: str) -> int:
    try:
        return main([*words, *(word for pair in names.items() for word in pair if word), *more])
    except SystemExit as refused:
        return int(str(refused.code))


def parsers(parser: Parser, name: str = "") -> Iterator[tuple[str, Parser]]:
    yield name.strip(), parser.declared()
    for word, inner in commands_of(parser).items():
        yield from parsers(inner, f"{name} {word}")


def test_the_list_has_every_output_of_every_command() -> None:
    there = {
        (name, option)
        for name, parser in parsers(parser())
        for action in parser._actions
        for option in action.option_strings
        if option.removeprefix("--") in NAMES
    }
    names = {name for name, _ in parsers(parser())}
    of = {words: " ".join(words[:2]) if " ".join(words[:2]) in names else words[0] for words, _ in OUTPUTS}
    here = {(of[words], option) for words, options in OUTPUTS for option in options if option}
    assert here == there
    assert all("--force" in parser._option_string_actions for name, parser in parsers(parser()) if name in dict(there))


@pytest.fixture
def obstacles(shop: Path, monkeypatch: pytest.MonkeyPatch) -> dict[str, list[str]]:
    """Where a command looks whether it may save, every file of the folder is tried by its name too.

    Gives, by the name that was asked for, what was tried and would have been written over.
    """
    there, passed = contents(shop), defaultdict[str, list[str]](list)
    obstacle = Output.obstacle

    def looked(output: Output) -> Fault | None:
        zips = "label.txt" if output.kind == ".zip" else "export.zip"
        forced = ("records.db", "brief.toml", zips, *(("costs.toml",) if output.kind else ()))
        tried = [*((file, False) for file in there), *((file, True) for file in forced)]
        passed[output.path.name] += [
            f"{file}, forced: {force}"
            for file, force in tried
            if not (fault := obstacle(replace(output, path=Path(file), force=force)))
            or Path(file).name not in str(fault)
        ]
        return obstacle(output)

    monkeypatch.setattr(Output, "obstacle", looked)
    return passed


@pytest.mark.parametrize(("words", "names"), OUTPUTS, ids=IDS)
def test_nothing_of_the_demos_folder_is_written_over(
    shop: Path, obstacles: dict[str, list[str]], words: tuple[str, ...], names: dict[str, str]
) -> None:
    before = contents(shop)
    assert {"records.db", "brief.toml", "making.toml", "workshop.csv", "today.csv", "label.txt"} <= set(before)
    assert saved(words, names) == 0
    assert obstacles == {name: [] for name in names.values()}
    after = contents(shop)
    assert {name: after.pop(name) != b"" for name in names.values()} == dict.fromkeys(names.values(), True)
    copies = {name for name in after if name.startswith("copies/records-daily-")}
    assert {name: text for name, text in after.items() if name not in copies} == before, "and nothing beside them"
    assert not copies or words[:2] == ("trial", "predict"), "which may seal a forecast, and copies the records first"
    assert all(kind_of((shop / name).read_bytes()) for name in names.values())


@pytest.mark.parametrize(("words", "names"), OUTPUTS, ids=IDS)
def test_a_file_that_is_there_is_refused_before_the_work_for_each_option(
    shop: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], names: dict[str, str]
) -> None:
    before = contents(shop)
    taken = dict(zip(names, ("records.db", "brief.toml", "workshop.csv", "export.zip"), strict=False))
    for force in ((), ("--force",)):
        assert saved(words, taken, *force) == 2
        told = capsys.readouterr().err
        assert "Traceback" not in told
        assert [file for file in taken.values() if file not in told] == [], "each is named"
    assert contents(shop) == before


def test_what_begins_a_brief_or_a_folder_writes_over_no_file_either(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They have no option that names a file: it stands alone, or is a folder."""
    before = contents(shop)
    for file in before:
        for words in (("new", file, "--kind", "lotion"), ("demo", "--copy", file)):
            assert main(list(words)) == 2, words
            told = capsys.readouterr().err
            assert Path(file).name in told
            assert "--force" not in told
    assert contents(shop) == before


@pytest.mark.parametrize("words", dict.fromkeys(words for words, names in OUTPUTS if "--write" in names), ids=" ".join)
def test_a_formula_does_not_replace_another_kind_of_toml(
    shop: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...]
) -> None:
    """What it would write is known only after the work."""
    before = contents(shop)
    assert saved(words, {"--write": "costs.toml"}, "--force") == 2
    assert "costs.toml" in capsys.readouterr().err
    assert contents(shop) == before


def test_force_replaces_a_file_of_the_same_kind_and_no_other(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def weighed(name: str, *more: str) -> int:
        return saved(("weigh", "brief.toml"), {"--csv": name}, *more)

    assert weighed("new.csv") == 0
    Path("new.csv").write_text(Path("new.csv").read_text().replace("1", "2"))
    before = contents(shop)
    others = [file for file, content in before.items() if kind_of(content) != kind_of(before["new.csv"])]
    assert set(before) - set(others) == {"new.csv"}
    for file in ("workshop/lots.csv", "hand_polish.csv", "label.txt", "export.zip", "costs.toml"):
        assert weighed(file, "--force") == 2, file
        told = capsys.readouterr().err
        assert any(words in told for words in ("another kind", "or the name of a table with", "must end in .csv"))
    assert contents(shop) == before
    assert weighed("new.csv") == 2, "not without being asked to"
    assert "--force to replace it" in capsys.readouterr().err
    assert weighed("new.csv", "--force") == 0
    assert Path("new.csv").read_bytes() != before["new.csv"]


@pytest.mark.usefixtures("shop")
def test_two_options_are_not_given_one_file(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["declare", *FORMULA, "--csv", "new.txt", "--html", "./new.txt"]) == 2
    assert "the file of --csv too" in capsys.readouterr().err
    assert not Path("new.txt").exists()


def test_a_link_to_a_file_that_is_read_is_that_file(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = contents(shop)
    Path("link.csv").symlink_to("today.csv")
    os.link("workshop.csv", "hard.csv")
    for name in ("link.csv", "hard.csv"):
        assert main(["design", "brief.toml", "--write", name, "--force"]) == 2
        assert "a file that this command reads" in capsys.readouterr().err
    assert Path("today.csv").read_bytes() == before["today.csv"]
    assert Path("hard.csv").read_bytes() == before["workshop.csv"]


@pytest.mark.usefixtures("shop")
def test_a_database_by_another_name_is_known_by_its_beginning(capsys: pytest.CaptureFixture[str]) -> None:
    Path("records.db").rename("old.csv")
    before = Path("old.csv").read_bytes()
    assert main(["cheaper", "brief.toml", "--csv", "old.csv", "--force"]) == 2
    assert "a database" in capsys.readouterr().err
    assert Path("old.csv").read_bytes() == before


@pytest.mark.usefixtures("shop")
def test_the_names_of_databases_are_left_to_them(capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("other.db", "records.db-wal", "records.db-shm", "a.sqlite"):
        assert main(["weigh", "brief.toml", "--csv", name]) == 2
        assert "the name of a database" in capsys.readouterr().err
        assert not Path(name).exists()


@pytest.mark.usefixtures("shop")
def test_an_ending_of_another_kind_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["declare", *FORMULA, "--html", "page.toml"]) == 2
    assert "“page.toml” must end in .html" in capsys.readouterr().err
    assert not Path("page.toml").exists()


def test_a_write_that_fails_leaves_the_file_before_and_nothing_beside_it(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["weigh", "brief.toml", "--csv", "new.csv"]) == 0
    before = contents(shop)

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert main(["weigh", "brief.toml", "--csv", "new.csv", "--force"]) == 2
    assert "No space left on device" in capsys.readouterr().err
    assert contents(shop) == before


@pytest.mark.usefixtures("shop")
def test_what_is_replaced_keeps_its_rights() -> None:
    assert main(["weigh", "brief.toml", "--csv", "new.csv"]) == 0
    Path("new.csv").chmod(0o640)
    assert main(["weigh", "brief.toml", "--csv", "new.csv", "--force"]) == 0
    assert stat.S_IMODE(Path("new.csv").stat().st_mode) == 0o640


@pytest.mark.usefixtures("shop")
def test_an_empty_file_may_be_filled() -> None:
    Path("new.csv").touch()
    assert main(["weigh", "brief.toml", "--csv", "new.csv"]) == 0
    assert Path("new.csv").stat().st_size
