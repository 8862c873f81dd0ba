"""The schema's versions: a new database gets the newest; an older one is brought up to it step by step."""

from collections.abc import Callable, Iterable, Iterator
from functools import cache

from sqlalchemy import Connection, create_mock_engine, inspect, select, update
from sqlalchemy.schema import ExecutableDDLElement

from optiform.workshop.guards import guard
from optiform.workshop.schema import ABOUT, GUARDED, METADATA

#: The version this program reads and writes.
SCHEMA = 4


def _to_2(connection: Connection) -> None:
    """Guards on what is only added to, and indexes on references. Written out: a step never changes any more."""
    tables = ("movements", "packaging_counts", "versions", "version_lines", "readings")
    for statement in _on_file_2(tables) if _on_file(connection) else _on_server_2(tables):
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
    yield from _guards_on_server_2(tables)


def _guard(connection: Connection, *tables: str) -> None:
    """Guards as step 2 has them on tables of a later step."""
    for statement in _on_file_2(tables) if _on_file(connection) else _guards_on_server_2(tables):
        connection.exec_driver_sql(statement)


def _on_file(connection: Connection) -> bool:
    return connection.dialect.name == "sqlite"


def _guards_on_server_2(tables: Iterable[str]) -> Iterator[str]:
    for table in tables:
        run = "EXECUTE FUNCTION only_added_to()"
        yield f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW {run}"
        yield f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} {run}"


def _to_3(connection: Connection) -> None:
    """Products with their steps, the texts these name, and drafts."""
    row, moment, _ = _types(connection)
    named = "FOREIGN KEY(product) REFERENCES products (name) DEFERRABLE INITIALLY DEFERRED"
    for statement in (
        f"CREATE TABLE products ({row}, name TEXT NOT NULL, created {moment} NOT NULL, at BIGINT NOT NULL, "
        "steps BIGINT NOT NULL, revision BIGINT NOT NULL, CONSTRAINT products_key UNIQUE (name))",
        f'CREATE TABLE steps ({row}, product TEXT NOT NULL, number BIGINT NOT NULL, "before" BIGINT NOT NULL, '
        f'"when" {moment} NOT NULL, words TEXT NOT NULL, content TEXT NOT NULL, '
        f"CONSTRAINT steps_key UNIQUE (product, number), CONSTRAINT steps_product {named})",
        f"CREATE TABLE file_texts ({row}, digest TEXT NOT NULL, part BIGINT NOT NULL, text TEXT NOT NULL, "
        "CONSTRAINT file_texts_key UNIQUE (digest, part))",
        f"CREATE TABLE drafts ({row}, product TEXT NOT NULL, name TEXT NOT NULL, parent TEXT NOT NULL, "
        f"reason TEXT NOT NULL, created {moment} NOT NULL, lines TEXT NOT NULL, "
        f"CONSTRAINT drafts_key UNIQUE (product, name), CONSTRAINT drafts_product {named})",
    ):
        connection.exec_driver_sql(statement)
    _guard(connection, "steps", "file_texts", "drafts")


def _to_4(connection: Connection) -> None:
    """Forecasts, sealed; what is weighed one thing at a time, and its ticks."""
    _forecasts(connection)
    _weighings(connection)
    _guard(connection, "forecasts", "ticks")


def _types(connection: Connection) -> tuple[str, str, str]:
    """What numbers the rows of a table, a moment and a figure are called here."""
    if _on_file(connection):
        return "kept INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT", "DATETIME", "DOUBLE"
    return "kept SERIAL NOT NULL PRIMARY KEY", "TIMESTAMP WITHOUT TIME ZONE", "DOUBLE PRECISION"


def _forecasts(connection: Connection) -> None:
    row, moment, figure = _types(connection)
    figures = ", ".join(f"{name} {figure} NOT NULL" for name in ("low", "typical", "high"))
    connection.exec_driver_sql(
        f'CREATE TABLE forecasts ({row}, "when" {moment} NOT NULL, formula TEXT NOT NULL, lines TEXT NOT NULL, '
        f"temperature {figure} NOT NULL, age {figure} NOT NULL, instrument TEXT NOT NULL, geometry TEXT NOT NULL, "
        f"tester TEXT NOT NULL, {figures}, unit TEXT NOT NULL, level {figure} NOT NULL, rests_on TEXT NOT NULL, "
        "model TEXT NOT NULL)"
    )


def _weighings(connection: Connection) -> None:
    row, moment, figure = _types(connection)
    for statement in (
        f"CREATE TABLE weighings ({row}, sheet TEXT NOT NULL, run BIGINT NOT NULL, title TEXT NOT NULL, "
        f"begun {moment} NOT NULL, ended {moment}, batch TEXT, CONSTRAINT weighings_key UNIQUE (sheet, run), "
        "CONSTRAINT weighings_batch FOREIGN KEY(batch) REFERENCES batches (number) DEFERRABLE INITIALLY DEFERRED)",
        "CREATE INDEX weighings_of_batch ON weighings (batch)",
        f"CREATE TABLE ticks ({row}, sheet TEXT NOT NULL, run BIGINT NOT NULL, screen BIGINT NOT NULL, "
        f'number BIGINT NOT NULL, "over" BIGINT NOT NULL, word TEXT NOT NULL, ingredient TEXT NOT NULL, '
        f'place TEXT NOT NULL, planned {figure}, grams {figure}, lot TEXT NOT NULL, "when" {moment} NOT NULL, '
        "CONSTRAINT ticks_key UNIQUE (sheet, run, screen, number), CONSTRAINT ticks_run FOREIGN KEY(sheet, run) "
        "REFERENCES weighings (sheet, run) DEFERRABLE INITIALLY DEFERRED)",
    ):
        connection.exec_driver_sql(statement)


#: What brings a database to each version from the one before.
STEPS: dict[int, Callable[[Connection], None]] = {2: _to_2, 3: _to_3, 4: _to_4}


def version_of(connection: Connection) -> int | None:
    """The version of the schema; 0 for a database without any table, None for one of another program."""
    names = inspect(connection).get_table_names()
    if ABOUT.name not in names:
        return None if names else 0
    version: int | None = connection.scalar(select(ABOUT.c.schema))
    return version


def make(connection: Connection) -> None:
    """The newest schema in an empty database."""
    for statement in _newest(connection.engine.url.drivername):
        connection.exec_driver_sql(statement)
    guard(connection, GUARDED)
    connection.execute(ABOUT.insert().values(schema=SCHEMA))


@cache
def _newest(driver: str) -> tuple[str, ...]:
    """What makes every table and index, as a kind of database is told it: worded once, however many are made."""
    statements: list[str] = []

    def said(statement: ExecutableDDLElement, *_: object, **__: object) -> None:
        statements.append(str(engine.dialect.ddl_compiler(engine.dialect, statement)))

    engine = create_mock_engine(f"{driver}://", said)
    METADATA.create_all(engine, checkfirst=False)
    return tuple(statements)


def migrate(connection: Connection, version: int) -> None:
    """Every step from an older version to the newest, within the transaction of the connection."""
    for number in range(version + 1, SCHEMA + 1):
        STEPS[number](connection)
    connection.execute(update(ABOUT).values(schema=SCHEMA))
