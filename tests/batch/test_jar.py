"""What a jar of so many mL holds."""

from dataclasses import replace

import pytest

from optiform.batch.batch import batch_sheet
from optiform.batch.jar import JarContent, jar_content
from optiform.batch.making import Making
from optiform.brief.file import read_brief
from optiform.ingredients.formula import mixed
from optiform.properties.registry import find_property
from optiform.reading.paths import DEMO
from optiform.telling.jar import holds
from tests.builders import ingredient


def words(jar: JarContent) -> str:
    return " ".join(sentence.text for sentence in holds(jar))


def test_density_is_a_property_that_a_brief_can_limit() -> None:
    halves = mixed({"water": 1, "sea salt, fine": 1})
    figures = [line.ingredient.density for line in halves.lines]
    volume = sum(0.5 / value.figure for value in figures if value)
    assert find_property("density", "EUR").of(halves) == pytest.approx(1 / volume)


def test_the_maker_s_cup_goes_before_what_is_worked_out() -> None:
    formula = mixed({"shea butter, refined": 70, "sunflower oil": 30})
    usual, own = jar_content(formula, "body butter", 250.0), jar_content(formula, "body butter", 250.0, cup=60.0)
    assert "without air" in words(usual)
    assert "Whipped, they usually hold 162 g (120 to 200" in words(usual)
    assert words(own).startswith("250 mL hold 150 g by your own cup")
    assert "usually" not in words(own)


def test_a_density_that_is_not_known_is_told_as_such() -> None:
    unknown = ingredient("unknown", 1.0, "oil")
    formula = replace(mixed({"water": 1}), lines=(replace(mixed({"water": 1}).lines[0], ingredient=unknown),))
    assert jar_content(formula, "", 100.0).without_air is None
    assert "not known" in words(jar_content(formula, "", 100.0))


def test_a_batch_sheet_tells_it_where_the_file_gives_the_volume() -> None:
    brief = read_brief(DEMO / "brief.toml")
    assert brief.reference is not None
    sheet = batch_sheet(brief.reference, brief, Making(volume=200.0, cup=120.0))
    assert sheet.content is not None
    assert sheet.content.by_cup == pytest.approx(240.0)
    assert batch_sheet(brief.reference, brief).content is None
