"""A slip on the command line is told in a sentence, with what was probably meant."""

import json
import shlex
import shutil
from contextlib import suppress
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.commands.arguments.help import TOPICS
from optiform.reading.faults import COMMAND_LINE

CAPTURE = pytest.CaptureFixture[str]


def refused(capsys: CAPTURE, *words: str) -> str:
    """The first line of what is said of these arguments."""
    with pytest.raises(SystemExit) as left:
        main(list(words))
    assert left.value.code == 2
    first, where = capsys.readouterr().err.splitlines()
    assert where.startswith("For what it takes: optiform ")
    assert where.endswith(" --help")
    return first


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("desgin", "brief.toml"), "There is no command desgin. Did you mean design?"),
        (("stock", "recieve", "glycerin"), "There is no command recieve. Did you mean receive?"),
        (("weather",), "There is no command weather."),
        (("design",), "BRIEF is missing. Write for instance: optiform design brief.toml"),
        (
            ("costs",),
            "--brief and --costs are missing. Write for instance: optiform costs --brief brief.toml --costs costs.toml",
        ),
        (("trial",), "ACTION is missing. Write one of: log, read, show, fit, predict, next, between."),
        (("explore", "brief.toml", "--form", "3"), "There is no option --form here. Did you mean --from?"),
        (("design", "brief.toml", "--weather"), "There is no option --weather here."),
        (
            ("check", "a.csv", "b.csv"),
            "“b.csv” is one word too many: optiform check takes FORMULA and nothing else. A name of several words "
            "stands in quotes.",
        ),
        (("demo", "--all", "--part", "law"), "--part does not go with --all. Take one of the two out."),
        (("batch", "--jars"), "--jars needs a value after it."),
        (("batch", "--jars", "1.5"), "--jars: “1.5” does not go here. Write a whole number of jars."),
        (("design", "brief.toml", "--solver", "x"), "--solver: “x” is not known here. Write one of: highs, cbc."),
        (("guide", "weather"), "TOPIC: “weather” is not known here. Write one of: brief, words, own-table, "),
    ],
)
def test_a_slip(capsys: CAPTURE, words: tuple[str, ...], told: str) -> None:
    said = refused(capsys, *words)
    assert said.startswith(told) if told.endswith(" ") else said == told


@pytest.mark.parametrize(
    ("line", "told"),
    [
        (
            "design today.csv",
            "such as brief.toml. To look at it as a formula: `optiform check today.csv`.",
        ),
        ('explore brief.toml --limit "oil phase"', '--limit needs the range to look at: --limit "oil phase" --from '),
        (
            "new x.toml --kind zebra",
            "`optiform guide brief` lists the kinds there are. If it is none of them, leave the kind out, and ",
        ),
        ("weigh brief.toml --most 0", "--most: 0 is not allowed here. It must be 1 or more."),
        ("costs today.csv --brief brief.toml --costs costs.toml --jars -3", "--jars: -3 is not allowed here. It "),
        ("trial next brief.toml --records . --ask 90", 'a question such as "firmness at 10 °C".'),
        ("stock --kg 30", "There is no option --kg here."),
        (
            "stock --records . 30",
            "“30” is nothing that optiform stock can do. It can: receive, use, correct, packaging, versions, "
            "save, batch, export, import.",
        ),
        ('stock use L999 "1 kg" --reason x --records .', "There is no lot and no ingredient “L999”. `optiform stock` "),
        (
            'stock receive glycrin "5 kg" --records .',
            "Did you mean glycerin? One of your own table is ",
        ),
    ],
)
def test_what_is_wrong_with_a_file_or_a_word_is_told_with_what_to_write(
    demo_with_records: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: CAPTURE, line: str, told: str
) -> None:
    monkeypatch.chdir(shutil.copytree(demo_with_records, tmp_path / "demo"))
    with suppress(SystemExit):
        assert main(shlex.split(line)) == 2
    assert told in capsys.readouterr().err


def test_records_that_are_not_there_are_told_with_every_command_that_makes_them(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: CAPTURE
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["stock"]) == 2
    told = capsys.readouterr().err
    for command in ("import --help", "receive glycerin '1 kg' --records .", "save --help"):
        assert f"`optiform stock {command}" in told


def test_a_saved_version_makes_the_records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("today.csv").write_text("ingredient,percent\nbeeswax,100\n", encoding="utf-8")
    words = ("--product", "balm", "--name", "one", "--reason", "why")
    assert main(["stock", "save", "today.csv", *words, "--records", "."]) == 0
    assert Path("records.db").is_file()


def test_place_reading_and_expectation_stay_in_json(capsys: CAPTURE) -> None:
    with pytest.raises(SystemExit):
        main(["desgin", "--json"])
    (fault,) = json.loads(capsys.readouterr().out)["faults"]
    assert (fault["file"], fault["place"], fault["read"]) == (COMMAND_LINE, "COMMAND", "'desgin'")
    assert "design, cheaper, " in fault["expected"]


def test_the_old_name_of_an_option_is_read_and_the_new_one_said(capsys: CAPTURE) -> None:
    for words in (["--workshop", "nowhere"], ["--workshop=nowhere"]):
        assert main(["stock", *words]) == 2
        said = capsys.readouterr().err
        assert said.startswith("--workshop is now called --records; the old name is read for one version more.\n")
        assert "nowhere" in said
    assert main(["stock", "--records", "nowhere"]) == 2
    assert "now called" not in capsys.readouterr().err


def test_the_old_name_of_an_action_is_read_and_the_new_one_said(capsys: CAPTURE) -> None:
    line = ["today.csv", "--product", "polish", "--name", "one", "--reason", "why", "--records", "nowhere"]
    assert main(["stock", "keep", *line]) == 2
    said = capsys.readouterr().err
    assert said.startswith("keep is now called save; the old name is read for one version more.\n")
    assert main(["stock", "save", *line]) == 2
    assert said.endswith(capsys.readouterr().err)


@pytest.mark.parametrize(
    ("command", "topic"), [("design", "brief"), ("batch", "making"), ("costs", "costs"), ("range", "buying")]
)
def test_help_names_the_topic_of_the_guide_that_shows_each_file(capsys: CAPTURE, command: str, topic: str) -> None:
    with pytest.raises(SystemExit):
        main([command, "--help"])
    assert f"optiform guide {topic}" in " ".join(capsys.readouterr().out.split())
    assert topic in TOPICS
