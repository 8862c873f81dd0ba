"""What is owned, what expires, what is short for the next batch."""

import datetime
from dataclasses import replace

import pytest

from optiform.batch.on_hand import ForBatch, Stock
from optiform.batch.on_hand import stock as on_hand
from optiform.telling import stock as told
from optiform.telling.stock import packaging_for
from optiform.telling.terminal import terminal
from optiform.workshop.records import RECORDS, Lot, Movement, Record
from optiform.workshop.stock import holdings
from tests.workshop.samples import BATCH, BOUGHT, CAME, EVERY, FIRST, GLYCERIN, JAR, LOT, WATER

TODAY = datetime.date(2026, 11, 25)


Kinds = dict[type, tuple[Record, ...]]


def kept(*records: Record) -> Kinds:
    """Records by kind, as a workshop gives them."""
    return {kind: tuple(record for record in records if type(record) is kind) for kind in RECORDS}


def stock(records: Kinds, today: datetime.date, days: int, kg: float | None = None) -> Stock:
    """What is owned, with what these movements leave of each lot."""
    lots = [record for record in records[Lot] if isinstance(record, Lot)]
    moves = [record for record in records[Movement] if isinstance(record, Movement)]
    return on_hand(records, holdings(lots, moves), today, days, kg)


def test_a_shelf_tells_its_lots_and_what_they_hold_together() -> None:
    empty = replace(LOT, number="G-0")
    more, came = replace(LOT, number="G-2", expiry=TODAY), replace(CAME, lot="G-2", kg=0.5)
    (shelf,) = stock(kept(LOT, CAME, empty, more, came), TODAY, 30).shelves
    assert (shelf.ingredient, shelf.kg) == ("glycerin", 5.5)
    assert [(each.lot.number, each.kg) for each in shelf.lots] == [("G-2", 0.5), ("G-1", 5.0)]


def test_a_lot_of_which_more_was_taken_than_came_is_told() -> None:
    found = stock(kept(LOT, replace(CAME, kg=-0.4)), TODAY, 30)
    assert [(each.lot.number, each.kg) for each in found.overdrawn] == [("G-1", -0.4)]
    assert found.expiring == ()


def test_the_next_batch_is_like_the_last_one_of_each_product() -> None:
    newer = replace(FIRST, name="second", parent="first")
    line = replace(WATER, version="second", percent=100.0)
    found = stock(kept(*EVERY, newer, line, replace(BATCH, number="B-2", planned=2000.0)), TODAY, 30)
    (batch,) = found.batches
    assert (batch.product, batch.version, batch.kg) == ("polish", "first", 2.0)
    assert [(each.ingredient, each.needed, each.there) for each in batch.short] == [("water", 1.4, 0.0)]


def test_without_a_batch_the_newest_version_is_looked_at_for_a_given_mass() -> None:
    records = kept(FIRST, WATER, GLYCERIN, LOT, CAME)
    assert stock(records, TODAY, 30).batches == ()
    (batch,) = stock(records, TODAY, 30, kg=20.0).batches
    assert {each.ingredient: each.needed - each.there for each in batch.short} == {
        "water": pytest.approx(14.0), "glycerin": pytest.approx(1.0),
    }  # fmt: skip


def test_packaging_is_counted_as_the_last_batch_took_it() -> None:
    """24 jars of 4 kg: 36 of 6 kg. What was not taken one for each jar is not a jar's."""
    made = replace(BATCH, planned=4000.0, jars=23, rejected=1)
    gone = replace(BOUGHT, pieces=-24, batch=made.number, when=BOUGHT.when + datetime.timedelta(1))
    box = replace(gone, packaging="box", pieces=-4)
    records = kept(FIRST, WATER, GLYCERIN, JAR, replace(JAR, name="box"), BOUGHT, made, gone, box)
    (few,) = stock(records, TODAY, 30, kg=6.0).batches
    assert (few.jars, [(x.packaging, x.needed, x.there) for x in few.pieces]) == (36, [("jar", 36, 24)])
    assert packaging_for(few) == "Too little packaging for 36 jars: jar, 24 there and 36 needed."
    (enough,) = stock(records, TODAY, 30, kg=4.0).batches
    assert (enough.jars, enough.counted, enough.pieces) == (24, ("jar",), ())


def test_what_is_not_counted_of_packaging_is_said() -> None:
    """Never `enough of everything`: a batch kept while the labels were short took none, and says nothing of them."""
    found = ForBatch("polish", "first", 4.0, ())
    assert packaging_for(found).startswith("Packaging is not counted")
    counted = replace(found, jars=26, counted=("jar", "lid"))
    assert packaging_for(counted) == "Enough for 26 jars of what the last batch took for each: jar, lid."
    shelf = replace(stock(kept(), TODAY, 30), batches=(found, counted))
    assert "everything" not in terminal(told.stock(shelf))


def test_what_has_expired_does_not_count_for_a_batch() -> None:
    old = replace(LOT, expiry=TODAY - datetime.timedelta(1))
    (batch,) = stock(kept(FIRST, WATER, GLYCERIN, old, CAME), TODAY, 30, kg=1.0).batches
    assert {each.ingredient for each in batch.short} == {"water", "glycerin"}


def test_packaging_without_a_count_has_none_left() -> None:
    found = stock(kept(JAR, replace(JAR, name="cap"), BOUGHT), TODAY, 30)
    assert [(each.packaging.name, each.left) for each in found.packaging] == [("jar", 48), ("cap", 0)]


def test_an_empty_workshop_has_an_empty_stock() -> None:
    found = stock(kept(), TODAY, 30)
    assert (found.shelves, found.expiring, found.batches, found.packaging) == ((), (), (), ())
