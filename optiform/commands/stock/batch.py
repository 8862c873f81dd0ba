"""optiform stock batch: a batch that is kept, and what came of it."""

import argparse
from collections.abc import Sequence

from optiform.batch.outcome import batch_of, outcome
from optiform.batch.records import Packed
from optiform.commands import ANSWERED
from optiform.commands.arguments.fields import written
from optiform.commands.arguments.options import where
from optiform.commands.files import check_names
from optiform.commands.place import open_workshop
from optiform.commands.tell import answer
from optiform.reading import clock
from optiform.telling import stock as plain
from optiform.telling.json.records import batch as as_json
from optiform.telling.worked import uncounted_of
from optiform.workshop.records import Batch, BatchLine, Record
from optiform.workshop.store import Reader, Revision


def run(options: argparse.Namespace) -> int:
    """Keep what is given of the batch, and show all of it."""
    came, place = written(options, Batch), where(options)
    check_names(options)
    packed = Packed((), ())

    def revised(kept: Reader) -> Sequence[Record | Revision]:
        nonlocal packed
        result = outcome(kept, options.number, came, clock.now(), place)
        packed = result.packed
        return result.records

    with open_workshop(options) as workshop:
        if came.keys() - {"number"}:
            workshop.decide(revised, lambda _, field: place(field))
        batch = batch_of(workshop, options.number, place)
        lines = [line for line in workshop.read(BatchLine) if line.batch == batch.number]
    answer(
        plain.batch(batch, lines, (*plain.packaging(packed.counts), *uncounted_of(packed))),
        options,
        lambda: as_json(batch, lines, packed),
    )
    return ANSWERED
