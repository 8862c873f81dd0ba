"""From an older schema to the newest, with a copy kept; never from a newer one."""

import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

import pytest
from sqlalchemy import Connection, inspect, text
from sqlalchemy.exc import DatabaseError

from optiform.cli import main
from optiform.reading.faults import BadInput
from optiform.workshop import migrations
from optiform.workshop.engine import engine_of, reading, writing
from optiform.workshop.records import Forecast, Lot, Movement, Version
from optiform.workshop.schema import ABOUT
from optiform.workshop.store import Workshop
from tests.workshop.samples import CAME, FIRST, FORECAST, LOT

T = TypeVar("T")
CAME_LATER = replace(FORECAST, low=1.0)
HERE = Path(__file__).parent
ROWS = """
INSERT INTO lots (number, ingredient, supplier, supplier_lot, received, expiry, price, currency, note)
    VALUES ('G-1', 'glycerin', '', '', '2026-11-02', '2027-11-02', 4.2, 'EUR', '');
INSERT INTO movements (lot, "when", kg, reason) VALUES ('G-1', '2026-11-02 12:00:30.250000', 5.0, 'received');
INSERT INTO versions (product, name, reason, created)
    VALUES ('polish', 'first', 'a beginning', '2026-11-02 12:00:30.250000');
"""


def make_1(place: str) -> None:
    """A database as the first schema had it, with a few rows."""
    if "://" not in place:
        Path(place).mkdir()
    engine, _ = engine_of(place)
    script = (HERE / f"schema_1_{engine.dialect.name}.sql").read_text(encoding="utf-8") + ROWS
    lines = [line for line in script.splitlines() if not line.startswith("--")]
    with writing(engine) as connection:
        for statement in "\n".join(lines).split(";\n"):
            if statement.strip():
                connection.execute(text(statement))
    engine.dispose()


def within(place: str, ask: Callable[[Connection], T]) -> T:
    engine, _ = engine_of(place)
    with reading(engine) as connection:
        found = ask(connection)
    engine.dispose()
    return found


def shape(connection: Connection) -> object:
    """Tables, columns, keys, references, indexes and triggers."""
    look = inspect(connection)
    names = sorted(look.get_table_names())
    tables = [
        (
            name,
            [(c["name"], str(c["type"]), c["nullable"]) for c in look.get_columns(name)],
            look.get_unique_constraints(name),
            sorted(look.get_foreign_keys(name), key=str),
            sorted((index["name"], index["column_names"]) for index in look.get_indexes(name)),
        )
        for name in names
    ]
    on_file = connection.dialect.name == "sqlite"
    triggers = connection.execute(
        text(
            "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY 1, 2"
            if on_file
            else "SELECT trigger_name, event_object_table, action_statement FROM information_schema.triggers "
            "WHERE trigger_schema = current_schema() ORDER BY 1, 2, event_manipulation"
        )
    ).all()
    assert triggers
    return str(tables).replace(within_schema(connection), "SCHEMA"), [tuple(map(str, row[:2])) for row in triggers]


def within_schema(connection: Connection) -> str:
    """The name of the schema, which differs between two places on one server."""
    return str(inspect(connection).default_schema_name)


def test_an_older_schema_is_brought_up_and_nothing_is_lost(place: str) -> None:
    make_1(place)
    with Workshop.open(place, create=False) as workshop:
        assert workshop.read(Lot) == (LOT,)
        assert workshop.read(Movement) == (CAME,)
        assert workshop.read(Version) == (FIRST,)
        workshop.add(CAME)
    assert within(place, migrations.version_of) == migrations.SCHEMA
    with Workshop.open(place) as again:
        assert len(again.read(Movement)) == 2


def test_a_schema_brought_up_is_the_same_as_a_new_one(tmp_path: Path) -> None:
    old, new = str(tmp_path / "old"), str(tmp_path / "new")
    make_1(old)
    for place in (old, new):
        Workshop.open(place).close()
    assert within(old, shape) == within(new, shape)


def test_a_schema_brought_up_is_the_same_as_a_new_one_on_a_server(database: str) -> None:
    make_1(database)
    Workshop.open(database).close()
    brought_up = within(database, shape)
    engine, _ = engine_of(database)
    with writing(engine) as connection:
        name = within_schema(connection)
        connection.execute(text(f"DROP SCHEMA {name} CASCADE"))
        connection.execute(text(f"CREATE SCHEMA {name}"))
    engine.dispose()
    Workshop.open(database).close()
    assert within(database, shape) == brought_up


def test_a_sealed_forecast_goes_through_a_migration_as_it_is(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with Workshop.open(place) as workshop:
        workshop.add(FORECAST)
    monkeypatch.setattr(migrations, "SCHEMA", migrations.SCHEMA + 1)
    later = "CREATE TABLE something_new (word TEXT)"
    steps = {**migrations.STEPS, migrations.SCHEMA: lambda connection: connection.exec_driver_sql(later)}
    monkeypatch.setattr(migrations, "STEPS", steps)
    with Workshop.open(place) as workshop:
        workshop.add(CAME_LATER)
        assert workshop.read(Forecast) == (FORECAST, CAME_LATER)
    engine, _ = engine_of(place)
    for change in ("UPDATE forecasts SET high = 999", "DELETE FROM forecasts"):
        with pytest.raises(DatabaseError, match="only ever added to"), writing(engine) as connection:
            connection.execute(text(change))
    engine.dispose()
    with Workshop.open(place) as workshop:
        assert workshop.read(Forecast) == (FORECAST, CAME_LATER)


def test_a_copy_of_the_older_file_is_kept_beside_it(tmp_path: Path) -> None:
    make_1(str(tmp_path / "shop"))
    Workshop.open(tmp_path / "shop").close()
    (copy,) = (tmp_path / "shop" / "copies").glob("records-schema-1-*.db")
    with closing(sqlite3.connect(copy)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert connection.execute("SELECT schema FROM about").fetchall() == [(1,)]
        assert connection.execute("SELECT number FROM lots").fetchall() == [("G-1",)]
    assert not list((tmp_path / "shop").glob("*.part"))


def test_a_migration_that_fails_leaves_the_older_one_usable(place: str, monkeypatch: pytest.MonkeyPatch) -> None:
    make_1(place)
    step = migrations.STEPS[2]

    def fail(connection: Connection) -> None:
        step(connection)
        raise RuntimeError("the power has gone")

    with monkeypatch.context() as patch:
        patch.setattr(migrations, "STEPS", {2: fail})
        with pytest.raises(RuntimeError, match="power"):
            Workshop.open(place)
    assert within(place, migrations.version_of) == 1
    assert within(place, lambda connection: inspect(connection).get_indexes("movements")) == []
    with Workshop.open(place) as workshop:
        assert workshop.read(Movement) == (CAME,)


def test_a_migration_that_is_killed_leaves_the_older_one_usable(tmp_path: Path) -> None:
    place = str(tmp_path / "shop")
    make_1(place)
    script = """if True:
        import os, signal, sys
        from optiform.workshop import migrations
        from optiform.workshop.store import Workshop
        step = migrations.STEPS[2]
        migrations.STEPS |= {2: lambda connection: (step(connection), os.kill(os.getpid(), signal.SIGKILL))}
        Workshop.open(sys.argv[1])
    """
    done = subprocess.run([sys.executable, "-c", script, place], cwd=HERE.parents[1], check=False)
    assert done.returncode == -9
    assert within(place, migrations.version_of) == 1
    with Workshop.open(place) as workshop:
        assert workshop.read(Movement) == (CAME,)


def test_a_newer_schema_is_refused_and_left_alone(place: str, capsys: pytest.CaptureFixture[str]) -> None:
    Workshop.open(place).close()
    engine, _ = engine_of(place)
    with writing(engine) as connection:
        connection.execute(ABOUT.update().values(schema=99))
    engine.dispose()
    with pytest.raises(BadInput, match="made by a newer optiform; install that one"):
        Workshop.open(place)
    assert main(["stock", "--records", place]) == 2
    assert "schema version: 99 " in capsys.readouterr().err
    assert within(place, migrations.version_of) == 99


def test_a_program_that_was_open_while_a_newer_one_came_writes_no_more(place: str) -> None:
    with Workshop.open(place) as workshop:
        engine, _ = engine_of(place)
        with writing(engine) as connection:
            connection.execute(ABOUT.update().values(schema=migrations.SCHEMA + 1))
        engine.dispose()
        with pytest.raises(BadInput, match="newer optiform"):
            workshop.add(LOT)
        assert workshop.read(Lot) == ()


def test_every_step_is_there() -> None:
    assert sorted(migrations.STEPS) == list(range(2, migrations.SCHEMA + 1))
