"""Keeping, reading and revising records, the same on a file and on a server."""

import datetime
from dataclasses import replace

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from optiform.reading.faults import BadInput
from optiform.workshop.engine import engine_of, writing
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import RECORDS, Lot, Movement, OwnCell, Version
from optiform.workshop.schema import TABLES
from optiform.workshop.store import Workshop
from tests.workshop import samples
from tests.workshop.samples import BATCH, CAME, EVERY, FIRST, JAR, LOT, NOON, TAKEN, TRIAL, WATER, WEIGHED, told


def test_every_kind_comes_back_as_it_went_in(workshop: Workshop) -> None:
    assert {type(record) for record in EVERY} == set(RECORDS)
    workshop.add(*EVERY)
    for kind in RECORDS:
        kept = workshop.read(kind)
        assert kept == tuple(record for record in EVERY if type(record) is kind)
        assert all(type(record) is kind for record in kept)
    assert workshop.read_all() == {kind: workshop.read(kind) for kind in RECORDS}


def test_records_are_there_when_it_is_opened_again(place: str) -> None:
    with Workshop.open(place) as first:
        first.add(LOT, CAME)
    with Workshop.open(place, create=False) as again:
        assert again.read(Movement) == (CAME,)


def test_records_come_in_the_order_kept(workshop: Workshop) -> None:
    numbers = [f"L-{number}" for number in (7, 3, 11, 1)]
    for number in numbers:
        workshop.add(replace(LOT, number=number))
    workshop.add(replace(LOT, number="Z"), replace(LOT, number="A"))
    assert [lot.number for lot in workshop.read(Lot)] == [*numbers, "Z", "A"]


def test_one_addition_may_name_its_own_records_in_any_order(workshop: Workshop) -> None:
    second = replace(FIRST, name="second", parent="first")
    lines = [replace(samples.GLYCERIN, version="second", percent=100.0, position=1)]
    workshop.add(TAKEN, WEIGHED, *lines, second, BATCH, CAME, WATER, samples.GLYCERIN, LOT, FIRST)
    assert [version.name for version in workshop.read(Version)] == ["second", "first"]


def test_all_or_none(workshop: Workshop) -> None:
    with pytest.raises(BadInput):
        workshop.add(LOT, CAME, replace(CAME, lot="G-2"))
    assert not any(workshop.read_all().values())


def test_every_fault_is_told_at_once(workshop: Workshop) -> None:
    workshop.add(LOT)
    with pytest.raises(BadInput) as caught:
        workshop.add(
            LOT, replace(CAME, lot="G-9"), JAR, replace(JAR, kind="lid"),
            replace(CAME, kg=float("nan"), reason=" "), replace(TAKEN, batch="B-9"),
        )  # fmt: skip
    assert all(fault.file == workshop.name for fault in caught.value.faults)
    assert told(caught.value) == [
        "lot G-1, number: read 'G-1', expected a new lot: G-1 is saved already",
        "movement G-9, lot: read 'G-9', expected a saved lot; `optiform stock` lists them",
        "packaging jar, name: read 'jar', expected each packaging once: jar came before",
        "movement G-1, kg: read nan, expected a number of ordinary size",
        "movement G-1, reason: read ' ', expected some words",
        "movement G-1 B-9, batch: read 'B-9', expected a saved batch; there is no batch B-9",
    ]
    assert workshop.read(Movement) == ()


def test_a_reference_to_nothing_is_refused(workshop: Workshop) -> None:
    for record in (record for record in EVERY if KINDS[type(record)].refers and record is not FIRST):
        with pytest.raises(BadInput) as caught:
            workshop.add(record)
        assert "expected a saved " in told(caught.value)[0]


def test_a_key_that_is_taken_is_refused(workshop: Workshop) -> None:
    workshop.add(*EVERY)
    for record in (record for record in EVERY if KINDS[type(record)].key):
        with pytest.raises(BadInput) as caught:
            workshop.add(record)
        assert told(caught.value)[0].endswith("is saved already")


def test_two_events_may_look_alike(workshop: Workshop) -> None:
    workshop.add(LOT, CAME, CAME)
    workshop.add(CAME)
    assert workshop.read(Movement) == (CAME, CAME, CAME)


def test_a_version_gets_no_line_later(workshop: Workshop) -> None:
    workshop.add(FIRST, replace(WATER, percent=100.0))
    with pytest.raises(BadInput, match="together with all its lines"):
        workshop.add(replace(WATER, position=2, percent=0.0))


def test_the_lines_of_a_version_make_the_whole(workshop: Workshop) -> None:
    with pytest.raises(BadInput, match=r"lines that sum to 70 %\. Needed: lines that sum to 100 %"):
        workshop.add(FIRST, WATER)
    workshop.add(FIRST, replace(WATER, percent=99.95))


def test_no_version_descends_from_itself(workshop: Workshop) -> None:
    with pytest.raises(BadInput) as caught:
        workshop.add(replace(FIRST, parent="second"), replace(FIRST, name="second", parent="first"))
    assert [line.split(", expected ")[1] for line in told(caught.value)] == [
        "a version that does not descend from this one"
    ] * 2


def test_the_parent_is_of_the_same_product(workshop: Workshop) -> None:
    workshop.add(FIRST)
    with pytest.raises(BadInput, match="There is no version first of balm"):
        workshop.add(replace(FIRST, product="balm", name="second", parent="first"))


@pytest.mark.parametrize(
    ("product", "version", "meant"),
    [
        (FIRST.product.upper(), FIRST.name, f"Did you mean {FIRST.product}?"),
        (FIRST.product + "s", FIRST.name, f"Did you mean {FIRST.product}?"),
        (FIRST.product, FIRST.name.upper(), f"Did you mean {FIRST.name}?"),
    ],
)
def test_a_version_that_is_not_saved_is_asked_back_with_the_one_like_it(
    workshop: Workshop, product: str, version: str, meant: str
) -> None:
    workshop.add(FIRST)
    with pytest.raises(BadInput) as caught:
        workshop.add(replace(TRIAL, product=product, version=version))
    assert f"There is no version {version} of {product}. {meant} `optiform stock versions` lists them" in str(
        caught.value
    )


REVISED = (
    replace(samples.OWN, text="grains"),
    replace(samples.OFFER, note="sold out", price=23.5),
    replace(LOT, expiry=datetime.date(2028, 1, 1), note="read wrongly"),
    replace(JAR, price=None, tare=41.0),
    replace(BATCH, actual=3950.0, jars=15, deviation="warm room"),
    replace(WEIGHED, actual=1201.5),
    replace(TRIAL, outcome="holds"),
    replace(samples.WEIGHT, actual=140.3),
    replace(samples.PRODUCT, steps=2, revision=2),
    replace(samples.WEIGHING, ended=None),
)


def test_what_may_change_is_revised_alone(workshop: Workshop) -> None:
    workshop.add(*EVERY)
    workshop.add(OwnCell(ingredient="marsh balm", column="note", text="ours"), replace(LOT, number="G-2"))
    assert {type(record) for record in REVISED} == {kind for kind in RECORDS if KINDS[kind].changes}
    for record in REVISED:
        before = workshop.read_all()
        workshop.revise(record)
        after = workshop.read_all()
        changed = [new for kind in RECORDS for old, new in zip(before[kind], after[kind], strict=True) if old != new]
        assert changed == [record]


FIXED = (
    replace(LOT, ingredient="sorbitol"),
    replace(BATCH, planned=5000.0),
    replace(WEIGHED, planned=1.0),
    replace(TRIAL, aim="something else"),
)


def test_what_a_record_is_does_not_change(workshop: Workshop) -> None:
    workshop.add(*EVERY)
    for record in FIXED:
        with pytest.raises(BadInput, match="as saved"):
            workshop.revise(record)
        assert record not in workshop.read(type(record))


def test_a_revision_of_nothing_or_to_a_wrong_value_is_refused(workshop: Workshop) -> None:
    workshop.add(LOT)
    with pytest.raises(BadInput, match=r"lot G-2: nothing is written here\. Write a lot that is saved"):
        workshop.revise(replace(LOT, number="G-2"))
    with pytest.raises(BadInput, match=r"price: -1\.0 is not allowed here. It must be 0 or more"):
        workshop.revise(replace(LOT, price=-1.0))
    assert workshop.read(Lot) == (LOT,)


def test_a_revision_may_not_lead_astray(workshop: Workshop) -> None:
    workshop.add(*EVERY)
    with pytest.raises(BadInput, match="“G-9” is not a saved lot"):
        workshop.revise(replace(WEIGHED, lot="G-9"))
    assert workshop.read(type(WEIGHED)) == (WEIGHED,)


APPENDED = [record for record in EVERY if not KINDS[type(record)].changes]


def test_the_kinds_only_added_to_are_those_that_must_not_be_lost() -> None:
    names = {type(record).__name__ for record in APPENDED}
    events = {"Movement", "PackagingCount", "Reading", "Step", "Tick", "Forecast"}
    assert names == {*events, "Version", "VersionLine", "FileText", "Draft"}


def test_what_is_only_added_to_is_not_revised(workshop: Workshop) -> None:
    workshop.add(*EVERY)
    for record in APPENDED:
        with pytest.raises(BadInput, match="never overwritten"):
            workshop.revise(record)


def test_the_database_itself_refuses_to_lose_it(workshop: Workshop, place: str) -> None:
    workshop.add(*EVERY)
    engine, _ = engine_of(place)
    statements = ["UPDATE {} SET kept = kept + 100", "DELETE FROM {}"]
    statements += ["TRUNCATE {} CASCADE"] if engine.dialect.name == "postgresql" else []
    for kind in {type(record) for record in APPENDED}:
        for words in statements:
            with pytest.raises(DBAPIError, match="only ever added to"), writing(engine) as connection:
                connection.execute(text(words.format(TABLES[kind].name)))
        assert workshop.read(kind)
    engine.dispose()


def test_the_database_itself_keeps_references_and_keys(workshop: Workshop, place: str) -> None:
    workshop.add(*EVERY)
    engine, _ = engine_of(place)
    lots, cells = TABLES[Lot], TABLES[OwnCell]
    with pytest.raises(DBAPIError), writing(engine) as connection:
        connection.execute(lots.delete())
    with pytest.raises(DBAPIError), writing(engine) as connection:
        connection.execute(cells.insert().values(ingredient="marsh balm", column="phase", text=""))
    engine.dispose()
    assert workshop.read(Lot) == (LOT,)


def test_none_there_is_told_where_none_is_to_be_made(place: str) -> None:
    with pytest.raises(BadInput, match="a workshop"):
        Workshop.open(place, create=False)


def test_a_moment_comes_back_to_the_microsecond(workshop: Workshop) -> None:
    moment = NOON.replace(microsecond=1)
    workshop.add(LOT, replace(CAME, when=moment))
    assert workshop.read(Movement)[0].when == moment


def test_a_number_comes_back_to_its_last_bit(workshop: Workshop) -> None:
    numbers = [0.1 + 0.2, 1e-300, 5e-324, 1e12, -1 / 3]
    workshop.add(LOT, *(replace(CAME, kg=number) for number in numbers))
    assert [movement.kg for movement in workshop.read(Movement)] == numbers
