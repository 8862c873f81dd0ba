"""The order in which lines go in, and the temperature at which each does."""

from dataclasses import replace

import pytest

from optiform.batch.making import PRACTICE, Making
from optiform.batch.working_order import addition, minds, ordered, takes_warmth
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Line
from optiform.ingredients.ingredient import Ingredient, Value
from optiform.telling.method import words
from tests.builders import figure

CATALOGUE = read_catalogue()
PHENOXY = "phenoxyethanol + caprylyl glycol"


def found(name: str) -> Ingredient:
    return CATALOGUE.ingredients[name.casefold()]


def line(name: str, phase: str = "") -> Line:
    return Line(found(name), 0.1, phase or found(name).phase)


def order(*names: str, phase: str = "", making: Making | None = None) -> list[str]:
    lines = [line(name, phase) for name in names]
    return [x.ingredient.name for x in ordered(lines, making or Making())]


def with_heat_limit(name: str, limit: float) -> Ingredient:
    item = found(name)
    value: Value = figure(limit, "degC")
    return replace(item, values={**item.values, ("heat limit", None): value})


def test_slow_melters_by_the_top_of_their_range_then_butters_then_oils() -> None:
    assert order(
        "sweet almond oil", "polysorbate 60", "mango butter", "kokum butter", "cetyl alcohol", "beeswax",
        "carnauba wax", "emulsifying wax NF", "kaolin", phase="oil phase",
    ) == [
        "carnauba wax", "beeswax", "emulsifying wax NF", "cetyl alcohol", "kokum butter", "mango butter",
        "polysorbate 60", "sweet almond oil", "kaolin",
    ]  # fmt: skip


def test_water_first_and_what_foams_last() -> None:
    assert order("cocamidopropyl betaine, 30 %", "xanthan gum", "glycerin", "disodium EDTA", "water") == [
        "water", "disodium EDTA", "glycerin", "xanthan gum", "cocamidopropyl betaine, 30 %",
    ]  # fmt: skip


def test_the_warmest_addition_first_and_powders_before_liquids() -> None:
    making = Making(cools_fast=True)
    assert order("urea", "fragrance oil", "mica", PHENOXY, making=making) == [PHENOXY, "mica", "fragrance oil", "urea"]


def test_nothing_to_order() -> None:
    assert ordered([], Making()) == []


# -- temperatures ------------------------------------------------------------------------------------------------------


def test_the_usual_temperature_is_43_degrees_and_says_that_it_is_practice() -> None:
    assert (addition(found("mixed tocopherols"), Making()).temperature, PRACTICE) == (43, PRACTICE)
    assert addition(found("mixed tocopherols"), Making()).source == PRACTICE
    stated = Making(addition=40.0, stated=frozenset({"addition"}))
    assert addition(found("mixed tocopherols"), stated).temperature == 40
    assert addition(found("mixed tocopherols"), stated).source != PRACTICE


def test_phenoxyethanol_with_a_glycol_goes_in_warmer_only_where_the_mass_cools_fast() -> None:
    assert addition(found(PHENOXY), Making()).temperature == 43
    assert addition(found(PHENOXY), Making(cools_fast=True)).temperature == 49
    assert addition(found("fragrance oil"), Making(cools_fast=True)).temperature == 43
    assert addition(found(PHENOXY), Making(cools_fast=True, addition=55)).temperature == 55


@pytest.mark.parametrize(
    ("name", "warm"),
    [(PHENOXY, True), ("phenoxyethanol + ethylhexylglycerin", True), ("phenoxyethanol", False),
     ("phenoxyethanol + parabens", False), ("caprylhydroxamic acid + caprylyl glycol + glycerin", False)],
)  # fmt: skip
def test_which_preservatives_take_warmth(name: str, warm: bool) -> None:
    assert takes_warmth(found(name)) == warm


def test_a_lower_heat_limit_wins_and_is_named() -> None:
    at = addition(found("urea"), Making())
    assert at.temperature == 40
    assert words(at.source) == "heat limit of urea (from memory)"
    own = addition(with_heat_limit(PHENOXY, 46), Making(cools_fast=True))
    assert own.temperature == 46
    assert words(own.source) == f"heat limit of {PHENOXY} (yours)"


@pytest.mark.parametrize(
    ("name", "fast", "at"),
    [("sodium benzoate + potassium sorbate", False, 40), ("phenoxyethanol + ethylhexylglycerin", True, 45)],
)
def test_where_suppliers_differ_the_lowest_limit_wins(name: str, fast: bool, at: float) -> None:
    into = addition(found(name), Making(cools_fast=fast))
    assert into.temperature == at
    assert words(into.source) == f"heat limit of {name}, the lowest that suppliers give (read)"


def test_a_higher_heat_limit_does_not_raise_it() -> None:
    assert addition(with_heat_limit(PHENOXY, 80), Making()).temperature == 43


# -- notes -------------------------------------------------------------------------------------------------------------


def note(of: Line, making: Making, lines: list[Line]) -> str:
    """What to mind with a line, as the sheet says it."""
    return "; ".join(map(words, minds(of, making, lines)))


def test_gums_and_powders_are_wetted_first() -> None:
    lines = [line("water"), line("glycerin"), line("xanthan gum")]
    assert note(lines[2], Making(), lines) == (
        "wet with at least 5 times as much glycerin first, or blend dry with another powder, against lumps"
    )
    assert note(lines[2], Making(), lines[:1]) == "sift in slowly while stirring, against lumps"
    late = line("mica")
    assert "glycerin held back first" in note(late, Making(), [*lines, late])
    in_oil = line("kaolin", "oil phase")
    assert "sweet almond oil first" in note(in_oil, Making(), [in_oil, line("sweet almond oil")])


def test_melting_and_heat_are_told_with_how_they_are_known() -> None:
    assert note(line("cetearyl alcohol"), Making(), []) == "melted at 55 degC (read)"
    assert note(line("sweet almond oil"), Making(), []) == ""
    assert note(line("urea"), Making(), []) == "add at 40 degC; heat limit 40 degC (from memory)"
    assert "heat limit 45 to 120 degC, suppliers differ (read)" in note(
        line("phenoxyethanol + ethylhexylglycerin"), Making(), []
    )
    assert "heat limit not known: ask its supplier" in note(line("mixed tocopherols"), Making(), [])
    assert note(line("sea salt, fine"), Making(), []) == ""
