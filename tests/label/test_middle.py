"""The centre of a label as a formula: what stands for each name, and how much of it is weighed."""

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.label.from_label import ConstituentRange
from optiform.label.middle import Middle, middle


def of(**shares: float) -> Middle:
    """The middle of names, each with its centre in %; _ stands for a space."""
    names = {name.replace("_", " "): share for name, share in shares.items()}
    ranges = [ConstituentRange(name, 0.0, 100.0, share, "in order") for name, share in names.items()]
    return middle(ranges, read_catalogue(), "label")


def test_what_is_bought_in_water_is_weighed_with_its_water() -> None:
    """6 % of a surfactant of 30 % in 64 % water is 20 %, which brings 12.8 % water; the salt in it is left aside."""
    formula = of(Aqua=94.0, Cocamidopropyl_Betaine=6.0).formula
    assert formula.fraction("cocamidopropyl betaine, 30 %") == pytest.approx(20 / 101.2)
    assert formula.fraction("water") == pytest.approx(81.2 / 101.2)


def test_a_name_of_several_ingredients_is_the_first_and_the_others_are_told() -> None:
    centre = of(Aqua=60.0, Butyrospermum_Parkii_Butter=40.0)
    assert centre.formula.fraction("shea butter, refined") == pytest.approx(0.4)
    assert centre.assumed == (("Butyrospermum Parkii Butter", ("shea butter, refined", "shea butter, unrefined")),)


def test_a_name_of_no_ingredient_is_told_and_the_others_sum_to_the_whole() -> None:
    centre = of(Aqua=90.0, Glycerin=9.0, Moon_Dust=1.0)
    assert centre.missing == (("Moon Dust", 1.0),)
    assert sum(line.fraction for line in centre.formula.lines) == pytest.approx(1.0)
    assert [line.phase for line in centre.formula.lines] == ["water phase", "water phase"]
    assert of(Moon_Dust=100.0).formula.lines == ()


def test_more_water_than_there_is_is_not_taken() -> None:
    assert [line.ingredient.name for line in of(Cocamidopropyl_Betaine=60.0, Aqua=40.0).formula.lines] == [
        "cocamidopropyl betaine, 30 %"
    ]


def test_the_ingredient_that_the_maker_says_stands_for_a_name_and_is_weighed_by_what_it_holds() -> None:
    catalogue = read_catalogue()
    ranges = [ConstituentRange(name, 0.0, 100.0, share, "in order") for name, share in
              {"Aqua": 60.0, "Butyrospermum Parkii Butter": 38.0, "Moon Dust": 2.0}.items()]  # fmt: skip
    shea, kaolin = catalogue.find("shea butter, unrefined"), catalogue.find("kaolin")
    assert shea is not None
    assert kaolin is not None
    centre = middle(ranges, catalogue, "label", {"Butyrospermum Parkii Butter": shea, "Moon Dust": kaolin})
    assert centre.formula.fraction("shea butter, unrefined") == pytest.approx(0.38)
    assert centre.formula.fraction("kaolin") == pytest.approx(0.02)
    assert (centre.assumed, centre.missing) == ((), ())
