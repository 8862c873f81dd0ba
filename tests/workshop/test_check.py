"""What a record may hold."""

import datetime
from dataclasses import replace
from typing import Any

from optiform.workshop.check import LONGEST, complaints, values
from optiform.workshop.fieldtypes import fields_of
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import RECORDS, Record
from tests.every import every
from tests.workshop import samples
from tests.workshop.samples import EVERY, NOON

ONE = {type(record): record for record in EVERY}
AWARE = NOON.replace(tzinfo=datetime.UTC)


def test_the_samples_are_sound() -> None:
    assert values(EVERY) == []


@every(
    "record, field, bad",
    [
        (samples.OFFER, "pack", 0), (samples.OFFER, "price", -1), (samples.OFFER, "currency", "eur"),
        (samples.LOT, "price", -0.01), (samples.LOT, "number", ""), (samples.LOT, "number", " 7"),
        (samples.LOT, "number", "a\nb"), (samples.CAME, "kg", 0), (samples.CAME, "reason", ""),
        (samples.CAME, "when", AWARE), (samples.CAME, "when", samples.DAY), (samples.BOUGHT, "pieces", 0),
        (samples.BOUGHT, "pieces", 1.5), (samples.BOUGHT, "pieces", True), (samples.BOUGHT, "pieces", 10**13),
        (samples.FIRST, "reason", " "), (samples.WATER, "percent", 100.1), (samples.WATER, "percent", -0.1),
        (samples.WATER, "phase", "oil"), (samples.BATCH, "planned", 0), (samples.BATCH, "made", NOON),
        (samples.BATCH, "jars", -1), (samples.BATCH, "room", 400), (samples.WEIGHED, "actual", -1),
        (samples.TRIAL, "aim", ""), (samples.TRIAL, "cooling", -1), (samples.WEIGHT, "phase", ""),
        (samples.READING, "condition", "warm"), (samples.READING, "value", -1), (samples.READING, "number", 0),
        (samples.READING, "temperature", -273),
    ],
)  # fmt: skip
def test_a_value_that_is_not_allowed_is_told(record: Record, field: str, bad: Any) -> None:
    (complaint,) = values([samples.OWN, replace(record, **{field: bad})])
    assert (complaint.index, complaint.field, complaint.read) == (1, field, bad)
    assert complaint.expected


@every("kind", RECORDS, ids=lambda kind: kind.__name__)
def test_no_field_takes_what_no_database_could_keep(kind: type[Record]) -> None:
    """Texts that are not Unicode, numbers that are none, values of another type, none where there must be one."""
    never: dict[type, list[object]] = {
        str: ["\ud800", "a\x00b", "x" * (LONGEST + 1), 3, None],
        float: [float("nan"), float("inf"), -float("inf"), 1e308, 10**400, "3", True],
        int: [1.0, "3", 10**30, float("nan")],
        datetime.date: ["2026-11-02", NOON, 5],
        datetime.datetime: ["2026-11-02", samples.DAY, AWARE],
    }
    for field in fields_of(kind):
        bad_values = [*never[field.type], *([] if field.optional else [None])]
        for bad in bad_values:
            found = values([replace(ONE[kind], **{field.name: bad})])
            assert field.name in {complaint.field for complaint in found}, (field.name, bad)


def test_every_reference_is_to_a_kind_by_its_key() -> None:
    for kind in KINDS.values():
        names = {field.name for field in fields_of(kind.record)}
        assert set(kind.key) | set(kind.changes) <= names
        for reference in kind.refers:
            assert set(reference.fields) <= names
            assert len(reference.fields) == len(KINDS[reference.to].key)


def test_a_version_that_is_saved_already_is_told_once_and_not_with_each_of_its_lines() -> None:
    kept = {kind: {KINDS[kind].key_of(x) for x in EVERY if type(x) is kind and KINDS[kind].key} for kind in RECORDS}
    again = complaints([samples.FIRST, samples.WATER, samples.GLYCERIN], lambda kind: kept[kind])
    assert [(wrong.index, wrong.field) for wrong in again] == [(0, "name")]
