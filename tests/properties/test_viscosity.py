"""Which figures an oil is compared by, where, and what is said where there is none."""

from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.viscosity import HELD, REPEATED, Thickness, compared, worked_out

OILS = read_catalogue().ingredients
ALMOND, GRAPESEED, CASTOR, JOJOBA = (OILS[f"{name} oil"] for name in ("sweet almond", "grapeseed", "castor", "jojoba"))


def own(item: Ingredient, at: float, figure: float) -> Ingredient:
    """The same with a figure of the maker's own."""
    value = Value(None, figure, None, "mPa s", "own table", Evidence.OWN)
    return replace(item, values={**item.values, ("viscosity", at): value})


def thickness(new: Ingredient, old: Ingredient) -> Thickness:
    told = compared([(new, 1.0)], [(old, 1.0)])
    assert isinstance(told, Thickness)
    return told


def test_two_oils_are_compared_by_their_acids_though_one_was_measured() -> None:
    told = thickness(GRAPESEED, ALMOND)
    new, old = (worked_out(item, 25.0) for item in (GRAPESEED, ALMOND))
    assert new
    assert old
    assert told.times == pytest.approx(new / old)
    assert (told.at, told.how) == (25.0, Evidence.DERIVED)
    assert (told.low, told.high) == pytest.approx((told.times / HELD, told.times * HELD))


def test_castor_oil_is_compared_where_it_was_measured_and_is_several_times_as_thick() -> None:
    told = thickness(CASTOR, ALMOND)
    assert (told.at, told.how) == (38.0, Evidence.SECONDARY)
    assert 6 < told.times < 11


def test_figures_of_ones_own_go_before_acids_and_hold_more_narrowly() -> None:
    told = thickness(own(GRAPESEED, 20.0, 60.0), own(ALMOND, 20.0, 80.0))
    assert told.at == 25.0  # there both are worked out
    told = thickness(own(GRAPESEED, 25.0, 60.0), own(ALMOND, 25.0, 80.0))
    assert told.times == pytest.approx(0.75)
    assert told.high == pytest.approx(0.75 * REPEATED)
    assert told.how is Evidence.OWN


def test_what_nothing_is_known_of_is_named_alone() -> None:
    assert compared([(JOJOBA, 1.0), (GRAPESEED, 2.0)], [(ALMOND, 3.0)]) == ("jojoba oil",)
    assert compared([(own(JOJOBA, 20.0, 45.0), 1.0)], [(CASTOR, 1.0)]) == ("jojoba oil", "castor oil")  # nowhere both


def test_a_mix_lies_between_its_parts() -> None:
    mixed = compared([(GRAPESEED, 1.0), (ALMOND, 1.0)], [(ALMOND, 1.0)])
    assert isinstance(mixed, Thickness)
    assert mixed.times == pytest.approx(thickness(GRAPESEED, ALMOND).times ** 0.5)
