"""optiform stock batch: a batch that is kept, and what came of it."""

import argparse
import datetime
from dataclasses import replace
from typing import Any

from optiform import jsonform
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, quantity
from optiform.commands.place import open_workshop
from optiform.faults import BadInput, Fault
from optiform.jobs.record import Packed, repacked
from optiform.plain import stock as plain
from optiform.workshop.records import Batch, BatchLine, Packaging, PackagingCount
from optiform.workshop.store import Workshop

WRITTEN = ("jars", "rejected", "deviation", "note")


def run(options: argparse.Namespace) -> int:
    """Keep what is given of the batch, and show all of it."""
    given: dict[str, Any] = {name: value for name in WRITTEN if (value := getattr(options, name)) is not None}
    if options.actual:
        given["actual"] = quantity(options.actual, "--actual", "g")
    with open_workshop(options) as workshop:
        batch = replace(_kept(options.number, workshop), **given)
        if given:
            workshop.revise(batch)
        packed = _recount(batch, workshop) if {"jars", "rejected"} & set(given) else Packed((), ())
        lines = [line for line in workshop.read(BatchLine) if line.batch == batch.number]
    if options.json:
        told = {"lines": list(map(jsonform.data, lines)), "packaging": jsonform.data(packed)}
        print_json({"status": "batch", **jsonform.data(batch), **told})
    else:
        print("\n".join([plain.batch(batch, lines), *plain.packaging(packed.counts), *packed.notes]))
    return ANSWERED


def _kept(number: str, workshop: Workshop) -> Batch:
    batches = {batch.number: batch for batch in workshop.read(Batch)}
    if number not in batches:
        words = f"a batch that is kept: {', '.join(batches) or 'none yet'}"
        raise BadInput([Fault("command line", "NUMBER", repr(number), words)])
    return batches[number]


def _recount(batch: Batch, workshop: Workshop) -> Packed:
    """Packaging as many pieces as jars were filled. Run again after a break it counts only what is still off."""
    packed = repacked(batch, workshop.read(Packaging), workshop.read(PackagingCount), datetime.datetime.now())
    if packed.counts:
        workshop.add(*packed.counts)
    return packed
