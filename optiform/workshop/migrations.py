"""The schema's versions: a new database gets the newest; an older one is brought up to it step by step."""

from collections.abc import Callable, Mapping

from sqlalchemy import Connection, inspect, select, update

from optiform.workshop.schema import ABOUT, METADATA

#: The version this program reads and writes.
SCHEMA = 1

#: What brings a database to each version from the one before.
STEPS: Mapping[int, Callable[[Connection], None]] = {}


def version_of(connection: Connection) -> int | None:
    """The version of the schema; 0 for a database without any table, None for one of another program."""
    names = inspect(connection).get_table_names()
    if ABOUT.name not in names:
        return None if names else 0
    found: int | None = connection.scalar(select(ABOUT.c.schema))
    return found


def make(connection: Connection) -> None:
    """The newest schema in an empty database."""
    METADATA.create_all(connection)
    connection.execute(ABOUT.insert().values(schema=SCHEMA))


def migrate(connection: Connection, version: int) -> None:
    """Every step from an older version to the newest, within the transaction of the connection."""
    for number in range(version + 1, SCHEMA + 1):
        STEPS[number](connection)
    connection.execute(update(ABOUT).values(schema=SCHEMA))
