"""What tellings around today's formula share: warnings of an option, and lines that the brief leaves out."""

from dataclasses import replace
from typing import NoReturn

import pytest

from optiform.brief.file import read_brief
from optiform.brief.leftout import NoFigure
from optiform.face.sources import demo
from optiform.ingredients import names
from optiform.reading.paths import DEMO
from optiform.review.answer import FormulaWarning
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
