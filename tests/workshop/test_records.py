"""What the fields of records declare is all that the rest needs to know of them."""

from optiform.workshop.fieldtypes import changed, field_of, fields_of
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import RECORDS, Batch, Lot, Movement, Offer, Reading, Record, Version, VersionLine
from tests.every import every
from tests.workshop import samples


@every("kind", RECORDS, ids=lambda kind: kind.__name__)
def test_every_field_says_what_it_is_called(kind: type[Record]) -> None:
    assert [field.name for field in fields_of(kind) if not field.column.label] == []


@every("kind", RECORDS, ids=lambda kind: kind.__name__)
def test_what_must_name_another_record_names_a_kind_that_comes_before(kind: type[Record]) -> None:
    before = RECORDS[: RECORDS.index(kind) + 1]
    assert all(reference.to in before for reference in KINDS[kind].refers if not reference.optional)


def test_keys_and_references_are_read_off_the_fields() -> None:
    assert KINDS[Offer].key == ("ingredient", "supplier", "pack", "currency", "date")
    assert KINDS[Movement].key == ()
    assert [(each.fields, each.to, each.optional) for each in KINDS[Version].refers] == [
        (("product", "parent"), Version, True)
    ]
    assert [(each.fields, each.to) for each in KINDS[VersionLine].refers] == [(("product", "version"), Version)]


def test_what_may_change_is_read_off_the_fields() -> None:
    assert KINDS[Batch].changes == ("actual", "maker", "room", "jars", "rejected", "deviation", "note")
    assert KINDS[Version].changes == KINDS[Reading].changes == ()


def test_a_field_has_its_plain_type_and_whether_it_must_be_given() -> None:
    price = field_of(Lot, "price")
    assert (price.type, price.optional, price.needed, price.column.unit) == (float, True, False, "money/kg")
    assert field_of(Lot, "number").needed


def test_a_record_with_other_values_is_another_record() -> None:
    other = changed(samples.LOT, {"price": 5.0})
    assert (other.price, other.number, samples.LOT.price) == (5.0, "G-1", 4.2)
