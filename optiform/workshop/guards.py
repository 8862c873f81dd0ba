"""Triggers that refuse, in the database itself, to change or delete what is only ever added to."""

from collections.abc import Iterable

from sqlalchemy import Connection

_WORDS = "is only ever added to: no row of it is changed or deleted"

_SQLITE = (
    "CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table} BEGIN SELECT RAISE(ABORT, '{table} {words}'); END",
    "CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table} BEGIN SELECT RAISE(ABORT, '{table} {words}'); END",
)
_FUNCTION = """
CREATE FUNCTION only_added_to() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '% {words}', TG_TABLE_NAME; END $$
"""
_POSTGRESQL = (
    "CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION only_added_to()",
    "CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} EXECUTE FUNCTION only_added_to()",
)


def guard(connection: Connection, tables: Iterable[str]) -> None:
    """Guard these tables."""
    on_file = connection.dialect.name == "sqlite"
    if not on_file:
        connection.exec_driver_sql(_FUNCTION.format(words=_WORDS).replace("%", "%%"))
    for table in tables:
        for statement in _SQLITE if on_file else _POSTGRESQL:
            connection.exec_driver_sql(statement.format(table=table, words=_WORDS))
