"""What is left: sums that come out right, and the first expired first."""

import datetime
import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.workshop.records import Lot, Movement
from optiform.workshop.stock import (
    NOTHING,
    Holding,
    by_ingredient,
    draw,
    expiring,
    holdings,
    left,
    needs,
    pieces,
    short,
)
from tests.workshop.samples import BOUGHT, CAME, GLYCERIN, WATER

TODAY = datetime.date(2026, 11, 25)


def lot(number: str, kg: float, days: int | None = None, ingredient: str = "glycerin") -> tuple[Lot, Movement]:
    """A lot that holds so much and expires in so many days."""
    expiry = None if days is None else TODAY + datetime.timedelta(days)
    return Lot(number=number, ingredient=ingredient, expiry=expiry), replace(CAME, lot=number, kg=kg)


def held(*pairs: tuple[Lot, Movement]) -> tuple[Holding, ...]:
    return holdings([each for each, _ in pairs], [move for _, move in pairs])


def test_what_is_left_is_the_sum_of_the_movements_of_the_lot() -> None:
    moves = [replace(CAME, kg=kg) for kg in (5.0, -1.2, -0.3)] + [replace(CAME, lot="other", kg=9.0)]
    assert left("G-1", moves) == pytest.approx(3.5, abs=1e-12)
    assert left("none", moves) == 0


def test_many_small_weighings_leave_exactly_nothing() -> None:
    assert left("G-1", [replace(CAME, kg=1.0), *[replace(CAME, kg=-0.1)] * 10]) == 0


def test_lots_without_a_date_come_last_and_the_older_delivery_before_the_younger() -> None:
    lots = [
        Lot(number="none", ingredient="a"),
        Lot(number="late", ingredient="a", expiry=TODAY, received=TODAY),
        Lot(number="soon", ingredient="a", expiry=TODAY, received=TODAY - datetime.timedelta(1)),
        Lot(number="first", ingredient="a", expiry=TODAY - datetime.timedelta(9)),
    ]
    assert [each.lot.number for each in holdings(lots, [])] == ["first", "soon", "late", "none"]


def test_a_lot_that_is_yet_to_come_is_not_drawn_from() -> None:
    coming, move = lot("coming", 2.0, 30)
    later = replace(coming, received=TODAY + datetime.timedelta(1))
    found = held((later, move), lot("here", 1.0, 60))
    taken = draw(found, "glycerin", 1.5, TODAY)
    assert [(each.number, kg) for each, kg in taken.takes] == [("here", 1.0)]
    assert taken.missing == pytest.approx(0.5)
    assert draw(found, "glycerin", 1.5, TODAY + datetime.timedelta(1)).missing == 0


def test_sums_per_ingredient() -> None:
    pairs = [lot("a", 1.5), lot("b", 0.25), lot("c", 3.0, ingredient="almond oil")]
    found = held(*pairs)
    assert by_ingredient(found) == {"almond oil": 3.0, "glycerin": 1.75}


def test_what_expires_within_days_is_told_with_what_has() -> None:
    pairs = [lot("past", 1, -1), lot("in 30", 1, 30), lot("in 31", 1, 31), lot("empty", 0, 3), lot("no date", 1)]
    found = held(*pairs)
    assert [each.lot.number for each in expiring(found, TODAY, 30)] == ["past", "in 30"]
    assert [each.expired(TODAY) for each in expiring(found, TODAY, 30)] == [True, False]


def test_a_lot_is_good_on_its_last_day() -> None:
    pairs = [lot("today", 1, 0)]
    found = held(*pairs)
    assert draw(found, "glycerin", 1, TODAY).missing == 0


def test_the_first_expired_goes_first_and_the_expired_never() -> None:
    pairs = [lot("b", 2, 90), lot("past", 5, -1), lot("a", 0.5, 20), lot("none", 9), lot("x", 9, 1, "other")]
    found = held(*pairs)
    taken = draw(found, "glycerin", 3.0, TODAY)
    assert [(each.number, kg) for each, kg in taken.takes] == [("a", 0.5), ("b", 2.0), ("none", 0.5)]
    assert taken.missing == 0
    assert draw(found, "glycerin", 20.0, TODAY).missing == pytest.approx(8.5)


@given(
    lots=st.lists(st.tuples(st.integers(0, 5000), st.none() | st.integers(-30, 900)), max_size=8),
    grams=st.integers(1, 20_000),
)
def test_what_is_drawn_and_what_is_missing_make_the_amount(lots: list[tuple[int, int | None]], grams: int) -> None:
    pairs = [lot(str(number), kg / 1000, days) for number, (kg, days) in enumerate(lots)]
    found = held(*pairs)
    taken = draw(found, "glycerin", grams / 1000, TODAY)
    there = {each.lot.number: each.kg for each in found}
    assert math.fsum([kg for _, kg in taken.takes] + [taken.missing]) == pytest.approx(grams / 1000, abs=NOTHING)
    assert all(NOTHING < kg <= there[each.number] for each, kg in taken.takes)
    assert [each.expiry for each, _ in taken.takes] == sorted(
        (each.expiry for each, _ in taken.takes), key=lambda day: day or datetime.date.max
    )
    untouched = sum(each.kg for each in found if not each.expired(TODAY)) - sum(kg for _, kg in taken.takes)
    assert not taken.missing or untouched == pytest.approx(0, abs=len(lots) * NOTHING)


def test_pieces_are_summed_by_name() -> None:
    counts = [BOUGHT, replace(BOUGHT, pieces=-5), replace(BOUGHT, packaging="cap", pieces=3)]
    assert pieces(counts) == {"cap": 3, "jar": 43}


def test_what_a_batch_needs_and_what_is_short_for_it() -> None:
    again = replace(GLYCERIN, position=3, percent=5.0, phase="cool-down")
    needed = needs([WATER, GLYCERIN, again], 2.0)
    assert needed == {"water": pytest.approx(1.4), "glycerin": pytest.approx(0.7)}
    pairs = [lot("past", 5, -1), lot("good", 0.6), lot("w", 1.4, ingredient="water")]
    found = held(*pairs)
    (missing,) = short(needed, found, TODAY)
    assert (missing.ingredient, missing.there) == ("glycerin", 0.6)
