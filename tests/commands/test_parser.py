"""A slip on the command line is told in a sentence, with what was probably meant."""

import json

import pytest

from optiform.cli import main

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
        (("design",), "BRIEF is missing."),
        (("trial",), "ACTION is missing. Write one of: log, read, show, fit, predict, next, between."),
        (("explore", "brief.toml", "--form", "3"), "There is no option --form here. Did you mean --from?"),
        (("design", "brief.toml", "--weather"), "There is no option --weather here."),
        (("check", "a.csv", "b.csv"), "“b.csv” is more than this command takes."),
        (("batch", "--jars"), "--jars needs a value after it."),
        (("batch", "--jars", "1.5"), "--jars: “1.5” does not go here. Write a whole number of jars."),
        (("design", "brief.toml", "--solver", "x"), "--solver: “x” is not known here. Write one of: highs, cbc."),
        (("guide", "weather"), "TOPIC: “weather” is not known here. Write one of: brief, words, own-table, "),
    ],
)
def test_a_slip(capsys: CAPTURE, words: tuple[str, ...], told: str) -> None:
    said = refused(capsys, *words)
    assert said.startswith(told) if told.endswith(" ") else said == told


def test_place_reading_and_expectation_stay_in_json(capsys: CAPTURE) -> None:
    with pytest.raises(SystemExit):
        main(["desgin", "--json"])
    (fault,) = json.loads(capsys.readouterr().out)["faults"]
    assert (fault["file"], fault["place"], fault["read"]) == ("command line", "COMMAND", "'desgin'")
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
