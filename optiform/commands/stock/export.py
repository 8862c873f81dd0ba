"""optiform stock export: every record as plain CSV in a zip."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.telling.json.records import moved
from optiform.telling.stock import counts
from optiform.telling.terminal import terminal
from optiform.workshop.exchange import export_to


def run(options: argparse.Namespace) -> int:
    """Write the zip."""
    with open_workshop(options) as workshop:
        found = export_to(workshop, options.file, options.force)
    status = moved("exported", found, file=str(options.file))
    print_json(status) if options.json else print(terminal(counts(f"Written to {options.file}", found)))
    return ANSWERED
