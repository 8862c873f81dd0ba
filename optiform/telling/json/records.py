"""What a workshop saves as plain data, by the names of its columns; and what a command did with it."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple, cast

from optiform.batch.on_hand import Stock
from optiform.batch.records import Packed
from optiform.reading.plain import answered
from optiform.telling.json.form import (
    QUANTITY,
    TEXT,
    WHOLE,
    Data,
    Get,
    Key,
    Many,
    Named,
    Schema,
    Shared,
    answer,
    getter,
    key,
    many,
    number,
    record,
    text,
    texts,
    whole,
)  # fmt: skip
from optiform.telling.worked import uncounted_of
from optiform.workshop.fieldtypes import Field, fields_of
from optiform.workshop.keeping import own_lines
from optiform.workshop.records import Batch, BatchLine, Record, Version, VersionLine
from optiform.workshop.store import Revision

_CELL = {"type": ["string", "number", "boolean", "null"]}


class _Columns:
    """A record by the columns that it declares; money with its unit, days and times as text."""

    def said(self, of: object) -> Data:
        """What stands in each column."""
        currency = getattr(of, "currency", "")
        return {
            field.name: _cell(getattr(of, field.name), field, currency)
            for field in fields_of(cast("type[Record]", type(of)))
        }

    def schema(self, shared: Schema) -> Schema:
        """Cells, and money."""
        return {"type": "object", "additionalProperties": {"anyOf": [_CELL, QUANTITY.schema(shared)]}}


def _cell(value: object, field: Field, currency: str) -> object:
    if field.column.unit.startswith("money"):
        unit = field.column.unit.replace("money", currency)
        return QUANTITY.said((value, unit)) if isinstance(value, int | float) else None
    return value.isoformat() if isinstance(value, datetime.date) else value


COLUMNS = _Columns()
RECORD = Shared(
    "record", COLUMNS, "A record by the names of its columns, as in the CSV of an export; money with its unit."
)


def records(name: str, get: Get = "") -> Key:
    """A key with a list of records."""
    return many(name, RECORD, get)


def columns(kind: type[Record], at: str) -> tuple[Key, ...]:
    """The keys of one kind of record, each as the record declares it; `at` is where in a value the record stands."""
    return tuple(_column(field, at) for field in fields_of(kind))


def _column(field: Field, at: str) -> Key:
    where, unit = f"{at}.{field.name}", field.column.unit.replace("degC", "°C")
    if field.type is float:
        return number(field.name, where, unit, null=not field.needed)
    if field.type is int:
        return whole(field.name, where, unit, null=not field.needed)
    got = getter(where)
    return text(field.name, lambda of: _cell(got(of), field, ""))


# -- answers -----------------------------------------------------------------------------------------------------------

SAVED = answer(
    ["saved"],
    key("records", Many(RECORD), may_lack=True),
    key("trial", TEXT, may_lack=True),
    key("weights", WHOLE, may_lack=True),
    key("readings", Many(WHOLE), may_lack=True),
)
MOVED = answer(
    ["imported", "exported"],
    key("source", TEXT, may_lack=True),
    key("file", TEXT, may_lack=True),
    key("records", Named(WHOLE)),
)


def saved(of: Iterable[Record | Revision]) -> Data:
    """What a command saved, each record with its kind; a revision as the record is now."""
    now = [each.record if isinstance(each, Revision) else each for each in of]
    return answered("saved", records=[{"kind": type(each).__name__, **COLUMNS.said(each)} for each in now])


def moved(status: str, of: Mapping[str, int], **where: str) -> Data:
    """How many records of each table came in or went out."""
    return answered(status, **where, records=dict(of))


class _Versions(NamedTuple):
    """Versions, and the lines of all of them."""

    versions: Sequence[Version]
    lines: Sequence[VersionLine]


class _Version(NamedTuple):
    """A version with its lines."""

    version: Version
    lines: Sequence[VersionLine]


def _each(of: _Versions) -> Iterable[_Version]:
    for version in of.versions:
        yield _Version(version, own_lines(of.lines, version.product, version.name))


_LINE = record(text("ingredient"), number("percent"), text("phase"))
VERSIONS = answer(["versions"], many("versions", record(*columns(Version, "version"), many("lines", _LINE)), _each))


def versions(of: Sequence[Version], lines: Sequence[VersionLine]) -> Data:
    """The versions with their lines."""
    return VERSIONS.said(_Versions(of, lines))


class _Batch(NamedTuple):
    """A batch that is saved, its lines, and what packaging went."""

    batch: Batch
    lines: Sequence[BatchLine]
    packaging: Packed


BATCH = answer(
    ["batch"],
    *columns(Batch, "batch"),
    records("lines"),
    key("packaging", record(records("counts"), texts("notes", uncounted_of))),
)


def batch(of: Batch, lines: Sequence[BatchLine], packed: Packed) -> Data:
    """A batch that is saved, its lines, and what packaging went."""
    return BATCH.said(_Batch(of, lines, packed))


_HOLDING = record(key("lot", RECORD), number("kg"))
_SHORT = record(text("ingredient"), number("needed", words="kg"), number("there", words="kg"))
_PIECES = record(text("packaging"), whole("needed"), whole("there"))
_FOR_BATCH = record(
    text("product"), text("version"), number("kg"), many("short", _SHORT), whole("jars", null=True), texts("counted"),
    many("pieces", _PIECES),
)  # fmt: skip
STOCK = answer(
    ["stock"],
    text("today"), whole("days"),
    many("shelves", record(text("ingredient"), number("kg"), many("lots", _HOLDING))),
    many("expiring", _HOLDING), many("overdrawn", _HOLDING), many("batches", _FOR_BATCH),
    many("packaging", record(key("packaging", RECORD), whole("left"))),
)  # fmt: skip


def stock(of: Stock) -> Data:
    """What is owned on a day, what expires and what is short."""
    return STOCK.said(of)
