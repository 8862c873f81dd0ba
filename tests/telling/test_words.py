"""Words of solvers and of this project's own making that no maker reads, against what every command says by default."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from optiform import cli
from optiform.commands.arguments.completion import PARTS
from optiform.commands.arguments.parser import commands_of
from optiform.reading.demo import copy_demo
from tests.dates import ANY_DAY
from tests.every import every

if TYPE_CHECKING:
    from tests.telling.conftest import Said

#: What may not reach a maker, as patterns; each is a whole word unless it says otherwise.
FORBIDDEN = (
    "gaps?", "slack(?:ness)?", "residuals?", "duals?", "bas[ei]s of the program", "(?<!-)basis", "binding", "rungs?",
    "courses?", "rivals?", "lognormal", "phi_m", "known how", "asked", "none of them known", "pinned", "swaps?",
    "incumbent", "feasible", "infeasible", "objective", "shadow price", "reduced cost", "degC", "ladder", "kept how",
    "vertex", "simplex", "tolerance", "what came of it", "to mind", "law as on",
)  # fmt: skip

#: Every command, run on the demo one after the other; those that answer together count under one name. What changes the
#: records comes last: then plans are the questions that others ask of the demo (tests/answers.py).
LINES = {
    "design": "design brief.toml --write new.csv",
    "impossible": "design tight.toml",
    "why not": 'design brief.toml --why-not "cocoa butter"',
    "why not mine": "design brief.toml --why-not today.csv",
    "new": 'new begun.toml --kind "body butter" --market EU',
    "cheaper": "cheaper brief.toml",
    "cheaper in small steps": "cheaper brief.toml --most-change '1 %'",
    "substitute": 'substitute brief.toml "mango butter" --blend 1',
    "substitute a surfactant": 'substitute brief.toml "cocamidopropyl betaine, 30 %"',
    "texture": "texture brief.toml --step 20",
    "texture out of reach": "texture brief.toml --step 400",
    "explore": "explore brief.toml",
    "explore unlike": "explore brief.toml --unlike 4",
    "explore price lists": "explore brief.toml --price-lists seasons.csv",
    "explore limit": 'explore brief.toml --limit "active surfactant" --from 2.5 --to 4',
    "explore prices": 'explore brief.toml --prices "15 %"',
    "explore protect": "explore brief.toml --protect 1",
    "explore protect all": "explore brief.toml --protect",
    "explore a bend": 'explore brief.toml --limit "water activity" --from 0.72 --to 0.76 --side high',
    "one more": "design brief.toml --one-more",
    "sheet": "sheet brief.toml --html sheet.html",
    "weigh": "weigh brief.toml --most 13",
    "weigh today": "weigh brief.toml --formula today.csv",
    "check": "check today.csv --brief brief.toml",
    "compare": "compare today.csv new.csv --brief brief.toml",
    "from-label": "from-label label.txt",
    "ingredients": "ingredients shea butter, refined",
    "rules": "rules carbomer-salt",
    "rules all": "rules",
    "rules search": "rules preservative",
    "watch": "check . --on 2099-01-01 --brief brief.toml",
    "ingredients search": "ingredients shea",
    "ingredients resolve": "ingredients --resolve E415 glycerine",
    "ingredients validate": "ingredients --validate workshop.csv",
    "stock import": "stock import workshop --records .",
    "stock": "stock",
    "stock versions": "stock versions",
    "stock batch": "stock batch Q26-044",
    "batch": "batch --brief brief.toml",
    "batch making": "batch new.csv --brief brief.toml --making making.toml --jars 26",
    "batch records": "batch --brief brief.toml --records .",
    "batch short of lots": "batch --brief brief.toml --records . --jars 900",
    "batch short of lots, parts": "batch --brief brief.toml --records . --making making.toml --jars 900",
    "declare": "declare new.csv --brief brief.toml --market EU",
    "costs": "costs new.csv --brief brief.toml --costs costs.toml",
    "costs hit": "costs today.csv --brief brief.toml --costs costs.toml --jar-cost 4.55",
    "buy": "buy plan.toml --records .",
    "cliffs": "buy plan.toml --records . --cliffs",
    "range": "range plan.toml --records .",
    "range using up": 'range plan.toml --records . --use-up "shea butter, refined"',
    "range on one base": "range plan.toml --records . --common-base --costs costs.toml",
    "trial show": "trial show",
    "trial fit": "trial fit --brief brief.toml",
    "trial predict": 'trial predict new.csv --brief brief.toml --at "10 degC"',
    "trial next": 'trial next brief.toml --ask "firmness at 10 degC" --most 140',
    "trial between": "trial between brief.toml F-2 F-3 --firmness 100",
    "stock receive": 'stock receive "mango butter" "3 kg"',
    "demo": "demo",
    "guide": "guide how-sure",
    "completion": "completion bash",
    "schema": "schema",
}

#: Lines that no formula answers.
BEYOND = ("impossible", "texture out of reach", "explore protect all")


def copy_for_lines(folder: Path) -> None:
    """The demo's files, and those besides that the lines name."""
    copy_demo(folder, ANY_DAY)
    brief = (folder / "brief.toml").read_text(encoding="utf-8")
    salty = brief.replace(
        '"undissolved salt at 20 degC" = { low = "20 %", high = "26 %" }', '"grains" = { low = "70 %" }'
    )
    (folder / "tight.toml").write_text(salty, encoding="utf-8")
    (folder / "seasons.csv").write_text("ingredient,winter,summer\nglycerin,3.20,9\n", encoding="utf-8")


def joined(text: str) -> str:
    """Commands on one line, as a shell joins those that end in a backslash."""
    return re.sub(r" \\\n +", " ", text)


def forbidden(text: str) -> list[str]:
    """The forbidden words that stand in a text, as they stand there."""
    flat = " ".join(text.split())
    return sorted({found for word in FORBIDDEN for found in re.findall(rf"\b{word}\b", flat, flags=re.IGNORECASE)})


@pytest.fixture
def outputs(said: "Said") -> dict[str, str]:
    """What each line says by default, on both streams."""
    return said.texts


@every("name", LINES)
def test_a_command_says_none_of_the_words(outputs: dict[str, str], name: str) -> None:
    assert forbidden(outputs[name]) == []


@every("name", LINES)
def test_a_shell_offers_every_part_of_an_answer(said: "Said", name: str) -> None:
    """But options and products that are numbered, and what is told without parts."""
    words = LINES[name].split()
    offered = PARTS.get(" ".join(words[:2])) or PARTS.get(words[0], "")
    names = said.tellings[name].names if name in said.tellings else ()
    told = {part for part in names if re.search(r"-\d+$", part) is None} - {"saved", "records"}
    assert told <= {*offered.split()}


@every("name", [name for name in LINES if name != "completion"])
def test_a_command_says_its_answer_in_forty_lines_of_ninety(outputs: dict[str, str], name: str) -> None:
    """A script for a shell is no answer; a command line that is longer than the window goes on behind a backslash."""
    lines = outputs[name].splitlines()
    assert len(lines) <= (45 if name == "demo" else 40), outputs[name]
    assert [line for line in lines if len(line) > 90] == []


def test_every_command_is_listened_to() -> None:
    assert {line.split()[0] for line in LINES.values()} == set(commands_of(cli.parser())) - {"app"}


def test_the_words_are_found_where_they_stand() -> None:
    assert forbidden("a Gap of 3\nand what is known\nhow, phi_m") == ["Gap", "known how", "phi_m"]
    assert forbidden("gapless, task, dualism, singular") == []


def test_no_word_of_the_list_stands_in_readme_or_guide() -> None:
    from optiform.reading.paths import GUIDE

    texts = [*GUIDE.iterdir(), Path(__file__).parents[2] / "README.md"]
    prose = {
        path.name: re.sub(r"`[^`]*`|```.*?```|^    .*$", "", path.read_text(), flags=re.S | re.M) for path in texts
    }
    assert {name: found for name, text in prose.items() if (found := forbidden(text))} == {}


def test_what_no_calculation_settles_is_said_in_one_wording() -> None:
    from optiform.reading.paths import GUIDE
    from optiform.telling.declare import DRAFT
    from optiform.telling.report import NOT_A_RELEASE

    places = (GUIDE / "how-sure.md", Path(__file__).parents[2] / "README.md")
    assert [path.name for path in places if NOT_A_RELEASE not in path.read_text(encoding="utf-8")] == []
    assert NOT_A_RELEASE in DRAFT
