"""Rows of the database as records, and their sums where the sum is all that is asked for.

A sum hides a cell that this program never puts there: SQLite takes a text for 0. So such a row is looked for first,
and where there is one the rows are read one by one, which names the cell. Of texts those that are not plain are read.
"""

import datetime
import sys
from collections.abc import Iterator, Mapping
from functools import cache
from types import MappingProxyType

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    DateTime,
    Double,
    LargeBinary,
    Select,
    Table,
    Text,
    and_,
    case,
    cast,
    func,
    not_,
    or_,
    select,
    true,
)

from optiform.workshop.engine import Unsound
from optiform.workshop.fieldtypes import R
from optiform.workshop.records import Lot, Movement
from optiform.workshop.schema import TABLES, record_of
from optiform.workshop.stock import Holding, holdings, summed

Rows = Select[tuple[object, ...]]

_ALL: Mapping[str, object] = MappingProxyType({})

_NOT_PLAIN = "*[^ -~]*"  # a text with a character that is not of plain ASCII
_WHOLE, _FRACTION = 19, ".[0-9][0-9][0-9][0-9][0-9][0-9]"  # of a moment in a file: characters of the second, the rest


def records(connection: Connection, kind: type[R], where: Mapping[str, object] = _ALL) -> tuple[R, ...]:
    """Every record of one kind whose fields have these values, in the order kept.

    Raises:
        Unsound: a cell holds what this program never puts there.
    """
    table = TABLES[kind]
    these = _all_of(table)
    if where:
        these = these.where(*(table.c[name] == value for name, value in where.items()))
    try:
        return tuple(record_of(kind, row) for row in connection.execute(these))
    except (ValueError, TypeError) as error:  # of a cell that is no date the driver says so
        raise Unsound(f"{table.name}: {error}") from error


@cache
def _all_of(table: Table) -> Rows:
    """Every row of a table in the order kept."""
    return select(table).order_by(table.c.kept)


def latest(connection: Connection) -> datetime.datetime | None:
    """The latest moment that a record names; None where none does.

    Raises:
        Unsound: it is no moment.
    """
    columns = [column for table in TABLES.values() for column in table.c if isinstance(column.type, DateTime)]
    try:
        moments = [connection.scalar(select(func.max(column))) for column in columns]
    except (ValueError, TypeError) as error:
        raise Unsound(f"a moment: {error}") from error
    return max((moment for moment in moments if moment is not None), default=None)


def held(connection: Connection) -> tuple[Holding, ...]:
    """What is left of each lot, first expired first: the movements are summed where they lie, one row for a lot.

    Raises:
        Unsound: a cell of a lot or a movement holds what this program never puts there.
    """
    lots, table = records(connection, Lot), TABLES[Movement]
    on_file = connection.dialect.name == "sqlite"
    if connection.execute(_unsound(table, on_file)).first():
        return holdings(lots, records(connection, Movement))
    for texts in _strange_texts(table) if on_file else ():
        connection.execute(texts).all()
    return summed(lots, {row.lot: row.kg for row in connection.execute(_sums(table))})


@cache
def _sums(table: Table) -> Rows:
    """What is moved of each lot in all. As all statements here it is made once, and then known as compiled before."""
    return select(table.c.lot, func.sum(table.c.kg).label("kg")).group_by(table.c.lot)


@cache
def _unsound(table: Table, on_file: bool) -> Rows:
    """A row with a cell that this program never puts there."""
    sound = case((_sound(table, on_file), 1), else_=0)  # 0 too where SQL knows not: NULL
    return select(table.c.kept).where(sound == 0).limit(1)


@cache
def _strange_texts(table: Table) -> tuple[Rows, ...]:
    """The texts of a file that are not plain ASCII, each once: read, as at bytes that are no text the driver stops.

    A sum does not look at them. SQLite's patterns look no further than a zero byte, and nor does its `length`.
    """
    return tuple(
        select(column).distinct().where(or_(column.op("GLOB")(_NOT_PLAIN), not_(_whole(column))))
        for column in table.c
        if isinstance(column.type, Text)
    )


def _whole(column: Column[object]) -> ColumnElement[bool]:
    return func.length(column) == func.length(cast(column, LargeBinary))


def _sound(table: Table, on_file: bool) -> ColumnElement[bool]:
    """Whether every cell of a row would be read as a value of its column's type; what is doubtful is not."""
    return and_(*(_cell(column, on_file) for column in table.c if not column.primary_key))


def _cell(column: Column[object], on_file: bool) -> ColumnElement[bool]:
    sound = and_(true(), *_conditions(column, on_file))
    return or_(column.is_(None), sound) if column.nullable else sound


def _conditions(column: Column[object], on_file: bool) -> Iterator[ColumnElement[bool]]:
    """A server holds what its columns say; a file may hold anything in any of them."""
    if on_file:
        yield func.typeof(column, type_=Text) == ("real" if isinstance(column.type, Double) else "text")
    if isinstance(column.type, Double):
        yield func.abs(column) <= sys.float_info.max  # neither infinite nor, on a server, no number
    if isinstance(column.type, DateTime):
        yield column.between(datetime.datetime.min, datetime.datetime.max)
        if on_file:
            yield _moment(column)


def _moment(column: Column[object]) -> ColumnElement[bool]:
    """Whether a text is a moment as this program writes one.

    Reckoned with, even by nothing, the 30th of February becomes a day of March; SQLite repeats it as it stands else.
    """
    read, written = func.datetime(column, "+0 days", type_=Text), func.substr(column, 1, _WHOLE, type_=Text)
    fraction = func.substr(column, _WHOLE + 1, type_=Text).op("GLOB")(_FRACTION)
    return or_(read.concat(".000000") == column, and_(read == written, fraction))
