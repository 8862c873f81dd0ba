"""The files of an exchange, in a zip or a folder: written whole, read with bounds, every fault of them told."""

import os
import struct
import zipfile
import zlib
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from pathlib import Path

from optiform.reading.encodings import decoded
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.output import Output
from optiform.reading.tables import read_text

LARGEST = 10_000_000  # bytes of one file, unpacked: some 140,000 movements
MOST = 60_000_000  # bytes of all files together, unpacked
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the date of every file in a zip, so that the same records give the same bytes
#: What a broken zip can raise while it is read.
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, NotImplementedError, EOFError, ValueError)


def write_zip(path: Path, texts: Mapping[str, str], force: bool = False) -> None:
    """A zip of these texts by file name: there as a whole or not at all.

    Args:
        path: the zip.
        texts: what is in it.
        force: a zip of tables that is there is replaced.

    Raises:
        BadInput: it cannot be written, or something else has this name, such as the workshop itself.
    """
    Output("FILE.zip", path, force, kind=".zip").save(lambda place: _zipped(place, texts))


def _zipped(path: Path, texts: Mapping[str, str]) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in texts.items():
            archive.writestr(zipfile.ZipInfo(name, _EPOCH), text.encode(), zipfile.ZIP_DEFLATED)


def read_texts(path: Path, known: Collection[str], faults: list[Fault]) -> Iterator[tuple[str, str]]:
    """Name and text of each file of a zip or a folder that could be read, one after another.

    Args:
        path: the zip or the folder. Of a folder only what ends in .csv is looked at.
        known: the names there may be.
        faults: where faults of single files are noted.

    Raises:
        BadInput: none of it can be read.
    """
    nothing = True
    folder = os.path.isdir(path)  # noqa: PTH112 -- Path.is_dir raises where a name is too long
    for name, text in _folder(path, known, faults) if folder else _zip(path, known, faults):
        nothing = False
        yield name, text
    if nothing and not faults:
        faults.append(Fault(str(path), "files", "none", f"files named {', '.join(known)}"))


def _folder(path: Path, known: Collection[str], faults: list[Fault]) -> Iterator[tuple[str, str]]:
    try:
        names = sorted(each.name for each in path.iterdir() if each.suffix.casefold() == ".csv")
    except OSError as error:
        raise BadInput([Fault(str(path), "folder", str(error.strerror), "a readable folder")]) from None
    yield from _each(path, {name: _reader(path / name) for name in names}, known, faults)


def _reader(path: Path) -> Callable[[], str]:
    return lambda: read_text(path, LARGEST)


def _each(
    path: Path, readers: Mapping[str, Callable[[], str]], known: Collection[str], faults: list[Fault]
) -> Iterator[tuple[str, str]]:
    for name, read in readers.items():
        if name not in known:
            faults.append(Fault(str(path), "files", repr(name), f"one of: {', '.join(known)}"))
            continue
        try:
            yield name, read()
        except BadInput as bad:
            faults.extend(bad.faults)


def _zip(path: Path, known: Collection[str], faults: list[Fault]) -> Iterator[tuple[str, str]]:
    with _opened(path) as archive:
        members = archive.infolist()
        _refuse_bomb(path, members, known)
        readers = {info.filename: _member(path, archive, info) for info in members}
        yield from _each(path, readers, known, faults)


def _opened(path: Path) -> zipfile.ZipFile:
    """The zip, its list of files read.

    A device or a pipe is refused unopened: one has no end, the other keeps a reader waiting.
    """
    try:
        if path.exists() and not path.is_file():
            raise BadInput([Fault(str(path), "file", "a device or a pipe", "a zip, or a folder, of CSV files")])
        if (size := path.stat().st_size) > LARGEST:
            raise BadInput([Fault(str(path), "file", f"{size} bytes", f"at most {LARGEST} bytes")])
        return zipfile.ZipFile(path)
    except FileNotFoundError:
        raise BadInput([Fault(str(path), "file", "nothing", "a zip or a folder of this name")]) from None
    except OSError as error:
        raise BadInput([Fault(str(path), "file", str(error.strerror), "a readable file")]) from None
    except _BROKEN as error:
        raise BadInput([Fault(str(path), "file", str(error), "a zip, or a folder, of CSV files")]) from None


def _refuse_bomb(path: Path, members: Sequence[zipfile.ZipInfo], known: Collection[str]) -> None:
    """Whatever shows before anything is unpacked: sizes, names twice, names with folders in them."""
    inspection = Inspection(str(path))
    for name, times in Counter(info.filename for info in members).items():
        if times > 1:
            inspection.fault("files", name, "each file once")
    if len(members) > len(known):
        inspection.fault("files", f"{len(members)} files", f"at most {len(known)}, named {', '.join(known)}")
    for info in members:
        if "/" in info.filename or "\\" in info.filename or "\0" in info.orig_filename:
            inspection.fault("files", info.orig_filename, f"files at the top of the zip, named {', '.join(known)}")
        if info.file_size > LARGEST:
            inspection.fault(info.filename, f"{info.file_size} bytes unpacked", f"at most {LARGEST} bytes")
        if info.flag_bits & 1:
            inspection.fault(info.filename, "an encrypted file", "a zip without a password")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            inspection.fault(info.filename, f"compression {info.compress_type}", "a zip packed the usual way (deflate)")
        if len(inspection.faults) > len(known):
            break
    if (total := sum(info.file_size for info in members)) > MOST:
        inspection.fault("files", f"{total} bytes unpacked", f"at most {MOST} bytes together")
    inspection.finish()


def _member(path: Path, archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> Callable[[], str]:
    name = f"{path}/{info.filename}"

    def read() -> str:
        try:
            with archive.open(info) as file:
                content = file.read(LARGEST + 1)  # never more, whatever size the zip has declared
        except (OSError, *_BROKEN) as error:
            raise BadInput([Fault(name, "file", str(error) or "an end too early", "a whole file")]) from None
        if len(content) > LARGEST:
            raise BadInput([Fault(name, "file", f"more than {LARGEST} bytes", f"at most {LARGEST} bytes")])
        return decoded(content, name)

    return read
