"""The workshop's records as plain CSV, one file for each kind: out, and in again as they were."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from optiform.reading.faults import MOST, BadInput, Fault, Inspection
from optiform.workshop.archive import read_texts, write_zip
from optiform.workshop.csvtables import as_csv, read_csv
from optiform.workshop.fieldtypes import fields_of
from optiform.workshop.kinds import KINDS
from optiform.workshop.records import Record
from optiform.workshop.store import Reader, Workshop

FILES = {f"{kind.file}.csv": record for record, kind in KINDS.items()}
CELLS = 1_000_000  # of all tables together: the records of some ten years of two batches a day


def export_to(workshop: Workshop, path: Path, force: bool = False) -> dict[str, int]:
    """Write every record to a zip. It is there as a whole or not at all; with `force` in place of one of this name.

    Returns how many records each file holds.

    Raises:
        BadInput: the file cannot be written, or something else has its name.
    """
    records = workshop.read_all()
    texts = {f"{KINDS[kind].file}.csv": as_csv(kind, rows) for kind, rows in records.items()}
    write_zip(path, texts, force)
    return {KINDS[kind].file: len(rows) for kind, rows in records.items()}


@dataclass
class _Found:
    """What was read: records, each with its file and line, faults, and kinds of which something could not be read."""

    records: list[Record] = field(default_factory=list)
    lines: list[tuple[str, int]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unread: set[type[Record]] = field(default_factory=set)
    cells: int = CELLS  # that may still come

    def take(self, file: str, kind: type[Record], text: str) -> None:
        """Read one file's text."""
        inspection = Inspection(file)
        for line, record in read_csv(kind, text, inspection, self.cells):
            self.records.append(record)
            self.lines.append((file, line))
            self.cells -= len(fields_of(kind))
        if inspection.faults:
            self.faults += inspection.faults
            self.unread.add(kind)

    def place(self, index: int, name: str) -> tuple[str, str]:
        """File and place of a field of a record."""
        file, line = self.lines[index]
        return file, f"row {line}, column {name}"


#: What a floor above finds wrong with records; the second argument says file and place of a field of one.
Look = Callable[[Sequence[Record], Callable[[int, str], tuple[str, str]]], Iterable[Fault]]


def import_from(workshop: Workshop, path: Path, look: Look | None = None) -> dict[str, int]:
    """Add every record of a zip, or of a folder of the same CSV files, to those that are kept.

    Returns how many records each file gave.

    Args:
        workshop: takes them.
        path: of the zip or folder.
        look: finds what else is wrong with them before anything is added.

    Raises:
        BadInput: with every fault, each with file, row and column. Then nothing at all was added.
    """
    exchange = _read(path)
    exchange.faults += [
        *workshop.faults(exchange.records, exchange.place, exchange.unread),
        *workshop.look(lambda kept: tuple(_again(kept, exchange))),
        *(look(exchange.records, exchange.place) if look else ()),
    ]
    if exchange.faults:
        raise BadInput(_told(exchange.faults))
    workshop.decide(lambda kept: _unless_again(kept, exchange), exchange.place)
    return {kind.file: sum(type(each) is record for each in exchange.records) for record, kind in KINDS.items()}


def _read(path: Path) -> _Found:
    exchange = _Found()
    unread = set(FILES)
    for name, text in read_texts(path, FILES, exchange.faults):
        unread.remove(name)
        exchange.take(f"{path}/{name}", FILES[name], text)
    if exchange.faults:  # of a file that could not be read nobody knows what it holds
        exchange.unread |= {FILES[name] for name in unread}
    return exchange


def _told(faults: Iterable[Fault]) -> list[Fault]:
    """As many faults of each file as help anybody."""
    told: dict[str, list[Fault]] = defaultdict(list)
    for fault in faults:
        told[fault.file].append(fault)
    return [fault for each in told.values() for fault in _first(each)]


def _first(faults: Sequence[Fault]) -> list[Fault]:
    if len(faults) <= MOST:
        return list(faults)
    more = f"{len(faults) - MOST + 1} more faults"
    return [*faults[: MOST - 1], Fault(faults[0].file, "the rest", more, "the ones above mended first")]


def _unless_again(kept: Reader, exchange: _Found) -> list[Record]:
    """The records, if nobody has brought the same events in since they were looked at."""
    if faults := [*_again(kept, exchange)]:
        raise BadInput(_told(faults))
    return exchange.records


def _again(kept: Reader, exchange: _Found) -> Iterator[Fault]:
    """Events have no key: one that is kept just so has been brought in before, and would count twice."""
    given = {type(record) for record in exchange.records}
    for kind in (each for each in KINDS.values() if not each.key and each.record in given):
        before = set(kept.read(kind.record))
        for index, record in enumerate(exchange.records):
            if type(record) is kind.record and record in before:
                file, _ = exchange.place(index, "")
                line = f"row {exchange.lines[index][1]}"
                yield Fault(
                    file, line, kind.called(record), f"a {kind.noun} that is not saved yet; it would count twice"
                )
