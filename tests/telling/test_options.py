"""Cheaper, substitute, texture and explore told: short, whole, in every renderer, with steps that work."""

import contextlib
import io
import re
import shlex
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from optiform.brief.file import read_brief
from optiform.cli import main
from optiform.commands import ANSWERED, BAD_INPUT, IMPOSSIBLE
from optiform.design.alternatives import Alternatives
from optiform.ingredients.formula import read_formula
from optiform.properties.firmness import firmness_band
from optiform.reading.paths import DEMO
from optiform.telling import cheaper as of_cheaper
from optiform.telling import substitute as of_substitute
from optiform.telling import texture as of_texture
from optiform.telling.document import document, fragment
from optiform.telling.explore import explore
from optiform.telling.frame import comma_separated, frame
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal
from tests.answers import (
    alternatives,
    cheaper,
    explore_limit,
    price_uncertainty,
    protect,
    substitute,
    texture,
)
from tests.telling.test_words import joined

pytestmark = pytest.mark.usefixtures("shared_answers")

LINES, WIDTH = 40, 90
COMMANDS = {
    "cheaper": ("cheaper brief.toml", ANSWERED),
    "substitute": ("substitute brief.toml 'mango butter'", ANSWERED),
    "firmer": ("texture brief.toml --step 20", ANSWERED),
    "too firm": ("texture brief.toml --step 400", IMPOSSIBLE),
    "too soft": ("texture brief.toml --step=-20", IMPOSSIBLE),
    "explore": ("explore brief.toml", ANSWERED),
    "limit": ("explore brief.toml --limit 'solid fat at 30 degC' --from 2 --to 15", ANSWERED),
    "prices": ("explore brief.toml --prices '15 %' --scenarios 300", ANSWERED),
    "protect": ("explore brief.toml --protect 1", ANSWERED),
    "protect all": ("explore brief.toml --protect", IMPOSSIBLE),
}
#: Words of the solver and of the first edition that no maker should have to read.
NEVER = re.compile(
    r"\b(gap|slackness|residual|duals?|basis|binding|rungs?|ladder|course|rivals?|swaps?|lognormal|regret|scenarios?"
    r"|phi_m|known how|asked of|degC|safe|stable|preserved|shelf life)\b"
)


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo, and we stand in it, in a window of 90 columns."""
    folder = Path(shutil.copytree(DEMO, tmp_path / "shop"))
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", str(WIDTH))
    return folder


def printed(line: str, code: int = ANSWERED) -> str:
    with contextlib.redirect_stdout(io.StringIO()) as out:
        assert main(shlex.split(line)) == code
    return out.getvalue()


@pytest.mark.parametrize(
    ("line", "code"),
    [
        pytest.param(*asked, id=name, marks=[pytest.mark.long] * (name in ("too firm", "too soft")))
        for name, asked in COMMANDS.items()
    ],
)
@pytest.mark.usefixtures("shop")
def test_the_short_answer_fits_a_screen_and_its_steps_work(line: str, code: int) -> None:
    out = printed(line, code)
    answer, _, following = joined(out).partition("\nNext\n")
    assert out.count("\n") <= LINES
    assert max(map(len, answer.splitlines())) <= WIDTH
    assert not NEVER.search(answer)
    steps = re.findall(r"optiform (.+)", following)
    assert steps or code == IMPOSSIBLE
    for step in steps:
        assert printed(step, code if "--html" in step else ANSWERED)


TELLINGS = {
    "cheaper": lambda brief: of_cheaper.cheaper(cheaper(brief)),
    "substitute": lambda brief: of_substitute.substitute(substitute(brief, ["mango butter"])),
    "firmer": lambda brief: of_texture.texture(texture(brief, 20)),
    "too firm": lambda brief: of_texture.texture(texture(brief, 400)),
    "steps": lambda brief: explore(brief.title, [explore_limit(brief, "water activity", "low", 0.7, 0.75)]),
    "explore": lambda brief: explore(
        brief.title,
        [
            explore_limit(brief, "solid fat at 30 degC", "low", 2, 15),
            alternatives(brief, 2),
            price_uncertainty(brief, 0.15, 200),
            protect(brief, 1),
            protect(brief),
        ],
    ),
}


@pytest.mark.parametrize("name", TELLINGS)
def test_every_renderer_tells_all_of_it(name: str) -> None:
    telling = TELLINGS[name](read_brief(DEMO / "brief.toml"))
    assert isinstance(telling, Telling)
    page, text = document(telling), terminal(telling, WIDTH)
    assert fragment(telling).count("<table>") == page.count("<table>") == len([t for t in telling.tables if t.rows])
    assert page.count("<svg") == len(telling.charts)
    assert len(frame(telling.table)) == len(telling.table.rows) == comma_separated(telling.table).count("\n") - 1
    whole = " ".join(text.split())
    for sentence in telling.sentences:
        assert " ".join(sentence.split()) in whole or len(sentence) > WIDTH - 10
    assert {*telling.brief().names} - {"more"} < {*telling.names}
    assert not NEVER.search(" ".join(telling.brief().sentences))


# -- figures -----------------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("shop")
def test_the_option_shown_is_the_one_with_the_fewest_changes_that_saves_four_fifths() -> None:
    answer = cheaper(read_brief(Path("brief.toml")))
    most = max(choice.saving for choice in answer.rungs)
    best = of_cheaper.rewarding(answer)
    assert answer.rungs[best - 1].saving >= 0.8 * most
    assert all(choice.saving < 0.8 * most for choice in answer.rungs[: best - 1])
    out = printed("cheaper brief.toml")
    assert f"Option {best} costs {answer.rungs[best - 1].cost:.3f} EUR/kg" in out
    assert f"{most:.3f} EUR/kg" in out


@pytest.mark.usefixtures("shop")
def test_of_a_single_option_none_is_said_to_be_the_best_of_them() -> None:
    answer = cheaper(read_brief(Path("brief.toml")))
    words = "saves most for each step of feel"
    assert words in " ".join(of_cheaper.cheaper(answer).sentences)
    assert words not in " ".join(of_cheaper.cheaper(replace(answer, rungs=answer.rungs[:1])).sentences)


@pytest.mark.parametrize(
    ("line", "number"),
    [
        ("cheaper brief.toml --saving 0", "5"),
        ("substitute brief.toml 'mango butter'", "2"),
        ("texture brief.toml --step 20", "3"),
    ],
)
def test_an_option_taken_along_is_the_one_that_was_told(shop: Path, line: str, number: str) -> None:
    out = printed(f"{line} --option {number} --write new.csv --csv table.csv")
    brief = read_brief(shop / "brief.toml")
    assert brief.reference is not None
    formula = read_formula(shop / "new.csv", brief.catalogue).formula
    before = brief.reference
    table = printed(f"{line} --part option-{number}")
    moved = [name for name in {x.ingredient.name for x in formula.lines} if name in table and "butter" not in name]
    for name in moved:
        if f"{100 * formula.fraction(name) - 100 * before.fraction(name):+.2f}" != "+0.00":
            assert f"{100 * formula.fraction(name):.2f}" in table
    assert "optiform batch new.csv --brief brief.toml" in out
    assert "--write" not in out


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("more", ["--option 99 --write new.csv", "--option 1", "--write new.lp", "--part nowhere"])
def test_an_option_that_is_not_there_is_refused(more: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(shlex.split(f"cheaper brief.toml {more}")) == BAD_INPUT
    assert "expected" in capsys.readouterr().err or capsys.readouterr().err is not None
    assert not Path("new.csv").exists()
    assert not Path("new.lp").exists()


@pytest.mark.long
def test_a_step_out_of_reach_says_how_far_it_goes(shop: Path) -> None:
    brief = read_brief(shop / "brief.toml")
    answer = texture(brief, -20)
    assert answer.furthest is not None
    assert brief.reference is not None
    band = firmness_band(answer.furthest.formula, brief.reference, 20.0)
    assert band is not None
    out = printed("texture brief.toml --step=-20", IMPOSSIBLE)
    assert f"just short of {band.typical:.0f} (could be {band.low:.0f} to {band.high:.0f})" in out, "80 is not 80"
    assert "Still in it, as in today's formula: mango butter (out of stock)" in out
    assert "In the way are:" in out
    assert answer.in_the_way
    step = re.search(r"As far as it goes +optiform (.+)", out)
    assert step is not None
    reached = texture(brief, float(step[1].rpartition("=")[2]))
    assert reached.courses
    assert reached.wanted >= band.typical - 1e-9
    assert reached.wanted - band.typical <= 1.0


@pytest.mark.usefixtures("shop")
def test_what_is_told_of_the_options_is_all_of_each() -> None:
    """Also a line that could move, and is the same in all options that are told."""
    answer = alternatives(read_brief(DEMO / "brief.toml"), 2)
    assert isinstance(answer, Alternatives)
    answer = replace(answer, leeway=tuple(replace(row, low=0.0, high=100.0) for row in answer.leeway))
    told = terminal(explore("Foot polish", [answer]).brief(), 300)
    names = {line.ingredient.name for option in answer.options for line in option.formula.lines}
    assert {name for name in names if name not in told} == set()


@pytest.mark.usefixtures("shop")
def test_what_explore_saves_holds_a_table_for_each_answer() -> None:
    printed("explore brief.toml --within '2 %' --protect 1 --csv all.csv --html all.html")
    text = Path("all.csv").read_text(encoding="utf-8")
    assert "% of the jar,least,best,most" in text
    assert "unprotected could be" in text
    assert Path("all.html").read_text(encoding="utf-8").startswith("<!doctype html>")
