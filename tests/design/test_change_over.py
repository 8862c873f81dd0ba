"""The rooms in which a winter and a summer version both serve: held to the firmness of each, degree by degree."""

from optiform.design.change_over import change_over
from optiform.ingredients.formula import Formula, mixed
from optiform.properties.firmness import ASSUMED, firmness_band


def stick(beeswax: float) -> Formula:
    return mixed({"shea butter, refined": 100 - beeswax, "beeswax": beeswax})


def firm(formula: Formula, at: int) -> float:
    band = firmness_band(formula, stick(20), at, ASSUMED)
    assert band is not None
    return band.typical


def test_from_the_first_room_where_summer_is_soft_enough_to_the_last_where_winter_is_firm_enough() -> None:
    winter, summer = stick(15), stick(30)
    first, last = change_over(winter, summer, stick(20), 200, 40, ASSUMED)
    assert first < last
    assert firm(summer, first) <= 200 < firm(summer, first - 1)
    assert firm(winter, last) >= 40 > firm(winter, last + 1)


def test_where_there_is_a_gap_the_first_comes_after_the_last() -> None:
    first, last = change_over(stick(15), stick(30), stick(20), 80, 80, ASSUMED)
    assert first > last + 1
