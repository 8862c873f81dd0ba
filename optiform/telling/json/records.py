"""Records as plain data, by the columns they declare, and what the stock commands answer of them."""

import datetime
from collections.abc import Iterable, Mapping, Sequence

from optiform.batch.on_hand import ForBatch, Stock
from optiform.batch.records import Packed
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, quantity
from optiform.workshop.fieldtypes import Field, fields_of
from optiform.workshop.records import Batch, BatchLine, Record, Version, VersionLine
from optiform.workshop.stock import Holding
from optiform.workshop.store import Revision


def record(of: Record) -> Data:
    """A record by the names of its columns; money with its unit, days and times as text."""
    currency = getattr(of, "currency", "")
    return {field.name: _cell(getattr(of, field.name), field, currency) for field in fields_of(type(of))}


def records(of: Iterable[Record]) -> list[Data]:
    """Each record."""
    return [record(each) for each in of]


def _cell(value: object, field: Field, currency: str) -> object:
    if field.column.unit.startswith("money"):
        return quantity(value, field.column.unit.replace("money", currency)) if isinstance(value, int | float) else None
    return value.isoformat() if isinstance(value, datetime.date) else value


def saved(of: Iterable[Record | Revision]) -> Data:
    """What a command saved, each record with its kind; a revision as the record is now."""
    now = [each.record if isinstance(each, Revision) else each for each in of]
    return answered("saved", records=[{"kind": type(each).__name__, **record(each)} for each in now])


def moved(status: str, of: Mapping[str, int], **where: str) -> Data:
    """How many records of each table came in or went out."""
    return answered(status, **where, records=dict(of))


def versions(of: Sequence[Version], lines: Sequence[VersionLine]) -> Data:
    """The versions with their lines."""
    return answered("versions", versions=[{**record(version), "lines": _lines(version, lines)} for version in of])


def _lines(version: Version, lines: Sequence[VersionLine]) -> list[Data]:
    return [
        {"ingredient": line.ingredient, "percent": line.percent, "phase": line.phase}
        for line in lines
        if (line.product, line.version) == (version.product, version.name)
    ]


def batch(of: Batch, lines: Sequence[BatchLine], packed: Packed) -> Data:
    """A batch that is saved, its lines, and what packaging went."""
    return answered(
        "batch",
        **record(of),
        lines=records(lines),
        packaging={"counts": records(packed.counts), "notes": list(packed.notes)},
    )


def stock(of: Stock) -> Data:
    """What is owned on a day, what expires and what is short."""
    return answered(
        "stock",
        today=of.today.isoformat(),
        days=of.days,
        shelves=[
            {"ingredient": shelf.ingredient, "kg": shelf.kg, "lots": _holdings(shelf.lots)} for shelf in of.shelves
        ],
        expiring=_holdings(of.expiring),
        overdrawn=_holdings(of.overdrawn),
        batches=[_for_batch(batch) for batch in of.batches],
        packaging=[{"packaging": record(pieces.packaging), "left": pieces.left} for pieces in of.packaging],
    )


def _holdings(of: Iterable[Holding]) -> list[Data]:
    return [{"lot": record(holding.lot), "kg": holding.kg} for holding in of]


def _for_batch(of: ForBatch) -> Data:
    return {
        "product": of.product,
        "version": of.version,
        "kg": of.kg,
        "short": [{"ingredient": x.ingredient, "needed": x.needed, "there": x.there} for x in of.short],
        "jars": of.jars,
        "counted": list(of.counted),
        "pieces": [{"packaging": x.packaging, "needed": x.needed, "there": x.there} for x in of.pieces],
    }
