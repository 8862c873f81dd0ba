"""The schema's versions: a new database gets the newest; an older one is brought up to it step by step."""

from collections.abc import Callable, Iterable, Iterator, Mapping

from sqlalchemy import Connection, inspect, select, update

from optiform.workshop.guards import guard
from optiform.workshop.schema import ABOUT, GUARDED, METADATA

#: The version this program reads and writes.
SCHEMA = 2


def _to_2(connection: Connection) -> None:
    """Guards on what is only added to, and indexes on references. Written out: a step never changes any more."""
    tables = ("movements", "packaging_counts", "versions", "version_lines", "readings")
    for statement in _on_file_2(tables) if connection.dialect.name == "sqlite" else _on_server_2(tables):
        connection.exec_driver_sql(statement)
    for table, name, columns in (
        ("movements", "lot", "lot"),
        ("movements", "batch", "batch"),
        ("packaging_counts", "packaging", "packaging"),
        ("packaging_counts", "batch", "batch"),
        ("versions", "parent", "product, parent"),
        ("batches", "version", "product, version"),
        ("batch_lines", "lot", "lot"),
        ("trials", "version", "product, version"),
    ):
        connection.exec_driver_sql(f"CREATE INDEX {table}_of_{name} ON {table} ({columns})")


def _on_file_2(tables: Iterable[str]) -> Iterator[str]:
    for table in tables:
        for verb in ("update", "delete"):
            yield (
                f"CREATE TRIGGER {table}_no_{verb} BEFORE {verb.upper()} ON {table} BEGIN SELECT RAISE(ABORT, "
                f"'{table} is only ever added to: no row of it is changed or deleted'); END"
            )


def _on_server_2(tables: Iterable[str]) -> Iterator[str]:
    yield (
        "\nCREATE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS\n$$ BEGIN RAISE EXCEPTION "
        "'%% is only ever added to: no row of it is changed or deleted', TG_TABLE_NAME; END $$\n"
    )
    for table in tables:
        run = "EXECUTE FUNCTION only_added_to()"
        yield f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {run}"
        yield f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} {run}"


#: What brings a database to each version from the one before.
STEPS: Mapping[int, Callable[[Connection], None]] = {2: _to_2}


def version_of(connection: Connection) -> int | None:
    """The version of the schema; 0 for a database without any table, None for one of another program."""
    names = inspect(connection).get_table_names()
    if ABOUT.name not in names:
        return None if names else 0
    found: int | None = connection.scalar(select(ABOUT.c.schema))
    return found


def make(connection: Connection) -> None:
    """The newest schema in an empty database."""
    METADATA.create_all(connection, checkfirst=False)
    guard(connection, GUARDED)
    connection.execute(ABOUT.insert().values(schema=SCHEMA))


def migrate(connection: Connection, version: int) -> None:
    """Every step from an older version to the newest, within the transaction of the connection."""
    for number in range(version + 1, SCHEMA + 1):
        STEPS[number](connection)
    connection.execute(update(ABOUT).values(schema=SCHEMA))
