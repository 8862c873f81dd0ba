"""optiform from-label: the way from a label to a formula, and on to a brief."""

import shlex
from pathlib import Path

import pytest

from optiform.cli import main
from optiform.reading.paths import DEMO

Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "label.txt").write_bytes((DEMO / "label.txt").read_bytes())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_next_step_works_as_printed_and_ends_in_a_brief(here: Path, capsys: Captured) -> None:
    assert main(["from-label", "label.txt", "--market", "EU"]) == 0
    lines = capsys.readouterr().out.partition("\nNext\n")[2].splitlines()
    steps = [shlex.split(line[line.index("optiform ") :])[1:] for line in lines if "optiform " in line]
    assert [step[0] for step in steps] == ["from-label", "check", "new"]
    for step in steps:
        assert main(step) == 0, step
    assert 'kind = "cream scrub"' in (here / "brief.toml").read_text(encoding="utf-8")


def test_what_is_saved_is_called_a_middle_and_no_recipe(capsys: Captured) -> None:
    assert main(["from-label", "label.txt", "--write", "middle.csv"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "a middle of what the label allows, and no recipe" in out
    assert "Ethylhexylglycerin (0.076 % of the jar)" in out
    assert "--write" not in out


def test_a_label_of_unknown_names_saves_nothing_and_says_why(here: Path, capsys: Captured) -> None:
    (here / "label.txt").write_text("Moon Dust, Star Dust", encoding="utf-8")
    assert main(["from-label", "label.txt", "--write", "middle.csv"]) == 2
    assert "No ingredient known here" in capsys.readouterr().err
    assert not (here / "middle.csv").exists()
