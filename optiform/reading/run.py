"""What one run of the program has read and has to say of it: no output goes over a file that was read.

A run is begun by the command line, and by the pages for each reading. Outside of one nothing is noted.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path


@dataclass
class Run:
    """Files read so far, and notes, each of a file and words: how it was taken where it could be meant otherwise."""

    files: list[Path] = field(default_factory=list)
    notes: list[tuple[str, str]] = field(default_factory=list)

    def has_read(self, path: Path) -> bool:
        """Whether this file was read, by whatever name or link."""
        return any(_same(path, file) for file in self.files)


_RUN: ContextVar[Run | None] = ContextVar("run", default=None)


@contextmanager
def begun() -> Iterator[Run]:
    """A run of its own; the one around it goes on afterwards.

    Example:
        >>> with begun() as run:
        ...     note("prices.csv", "read as UTF-16")
        >>> run.notes
        [('prices.csv', 'read as UTF-16')]
    """
    run = Run()
    token = _RUN.set(run)
    try:
        yield run
    finally:
        _RUN.reset(token)


def current() -> Run:
    """The run that is going on, or an empty one."""
    return _RUN.get() or Run()


def remember(path: Path) -> None:
    """Note that a file was read."""
    if run := _RUN.get():
        run.files.append(path)


def note(file: str, words: str) -> None:
    """Note how a file was taken, once."""
    run = _RUN.get()
    if run and (file, words) not in run.notes:
        run.notes.append((file, words))


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False
