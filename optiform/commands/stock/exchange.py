"""optiform stock export and import: every record as plain CSV in a zip, and in again."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.telling.json.records import moved
from optiform.telling.stock import counts
from optiform.telling.terminal import terminal
from optiform.trials.cells import no_readings
from optiform.workshop.exchange import export_to, import_from


def run(options: argparse.Namespace) -> int:
    """Write the zip, or add every record, or none."""
    out = options.action == "export"
    place = options.file if out else options.source
    with open_workshop(options, create=not out) as workshop:
        records = export_to(workshop, place, options.force) if out else import_from(workshop, place, no_readings)
    if options.json:
        print_json(moved("exported" if out else "imported", records, **{"file" if out else "source": str(place)}))
    else:
        print(terminal(counts(f"{'Written to' if out else 'Saved from'} {place}", records)))
    return ANSWERED
