"""The tables of the database, one for each kind of record, made from the dataclasses."""

import datetime
import math

from sqlalchemy import (
    BigInteger,
    Column,
    Date,
    DateTime,
    Double,
    ForeignKeyConstraint,
    Index,
    Integer,
    MetaData,
    Row,
    Table,
    Text,
    UniqueConstraint,
)

from optiform.workshop.fieldtypes import Field, R, fields_of, record_from
from optiform.workshop.kinds import KINDS, Kind
from optiform.workshop.records import Record

_TYPES: dict[type, type[Text | Double[float] | BigInteger | Date | DateTime]] = {
    str: Text,
    float: Double,
    int: BigInteger,
    datetime.date: Date,
    datetime.datetime: DateTime,
}

METADATA = MetaData()

#: One row: the version of the schema that the database has.
ABOUT = Table("about", METADATA, Column("schema", Integer, primary_key=True, autoincrement=False))


def _unnamed(kind: Kind) -> set[str]:
    """Fields of references that may name nothing: NULL in the database, an empty text in a record."""
    return {reference.fields[-1] for reference in kind.refers if reference.optional}


def _table(kind: Kind) -> Table:
    columns = [
        Column(field.name, _TYPES[field.type](), nullable=field.optional or field.name in _unnamed(kind))
        for field in fields_of(kind.record)
    ]
    unique = [UniqueConstraint(*kind.key, name=f"{kind.file}_key")] if kind.key else []
    foreign = [
        ForeignKeyConstraint(
            reference.fields,
            [f"{KINDS[reference.to].file}.{name}" for name in KINDS[reference.to].key],
            name=f"{kind.file}_{reference.fields[-1]}",
            deferrable=True,  # looked at when all records of one addition are in, whatever their order
            initially="DEFERRED",
        )
        for reference in kind.refers
    ]
    kept = Column("kept", Integer, primary_key=True, autoincrement=True)  # the order of keeping
    indexes = [
        Index(f"{kind.file}_of_{reference.fields[-1]}", *reference.fields)
        for reference in kind.refers
        if kind.key[: len(reference.fields)] != reference.fields  # else the key serves already
    ]
    return Table(kind.file, METADATA, kept, *columns, *unique, *foreign, *indexes, sqlite_autoincrement=True)


#: The table of each kind.
TABLES: dict[type[Record], Table] = {record: _table(kind) for record, kind in KINDS.items()}


#: The fields of each kind in the order of its table's columns, each with whether it may name nothing.
_FIELDS: dict[type[Record], tuple[tuple[Field, bool], ...]] = {
    record: tuple((field, field.name in _unnamed(kind)) for field in fields_of(record))
    for record, kind in KINDS.items()
}

#: Tables whose rows stay as they are for ever.
GUARDED = tuple(kind.file for kind in KINDS.values() if not kind.changes)


def row_of(record: Record) -> dict[str, object]:
    """A record as a row: numbers as their column's type, a reference that names nothing as NULL."""
    unnamed = _unnamed(KINDS[type(record)])
    row = {}
    for field in fields_of(type(record)):
        value = getattr(record, field.name)
        if field.type is float and value is not None:
            value = float(value)
        row[field.name] = None if field.name in unnamed and value == "" else value
    return row


def record_of(kind: type[R], row: Row[tuple[object, ...]]) -> R:
    """A row as a record.

    Raises:
        ValueError: a cell holds what this program never puts there; the words name it.
    """
    kept, *cells = tuple(row)
    values = {}
    for (field, unnamed), cell in zip(_FIELDS[kind], cells, strict=True):
        value = "" if cell is None and unnamed else cell
        if not (value is None and field.optional) and not _sound(value, field.type):
            raise ValueError(f"{field.name} {value!r} in row {kept}")
        values[field.name] = value
    return record_from(kind, values)


def _sound(value: object, expected: type) -> bool:
    return type(value) is expected and (expected is not float or math.isfinite(value))  # type: ignore[arg-type]
