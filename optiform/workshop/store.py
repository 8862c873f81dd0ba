"""The workshop's records in a database: read, added to, and where they may change, revised.

Versions of formulas, their lines, movements, counts and readings are only ever added to.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeVar

from sqlalchemy import and_, insert, select, update

from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.workshop import check, migrations, rows
from optiform.workshop.copies import back_up, copy_of_the_day, copy_to_read, has_copy_of, private
from optiform.workshop.engine import (
    FILE,
    engine_of,
    in_memory,
    reading,
    refuse_irregular,
    shown,
    told,
    unwritable,
    writing,
)
from optiform.workshop.fieldtypes import R, fields_of
from optiform.workshop.kinds import KINDS, Key
from optiform.workshop.records import Movement, Record
from optiform.workshop.schema import TABLES, record_of, row_of

if TYPE_CHECKING:
    from tempfile import TemporaryDirectory
    from types import TracebackType

    from sqlalchemy import Connection, Engine

    from optiform.workshop.stock import Holding

T = TypeVar("T")

#: Where a complaint is to be told: file and place for the index of a record and the name of a field.
Places = Callable[[int, str], tuple[str, str]]


class Reader(Protocol):
    """Whoever gives the records of a kind: a workshop, or its writer in the middle of a decision."""

    def read(self, kind: type[R], **where: object) -> tuple[R, ...]:
        """Every record of one kind whose fields have these values, in the order kept."""
        ...

    def held(self) -> tuple[Holding, ...]:
        """What is left of each lot, first expired first, without reading every movement."""
        ...


def at_a_glance(kept: Reader) -> tuple[dict[type[Record], tuple[Record, ...]], tuple[Holding, ...]]:
    """Every record but the movements, and what these leave of each lot: what a page looks at, with every click."""
    return {kind: kept.read(kind) for kind in KINDS if kind is not Movement}, kept.held()


@frozen
class Revision:
    """New values of a record that is kept, among what a decision keeps."""

    record: Record


#: What is to be kept, given the records as they are; a `Revision` where it is kept with other values.
Decision = Callable[[Reader], Sequence[Record | Revision]]


class Workshop:
    """A workshop's records. Made with `Workshop.open`; close it, or use it in a `with`."""

    def __init__(self, engine: Engine, path: Path | None) -> None:
        self._engine = engine
        self._path = path  # None of a server
        self._unmade = False  # nothing is there yet, and it may be made
        self._sealed: BadInput | None = None  # why nothing can be written, where a copy is read
        self._copy: TemporaryDirectory[str] | None = None
        self.name = str(path) if path else shown(engine.url)  # for messages; without a password

    @staticmethod
    def open(place: str | Path, create: bool = True, late: bool = False) -> Workshop:
        """Open the workshop of a folder, or of a server at a `postgresql://` URL.

        Args:
            place: where it is.
            create: make it where there is none.
            late: make it with the first records that are kept, so that what is refused leaves nothing behind.

        What lies where nothing can be written, such as a full disk, is read from a copy; keeping is refused.

        Raises:
            BadInput: none there, not readable, made by a newer program, or no workshop at all.
        """
        workshop = Workshop(*engine_of(place))
        try:
            workshop._prepare(create, late)
        except BaseException:
            workshop.close()
            raise
        return workshop

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()
        if self._copy:
            self._copy.cleanup()

    def __enter__(self) -> Workshop:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def read(self, kind: type[R], **where: object) -> tuple[R, ...]:
        """Every record of one kind whose fields have these values, in the order kept."""
        with self._reading() as connection:
            return rows.records(connection, kind, where)

    def held(self) -> tuple[Holding, ...]:
        """What is left of each lot, first expired first, without reading every movement."""
        with self._reading() as connection:
            return rows.held(connection)

    def read_all(self) -> dict[type[Record], tuple[Record, ...]]:
        """Every record of every kind, all as they were at one moment."""
        with self._reading() as connection:
            return {kind: rows.records(connection, kind) for kind in KINDS}

    def look(self, what: Callable[[Reader], T]) -> T:
        """What a look at several kinds of records gives, all as they were at one moment."""
        with self._reading() as connection:
            return what(_Within(connection))

    def latest(self) -> datetime.datetime | None:
        """The latest moment that a record names; None where none does."""
        with self._reading() as connection:
            return rows.latest(connection)

    def add(self, *records: Record) -> None:
        """Keep records, all in one transaction or none.

        Raises:
            BadInput: with every fault: a value that is not allowed, a key that is taken, a reference to nothing.
        """
        self.decide(lambda _: records)

    def decide(self, decision: Decision, place: Places | None = None) -> tuple[Record, ...]:
        """Keep what a decision makes of the records as they are; nobody else writes between its reading and this.

        The decision may be asked twice where the workshop is yet to be made.

        Args:
            decision: given the records, what to keep; what it raises leaves everything as it was.
            place: where a fault of a record is told.

        Returns:
            What was kept.

        Raises:
            BadInput: as `add` and `revise`, or of the decision.
        """
        if self._unmade:
            with told(self.name), _empty() as engine, writing(engine) as connection:
                self._decided(connection, decision, place)
        with self._writing() as connection:
            return self._decided(connection, decision, place)

    def _decided(self, connection: Connection, decision: Decision, place: Places | None) -> tuple[Record, ...]:
        decided = tuple(decision(_Within(connection)))
        records = tuple(record for record in decided if isinstance(record, Record))
        complaints = check.complaints(records, _kept(connection))
        _refuse(complaints, place or (lambda index, field: (self.name, f"{_called(records[index])}, {field}")))
        for kind in KINDS:
            new = [row_of(record) for record in records if type(record) is kind]
            if new:
                connection.execute(insert(TABLES[kind]), new)
        for revision in decided:  # last: one may name what is new
            if isinstance(revision, Revision):
                self._revised(connection, revision.record, place)
        return records

    def faults(self, records: Sequence[Record], place: Places, unread: Collection[type[Record]]) -> list[Fault]:
        """What would be wrong with adding these records, where some of the kinds `unread` could not be read."""
        with self._reading() as connection:
            return _faults(check.complaints(records, _kept(connection), unread), place)

    def revise(self, record: Record) -> None:
        """Keep new values of a record, found by its key.

        Raises:
            BadInput: no such record, a value that is not allowed, or something that never changes once kept.
        """
        self.decide(lambda _: [Revision(record)])

    def _revised(self, connection: Connection, record: Record, place: Places | None) -> None:
        kind, called = KINDS[type(record)], _called(record)
        if not kind.changes:
            words = f"another {kind.noun} beside it: what was saved once is never overwritten"
            raise BadInput([Fault(self.name, called, "a revision", words)])
        complaints = check.complaints([record], _kept(connection, but=record))
        _refuse(complaints, place or (lambda _, field: (self.name, f"{called}, {field}")))
        table = TABLES[kind.record]
        this = and_(*(table.c[name] == value for name, value in zip(kind.key, kind.key_of(record), strict=True)))
        row = connection.execute(select(table).where(this)).first()
        if row is None:
            raise BadInput([Fault(self.name, called, "nothing", f"a {kind.noun} that is saved")])
        before = record_of(kind.record, row)
        differing = [f.name for f in fields_of(kind.record) if getattr(record, f.name) != getattr(before, f.name)]
        fixed = [
            Fault(self.name, f"{called}, {name}", repr(getattr(record, name)), f"{getattr(before, name)!r}, as saved")
            for name in differing
            if name not in kind.changes
        ]
        if fixed:
            raise BadInput(fixed)
        if differing:
            values = {name: value for name, value in row_of(record).items() if name in kind.changes}
            connection.execute(update(table).where(this).values(values))

    def _prepare(self, create: bool, late: bool) -> None:
        """Look at what is there; where nothing can be written, at a copy of it."""
        try:
            self._look(create, late)
        except BadInput as refused:
            path = self._path
            if not (path and unwritable(refused) and path.exists()):
                raise
            self._copy = copy_to_read(path)
            self._engine, self._path = engine_of(self._copy.name)
            if self._version() == 0:
                raise  # there is nothing to read; it could not be made
            self._look(create=False, late=False)
            self._sealed = refused

    def _look(self, create: bool, late: bool) -> None:
        """See that the database is there and of this version: make it, or bring it up."""
        version = self._version()
        if version == 0:
            if not create:
                raise BadInput([self._nothing()])
            self._unmade = True
        if version != migrations.SCHEMA and not (self._unmade and late):
            with self._writing():  # that brings it up
                pass

    def _version(self) -> int | None:
        with told(self.name):
            if self._path:
                refuse_irregular(self._path)
                if not self._path.exists():
                    return 0
            with reading(self._engine) as connection:
                return migrations.version_of(connection)

    def _nothing(self) -> Fault:
        if self._path and not self._path.exists():
            return Fault(self.name, "file", "nothing", f"a workshop: a folder with {FILE} in it")
        words = "a workshop; nothing is saved in this one: what is first saved there with --records makes it"
        return Fault(self.name, "database", "an empty database", words)

    def _bring_up(self, connection: Connection) -> None:
        """Make the database or migrate it, if it needs that, in the transaction of what is then kept."""
        version = migrations.version_of(connection)
        self._refuse_strange(version)
        if version == 0:
            if not self._unmade:
                raise BadInput([self._nothing()])
            migrations.make(connection)
        elif version is not None and version < migrations.SCHEMA:
            if self._path:
                back_up(self._path, f"schema-{version}")
            migrations.migrate(connection, version)
        elif self._path and not has_copy_of(self._path, today := clock.today()):
            latest = rows.latest(connection)
            if latest is not None and latest.date() < today:  # a day's work is there, and none of today's
                copy_of_the_day(self._path)

    def _refuse_strange(self, version: int | None) -> None:
        if version is None:
            raise BadInput([Fault(self.name, "database", "tables of another program", "a workshop")])
        if version > migrations.SCHEMA:
            words = f"at most {migrations.SCHEMA}: it was made by a newer optiform; install that one here too"
            raise BadInput([Fault(self.name, "schema version", str(version), words)])

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        if self._unmade:
            with _empty() as engine, reading(engine) as connection:
                yield connection
            return
        self._see_it()
        with told(self.name), reading(self._engine) as connection:
            yield connection

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        if self._sealed:
            raise self._sealed
        with told(self.name):
            if self._path and self._unmade:
                self._path.parent.mkdir(parents=True, exist_ok=True)
                private(self._path)
            else:
                self._see_it()
            with writing(self._engine) as connection:
                self._bring_up(connection)  # whoever else wrote meanwhile may have done it
                yield connection
        self._unmade = False

    def _see_it(self) -> None:
        """A file that was moved or deleted since it was opened is not made anew, and empty, in silence."""
        if self._path and not self._path.exists():
            words = "the workshop that was open: it was moved, renamed or deleted; nothing was saved"
            raise BadInput([Fault(self.name, "file", "nothing", words)])


class _Within:
    """The records as a writer sees them in its transaction."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def read(self, kind: type[R], **where: object) -> tuple[R, ...]:
        """Every record of one kind whose fields have these values, in the order kept."""
        return rows.records(self._connection, kind, where)

    def held(self) -> tuple[Holding, ...]:
        """What is left of each lot, first expired first, without reading every movement."""
        return rows.held(self._connection)


@contextmanager
def _empty() -> Iterator[Engine]:
    """The engine of a workshop in which nothing is kept: it stands for one that is yet to be made."""
    engine = in_memory()
    try:
        with writing(engine) as connection:
            migrations.make(connection)
        yield engine
    finally:
        engine.dispose()


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


def _faults(complaints: Sequence[check.Complaint], place: Places) -> list[Fault]:
    return [Fault(*place(each.index, each.field), _shown(each.read), each.expected) for each in complaints]


def _shown(read: object) -> str:
    shown = repr(read) if isinstance(read, str) else str(read)
    return shown if len(shown) <= 80 else shown[:76] + "...'"


def _refuse(complaints: Sequence[check.Complaint], place: Places) -> None:
    if complaints:
        raise BadInput(_faults(complaints, place))
