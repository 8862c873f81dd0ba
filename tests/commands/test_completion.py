"""A shell that has the script completes commands, options, the words they allow, and files."""

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from optiform import cli
from optiform.commands.arguments.completion import places, script
from optiform.commands.arguments.help import SHELLS, TOPICS
from optiform.commands.arguments.parser import commands_of

COMMANDS = commands_of(cli.parser())


def completed(folder: Path, line: str) -> list[str]:
    """What bash offers for the last word of a line, in a folder."""
    words = line.split(" ")
    (folder / "completion.bash").write_text(script("bash", COMMANDS), encoding="utf-8")
    asked = " ".join(f"'{word}'" for word in words)
    ask = f"""
        source ./completion.bash
        COMP_WORDS=({asked})
        COMP_CWORD={len(words) - 1}
        _optiform
        printf '%s\\n' "${{COMPREPLY[@]}}"
    """
    run = ["bash", "--norc", "--noprofile", "-c", ask]
    done = subprocess.run(run, cwd=folder, capture_output=True, text=True, check=True)
    assert done.stderr == ""
    return sorted(filter(None, done.stdout.splitlines()))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("brief.toml", "bread.csv", "today.csv"):
        (tmp_path / name).write_text("")
    return tmp_path


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("optiform des", ["design"]),
        ("optiform --v", ["--version"]),
        ("optiform design --wr", ["--write"]),
        ("optiform design br", ["bread.csv", "brief.toml"]),
        ("optiform design brief.toml --solver ", ["cbc", "highs"]),
        ("optiform design brief.toml --write to", ["today.csv"]),
        ("optiform check today.csv --brief bri", ["brief.toml"]),
        ("optiform stock rec", ["receive"]),
        ("optiform stock receive glycerin --reco", ["--records"]),
        ("optiform stock receive --expiry ", []),
        ("optiform guide own", ["own-table"]),
        ("optiform completion ", ["--help", "--json", "bash", "fish", "zsh"]),
        ("optiform buy --records bre", ["bread.csv"]),
    ],
)
def test_bash_completes(folder: Path, line: str, expected: list[str]) -> None:
    assert completed(folder, line) == expected


def test_every_command_is_offered_and_every_option_of_each(folder: Path) -> None:
    assert set(completed(folder, "optiform ")) == {*COMMANDS, "--help", "--version"}
    for place in places(COMMANDS)[1:]:
        offered = completed(folder, f"optiform {place.words} -")
        options = {*place.takes, *place.flags}
        assert {"--help", *offered} == options, place.words


def test_a_name_with_a_blank_is_one_name(folder: Path) -> None:
    (folder / "my brief.toml").write_text("")
    assert completed(folder, "optiform design my") == ["my brief.toml"]


@pytest.mark.parametrize("shell", SHELLS)
def test_the_command_prints_the_script(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["completion", shell]) == 0
    text = capsys.readouterr().out
    assert text == script(shell, COMMANDS) + "\n"
    assert [name for name in (*COMMANDS, *TOPICS, "receive", "predict") if name not in text] == []
    assert cli.main(["completion", shell, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["script"] == text.rstrip("\n")


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_that_is_here_reads_its_script(folder: Path, shell: str) -> None:
    """Bash is always here; the others where they are installed, so that the name of the test says what ran."""
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed here: its script was not read by it")
    (folder / "script").write_text(script(shell, COMMANDS), encoding="utf-8")
    done = subprocess.run([shell, "-n", "script"], cwd=folder, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
