"""Copies of a workshop's file: one to read where nothing can be written, one to go back to before a migration."""

import filecmp
import os
import shutil
import sqlite3
from contextlib import closing, suppress
from itertools import chain, count
from pathlib import Path
from tempfile import TemporaryDirectory

from optiform.reading import clock
from optiform.reading.faults import BadInput, Fault
from optiform.reading.output import sync_folder

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


def back_up(path: Path, version: int) -> None:
    """A copy of the database as it is now beside it, whole or not there at all; no copy made before is replaced.

    For whoever has the writer's lock: one that was broken off is overwritten.
    """
    unfinished = path.with_name(f"{path.stem}-schema-{version}.part")
    unfinished.unlink(missing_ok=True)
    private(unfinished)
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(unfinished)) as target:
            target.execute("PRAGMA journal_mode = OFF")  # nothing was there before, so there is nothing to go back to
            source.backup(target)
        unfinished.replace(_free(path, f"schema-{version}-{clock.now():%Y%m%d-%H%M%S}"))
    finally:
        unfinished.unlink(missing_ok=True)
    sync_folder(path.parent)


def _free(path: Path, name: str) -> Path:
    """A name that nothing has yet: the clock may have been set back."""
    tries = chain([name], (f"{name}-{number}" for number in count(2)))
    places = (path.with_name(f"{path.stem}-{each}.db") for each in tries)
    return next(place for place in places if not place.exists())
