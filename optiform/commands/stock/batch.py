"""optiform stock batch: a batch that is kept, and what came of it."""

import argparse
import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from optiform import jsonform
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, quantity
from optiform.commands.place import open_workshop
from optiform.faults import BadInput, Fault
from optiform.jobs.record import Packed, repacked
from optiform.plain import stock as plain
from optiform.workshop.decisions import written
from optiform.workshop.kinds import Record
from optiform.workshop.records import Batch, BatchLine, PackagingCount
from optiform.workshop.store import Reader, Revision

WRITTEN = ("jars", "rejected", "deviation", "note")
WHERE = written("command line", actual="--actual", **{name: f"--{name}" for name in WRITTEN})


def run(options: argparse.Namespace) -> int:
    """Keep what is given of the batch, and show all of it."""
    given: dict[str, Any] = {name: value for name in WRITTEN if (value := getattr(options, name)) is not None}
    if options.actual is not None:
        given["actual"] = quantity(options.actual, "--actual", "g")
    packed = Packed((), ())

    def revised(kept: Reader) -> Sequence[Record]:
        """With packaging as many pieces as jars were filled: only what is still off is counted."""
        nonlocal packed
        batch = replace(_kept(options.number, kept), **given)
        if {"jars", "rejected"} & set(given):
            packed = repacked(batch, kept.read(PackagingCount), datetime.datetime.now())
        return [Revision(batch), *packed.counts]

    with open_workshop(options) as workshop:
        if given:
            workshop.decide(revised, lambda _, field: WHERE(field))
        batch = _kept(options.number, workshop)
        lines = [line for line in workshop.read(BatchLine) if line.batch == batch.number]
    if options.json:
        told = {"lines": list(map(jsonform.data, lines)), "packaging": jsonform.data(packed)}
        print_json({"status": "batch", **jsonform.data(batch), **told})
    else:
        print("\n".join([plain.batch(batch, lines), *plain.packaging(packed.counts), *packed.notes]))
    return ANSWERED


def _kept(number: str, kept: Reader) -> Batch:
    batches = {batch.number: batch for batch in kept.read(Batch)}
    if number not in batches:
        words = f"a batch that is kept: {', '.join(batches) or 'none yet'}"
        raise BadInput([Fault("command line", "NUMBER", repr(number), words)])
    return batches[number]
