"""Means over the fats, solid fat and what gives body; values by hand."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.properties.texture import melted_oil, structuring_solids
from optiform.review.measures import measure
from tests.builders import figure, ingredient


def fat(
    name: str, function: str, acids: Mapping[str, float], curve: Mapping[float, float] | None = None, **figures: float
) -> Ingredient:
    """A fat of these fatty acids, in %; figures by property with _ for a blank."""
    known = {word.replace("_", " "): number for word, number in figures.items()}
    made = ingredient(name, 9, function, known, curve=curve)
    return replace(made, fatty_acids={acid: figure(share, "%") for acid, share in acids.items()})


OLEIN = fat("olein", "oil", {"C18:1": 100}, {10: 0, 40: 0})
BUTTER = fat("butter", "butter", {"C18:0": 60, "C18:2": 40}, {10: 60, 20: 40, 30: 0}, iodine_value=60)
UNKNOWN = ingredient("unknown oil", 9, "oil")
ESTER = ingredient("ester", 9, "ester", curve={10: 0, 40: 0})
WATER = ingredient("water", 0, "water")
WAX = replace(
    ingredient("wax", 9, "wax", phase="oil phase"),
    values={("melting range", None): Value(60.0, None, 64.0, "degC", "own file", Evidence.OWN)},
)


def formula(*lines: tuple[Ingredient, float]) -> Formula:
    return Formula("f", tuple(Line(item, share, item.phase) for item, share in lines))


def value(words: str, found: Formula) -> float | None:
    return find_property(words, "EUR").of(found)


def lacking(words: str, found: Formula) -> tuple[str, ...]:
    return measure(find_property(words, "EUR"), Mix.of(found), fractions(found)).lacking


def test_iodine_value_is_the_mean_over_butters_and_oils() -> None:
    # butter 60 as stored, olein 86.0 from its acid (AOCS Cd 1c-85, factor 0.860): (0.1 * 60 + 0.3 * 86) / 0.4
    found = formula((BUTTER, 0.1), (OLEIN, 0.3), (ESTER, 0.2), (WAX, 0.2), (WATER, 0.2))
    assert value("iodine value", found) == pytest.approx(79.5, abs=0.05)


def test_saponification_value_goes_through_the_molar_mean_inside_an_ingredient() -> None:
    # triolein, by the molar masses 56.1056, 282.46 and 92.09 less 54.05: 168316.8 / 885.42 = 190.1
    assert value("saponification value", formula((OLEIN, 1.0))) == pytest.approx(190.1, abs=0.05)
    # C18:0 284.48 and C18:2 280.45 at 60 to 40: molar mean 282.85, so 168316.8 / 886.60 = 189.85
    mixed = formula((BUTTER, 0.5), (OLEIN, 0.5))
    assert value("saponification value", mixed) == pytest.approx((190.1 + 189.85) / 2, abs=0.05)


@pytest.mark.parametrize(
    ("words", "expected"),
    # butter 0.25, olein 0.75 of the fats
    [("saturated share", 15.0), ("monounsaturated share", 75.0), ("polyunsaturated share", 10.0)],
)
def test_classes_of_fatty_acids(words: str, expected: float) -> None:
    assert value(words, formula((BUTTER, 0.1), (OLEIN, 0.3), (WATER, 0.6))) == pytest.approx(expected)


@pytest.mark.parametrize("words", ["iodine value", "saponification value", "saturated share", "solid fat at 20 degC"])
def test_a_fat_without_the_figure_is_named_and_the_mean_not_known(words: str) -> None:
    found = formula((OLEIN, 0.3), (UNKNOWN, 0.1), (WATER, 0.6))
    assert value(words, found) is None
    assert lacking(words, found) == ("unknown oil",)


@pytest.mark.parametrize("words", ["iodine value", "saturated share", "solid fat at 20 degC"])
def test_without_fats_there_is_no_mean(words: str) -> None:
    found = formula((WATER, 0.9), (WAX, 0.1))
    assert value(words, found) is None
    assert lacking(words, found) == ()


@pytest.mark.parametrize(
    ("temperature", "expected"),
    [(10, 15.0), (20, 10.0), (30, 0.0), (5, 15.0), (35, 0.0)],  # a quarter of the butter's
)
def test_solid_fat_of_the_fats(temperature: float, expected: float) -> None:
    found = formula((BUTTER, 0.1), (OLEIN, 0.2), (ESTER, 0.1), (WATER, 0.6))
    assert value(f"solid fat at {temperature} degC", found) == pytest.approx(expected)


def test_between_two_points_solid_fat_lies_between_them_and_falls() -> None:
    values = [value(f"solid fat at {t} degC", formula((BUTTER, 1.0))) for t in range(10, 31, 2)]
    known = [one for one in values if one is not None]
    assert len(known) == len(values)
    assert known == sorted(known, reverse=True)
    assert (known[0], known[5], known[-1]) == (60, 40, 0)


@pytest.mark.parametrize("temperature", [6, 44])
def test_far_from_the_points_solid_fat_is_not_known(temperature: float) -> None:
    narrow = fat("narrow", "butter", {"C18:0": 100}, {15: 60, 30: 0})
    found = formula((narrow, 1.0))
    assert value(f"solid fat at {temperature} degC", found) is None
    assert lacking(f"solid fat at {temperature} degC", found) == ("narrow",)


@pytest.mark.parametrize("model", ["solid fat", "structuring solids", "melted oil per 100 of solids", "firmness"])
@pytest.mark.parametrize("temperature", ["4.9 degC", "50 degC", "80 degC", "180 degF"])
def test_a_temperature_that_no_figure_reaches_is_refused(model: str, temperature: str) -> None:
    with pytest.raises(ValueError, match="from 5 to 45 degC"):
        find_property(f"{model} at {temperature}", "EUR", reference=formula((BUTTER, 1.0)))


@pytest.mark.parametrize("temperature", [5, 45])
def test_the_ends_of_the_range_belong_to_it(temperature: int) -> None:
    assert find_property(f"structuring solids at {temperature}", "EUR").unit == "%"


@pytest.mark.parametrize(("temperature", "expected"), [(10, 0.1 * 60 + 5), (20, 0.1 * 40 + 5), (30, 5.0)])
def test_structuring_solids_are_butters_and_waxes_in_the_whole(temperature: float, expected: float) -> None:
    found = formula((BUTTER, 0.1), (OLEIN, 0.2), (WAX, 0.05), (WATER, 0.65))
    assert value(f"structuring solids at {temperature} degC", found) == pytest.approx(expected)


@pytest.mark.parametrize(("temperature", "expected"), [(59, 100), (60, 100), (61, 75), (62, 50), (64, 0), (70, 0)])
def test_a_wax_melts_over_its_range(temperature: float, expected: float) -> None:
    assert structuring_solids(temperature).of(formula((WAX, 1.0))) == pytest.approx(expected)


def test_the_stored_solid_fat_of_a_soft_wax_goes_before_its_melting_range() -> None:
    stored: dict[tuple[str, float | None], Value] = {
        ("solid fat", at): figure(share, "%") for at, share in ((10.0, 30.0), (20.0, 20.0), (30.0, 10.0))
    }
    soft = replace(WAX, values={**WAX.values, **stored})
    assert structuring_solids(20).of(formula((soft, 1.0))) == pytest.approx(20)
    assert structuring_solids(20).of(formula((WAX, 1.0))) == pytest.approx(100)
    run = melted_oil(20).of(formula((OLEIN, 0.5), (soft, 0.5)))
    assert run == pytest.approx(100 * 0.5 / (0.5 * 0.20))


def test_melted_oil_on_what_can_hold_it() -> None:
    # at 20 degC: olein 20 and 0.6 * 10 of butter run, 5 of wax and 47 of salt hold: 26 / 52
    salt = ingredient("salt", 1, "grain")
    found = formula((BUTTER, 0.1), (OLEIN, 0.2), (WAX, 0.05), (salt, 0.47), (WATER, 0.18))
    assert value("melted oil per 100 of solids at 20 degC", found) == pytest.approx(50)


def test_melted_oil_is_no_better_known_than_what_holds_it() -> None:
    oil = replace(OLEIN, values={key: replace(v, evidence=Evidence.PUBLISHED) for key, v in OLEIN.values.items()})
    guessed = replace(WAX, values={key: replace(v, evidence=Evidence.RECALLED) for key, v in WAX.values.items()})
    found = formula((oil, 0.5), (guessed, 0.5))
    assert measure(melted_oil(20), Mix.of(found), fractions(found)).evidence is Evidence.RECALLED
