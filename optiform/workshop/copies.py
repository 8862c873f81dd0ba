"""Copies of the records' file: one to read where nothing can be written, and dated ones to go back to."""

import datetime
import filecmp
import os
import re
import shutil
import sqlite3
from contextlib import closing, suppress
from itertools import chain, count
from pathlib import Path
from tempfile import TemporaryDirectory

from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.output import sync_folder

FOLDER = "copies"
DAILY, RESTORED = "daily", "before-restoring"  #: why a copy was made; before a new schema: `schema-2`
MOST = 30  #: daily copies that are kept
_NAMED = re.compile(r"(?P<why>.+?)-(?P<when>\d{8}-\d{6})(-\d+)?")
_SIDES = ("", "-wal", "-journal")  # the database, and what SQLite keeps beside it of committed records
_ROOM = (
    "a file that can be read, and room for a copy of it among the temporary files: TMPDIR may name a folder with some"
)
_AT_WORK = "a workshop that no other program is writing to: try again when it has finished"


def copy_to_read(path: Path) -> "TemporaryDirectory[str]":
    """A folder with a copy of a database that lies where nothing can be written: a full disk, a read-only medium.

    SQLite writes files of its own beside a database, even to read it. It can be told to do without; but then it passes
    over records that are committed and still in the WAL. So the database is read elsewhere, the WAL with it.

    Whoever reads has no lock here, and still gets a sound copy: every byte is copied before one moment and compared
    after it, and is the same. So the copies are the files as they were at that moment, all together. Just that is what
    is left when every writer is killed at that moment, and from that SQLite recovers all that was committed. Its third
    file, -shm, is made anew from the WAL.

    Raises:
        BadInput: not readable, no room for the copy, or another program is writing.
    """
    try:
        folder = TemporaryDirectory(prefix="optiform-")
        try:
            _copied(path, Path(folder.name))
        except BaseException:
            folder.cleanup()
            raise
    except OSError as error:
        raise BadInput([Fault(str(path), "file", str(error.strerror), _ROOM)]) from error
    return folder


def _copied(path: Path, folder: Path) -> None:
    file = path.resolve()  # of a link, the files beside what it names
    pairs = [(file.with_name(file.name + side), folder / (path.name + side)) for side in _SIDES]
    for source, copy in pairs:
        if source.exists():
            shutil.copyfile(source, copy)
    if not all(_same(source, copy) for source, copy in pairs):
        raise BadInput([Fault(str(path), "file", "another program at work", _AT_WORK)])


def _same(source: Path, copy: Path) -> bool:
    if source.exists() and copy.exists():
        return filecmp.cmp(source, copy, shallow=False)
    return source.exists() == copy.exists()


def private(path: Path) -> None:
    """An empty file for its owner only, if there is none.

    SQLite takes it for a new database and gives its side files the same rights. Where
    none can be made SQLite says so, and what helps.
    """
    with suppress(OSError):
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))


def back_up(path: Path, why: str) -> Path:
    """A copy of the database as it is now, whole or not there at all; no copy made before is replaced.

    Copies lie in a folder beside it, named after why and when they were made. Whoever writes has the writer's lock; a
    copy that was broken off is overwritten.
    """
    folder = path.with_name(FOLDER)
    folder.mkdir(exist_ok=True)
    unfinished = folder / f"{path.stem}-{why}.part"
    unfinished.unlink(missing_ok=True)
    private(unfinished)
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as target:
            target.execute("PRAGMA journal_mode = OFF")  # nothing was there before, so there is nothing to go back to
            source.backup(target)
        copy = _free(folder, f"{path.stem}-{why}-{clock.now():%Y%m%d-%H%M%S}")
        unfinished.replace(copy)
    finally:
        unfinished.unlink(missing_ok=True)
    sync_folder(folder)
    return copy


def has_copy_of(path: Path, day: datetime.date) -> bool:
    """Whether the daily copy of a day is there."""
    return any(path.with_name(FOLDER).glob(f"{path.stem}-{DAILY}-{day:%Y%m%d}-*.db"))


def copy_of_the_day(path: Path) -> None:
    """A copy as it is before the first writing of a day; of many such copies the oldest go.

    Where there is no room for one, the writing goes on or says so itself.
    """
    with suppress(OSError, sqlite3.Error):
        back_up(path, DAILY)
    for copy in sorted(path.with_name(FOLDER).glob(f"{path.stem}-{DAILY}-*.db"))[:-MOST]:
        copy.unlink(missing_ok=True)


@frozen
class Copy:
    """A copy of the records: where it lies, when and why it was made."""

    path: Path
    made: datetime.datetime
    why: str


def copies_of(path: Path) -> list[Copy]:
    """The copies of a database, the newest first."""
    made = (_copy(each, path.stem) for each in path.with_name(FOLDER).glob(f"{path.stem}-*.db"))
    return sorted((copy for copy in made if copy), key=lambda copy: (copy.made, copy.path.name), reverse=True)


def _copy(path: Path, stem: str) -> Copy | None:
    match = _NAMED.fullmatch(path.stem.removeprefix(f"{stem}-"))
    return Copy(path, datetime.datetime.strptime(match["when"], "%Y%m%d-%H%M%S"), match["why"]) if match else None


def restore(path: Path, copy: Path) -> Path:
    """Make the database what a copy of it holds; what it held until now is copied first, and where to is returned.

    Raises:
        BadInput: the copy is gone or broken, or another program is writing.
    """
    try:
        with closing(sqlite3.connect(f"{copy.resolve().as_uri()}?immutable=1", uri=True)) as source:
            if source.execute("PRAGMA quick_check").fetchone() != ("ok",):
                raise BadInput([Fault(str(copy), "file", "a broken copy", "another copy: this one was not taken")])
            before = back_up(path, RESTORED)
            with closing(sqlite3.connect(path)) as target:
                source.backup(target)
    except (OSError, sqlite3.Error) as error:
        raise BadInput(
            [Fault(str(copy), "file", str(error), "a copy that can be read, and room for another")]
        ) from error
    return before


def _free(folder: Path, name: str) -> Path:
    """A name that nothing has yet: the clock may have been set back."""
    tries = chain([name], (f"{name}-{number}" for number in count(2)))
    return next(place for each in tries if not (place := folder / f"{each}.db").exists())


def put_away(path: Path) -> None:
    """Take the database out of use: it stays among its copies, and nothing is there in its place."""
    if path.exists():
        back_up(path, "put-away")
        for side in ("-wal", "-shm", ""):
            path.with_name(path.name + side).unlink(missing_ok=True)
