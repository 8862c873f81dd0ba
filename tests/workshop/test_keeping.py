"""From words to records: corrections, draws, weighings, readings."""

import datetime

import pytest

from optiform.reading.faults import BadInput
from optiform.workshop.keeping import (
    corrected,
    draw_of,
    lines_of,
    lot_number,
    next_reading,
    refuse_missing,
    split_readings,
    taken,
    values_of,
    weights_of,
)
from optiform.workshop.records import Lot, Reading, Version
from optiform.workshop.stock import Holding

NOW = datetime.datetime(2026, 11, 25, 9)
SOON, LATE, PAST = (datetime.date(2026, 12, 1), datetime.date(2027, 12, 1), datetime.date(2026, 1, 1))
HELD = [
    Holding(Lot(number=number, ingredient="shea butter, refined", expiry=expiry), kg)
    for number, expiry, kg in (("B", LATE, 2.0), ("A", SOON, 0.5), ("X", PAST, 9.0))
]
LINES = lines_of(
    Version(product="polish", name="a", parent="", reason="try", created=NOW),
    [("water", 60.0, "water phase"), ("sea salt, fine", 40.0, "grains")],
)


def test_a_lot_without_a_number_gets_the_first_free_one_of_its_day() -> None:
    lots = [Lot(number="20261125-1", ingredient="water"), Lot(number="20261125-3", ingredient="water")]
    assert lot_number(lots, NOW.date()) == "20261125-2"
    assert lot_number([], NOW.date()) == "20261125-1"


def test_an_ingredient_is_drawn_first_expired_first_and_a_lot_by_its_number_though_it_has_expired() -> None:
    moves = taken(draw_of(HELD, "shea butter, refined", 1.5, NOW.date()), NOW, "a trial")
    assert [(move.lot, move.kg, move.reason) for move in moves] == [("A", -0.5, "a trial"), ("B", -1.0, "a trial")]
    assert [lot.number for lot, _ in draw_of(HELD, "X", 1.0, NOW.date()).takes] == ["X"]


@pytest.mark.parametrize(("what", "there"), [("shea butter, refined", "2.5 kg"), ("A", "0.5 kg")])
def test_more_than_is_there_is_refused_with_how_much_there_is(what: str, there: str) -> None:
    with pytest.raises(BadInput, match=f"at most {there}"):
        refuse_missing(4.0, draw_of(HELD, what, 4.0, NOW.date()), what, ("form", "mass"))


def test_a_correction_is_the_difference_or_nothing() -> None:
    move = corrected("A", 0.1 + 0.2, 0.25, NOW, "count")
    assert move is not None
    assert (move.kg, move.reason) == (-0.05, "correction: count")
    assert corrected("A", 0.1 + 0.2, 0.3, NOW, "count") is None


def test_every_line_was_weighed_or_none() -> None:
    assert [(w.ingredient, w.actual) for w in weights_of("F-1", LINES, {1: 180.5, 2: 0.0}, "form")] == [
        ("water", 180.5), ("sea salt, fine", 0.0)]  # fmt: skip
    assert weights_of("F-1", LINES, {1: None}, "form") == []
    with pytest.raises(BadInput, match="weighed, sea salt, fine"):
        weights_of("F-1", LINES, {1: 180.5, 2: None}, "form")


def test_readings_are_split_at_commas_between_numbers_not_in_them() -> None:
    assert split_readings("210 g, 198 g; 8,5 mm\n3") == ["210 g", "198 g", "8,5 mm", "3"]
    assert values_of(["8,5 mm", "3", "-4 g"], "form") == [(8.5, "mm"), (3.0, ""), (-4.0, "g")]
    with pytest.raises(BadInput) as caught:
        values_of(["firm", "3", "soft"], "form")
    assert len(caught.value.faults) == 2


def test_readings_go_on_counting() -> None:
    read = [Reading(trial="F-1", number=n, age=168, temperature=20, instrument="x", value=1, unit="") for n in (1, 4)]
    assert (next_reading(read, "F-1"), next_reading(read, "F-2")) == (5, 1)
