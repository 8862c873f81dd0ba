"""The workshop's records as plain CSV, one file for each kind, in a zip or a folder: out, and in again as they were."""

import csv
import datetime
import os
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import MISSING, dataclass, field, fields
from io import StringIO
from pathlib import Path
from typing import Any

from optiform.faults import BadInput, Fault, Inspection
from optiform.tables import LARGEST, guarded, read_text, restored, split
from optiform.units import parse_number
from optiform.workshop.fieldtypes import Field, fields_of
from optiform.workshop.kinds import KINDS, Record
from optiform.workshop.store import Workshop

MOST = 60_000_000  # bytes of all files together, unpacked
_FILES = {f"{kind.file}.csv": record for record, kind in KINDS.items()}
_NAMES = ", ".join(_FILES)
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the date of every file in a zip, so that the same records give the same bytes
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_TIME = re.compile(r"\d{4}-\d{2}-\d{2}[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?")
#: What a broken zip can raise while it is read.
_BROKEN = (zipfile.BadZipFile, zlib.error, struct.error, RuntimeError, NotImplementedError, EOFError, ValueError)


def export_to(workshop: Workshop, path: Path) -> dict[str, int]:
    """Write every record to a zip. It is there as a whole or not at all; a file of this name is replaced.

    Returns how many records each file holds.

    Raises:
        BadInput: the file cannot be written.
    """
    records = workshop.read_all()
    texts = {f"{KINDS[kind].file}.csv": as_csv(kind, rows) for kind, rows in records.items()}
    try:
        _write_zip(path, texts)
    except OSError as error:
        raise BadInput([Fault(str(path), "file", str(error.strerror), "a file that can be written")]) from None
    return {KINDS[kind].file: len(rows) for kind, rows in records.items()}


def _write_zip(path: Path, texts: Mapping[str, str]) -> None:
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with unfinished.open("wb") as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
                for each, text in texts.items():
                    archive.writestr(zipfile.ZipInfo(each, _EPOCH), text.encode(), zipfile.ZIP_DEFLATED)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)


def as_csv(kind: type[Record], records: Iterable[Record]) -> str:
    """Records of one kind as CSV: the header, then a row each. Numbers are exact, texts guarded."""
    names = [each.name for each in fields_of(kind)]
    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")  # so that a line end of either sort within a cell is quoted
    writer.writerow(names)
    writer.writerows([_cell(getattr(record, name)) for name in names] for record in records)
    return out.getvalue()


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime.date):
        return value.isoformat()
    return guarded(value) if isinstance(value, str) else repr(value)


@dataclass
class _Found:
    """What was read: records, each with its file and line, faults, and kinds of which something could not be read."""

    records: list[Record] = field(default_factory=list)
    lines: list[tuple[str, int]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unread: set[type[Record]] = field(default_factory=set)

    def place(self, index: int, name: str) -> tuple[str, str]:
        """File and place of a field of a record."""
        file, line = self.lines[index]
        return file, f"row {line}, column {name}"


def import_from(workshop: Workshop, path: Path) -> dict[str, int]:
    """Add every record of a zip, or of a folder of the same CSV files, to those that are kept.

    Returns how many records each file gave.

    Raises:
        BadInput: with every fault, each with file, row and column. Then nothing at all was added.
    """
    found = _Found()
    for name, text in _texts(path, found.faults).items():
        _read_table(f"{path}/{name}", _FILES[name], text, found)
    found.faults += [*workshop.faults(found.records, found.place, found.unread), *_again(workshop, found)]
    if found.faults:
        raise BadInput(found.faults)
    workshop.add_from(found.records, found.place)
    return {kind.file: sum(type(each) is record for each in found.records) for record, kind in KINDS.items()}


def _again(workshop: Workshop, found: _Found) -> Iterator[Fault]:
    """Events have no key: one that is kept just so has been brought in before, and would count twice."""
    for kind in (each for each in KINDS.values() if not each.key):
        kept = set(workshop.read(kind.record))
        for index, record in enumerate(found.records):
            if type(record) is kind.record and record in kept:
                file, _ = found.place(index, "")
                line = f"row {found.lines[index][1]}"
                yield Fault(
                    file, line, kind.called(record), f"a {kind.noun} that is not kept yet; it would count twice"
                )


# -- files -------------------------------------------------------------------------------------------------------------


def _texts(path: Path, faults: list[Fault]) -> dict[str, str]:
    """The text of each file of a zip or a folder that could be read."""
    if path.is_dir():
        names = sorted(each.name for each in path.iterdir() if each.suffix.casefold() == ".csv")
        readers: dict[str, Callable[[], str]] = {name: _reader(path / name) for name in names}
        texts = _each(str(path), readers, faults)
    else:
        texts = _zip(path, faults)
    if not texts and not faults:
        faults.append(Fault(str(path), "files", "none", f"files named {_NAMES}"))
    return texts


def _reader(path: Path) -> Callable[[], str]:
    return lambda: read_text(path)


def _each(where: str, readers: Mapping[str, Callable[[], str]], faults: list[Fault]) -> dict[str, str]:
    texts = {}
    for name, read in readers.items():
        if name not in _FILES:
            faults.append(Fault(where, "files", repr(name), f"one of: {_NAMES}"))
            continue
        try:
            texts[name] = read()
        except BadInput as bad:
            faults.extend(bad.faults)
    return texts


def _zip(path: Path, faults: list[Fault]) -> dict[str, str]:
    try:
        if path.stat().st_size > LARGEST:
            raise BadInput([Fault(str(path), "file", f"{path.stat().st_size} bytes", f"at most {LARGEST} bytes")])
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            _refuse_bomb(path, members)
            readers = {info.filename: _member(path, archive, info) for info in members}
            return _each(str(path), readers, faults)
    except FileNotFoundError:
        raise BadInput([Fault(str(path), "file", "nothing", "a zip or a folder of this name")]) from None
    except OSError as error:
        raise BadInput([Fault(str(path), "file", str(error.strerror), "a readable file")]) from None
    except _BROKEN as error:
        raise BadInput([Fault(str(path), "file", str(error), "a zip, or a folder, of CSV files")]) from None


def _refuse_bomb(path: Path, members: Sequence[zipfile.ZipInfo]) -> None:
    """Whatever shows before anything is unpacked: sizes, names twice, names with folders in them."""
    inspection = Inspection(str(path))
    names = [info.filename for info in members]
    for name in sorted({name for name in names if names.count(name) > 1}):
        inspection.fault("files", name, "each file once")
    for info in members:
        if "/" in info.filename or "\\" in info.filename:
            inspection.fault("files", info.filename, f"files at the top of the zip, named {_NAMES}")
        if info.file_size > LARGEST:
            inspection.fault(info.filename, f"{info.file_size} bytes unpacked", f"at most {LARGEST} bytes")
        if info.flag_bits & 1:
            inspection.fault(info.filename, "an encrypted file", "a zip without a password")
        if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            inspection.fault(info.filename, f"compression {info.compress_type}", "a zip packed the usual way (deflate)")
        if len(inspection.faults) > len(_FILES):
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
        except _BROKEN as error:
            raise BadInput([Fault(name, "file", str(error), "a whole file")]) from None
        if len(content) > LARGEST:
            raise BadInput([Fault(name, "file", f"more than {LARGEST} bytes", f"at most {LARGEST} bytes")])
        try:
            return content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            read = f"byte 0x{error.object[error.start]:02x}"
            raise BadInput([Fault(name, f"byte {error.start}", read, "text in UTF-8")]) from None

    return read


# -- tables ------------------------------------------------------------------------------------------------------------


def _read_table(file: str, kind: type[Record], text: str, found: _Found) -> None:
    inspection = Inspection(file)
    try:
        header, rows = split(text, inspection)
        _check_header(header, kind, inspection)
        inspection.finish()
        for line, row in rows:
            record = _record(kind, header, line, row, inspection)
            if record is not None:
                found.records.append(record)
                found.lines.append((file, line))
        inspection.finish()
    except BadInput as bad:
        found.faults.extend(bad.faults)
        found.unread.add(kind)


def _check_header(header: Sequence[str], kind: type[Record], inspection: Inspection) -> None:
    names = [each.name for each in fields_of(kind)]
    for column in header:
        if column not in names:
            inspection.fault("header", column, f"one of: {', '.join(names)}")
    for name in names:
        if name not in header and name not in _defaults(kind):
            inspection.fault("header", ", ".join(header), f"a column {name!r}")


def _defaults(kind: type[Record]) -> dict[str, Any]:
    return {each.name: each.default for each in fields(kind) if each.default is not MISSING}


def _record(
    kind: type[Record], header: Sequence[str], line: int, row: Sequence[str], inspection: Inspection
) -> Record | None:
    if len(row) > len(header):
        inspection.fault(f"row {line}", f"{len(row)} cells", f"at most {len(header)}, as in the header")
        return None
    cells = dict(zip(header, [*row, *[""] * (len(header) - len(row))], strict=True))
    values, defaults, sound = {}, _defaults(kind), True
    for each in fields_of(kind):
        cell = cells.get(each.name, "")
        if each.type is not str and not cell.strip() and each.name in defaults:
            continue  # an empty cell is not known: the default, which is None or the usual value
        if each.name not in cells:
            continue
        try:
            values[each.name] = _value(each, cell)
        except ValueError as error:
            inspection.fault(f"row {line}, column {each.name}", cell, str(error))
            sound = False
    return kind(**values) if sound else None


def _value(each: Field, cell: str) -> object:
    """A cell as a value of its field's type.

    Raises:
        ValueError: with what was expected.
    """
    if each.type is str:
        return restored(cell)
    if each.type is datetime.date:
        return _date(cell.strip(), _DATE, datetime.date.fromisoformat, "a date such as 2026-11-25")
    if each.type is datetime.datetime:
        words = "a date and time such as 2026-11-25T09:30:00"
        return _date(cell.strip(), _TIME, datetime.datetime.fromisoformat, words)
    number = parse_number(cell)
    if each.type is float:
        return number
    if not number.is_integer():
        raise ValueError("a whole number")
    return int(number)


def _date(cell: str, shape: re.Pattern[str], parse: Callable[[str], object], expected: str) -> object:
    if not shape.fullmatch(cell):
        raise ValueError(expected)
    try:
        return parse(cell)
    except ValueError:
        raise ValueError(f"{expected}, of a day that is in the calendar") from None
