"""A share below 1 without a sign is read as per cent, and told where a fraction may have been meant."""

from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.cli import main
from optiform.reading import run

BRIEF = """
kind = "cream scrub"
candidates = ["water", "glycerin", "shea butter, refined", "cetearyl alcohol", "sea salt, fine", "fragrance oil"]
missing = "leave out"
[goal]
highest = "water"
"""


def notes(folder: Path, text: str, kind: str = "cream scrub") -> list[str]:
    path = folder / "brief.toml"
    path.write_text(BRIEF.replace("cream scrub", kind) + text, encoding="utf-8")
    with run.begun() as noted:
        read_brief(path)
    assert all(file == str(path) for file, _ in noted.notes)
    return [words for _, words in noted.notes]


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        ('"oil phase" = { low = 0.2 }', ["low: 0.2 is read as 0.2 %; write 20 % if you meant that"]),
        ('"oil phase" = { low = "0.2" }', ["low: 0.2 is read as 0.2 %; write 20 % if you meant that"]),
        ('"oil phase" = { low = "0,25" }', ["low: 0.25 is read as 0.25 %; write 25 % if you meant that"]),
        ('"oil phase" = { low = 0.2, high = 0.3 }', [
            "low: 0.2 is read as 0.2 %; write 20 % if you meant that",
            "high: 0.3 is read as 0.3 %; write 30 % if you meant that",
        ]),
        ('"oil phase" = { low = "0.2 %" }', []),
        ('"oil phase" = { low = "20 %" }', []),
        ('"oil phase" = { low = 20 }', []),
        ('"oil phase" = { low = 0 }', []),
        ('"oil phase" = { high = 1 }', []),
        ('"solid fat at 20 degC" = { high = 0.5 }',
         ["high: 0.5 is read as 0.5 %; write 50 % if you meant that"]),
        ('"share of butter" = { low = 0.2 }', ["low: 0.2 is read as 0.2 %; write 20 % if you meant that"]),
        ('"hlb of the emulsifiers" = { low = 0.5 }', []),
    ],
)  # fmt: skip
def test_a_limit(tmp_path: Path, limit: str, told: list[str]) -> None:
    place = limit.split('"')[1]
    assert notes(tmp_path, f"[limits]\n{limit}\n") == [f"[limits] {place}, {words}" for words in told]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ('"shea butter, refined" = 0.2', [": 0.2 is read as 0.2 %; write 20 % if you meant that"]),
        ('"glycerin" = { high = 0.05 }', [", high: 0.05 is read as 0.05 %; write 5 % if you meant that"]),
        ('"fragrance oil" = 0.6', []),
        ('"glycerin" = { high = "0.05 %" }', []),
    ],
)  # fmt: skip
def test_a_line_unless_so_little_of_it_is_usual(tmp_path: Path, line: str, told: list[str]) -> None:
    place = line.split('"')[1]
    assert notes(tmp_path, f"[lines]\n{line}\n") == [f"[lines] {place}{words}" for words in told]


def test_a_small_share_that_is_usual_in_the_kind_is_not_told(tmp_path: Path) -> None:
    limits = '[limits]\n"share of preservative" = { high = 0.9 }\n"share of oil" = { high = 0.9 }\n'
    told = notes(tmp_path, limits, "lotion")
    assert told == ["[limits] share of oil, high: 0.9 is read as 0.9 %; write 90 % if you meant that"]


def test_the_command_line_tells_it_and_answers(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "brief.toml"
    path.write_text(f'{BRIEF}[limits]\n"water" = {{ high = 0.4 }}\n')
    main(["design", str(path), "--json"])
    out, errors = capsys.readouterr()
    assert "0.4 is read as 0.4 %; write 40 % if you meant that" in errors
    assert "0.4 is read" not in out


def test_it_is_told_with_faults_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "own.csv").write_bytes("ingredient;price\nkarit\xe9;4 EUR/kg\n".encode("cp1252"))
    assert main(["ingredients", "--own", str(tmp_path / "own.csv"), "x"]) == 2
    errors = capsys.readouterr().err
    assert "cp1252" in errors
    assert "A new ingredient also needs" in errors
