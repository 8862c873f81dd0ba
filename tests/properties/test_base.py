"""Mixes and terms: a formula as a vector over a mix, and which terms are of the whole."""

from dataclasses import replace

import numpy as np

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, Terms
from optiform.properties.cost import cost

WATER, OIL, BUTTER = (read_catalogue().ingredients[name] for name in ("water", "sweet almond oil", "cocoa butter"))


def priced(item: Ingredient, unit: str) -> Ingredient:
    price = Value(None, 4.0, None, unit, "own", Evidence.OWN)
    return replace(item, values={("price", None): price})


def test_a_formula_is_a_vector_over_a_mix_with_both_its_lines_of_one_ingredient() -> None:
    lines = (Line(WATER, 0.5, "water phase"), Line(WATER, 0.1, "cool-down"), Line(OIL, 0.4, "oil phase"))
    mix = Mix((BUTTER, OIL, WATER), ("oil phase", "oil phase", "water phase"))
    assert mix.vector(Formula("x", lines)).tolist() == [0.0, 0.4, 0.6]


def test_terms_are_of_the_whole_where_every_line_counts_once() -> None:
    one = np.array([1.0, 2.0])
    assert Terms.exact(one).whole
    assert not Terms.exact(one, np.array([1.0, 0.0])).whole


def test_a_price_counts_in_its_own_currency_only() -> None:
    item = priced(OIL, "GBP/kg")
    price = item.price_in("GBP")
    assert price is not None
    assert price.figure == 4.0
    assert item.price_in("EUR") is None
    mix = Mix((item,), ("oil phase",))
    assert cost("EUR").terms(mix, np.ones(1)).missing.tolist() == [1.0]
    assert cost("GBP").terms(mix, np.ones(1)).missing.tolist() == [0.0]
