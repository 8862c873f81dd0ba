"""What is to be known of each kind of record: its file, its key, what it refers to, what of it may change."""

from optiform.reading.frozen import frozen
from optiform.workshop import records
from optiform.workshop.fieldtypes import Field, fields_of
from optiform.workshop.records import RECORDS, Record

Key = tuple[object, ...]


@frozen
class Reference:
    """Fields of a record that name another record by its key. An `optional` one names none where its last is empty."""

    fields: tuple[str, ...]
    to: type[Record]
    optional: bool = False

    def of(self, record: Record) -> Key | None:
        """The key that is named, or None."""
        key = tuple(getattr(record, name) for name in self.fields)
        return None if self.optional and not key[-1] else key


@frozen
class Kind:
    """One kind of record.

    Attributes:
        file: name of its table in the database and, with `.csv`, of its file in an exchange.
        noun: what one is called.
        key: fields that no two share; empty for events, of which two may look alike.
        changes: fields that may be revised; none where what is kept stays as it is for ever.
    """

    record: type[Record]
    file: str
    noun: str
    key: tuple[str, ...]
    refers: tuple[Reference, ...]
    changes: tuple[str, ...]

    def key_of(self, record: Record) -> Key:
        """The values of its key."""
        return tuple(getattr(record, name) for name in self.key)

    def called(self, record: Record) -> str:
        """Words for one record."""
        shown = self.key or tuple(name for reference in self.refers for name in reference.fields)
        return " ".join([self.noun, *(str(value) for name in shown if (value := getattr(record, name)) != "")])


def _kind(record: type[Record], file: str, noun: str) -> Kind:
    """A kind by what its fields declare."""
    fields = fields_of(record)
    refers = tuple(_reference(field) for field in fields if field.column.refers)
    changes = tuple(field.name for field in fields if field.column.changes)
    return Kind(record, file, noun, _key(record), refers, changes)


def _key(record: type[Record]) -> tuple[str, ...]:
    return tuple(field.name for field in fields_of(record) if field.column.key)


def _reference(field: Field) -> Reference:
    """The field names the last of the other's key; what stands before that has the same name in both."""
    to: type[Record] = getattr(records, field.column.refers)
    return Reference((*_key(to)[:-1], field.name), to, field.column.bare)


_NAMES = (
    ("own_cells", "own cell"), ("offers", "offer"), ("lots", "lot"), ("movements", "movement"),
    ("packaging", "packaging"), ("packaging_counts", "count"), ("versions", "version"),
    ("version_lines", "version line"), ("batches", "batch"), ("batch_lines", "batch line"), ("trials", "trial"),
    ("trial_weights", "trial weight"), ("readings", "reading"), ("products", "product"), ("steps", "step"),
    ("file_texts", "text of a file"), ("drafts", "draft"), ("forecasts", "forecast"), ("weighings", "weighing"),
    ("ticks", "tick"),
)  # fmt: skip

#: Every kind by its dataclass, in the order of RECORDS.
KINDS: dict[type[Record], Kind] = {
    record: _kind(record, file, noun) for record, (file, noun) in zip(RECORDS, _NAMES, strict=True)
}
