"""The way to a database: a file in a folder, or a server; and its errors in words."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, create_engine, event, func, make_url, select, text
from sqlalchemy.exc import ArgumentError, DBAPIError, IntegrityError
from sqlalchemy.pool import NullPool, StaticPool

from optiform.reading import run
from optiform.reading.faults import BadInput, Fault

FILE = "records.db"
OLD_FILE = "workshop.db"  #: its name in the version before; read where there is no other
PATIENCE = 10.0  # seconds to wait for another program that writes
_LOCK = 0x6F7074  # any number, the same for every writer on a server

#: For every connection to a file. FULL: what is committed is on the disk before the program goes on.
PRAGMAS: tuple[str, ...] = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA recursive_triggers = ON",  # so that INSERT OR REPLACE meets the guards against deletion
)

_BUSY = "a workshop that no other program is writing to: try again when it has finished"
_FULL = "room on the disk: make some and try again; what was saved before is untouched and can be exported"
_CLOSED = (
    "a folder and a file that can be written: change their permissions, or copy them elsewhere; "
    "reading and exporting need neither"
)
_FORBIDDEN = "a user of the server who may make tables and write to them"

_BROKEN = "a whole database: take the last export or backup, and keep this file aside"

#: What to do, by the name of SQLite's error or by PostgreSQL's code.
_ADVICE = {
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "55P03": _BUSY,
    "SQLITE_FULL": _FULL,
    "SQLITE_IOERR_SHMSIZE": _FULL,
    "53100": _FULL,
    "SQLITE_READONLY": _CLOSED,
    "SQLITE_CANTOPEN": _CLOSED,
    "SQLITE_PERM": _CLOSED,
    "42501": _FORBIDDEN,
    "25006": _FORBIDDEN,
    "SQLITE_NOTADB": "a workshop's database: this file is something else",
    "SQLITE_CORRUPT": _BROKEN,
    "SQLITE_IOERR": "a disk that can be read and written: check that it is there and has room",
}

#: What SQLite says where it can write nothing: in the file, or beside it.
_UNWRITABLE = ("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_FULL", "SQLITE_IOERR")


class Unsound(Exception):
    """The database holds what this program never puts there: a broken disk, or another program's hand."""


def engine_of(place: str | Path) -> tuple[Engine, Path | None]:
    """The engine for a place, and the file where it is one.

    Raises:
        BadInput: a URL of another kind, or the driver for PostgreSQL is not installed.
    """
    if "://" in str(place):
        return _server(str(place)), None
    path = file_in(Path(place))
    return _file(path.absolute()), path


def file_in(place: Path) -> Path:
    """The file of the records in a folder, or the place itself where it is one.

    One of the version before goes on being used under its name, and that is noted.

    Example:
        >>> file_in(Path("shop", "records.db")).name, file_in(Path("no such folder")).name
        ('records.db', 'records.db')
    """
    if place.name in (FILE, OLD_FILE):
        return place
    if os.path.lexists(place / OLD_FILE) and not os.path.lexists(place / FILE):
        run.note(str(place / OLD_FILE), f"read as before; a new folder's records are in {FILE}")
        return place / OLD_FILE
    return place / FILE


def refuse_irregular(path: Path) -> None:
    """A folder of this name is no workshop, and a pipe would keep a reader waiting.

    Raises:
        BadInput: something other than a file is there.
    """
    if path.exists() and not path.is_file():
        irregular = "a folder" if path.is_dir() else "a device or a pipe"
        raise BadInput([Fault(str(path), "file", irregular, "a workshop's database: move what is there elsewhere")])
    if path.parent.exists() and not path.parent.is_dir():
        words = f"a folder, or the {FILE} in it"
        raise BadInput([Fault(str(path.parent), "workshop", "a file", words)])


def in_memory() -> Engine:
    """The engine of a database that is gone with it."""
    return _prepared(create_engine("sqlite://", poolclass=StaticPool))


@lru_cache(maxsize=32)
def _file(path: Path) -> Engine:
    """The engine for a file: one as long as the program runs, since it remembers each statement as it was compiled."""
    # No pool: a connection kept open would go on writing to a file that was deleted or replaced meanwhile.
    url = URL.create("sqlite", database=str(path))
    return _prepared(create_engine(url, connect_args={"timeout": PATIENCE}, poolclass=NullPool))


def _prepared(engine: Engine) -> Engine:

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _: object) -> None:
        connection.isolation_level = None  # transactions begin where we say so, not where the driver guesses
        for pragma in PRAGMAS:
            connection.execute(pragma)

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        # A writer takes its lock at once, so that what it has read holds until it has written.
        writes = connection.get_execution_options().get("writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def _server(place: str) -> Engine:
    try:
        url = make_url(place)
    except ArgumentError:
        raise BadInput([Fault("--records", "address", repr(place), "postgresql://user@host/database")]) from None
    if url.drivername != "postgresql":
        words = "a folder, or postgresql://user@host/database"
        raise BadInput([Fault("--records", "address", repr(shown(url)), words)])
    try:
        return create_engine(url.set(drivername="postgresql+psycopg"), connect_args={"connect_timeout": int(PATIENCE)})
    except ImportError:
        words = "the driver for PostgreSQL: pip install 'optiform[postgresql]'"
        raise BadInput([Fault(shown(url), "driver", "no psycopg", words)]) from None


def shown(url: URL) -> str:
    """The address of a server without its password."""
    return url.set(drivername=url.drivername.partition("+")[0]).render_as_string(hide_password=True)


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """A transaction that sees the database as it was at one moment."""
    options = {} if engine.dialect.name == "sqlite" else {"isolation_level": "REPEATABLE READ"}
    with engine.connect() as connection, connection.execution_options(**options).begin():
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """A transaction in which nobody else writes; all of it is kept, or nothing."""
    with engine.connect() as connection, connection.execution_options(writes=True).begin():
        if engine.dialect.name != "sqlite":
            connection.execute(select(func.set_config("lock_timeout", str(int(1000 * PATIENCE)), True)))  # ms
            connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK})
        yield connection


@contextmanager
def told(name: str) -> Iterator[None]:
    """Errors of the database, of its file or of the way to it, as faults of what is called `name`."""
    try:
        yield
    except IntegrityError as error:
        words = "records that fit what is saved now: somebody else wrote meanwhile, or another program changed the file"
        raise BadInput([Fault(name, "records", _first_line(error.orig), words)]) from error
    except DBAPIError as error:
        raise BadInput([_fault(name, error.orig)]) from error
    except (Unsound, UnicodeDecodeError) as error:  # even SQLite's words on what is broken may be broken
        raise BadInput([Fault(name, "database", _first_line(error), _BROKEN)]) from error
    except sqlite3.Error as error:
        raise BadInput([_fault(name, error)]) from error
    except OSError as error:
        raise BadInput([Fault(name, "folder", str(error.strerror), "a folder that can be written")]) from error


def unwritable(refused: BadInput) -> bool:
    """Whether what was told is that nothing can be written; then a copy elsewhere may still be read."""
    error = refused.__cause__
    return _coarse(_code(getattr(error, "orig", error))) in _UNWRITABLE


def _fault(name: str, error: BaseException | None) -> Fault:
    code = _code(error)
    otherwise = "a workshop's database that answers: check that the place is right and can be reached"
    if isinstance(error, sqlite3.OperationalError) and not code:  # the driver's own: it met bytes that are no text
        otherwise = _BROKEN
    return Fault(name, "database", _first_line(error), _ADVICE.get(code) or _ADVICE.get(_coarse(code), otherwise))


def _code(error: BaseException | None) -> str:
    return str(getattr(error, "sqlite_errorname", "") or getattr(error, "sqlstate", ""))


def _coarse(code: str) -> str:
    """The name of SQLite's error without its finer distinctions."""
    return "_".join(code.split("_")[:2])


def _first_line(error: BaseException | None) -> str:
    return str(error).strip().partition("\n")[0]
