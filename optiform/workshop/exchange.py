"""The workshop's records as plain CSV, one file for each kind: out, and in again as they were."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from optiform.faults import BadInput, Fault, Inspection
from optiform.workshop.archive import read_texts, write_zip
from optiform.workshop.csvtables import as_csv, read_csv
from optiform.workshop.kinds import KINDS, Record
from optiform.workshop.store import Workshop

FILES = {f"{kind.file}.csv": record for record, kind in KINDS.items()}


def export_to(workshop: Workshop, path: Path) -> dict[str, int]:
    """Write every record to a zip. It is there as a whole or not at all; a file of this name is replaced.

    Returns how many records each file holds.

    Raises:
        BadInput: the file cannot be written.
    """
    records = workshop.read_all()
    texts = {f"{KINDS[kind].file}.csv": as_csv(kind, rows) for kind, rows in records.items()}
    try:
        write_zip(path, texts)
    except OSError as error:
        raise BadInput([Fault(str(path), "file", str(error.strerror), "a file that can be written")]) from None
    return {KINDS[kind].file: len(rows) for kind, rows in records.items()}


@dataclass
class _Found:
    """What was read: records, each with its file and line, faults, and kinds of which something could not be read."""

    records: list[Record] = field(default_factory=list)
    lines: list[tuple[str, int]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    unread: set[type[Record]] = field(default_factory=set)

    def take(self, file: str, kind: type[Record], text: str) -> None:
        """Read one file's text."""
        inspection = Inspection(file)
        for line, record in read_csv(kind, text, inspection):
            self.records.append(record)
            self.lines.append((file, line))
        if inspection.faults:
            self.faults += inspection.faults
            self.unread.add(kind)

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
    texts = read_texts(path, FILES, found.faults)
    if found.faults:  # of a file that could not be read nobody knows what it holds
        found.unread |= {kind for name, kind in FILES.items() if name not in texts}
    for name, text in texts.items():
        found.take(f"{path}/{name}", FILES[name], text)
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
