"""optiform from-label: what a declaration can stand for."""

import argparse

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import print_json, scope
from optiform.commands.files import check_names, write_table
from optiform.label.from_label import LabelRanges, from_label
from optiform.label.list_text import read_label
from optiform.telling import json as jsonform
from optiform.telling.label import no_composition, ranges


def run(options: argparse.Namespace) -> int:
    """Read a declaration and print the range of each name."""
    label = read_label(options.label)
    check_names(options)
    found = from_label(label, scope(options), options.one_percent, dict(options.cap))
    if isinstance(found, LabelRanges):
        rows = [[r.inci, r.low, r.centre, r.high, r.place, "; ".join(r.caps)] for r in found.ranges]
        write_table(options, [["name", "least %", "centre %", "most %", "place", "held by"], *rows])
        print_json({"status": "ranges", **jsonform.data(found)}) if options.json else print(ranges(found))
        return ANSWERED
    print_json({"status": "infeasible", **jsonform.data(found)}) if options.json else print(no_composition(found))
    return IMPOSSIBLE
