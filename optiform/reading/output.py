"""The one way to a file that an option names: beside it first, then in its place; never over what it must not replace.

Never over a file that was read in this run, a database, or a file of another kind than what is written. Over a file of
the same kind only where that is asked for.
"""

import errno
import os
import platform
import re
import stat
import tomllib
from collections.abc import Callable, Iterable
from contextlib import suppress
from io import BytesIO
from pathlib import Path

from optiform.reading import run
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.frozen import frozen
from optiform.reading.tables import split

SQLITE = b"SQLite format 3\x00"  #: how every SQLite database begins
_DATABASES = (".db", ".db-wal", ".db-shm", ".db-journal", ".sqlite", ".sqlite3")
_LOOKED_AT = 10_000_000  # bytes of a file that is there; what is larger is none of ours
_LONGEST_TOML = 200_000  # characters; what is longer is none of ours, and takes its time to be read
_FAMILIES = {
    ".csv": "a table", ".html": "a page (HTML)", ".png": "a picture (PNG)", ".svg": "a picture (SVG)",
    ".toml": "a TOML file", ".lp": "a program (LP)", ".mps": "a program (MPS)", ".zip": "a zip",
}  # fmt: skip
_NEW = "a new name"


@frozen
class Output:
    """A file that an option names.

    Attributes:
        option: where it is named, for faults.
        path: the file.
        force: a file of the same kind may be replaced.
        endings: what its name may end in; where empty, anything but the ending of another kind.
        kind: the ending of what is written where the name has none of ours.
        forcing: how to ask for that, in words; empty where it cannot be asked for.
    """

    option: str
    path: Path
    force: bool = False
    endings: tuple[str, ...] = ()
    kind: str = ""
    forcing: str = "--force"

    @property
    def target(self) -> Path:
        """The file itself, where the name is a link."""
        return self.path.resolve()

    def obstacle(self) -> Fault | None:
        """What stands in the way before anything is written; None where nothing does."""
        if not self.path.parent.is_dir():
            parent = str(self.path.parent)
            words = f"there is no folder {parent}. Make it first, or name another."
            return Fault(self.option, "folder", repr(parent), "a folder that exists", words)
        return self._unfit_name() or self._closed() or self._unreplaceable()

    def save(self, work: Callable[[Path], object]) -> None:
        """Write the file: there as a whole or not at all.

        Args:
            work: writes it where it is told.

        Raises:
            BadInput: it cannot be written, or something is there that it must not replace.
        """
        if fault := self.obstacle():
            raise BadInput([fault])
        try:
            self._save(work)
        except OSError as error:
            raise BadInput([self._refused(error.errno)]) from None

    def _save(self, work: Callable[[Path], object]) -> None:
        target = self.target
        _clear(target)
        unfinished = target.with_name(f".{target.name}.{platform.node()}.{os.getpid()}.part{target.suffix}")
        try:
            work(unfinished)
            self._compare(target, unfinished)
            _settle(unfinished, target)
            unfinished.replace(target)
        finally:
            unfinished.unlink(missing_ok=True)
        sync_folder(target.parent)

    def _unfit_name(self) -> Fault | None:
        name = self.path.name.casefold()
        if name.endswith(_DATABASES):
            return self._fault("the name of a database", "and a database is never written over", _NEW)
        endings = self.endings or tuple({*_FAMILIES} - {self.kind})
        if name.endswith(endings) is bool(self.endings):
            return None
        ending = _or(self.endings or (self.kind,))
        words = f"“{self.path}” must end in {ending}."
        return Fault(self.option, "file name", repr(self.path.name), f"a name that ends in {ending}", words)

    def _closed(self) -> Fault | None:
        """A folder, a device or a pipe of this name, or no right to write."""
        try:
            mode = self.path.stat().st_mode
        except FileNotFoundError:
            return None if os.access(self.target.parent, os.W_OK) else self._refused(errno.EACCES)
        except (OSError, ValueError) as error:
            return self._refused(getattr(error, "errno", errno.EINVAL))
        if not stat.S_ISREG(mode):
            return self._fault("a folder" if stat.S_ISDIR(mode) else "a device or a pipe", "and no file", "a file name")
        right = os.access(self.path, os.W_OK) and os.access(self.target.parent, os.W_OK)
        return None if right else self._refused(errno.EACCES)

    def _unreplaceable(self) -> Fault | None:
        """What is there and is not replaced. An empty file may be."""
        if run.current().has_read(self.path):
            return self._fault("a file that this command reads", "and what was read is never written over", _NEW)
        there = kind_of(_content(self.path))
        if not there:
            return None
        if not there.startswith(_FAMILIES.get(self.kind or self.path.suffix, "")):
            return self._fault(there, "and a file of another kind is never written over", _NEW)
        return None if self.force else self._fault("there already", "and not replaced unasked", self._or_forced)

    @property
    def _or_forced(self) -> str:
        return f"{_NEW}, or {self.forcing} to replace it" if self.forcing else _NEW

    def _compare(self, target: Path, unfinished: Path) -> None:
        """Refuse to replace a table by one of other columns, and the like."""
        there = kind_of(_content(target))
        if there and there != (written := kind_of(_content(unfinished))):
            why = "and a file of other columns is never written over"
            raise BadInput([self._fault(there, why, f"{_NEW}, or the name of {written}")])

    def _fault(self, read: str, why: str, expected: str) -> Fault:
        """That a file of this name is something, why that is in the way, and what to write instead."""
        words = f"{self.path} is {read}, {why}. Give {expected}."
        return Fault(self.option, str(self.path), read, f"{expected}, {why.removeprefix('and ')}", words)

    def _refused(self, why: int | None) -> Fault:
        told = os.strerror(why or errno.EIO)
        words = f"{self.path} cannot be written ({told}). Write another name."
        return Fault(self.option, str(self.path), told, "a file that can be written", words)


def refuse(outputs: Iterable[Output]) -> None:
    """See before the work whether files can be written where they are wanted.

    Raises:
        BadInput: with every obstacle, and where two options name one file.
    """
    faults, taken = [], dict[Path, str]()
    for output in outputs:
        if fault := output.obstacle():
            faults.append(fault)
        elif (other := taken.setdefault(output.target, output.option)) != output.option:
            words = f"{output.path} is the file of {other} too. Write another name."
            faults.append(
                Fault(output.option, str(output.path), f"the file of {other} too", "a file of its own", words)
            )
    if faults:
        raise BadInput(faults)


def kind_of(content: bytes) -> str:
    r"""What a file is, by what is in it, in words: two files of one kind have the same words. Nothing has none.

    Example:
        >>> kind_of(b"ingredient,percent\nwater,100\n")
        'a table with the columns ingredient, percent'
    """
    for begins, words in ((SQLITE, "a database"), (b"\x89PNG", "a picture (PNG)"), (b"PK\x03\x04", "a zip")):
        if content.startswith(begins):
            return _zip(content) if words == "a zip" else words
    try:
        return _kind_of_text(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        return "a file that is none of ours"


def _kind_of_text(text: str) -> str:
    if not text.strip():
        return ""
    head = text[:500].lstrip().casefold()
    marks = (
        ("<!doctype html", "a page (HTML)"), ("\\*", "a program (LP)"), ("*sense", "a program (MPS)"),
    )  # fmt: skip
    for begins, words in marks:
        if head.startswith(begins):
            return words
    if head.startswith("<?xml") and "<svg" in text[:2000]:
        return "a picture (SVG)"
    with suppress(ValueError, RecursionError):
        if len(text) < _LONGEST_TOML:
            return f"a TOML file with the keys {', '.join(sorted(tomllib.loads(text)))}"
    try:
        return f"a table with the columns {', '.join(split(text, Inspection(''))[0])}"
    except BadInput:
        return "a text"


def _zip(content: bytes) -> str:
    import zipfile  # only where a file stands that ends so

    try:
        with zipfile.ZipFile(BytesIO(content)) as archive:
            tables = all(name.endswith(".csv") for name in archive.namelist())
            return "a zip of tables" if tables else "a zip of other files"
    except (zipfile.BadZipFile, ValueError, NotImplementedError):
        return "a broken zip"


def _content(path: Path) -> bytes:
    """The beginning of a file; nothing where there is none. One that cannot be read is none of ours."""
    try:
        with path.open("rb") as file:
            return file.read(_LOOKED_AT)
    except FileNotFoundError:
        return b""
    except OSError:
        return b"\xff"


def _settle(unfinished: Path, target: Path) -> None:
    """On the disk before it takes its name, with the rights of what it replaces."""
    with unfinished.open("rb+") as file:
        os.fsync(file.fileno())
    if target.exists():
        unfinished.chmod(stat.S_IMODE(target.stat().st_mode))


def _clear(path: Path) -> None:
    """Delete what writers of this name have left that were killed: of our naming, by a process of this machine."""
    shape = rf"\.{re.escape(path.name)}\.{re.escape(platform.node())}\.(\d{{1,9}})\.part{re.escape(path.suffix)}"
    ours = re.compile(shape)
    for left in path.parent.iterdir():
        if (match := ours.fullmatch(left.name)) and _gone(int(match[1])):
            with suppress(OSError):
                left.unlink()


def _gone(process: int) -> bool:
    if os.name == "nt":  # there a process cannot be asked without harm, and a file in use cannot be deleted anyway
        return True
    try:
        os.kill(process, 0)
    except OSError as error:
        return isinstance(error, ProcessLookupError)
    return False


def sync_folder(folder: Path) -> None:
    """See that a file's new name is on the disk too; its content alone does not bring it there."""
    with suppress(OSError):  # some systems do not open folders
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _or(words: tuple[str, ...]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))
