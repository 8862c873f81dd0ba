"""The workshop's records in a database: read, added to, and where they may change, revised.

Versions of formulas, their lines, movements, counts and readings are only ever added to.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from sqlalchemy import and_, insert, select, update

from optiform.faults import BadInput, Fault
from optiform.workshop import check, migrations
from optiform.workshop.engine import FILE, back_up, engine_of, reading, shown, told, writing
from optiform.workshop.fieldtypes import fields_of
from optiform.workshop.kinds import KINDS, Key, Record
from optiform.workshop.schema import TABLES, record_of, row_of

if TYPE_CHECKING:
    from types import TracebackType

    from sqlalchemy import Connection, Engine

R = TypeVar("R")

#: Where a complaint is to be told: file and place for the index of a record and the name of a field.
Places = Callable[[int, str], tuple[str, str]]


class Workshop:
    """A workshop's records. Made with `Workshop.open`; close it, or use it in a `with`."""

    def __init__(self, engine: Engine, name: str) -> None:
        self._engine = engine
        self.name = name  # for messages; without a password

    @staticmethod
    def open(place: str | Path, create: bool = True) -> Workshop:
        """Open the workshop of a folder, or of a server at a `postgresql://` URL.

        Args:
            place: where it is.
            create: make it where there is none.

        Raises:
            BadInput: none there, not readable or writable, made by a newer program, or no workshop at all.
        """
        engine, path = engine_of(place)
        workshop = Workshop(engine, str(path) if path else shown(engine.url))
        try:
            workshop._prepare(path, create)
        except BaseException:
            workshop.close()
            raise
        return workshop

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def __enter__(self) -> Workshop:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def read(self, kind: type[R]) -> tuple[R, ...]:
        """Every record of one kind, in the order kept."""
        with self._reading() as connection:
            return _all(connection, kind)

    def read_all(self) -> dict[type[Record], tuple[Record, ...]]:
        """Every record of every kind, all as they were at one moment."""
        with self._reading() as connection:
            return {kind: _all(connection, kind) for kind in KINDS}

    def add(self, *records: Record) -> None:
        """Keep records, all in one transaction or none.

        Raises:
            BadInput: with every fault: a value that is not allowed, a key that is taken, a reference to nothing.
        """
        self.add_from(records, lambda index, field: (self.name, f"{_called(records[index])}, {field}"))

    def add_from(self, records: Sequence[Record], place: Places) -> None:
        """Keep records that were read somewhere: as `add`, with faults told at their places."""
        with self._writing() as connection:
            _refuse(check.complaints(records, _kept(connection)), place)
            for kind in KINDS:
                rows = [row_of(record) for record in records if type(record) is kind]
                if rows:
                    connection.execute(insert(TABLES[kind]), rows)

    def faults(self, records: Sequence[Record], place: Places, unread: Collection[type[Record]]) -> list[Fault]:
        """What would be wrong with adding these records, where some of the kinds `unread` could not be read."""
        with self._reading() as connection:
            return _faults(check.complaints(records, _kept(connection), unread), place)

    def revise(self, record: Record) -> None:
        """Keep new values of a record, found by its key.

        Raises:
            BadInput: no such record, a value that is not allowed, or something that never changes once kept.
        """
        kind = KINDS[type(record)]
        called = _called(record)
        if not kind.changes:
            words = f"another {kind.noun} beside it: what was kept once is never overwritten"
            raise BadInput([Fault(self.name, called, "a revision", words)])
        with self._writing() as connection:
            found = check.complaints([record], _kept(connection, but=record))
            _refuse(found, lambda _, field: (self.name, f"{called}, {field}"))
            self._revise(connection, record)

    def _revise(self, connection: Connection, record: Record) -> None:
        kind, table, called = KINDS[type(record)], TABLES[type(record)], _called(record)
        this = and_(*(table.c[name] == value for name, value in zip(kind.key, kind.key_of(record), strict=True)))
        row = connection.execute(select(table).where(this)).first()
        if row is None:
            raise BadInput([Fault(self.name, called, "nothing", f"a {kind.noun} that is kept")])
        before = record_of(kind.record, row)
        differing = [f.name for f in fields_of(kind.record) if getattr(record, f.name) != getattr(before, f.name)]
        fixed = [
            Fault(self.name, f"{called}, {name}", repr(getattr(record, name)), f"{getattr(before, name)!r}, as kept")
            for name in differing
            if name not in kind.changes
        ]
        if fixed:
            raise BadInput(fixed)
        if differing:
            values = {name: value for name, value in row_of(record).items() if name in kind.changes}
            connection.execute(update(table).where(this).values(values))

    def _prepare(self, path: Path | None, create: bool) -> None:
        """See that the database is there and of this version: make it, or bring it up."""
        with told(self.name):
            if path and not path.exists():
                if not create:
                    raise BadInput([Fault(self.name, "file", "nothing", f"a workshop: a folder with {FILE} in it")])
                path.parent.mkdir(parents=True, exist_ok=True)
            with reading(self._engine) as connection:
                version = migrations.version_of(connection)
            if version != migrations.SCHEMA:
                with writing(self._engine) as connection:  # another program may have done it meanwhile: look again
                    self._bring_up(connection, migrations.version_of(connection), path, create)

    def _bring_up(self, connection: Connection, version: int | None, path: Path | None, create: bool) -> None:
        self._refuse_strange(version)
        if version == 0:
            if not create:
                raise BadInput([Fault(self.name, "database", "an empty database", "a workshop")])
            migrations.make(connection)
        elif version is not None and version < migrations.SCHEMA:
            if path:
                now = datetime.datetime.now().strftime("%Y%m%d-%H%M%S")
                back_up(path, path.with_name(f"{path.stem}-schema-{version}-{now}.db"))
            migrations.migrate(connection, version)

    def _refuse_strange(self, version: int | None) -> None:
        if version is None:
            raise BadInput([Fault(self.name, "database", "tables of another program", "a workshop")])
        if version > migrations.SCHEMA:
            words = f"at most {migrations.SCHEMA}: it was made by a newer optiform; install that one here too"
            raise BadInput([Fault(self.name, "schema version", str(version), words)])

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with told(self.name), reading(self._engine) as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with told(self.name), writing(self._engine) as connection:
            self._refuse_strange(migrations.version_of(connection))  # a newer program may have come in meanwhile
            yield connection


def _all(connection: Connection, kind: type[R]) -> tuple[R, ...]:
    table = TABLES[kind]
    return tuple(record_of(kind, row) for row in connection.execute(select(table).order_by(table.c.kept)))


def _kept(connection: Connection, but: Record | None = None) -> Callable[[type[Record]], set[Key]]:
    """The keys that are kept of a kind, each kind read once; without that of one record."""
    known: dict[type[Record], set[Key]] = {}

    def keys(kind: type[Record]) -> set[Key]:
        if kind not in known:
            columns = [TABLES[kind].c[name] for name in KINDS[kind].key]
            known[kind] = {tuple(row) for row in connection.execute(select(*columns))}
            known[kind] -= {KINDS[kind].key_of(but)} if type(but) is kind else set()
        return known[kind]

    return keys


def _called(record: Record) -> str:
    return KINDS[type(record)].called(record)


def _faults(found: Sequence[check.Complaint], place: Places) -> list[Fault]:
    return [Fault(*place(each.index, each.field), _shown(each.read), each.expected) for each in found]


def _shown(read: object) -> str:
    shown = repr(read) if isinstance(read, str) else str(read)
    return shown if len(shown) <= 80 else shown[:76] + "...'"


def _refuse(found: Sequence[check.Complaint], place: Places) -> None:
    if found:
        raise BadInput(_faults(found, place))
