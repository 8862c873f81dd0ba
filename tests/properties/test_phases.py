"""Shares by phase and function, on a formula whose shares are plain to see."""

import numpy as np
import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.properties.phases import count_ingredients, find
from optiform.properties.registry import find_property
from optiform.telling.facts import in_words
from tests.builders import ingredient

WATER = ingredient("water", 0, "water")
OIL = ingredient("oil", 8, "oil")
BUTTER = ingredient("butter", 9, "butter")
SALT = ingredient("salt", 1, "grain")
SCENT = ingredient("scent", 90, "fragrance", phase="cool-down")
SHARES = ((WATER, 0.49), (OIL, 0.2), (BUTTER, 0.1), (SALT, 0.2), (SCENT, 0.01))
FORMULA = Formula("f", tuple(Line(item, share, item.phase) for item, share in SHARES))


@pytest.mark.parametrize(
    ("words", "value"),
    [
        ("water phase", 49),
        ("oil phase", 30),
        ("cool-down", 1),
        ("grains", 20),
        ("share of butter", 10),
        ("share of oil and butter", 30),
        ("share of silicone", 0),
        ("share of butter in the base", 12.5),  # 10 of 80
        ("grains per 100 of base", 25),  # 20 on 80
    ],
)
def test_shares_by_hand(words: str, value: float) -> None:
    assert find_property(words, "EUR").of(FORMULA) == pytest.approx(value)


def test_the_phase_of_the_line_counts_not_the_usual_one() -> None:
    moved = Formula("f", (Line(WATER, 0.9, "water phase"), Line(OIL, 0.1, "cool-down")))
    assert find_property("oil phase", "EUR").of(moved) == 0
    assert find_property("cool-down", "EUR").of(moved) == pytest.approx(10)


def test_an_ingredient_counts_under_its_first_function_only() -> None:
    both = ingredient("both", 5, "emulsifier")
    two = type(both)("both", ("emulsifier", "fatty alcohol"), "oil phase")
    alone = Formula("f", (Line(two, 1.0, "oil phase"),))
    assert find_property("share of emulsifier", "EUR").of(alone) == 100
    assert find_property("share of fatty alcohol", "EUR").of(alone) == 0


def test_grains_alone_have_no_base() -> None:
    alone = Formula("f", (Line(SALT, 1.0, "grains"),))
    assert find_property("grains per 100 of base", "EUR").of(alone) is None
    assert find_property("share of butter in the base", "EUR").of(alone) is None


def test_the_count_leaves_out_what_is_not_used() -> None:
    assert count_ingredients(np.array([0.5, 0.0, 1e-12, 0.5])) == 2


@pytest.mark.parametrize("words", ["share of", "share of moonlight", "share of butter in the bath", "phase", ""])
def test_words_of_another_family_are_left_to_it(words: str) -> None:
    assert find(words) is None


@pytest.mark.parametrize(
    "name", ["grains per 100 of base", "emulsifier per 100 of oil phase", "melted oil per 100 of solids at 35 degC"]
)
def test_what_is_per_hundred_of_something_else_is_in_parts(name: str) -> None:
    assert find_property(name, "EUR").unit == "parts"


def test_what_counts_as_butter_and_as_the_rest_of_the_oil_phase_is_said() -> None:
    """Each ingredient of the tables that is called an oil and counts as a butter is named, palm kernel as palm."""
    note = in_words(find_property("share of butter", "EUR").note)
    oils = [i.name for i in read_catalogue().ingredients.values() if i.functions[0] == "butter" and "oil" in i.name]
    assert len(oils) >= 4
    assert all(name.split()[0] in note for name in oils)
    assert find_property("share of oil", "EUR").note == ""
    assert "rest of the oil phase" in in_words(find_property("emulsifier per 100 of oil phase", "EUR").note)
