"""What came of a batch that is saved: its new figures, and the packaging that follows the jars."""

import datetime
from collections.abc import Mapping

from optiform.batch.records import Packed, repacked
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.workshop.decisions import Where
from optiform.workshop.fieldtypes import changed
from optiform.workshop.records import Batch, Packaging, PackagingCount, Record
from optiform.workshop.store import Reader, Revision


@frozen
class Outcome:
    """A batch with what came of it, and what more or fewer pieces of packaging went."""

    batch: Batch
    packed: Packed

    @property
    def records(self) -> tuple[Record | Revision, ...]:
        """All that is to be kept."""
        return (Revision(self.batch), *self.packed.counts)


def outcome(kept: Reader, number: str, given: Mapping[str, object], now: datetime.datetime, where: Where) -> Outcome:
    """A batch with new figures; where jars are among them, packaging as many pieces as jars were filled.

    Args:
        kept: the records, while nobody else writes.
        number: of the batch.
        given: fields of the batch; what is not among them stays.
        now: when the packaging goes.
        where: a fault of the number is told there.

    Raises:
        BadInput: no such batch.
    """
    batch = changed(batch_of(kept, number, where), given)
    counted = {"jars", "rejected"} & set(given)
    packed = repacked(batch, kept.read(Packaging), kept.read(PackagingCount), now) if counted else Packed((), ())
    return Outcome(batch, packed)


def batch_of(kept: Reader, number: str, where: Where) -> Batch:
    """The batch of a number.

    Raises:
        BadInput: none is kept under it.
    """
    batches = {batch.number: batch for batch in kept.read(Batch)}
    if number not in batches:
        words = f"a batch that is saved: {', '.join(batches) or 'none yet'}"
        raise BadInput([Fault(*where("number"), repr(number), words)])
    return batches[number]
