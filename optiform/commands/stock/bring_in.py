"""optiform stock import: records from a zip or a folder of CSV files."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.telling.json.records import moved
from optiform.telling.stock import counts
from optiform.telling.terminal import terminal
from optiform.workshop.exchange import import_from


def run(options: argparse.Namespace) -> int:
    """Add every record, or none."""
    with open_workshop(options, create=True) as workshop:
        found = import_from(workshop, options.source)
    status = moved("imported", found, source=str(options.source))
    print_json(status) if options.json else print(terminal(counts(f"Saved from {options.source}", found)))
    return ANSWERED
