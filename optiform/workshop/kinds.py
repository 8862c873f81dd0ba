"""What is to be known of each kind of record: its file, its key, what it refers to, what of it may change."""

from dataclasses import dataclass
from typing import Any

from optiform.workshop.records import (
    RECORDS,
    Batch,
    BatchLine,
    Lot,
    Movement,
    Offer,
    OwnCell,
    Packaging,
    PackagingCount,
    Reading,
    Trial,
    TrialWeight,
    Version,
    VersionLine,
)

Record = Any  # one of RECORDS
Key = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Reference:
    """Fields of a record that name another record by its key. An `optional` one names none where its last is empty."""

    fields: tuple[str, ...]
    to: type[Record]
    optional: bool = False

    def of(self, record: Record) -> Key | None:
        """The key that is named, or None."""
        key = tuple(getattr(record, name) for name in self.fields)
        return None if self.optional and not key[-1] else key


@dataclass(frozen=True, slots=True)
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
    key: tuple[str, ...] = ()
    refers: tuple[Reference, ...] = ()
    changes: tuple[str, ...] = ()

    def key_of(self, record: Record) -> Key:
        """The values of its key."""
        return tuple(getattr(record, name) for name in self.key)

    def called(self, record: Record) -> str:
        """Words for one record."""
        shown = self.key or tuple(name for reference in self.refers for name in reference.fields)
        return " ".join([self.noun, *(str(value) for name in shown if (value := getattr(record, name)) != "")])


_OF_VERSION = Reference(("product", "version"), Version)
_OF_BATCH = Reference(("batch",), Batch, optional=True)
_OF_TRIAL = Reference(("trial",), Trial)

_KINDS = (
    Kind(OwnCell, "own_cells", "own cell", ("ingredient", "column"), changes=("text",)),
    Kind(
        Offer, "offers", "offer", ("ingredient", "supplier", "pack", "currency", "date"),
        changes=("price", "shipping", "note"),
    ),
    Kind(
        Lot, "lots", "lot", ("number",),
        changes=("supplier", "supplier_lot", "received", "expiry", "price", "currency", "note"),
    ),
    Kind(Movement, "movements", "movement", refers=(Reference(("lot",), Lot), _OF_BATCH)),
    Kind(
        Packaging, "packaging", "packaging", ("name",),
        changes=("kind", "price", "currency", "volume", "tare", "note"),
    ),
    Kind(
        PackagingCount, "packaging_counts", "count",
        refers=(Reference(("packaging",), Packaging), _OF_BATCH),
    ),
    Kind(
        Version, "versions", "version", ("product", "name"),
        refers=(Reference(("product", "parent"), Version, optional=True),),
    ),
    Kind(VersionLine, "version_lines", "version line", ("product", "version", "position"), (_OF_VERSION,)),
    Kind(
        Batch, "batches", "batch", ("number",), (_OF_VERSION,),
        ("actual", "maker", "room", "jars", "rejected", "deviation", "note"),
    ),
    Kind(
        BatchLine, "batch_lines", "batch line", ("batch", "position"),
        (Reference(("batch",), Batch), Reference(("lot",), Lot)),
        ("lot", "actual"),
    ),
    Kind(
        Trial, "trials", "trial", ("name",), (_OF_VERSION,),
        ("changed", "mass", "hot_water", "hot_oil", "cooling", "added_at", "room", "outcome", "note"),
    ),
    Kind(TrialWeight, "trial_weights", "trial weight", ("trial", "ingredient", "phase"), (_OF_TRIAL,), ("actual",)),
    Kind(Reading, "readings", "reading", ("trial", "number"), (_OF_TRIAL,)),
)  # fmt: skip

#: Every kind by its dataclass, in the order of RECORDS.
KINDS: dict[type[Record], Kind] = {kind.record: kind for kind in _KINDS}
assert tuple(KINDS) == RECORDS
