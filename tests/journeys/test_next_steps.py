"""Next steps go on from the answer shown, and documents say of which formula they are.

That every step runs as it is printed, tests/journeys/test_printed_commands.py holds.
"""

import re
import shlex
import shutil
from html import unescape
from pathlib import Path

import pytest

from optiform import cli
from optiform.commands import ANSWERED
from tests.telling.test_words import joined

pytestmark = pytest.mark.usefixtures("shared_answers")

MINE, TODAY = "new (new.csv), not today's formula", "today (today.csv), today's formula"


def printed(text: str) -> list[str]:
    """The command lines in a text; what stands before two blanks or a colon says what each is for."""
    return [line.strip() for line in re.findall(r"(?:^|  |: )\s*(optiform [^\n]*)", joined(text), flags=re.MULTILINE)]


def run(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line as a shell would run it, `&& cd` included."""
    command, _, folder = line.partition(" && cd ")
    assert cli.main(shlex.split(command)[1:]) == ANSWERED, line
    if folder:
        monkeypatch.chdir(folder)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's copy, and its best formula kept as new.csv; for tests to copy."""
    folder = tmp_path_factory.mktemp("made")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        run("optiform demo --copy shop && cd shop", patch)
        run("optiform design brief.toml --write new.csv", patch)
    return folder / "shop"


@pytest.fixture
def shop(made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of it; we stand in it."""
    monkeypatch.chdir(shutil.copytree(made, tmp_path / "shop"))
    return tmp_path / "shop"


def test_a_batch_that_is_kept_prints_the_step_that_ends_it(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run("optiform stock import workshop --records .", monkeypatch)
    lines = [
        "optiform stock save new.csv --product 'salt and oat foot polish' --name winter --parent today --reason cost",
        "optiform batch new.csv --brief brief.toml --records . --record 'Q 26-050'",
    ]
    for line in lines:
        run(line, monkeypatch)
    (step,) = printed(capsys.readouterr().out)
    assert step == "optiform stock batch 'Q 26-050' --actual \"4000 g\" --rejected 0"
    run(step, monkeypatch)
    assert "Q 26-050" in capsys.readouterr().out
    monkeypatch.chdir(shop.parent)
    run("optiform batch shop/new.csv --brief shop/brief.toml --records shop --batch '500 g' --record R-1", monkeypatch)
    (step,) = printed(capsys.readouterr().out)
    assert step.endswith("--records shop")
    run(step, monkeypatch)


DOCUMENTS = {
    "batch {formula} --brief brief.toml --html page.html": "batch",
    "costs {formula} --brief brief.toml --costs costs.toml --html page.html": "costs",
    "declare {formula} --brief brief.toml --html page.html": "declare",
}


@pytest.mark.parametrize("line", DOCUMENTS)
@pytest.mark.parametrize(("formula", "words"), [("new.csv", MINE), ("today.csv", TODAY)])
@pytest.mark.usefixtures("shop")
def test_a_document_says_first_which_formula_it_is_of(
    line: str, formula: str, words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    run(f"optiform {line.format(formula=formula)}", monkeypatch)
    assert words in " ".join(capsys.readouterr().out.split("\n\n")[0].split())
    page = unescape(re.sub("<style.*?</style>|<[^>]*>", " ", Path("page.html").read_text("utf-8"), flags=re.DOTALL))
    assert words in " ".join(page.split())[:600]


@pytest.mark.usefixtures("shop")
def test_without_a_formula_named_the_document_says_that_it_is_todays(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for line in ("optiform batch --brief brief.toml", "optiform costs --brief brief.toml --costs costs.toml"):
        capsys.readouterr()
        run(line, monkeypatch)
        assert TODAY in " ".join(capsys.readouterr().out.split("\n\n")[0].split())


@pytest.mark.usefixtures("shop")
def test_a_purchase_plan_says_of_which_formulas_it_is(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    run("optiform stock import workshop --records .", monkeypatch)
    capsys.readouterr()
    run("optiform buy plan.toml --records . --html page.html", monkeypatch)
    first = " ".join(" ".join(capsys.readouterr().out.split("\n\n")[:2]).split())
    page = unescape(re.sub("<style.*?</style>|<[^>]*>", " ", Path("page.html").read_text("utf-8"), flags=re.DOTALL))
    for words in (TODAY, "hand_polish (hand_polish.csv), not today's formula"):
        assert words in first
        assert words in " ".join(page.split())[:800]
