"""What tellings around today's formula share: warnings of an option, and lines that the brief leaves out."""

from dataclasses import replace
from pathlib import Path
from typing import NoReturn

import pytest

from optiform.brief.file import read_brief
from optiform.brief.leftout import NoFigure
from optiform.design.texture import texture
from optiform.face.sources import demo
from optiform.ingredients import names
from optiform.reading.paths import DEMO
from optiform.review.answer import FormulaWarning
from optiform.telling import texture as of_texture
from optiform.telling.around import still, unit_of
from optiform.telling.facts import in_words
from optiform.telling.parts import Section, Sentence, Table, Telling
from optiform.telling.report import warning_sentences
from optiform.telling.terminal import terminal

NOTES = [FormulaWarning("texture", "note", f"It may grain {number}.", "usual-use") for number in "ab"]
MINDS = [FormulaWarning("dose", "mind", f"Much of it {number}.", "usual-use") for number in range(6)]


def telling(*warnings: FormulaWarning) -> Telling:
    option = Section("option-3", "Option 3", (Sentence("It changes 2 lines."), *warning_sentences(warnings)))
    return Telling("Cheaper", (option,), Table((), ()))


def test_the_part_that_the_count_names_tells_every_warning() -> None:
    short, whole = (terminal(t) for t in (telling(*NOTES).brief(), telling(*NOTES).only("option-3")))
    assert "2 warnings: --part option-3" in short
    assert "may grain" not in short
    assert "It may grain a." in whole
    assert "It may grain b." in whole
    assert "--part" not in whole


def test_more_is_said_only_beside_some() -> None:
    short = terminal(telling(*MINDS, *NOTES).brief())
    assert short.count("Much of it") == 5
    assert "3 more warnings: --part option-3" in short


def test_what_is_out_of_stock_and_stays_is_said() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    (sentence,) = still(brief, brief.reference)
    assert "mango butter (out of stock)" in sentence.text
    assert not list(still(replace(brief, left_out=()), brief.reference))


def test_the_unit_of_a_property_is_told_without_every_spelling_of_every_substance(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def refused() -> NoReturn:
        raise AssertionError("read for a name that is no ingredient")

    brief = demo()
    names.certain.cache_clear()
    monkeypatch.setattr(names, "spellings", refused)
    assert unit_of("polyunsaturated share", "%", brief) == "% of the fatty acids"
    assert unit_of("mango butter", "%", brief) == "% of the jar"


def test_one_figure_that_lacks_at_several_temperatures_is_named_once() -> None:
    wanted = (*(f"solid fat at {at} degC" for at in (10, 20, 35)), "iodine value", "structuring solids at 20 degC")
    words = "no figure for solid fat at 10, 20 and 35 degC, iodine value, structuring solids at 20 degC"
    assert in_words(NoFigure(wanted)) == words
    assert in_words(NoFigure(("cost",))) == "no figure for cost"


BUTTER = """title = "Whipped shea butter"
kind = "body butter"
markets = ["EU"]
batch = "1 kg"
own_files = ["shelf.csv"]
reference = "today.csv"
"""
SHELF = """ingredient,pack price (EUR),pack (kg),stock (kg)
"shea butter, refined",24,2,1.6
"sunflower oil, high oleic",4,1,2
cocoa butter,17.5,1,{there}
mixed tocopherols,12,0.1,0.1
"""
MADE = """ingredient,percent
"shea butter, refined",75.7
"sunflower oil, high oleic",24
mixed tocopherols,0.3
"""


def warned_options(folder: Path, there: float) -> set[str]:
    """The options of firmer that say themselves that too little cocoa butter is in stock; all of them bring it in."""
    folder.mkdir()
    for name, text in (("brief.toml", BUTTER), ("shelf.csv", SHELF.format(there=there)), ("today.csv", MADE)):
        (folder / name).write_text(text, encoding="utf-8")
    found = texture(read_brief(folder / "brief.toml"), 20.0)
    options = of_texture.choices(found)
    assert options
    assert all(course.formula.fraction("cocoa butter") for course in options.values())
    told = {name: of_texture.option(found, name).parts for name in options}
    return {
        name
        for name, parts in told.items()
        if any(isinstance(part, Sentence) and part.text.startswith("cocoa butter: the batch needs") for part in parts)
    }


def test_what_an_option_would_be_warned_of_stands_where_it_is_chosen(tmp_path: Path) -> None:
    assert warned_options(tmp_path / "none", 0) == {"option 1", "option 2"}
    assert not warned_options(tmp_path / "enough", 1)
