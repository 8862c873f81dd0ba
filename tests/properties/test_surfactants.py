"""Emulsifiers against the oil phase, and HLB; values by hand."""

from dataclasses import replace

import pytest

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.properties.surfactants import outside_hlb
from optiform.review.measures import measure
from tests.builders import ingredient

HIGH = ingredient("high", 9, "emulsifier", {"hlb": 15})
LOW = ingredient("low", 9, "emulsifier", {"hlb": 4})
WAXY = ingredient("emulsifying wax", 9, "emulsifier")
OIL = ingredient("oil", 8, "oil", {"required hlb": 7})
BUTTER = ingredient("butter", 9, "butter", {"required hlb": 10})
BARE = ingredient("bare oil", 9, "oil")
WATER = ingredient("water", 0, "water")


def formula(*lines: tuple[Ingredient, float]) -> Formula:
    return Formula("f", tuple(Line(item, share, item.phase) for item, share in lines))


def value(words: str, found: Formula) -> float | None:
    return find_property(words, "EUR").of(found)


EMULSION = formula((HIGH, 0.03), (LOW, 0.02), (OIL, 0.2), (BUTTER, 0.1), (WATER, 0.65))


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("emulsifier per 100 of oil phase", 100 * 5 / 30),
        ("required hlb", (20 * 7 + 10 * 10) / 30),  # 8
        ("hlb of the emulsifiers", (3 * 15 + 2 * 4) / 5),  # 10.6
        ("hlb difference", 2.6),
    ],
)
def test_an_emulsion_by_hand(words: str, expected: float) -> None:
    assert value(words, EMULSION) == pytest.approx(expected)


def test_an_emulsifier_in_the_water_counts_and_is_no_oil() -> None:
    moved = Formula(
        "f", (Line(HIGH, 0.05, "water phase"), Line(OIL, 0.25, "oil phase"), Line(WATER, 0.7, "water phase"))
    )
    assert value("emulsifier per 100 of oil phase", moved) == pytest.approx(20)


def test_an_emulsifying_wax_counts_as_emulsifier_but_has_no_hlb() -> None:
    found = formula((HIGH, 0.03), (WAXY, 0.03), (OIL, 0.3), (WATER, 0.64))
    assert value("emulsifier per 100 of oil phase", found) == pytest.approx(20)
    assert value("hlb of the emulsifiers", found) == pytest.approx(15)
    assert outside_hlb(WAXY)
    assert not outside_hlb(HIGH)
    assert not outside_hlb(OIL)


def test_without_emulsifiers_or_oils_there_is_nothing_to_compare() -> None:
    assert value("hlb of the emulsifiers", formula((OIL, 0.3), (WATER, 0.7))) is None
    assert value("required hlb", formula((HIGH, 0.3), (WATER, 0.7))) is None
    assert value("emulsifier per 100 of oil phase", formula((WATER, 1.0))) is None


def test_an_oil_without_its_required_hlb_is_named() -> None:
    found = formula((HIGH, 0.05), (BARE, 0.2), (WATER, 0.75))
    for words in ("required hlb", "hlb difference"):
        told = measure(find_property(words, "EUR"), Mix.of(found), fractions(found))
        assert told.value is None, words
        assert told.lacking == ("bare oil",), words
    assert value("hlb of the emulsifiers", found) == 15


def test_a_figure_that_is_a_range_moves_the_difference_by_the_share_of_its_line() -> None:
    """HLB 15 could be 13 in 3 of 5 parts: 1.2 less. 7 could be 8 in 2 of 3 parts of the oils: 0.667 less. Water: no."""
    lines = [(ranged(HIGH, "hlb", 13, 16), 0.03), (LOW, 0.02), (ranged(OIL, "required hlb", 6, 8), 0.2)]
    found = formula(*lines, (BUTTER, 0.1), (WATER, 0.65))
    x = fractions(found)
    terms = find_property("hlb difference", "EUR").terms(Mix.of(found), x)
    assert ((terms.numerator - terms.low) * x).tolist() == pytest.approx([1.2, 0, 2 / 3, 0, 0])
    assert terms.span(x) == pytest.approx((9.4 - 26 / 3, 11.2 - 22 / 3))


def ranged(item: Ingredient, name: str, low: float, high: float) -> Ingredient:
    """The same with one figure known within a range."""
    figure = replace(item.values[name, None], low=low, high=high)
    return replace(item, values={**item.values, (name, None): figure})
