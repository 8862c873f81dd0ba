"""No output option writes over what the maker has: every one of them, against every file of the demo's folder."""

import os
import shutil
import stat
from collections.abc import Iterator
from pathlib import Path

import pytest

from optiform.cli import main, parser
from optiform.commands.arguments.parser import Parser, commands_of
from optiform.reading.output import kind_of
from optiform.reading.paths import DEMO

FORMULA = ("today.csv", "--brief", "brief.toml")
BATCH = "Q26-031"
NEXT = ("--records", ".", "--ask", "firmness at 10 degC", "--most", "140")
#: Every command that saves a file: its words, the option, and a name of that option's kind.
OUTPUTS = [
    (("design", "brief.toml"), "--csv", "new.csv"),
    (("design", "brief.toml"), "--html", "new.html"),
    (("design", "brief.toml"), "--write", "new.csv"),
    (("design", "brief.toml"), "--write", "new.toml"),
    (("design", "brief.toml"), "--write", "new.lp"),
    (("design", "brief.toml"), "--write", "new.mps"),
    (("cheaper", "brief.toml"), "--csv", "new.csv"),
    (("cheaper", "brief.toml"), "--chart", "new.svg"),
    (("cheaper", "brief.toml"), "--html", "new.html"),
    (("cheaper", "brief.toml"), "--write", "new.toml"),
    (("substitute", "brief.toml", "mango butter"), "--csv", "new.csv"),
    (("substitute", "brief.toml", "mango butter"), "--chart", "new.png"),
    (("substitute", "brief.toml", "mango butter"), "--html", "new.html"),
    (("substitute", "brief.toml", "mango butter"), "--write", "new.csv"),
    (("texture", "brief.toml", "--step", "20"), "--csv", "new.csv"),
    (("texture", "brief.toml", "--step", "20"), "--chart", "new.svg"),
    (("texture", "brief.toml", "--step", "20"), "--html", "new.html"),
    (("texture", "brief.toml", "--step", "20"), "--write", "new.csv"),
    (("explore", "brief.toml"), "--csv", "new.csv"),
    (("explore", "brief.toml"), "--html", "new.html"),
    (("explore", "brief.toml", "--limit", "water phase", "--from", "38", "--to", "48"), "--chart", "new.svg"),
    (("sheet", "brief.toml"), "--html", "new.html"),
    (("weigh", "brief.toml"), "--csv", "new.csv"),
    (("weigh", "brief.toml"), "--html", "new.html"),
    (("from-label", "label.txt"), "--html", "new.html"),
    (("from-label", "label.txt"), "--csv", "new.csv"),
    (("declare", *FORMULA), "--csv", "new.csv"),
    (("declare", *FORMULA), "--html", "new.html"),
    (("batch", *FORMULA, "--making", "making.toml"), "--csv", "new.csv"),
    (("batch", *FORMULA, "--making", "making.toml"), "--html", "new.html"),
    (("costs", *FORMULA, "--costs", "costs.toml"), "--csv", "new.csv"),
    (("costs", *FORMULA, "--costs", "costs.toml"), "--html", "new.html"),
    (("costs", *FORMULA, "--costs", "costs.toml", "--jar-cost", "4.55"), "--write", "new.csv"),
    (("buy", "plan.toml", "--records", "."), "--csv", "new.csv"),
    (("buy", "plan.toml", "--records", "."), "--html", "new.html"),
    (("trial", "show", "--records", "."), "--html", "new.html"),
    (("trial", "show", "--records", "."), "--csv", "new.csv"),
    (("trial", "fit", "--records", ".", "--brief", "brief.toml"), "--csv", "new.csv"),
    (("check", *FORMULA), "--csv", "new.csv"),
    (("check", *FORMULA), "--html", "new.html"),
    (("compare", "today.csv", "hand_polish.csv", "--brief", "brief.toml"), "--csv", "new.csv"),
    (("compare", "today.csv", "hand_polish.csv", "--brief", "brief.toml"), "--html", "new.html"),
    (("ingredients", "shea"), "--csv", "new.csv"),
    (("ingredients", "shea"), "--html", "new.html"),
    (("rules", "charge"), "--csv", "new.csv"),
    (("rules", "charge"), "--html", "new.html"),
    (("stock", "--records", "."), "--csv", "new.csv"),
    (("stock", "--records", "."), "--html", "new.html"),
    (("stock", "versions", "--records", "."), "--csv", "new.csv"),
    (("stock", "versions", "--records", "."), "--html", "new.html"),
    (("stock", "batch", BATCH, "--records", "."), "--csv", "new.csv"),
    (("stock", "batch", BATCH, "--records", "."), "--html", "new.html"),
    (("trial", "fit", "--records", ".", "--brief", "brief.toml"), "--html", "new.html"),
    (("trial", "next", "brief.toml", *NEXT), "--csv", "new.csv"),
    (("trial", "next", "brief.toml", *NEXT), "--html", "new.html"),
    (("trial", "predict", "today.csv", "--records", ".", "--brief", "brief.toml"), "--csv", "new.csv"),
    (("trial", "predict", "today.csv", "--records", ".", "--brief", "brief.toml"), "--html", "new.html"),
    (("stock", "export", "--records", "."), "", "new.zip"),
]
IDS = [" ".join(filter(None, (*words[:1], words[1] if words[0] in ("trial", "stock") else "", option, name)))
       for words, option, name in OUTPUTS]  # fmt: skip
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


def saved(words: tuple[str, ...], option: str, name: str, *more: str) -> int:
    try:
        return main([*words, *filter(None, (option, name)), *more])
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
    of = {words: " ".join(words[:2]) if " ".join(words[:2]) in names else words[0] for words, _, _ in OUTPUTS}
    here = {(of[words], option) for words, option, _ in OUTPUTS if option}
    assert here == there
    assert all("--force" in parser._option_string_actions for name, parser in parsers(parser()) if name in dict(there))


@pytest.mark.parametrize(("words", "option", "name"), OUTPUTS, ids=IDS)
def test_nothing_of_the_demos_folder_is_written_over(
    shop: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], option: str, name: str
) -> None:
    before = contents(shop)
    assert {"records.db", "brief.toml", "making.toml", "workshop.csv", "today.csv", "label.txt"} <= set(before)
    for file in before:
        assert saved(words, option, file) == 2, file
        told = capsys.readouterr().err
        assert "Traceback" not in told
        assert file in told or Path(file).name in told, "the file is named"
    for file in ("records.db", "brief.toml", "costs.toml", "export.zip" if option else "label.txt"):
        assert saved(words, option, file, "--force") == 2, f"{file}, --force"
    assert contents(shop) == before, "and nothing beside them"
    assert saved(words, option, name) == 0
    assert set(contents(shop)) == {*before, name}
    assert kind_of((shop / name).read_bytes())


def test_force_replaces_a_file_of_the_same_kind_and_no_other(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    weigh = ("weigh", "brief.toml"), "--csv"
    assert saved(*weigh, "new.csv") == 0
    Path("new.csv").write_text(Path("new.csv").read_text().replace("1", "2"))
    before = contents(shop)
    others = [file for file, content in before.items() if kind_of(content) != kind_of(before["new.csv"])]
    assert set(before) - set(others) == {"new.csv"}
    for file in ("workshop/lots.csv", "hand_polish.csv", "label.txt", "export.zip", "costs.toml"):
        assert saved(*weigh, file, "--force") == 2, file
        told = capsys.readouterr().err
        assert any(words in told for words in ("another kind", "or the name of a table with", "a name that ends in"))
    assert contents(shop) == before
    assert saved(*weigh, "new.csv") == 2, "not without being asked to"
    assert "--force to replace it" in capsys.readouterr().err
    assert saved(*weigh, "new.csv", "--force") == 0
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
    assert "a name that ends in .html" in capsys.readouterr().err
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
