"""A shell that has the script completes commands, options, the words they allow, and files."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from optiform import cli
from optiform.commands.arguments.completion import PARTS, places, script
from optiform.commands.arguments.help import SHELLS, TOPICS
from optiform.commands.arguments.parser import commands_of

COMMANDS = commands_of(cli.parser())


def completed(folder: Path, line: str) -> list[str]:
    """What bash offers for the last word of a line, in a folder."""
    words = re.split(r"(?<!\\) ", line)
    (folder / "completion.bash").write_text(script("bash", COMMANDS), encoding="utf-8")
    asked = " ".join(f"$'{word}'" for word in (word.replace("\\", "\\\\") for word in words))
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
        ("optiform new --kind cream", ["cream\\ scrub"]),
        ("optiform new --kind whipped\\ f", ["whipped\\ foaming\\ base"]),
        ('optiform new --kind "body', ["body butter"]),
        ("optiform declare today.csv --market US-N", ["US-NY"]),
        ("optiform check today.csv --area f", ["face", "feet"]),
        ("optiform check today.csv --use l", ["leave-on"]),
        ("optiform check today.csv --basis ", ["base", "grams", "parts", "whole"]),
        ("optiform design brief.toml --part pr", ["preservation", "prices", "proof", "properties"]),
        ("optiform trial show --part r", ["readings"]),
        ("optiform stock versions --part ", ["versions"]),
        ("optiform trial read F-1 90 --condition c", ["cold\\ room"]),
        ("optiform schema desi", ["design"]),
        ("optiform schema brief", ["brief.toml"]),
        ("optiform guide w", ["words", "workbench"]),
        ("optiform rules carbomer-s", ["carbomer-salt"]),
        ("optiform substitute brief.toml glycerin --blend ", ["1", "2", "3"]),
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


def test_every_part_that_is_offered_is_one_of_a_telling() -> None:
    """That every part of the demo's answers is offered, tests/telling/test_words.py holds."""
    telling = Path(__file__).parents[2] / "optiform" / "telling"
    code = "".join(path.read_text(encoding="utf-8") for path in telling.glob("*.py"))
    offered = {part for parts in PARTS.values() for part in parts.split()} - {"the-furthest"}  # an option's name
    assert [part for part in sorted(offered) if f'"{part}"' not in code] == []


@pytest.mark.parametrize("shell", SHELLS)
def test_the_command_prints_the_script(shell: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["completion", shell]) == 0
    text = capsys.readouterr().out
    assert text == script(shell, COMMANDS) + "\n"
    assert [name for name in (*COMMANDS, *TOPICS, "receive", "predict") if name not in text] == []
    assert cli.main(["completion", shell, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["script"] == text.rstrip("\n")


#: Of a line, what fish and zsh offer, where they are installed.
WORDS = (
    ("optiform new --kind cr", "cream scrub"),
    ("optiform declare today.csv --market US-N", "US-NY"),
    ("optiform design brief.toml --part pro", "proof"),
    ("optiform schema bri", "brief.toml"),
    ("optiform guide own", "own-table"),
)


@pytest.mark.skipif(shutil.which("fish") is None, reason="fish is not installed here")
@pytest.mark.parametrize(("line", "expected"), WORDS)
def test_fish_completes_the_words_of_a_closed_list(folder: Path, line: str, expected: str) -> None:
    (folder / "script").write_text(script("fish", COMMANDS), encoding="utf-8")
    run = ["fish", "--no-config", "-c", f"source script; complete -C '{line}'"]
    done = subprocess.run(run, cwd=folder, capture_output=True, text=True, check=True)
    offered = [row.partition("\t")[0].replace("\\", "").strip("'\"") for row in done.stdout.splitlines()]
    assert expected in offered


@pytest.mark.skipif(shutil.which("zsh") is None, reason="zsh is not installed here")
@pytest.mark.parametrize(("line", "expected"), WORDS)
def test_zsh_completes_the_words_of_a_closed_list(folder: Path, line: str, expected: str) -> None:
    """What the script hands to zsh, which picks those that begin like the word."""
    (folder / "script").write_text(script("zsh", COMMANDS), encoding="utf-8")
    words = line.split(" ")
    ask = f"""
        compdef() {{ }}; _files() {{ }}; compadd() {{ print -l -- "${{(@P)2}}" }}
        source ./script
        words=({" ".join(words)}); CURRENT={len(words)}
        _optiform
    """
    done = subprocess.run(["zsh", "-f", "-c", ask], cwd=folder, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    assert expected in done.stdout.splitlines()


@pytest.mark.parametrize("shell", SHELLS)
def test_a_shell_that_is_here_reads_its_script(folder: Path, shell: str) -> None:
    """Bash is always here; the others where they are installed, so that the name of the test says what ran."""
    if shutil.which(shell) is None:
        pytest.skip(f"{shell} is not installed here: its script was not read by it")
    (folder / "script").write_text(script(shell, COMMANDS), encoding="utf-8")
    done = subprocess.run([shell, "-n", "script"], cwd=folder, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
