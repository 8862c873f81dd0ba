"""optiform stock batch: a batch that is kept, and what came of it."""

import argparse
from collections.abc import Sequence
from typing import Any

from optiform.batch.outcome import batch_of, outcome
from optiform.batch.records import Packed
from optiform.commands import ANSWERED
from optiform.commands.common import quantity
from optiform.commands.files import check_names
from optiform.commands.place import open_workshop
from optiform.commands.tell import answer
from optiform.reading import clock
from optiform.telling import json as jsonform
from optiform.telling import stock as plain
from optiform.workshop.decisions import written
from optiform.workshop.kinds import Record
from optiform.workshop.records import BatchLine
from optiform.workshop.store import Reader

WRITTEN = ("jars", "rejected", "deviation", "note")
WHERE = written("command line", number="NUMBER", actual="--actual", **{name: f"--{name}" for name in WRITTEN})


def run(options: argparse.Namespace) -> int:
    """Keep what is given of the batch, and show all of it."""
    given: dict[str, Any] = {name: value for name in WRITTEN if (value := getattr(options, name)) is not None}
    if options.actual is not None:
        given["actual"] = quantity(options.actual, "--actual", "g")
    check_names(options)
    packed = Packed((), ())

    def revised(kept: Reader) -> Sequence[Record]:
        nonlocal packed
        found = outcome(kept, options.number, given, clock.now(), WHERE)
        packed = found.packed
        return found.records

    with open_workshop(options) as workshop:
        if given:
            workshop.decide(revised, lambda _, field: WHERE(field))
        batch = batch_of(workshop, options.number, WHERE)
        lines = [line for line in workshop.read(BatchLine) if line.batch == batch.number]
    answer(
        plain.batch(batch, lines, (*plain.packaging(packed.counts), *packed.notes)),
        options,
        lambda: {"status": "batch", **jsonform.data(batch), "lines": list(map(jsonform.data, lines)),
                 "packaging": jsonform.data(packed)},
    )  # fmt: skip
    return ANSWERED
