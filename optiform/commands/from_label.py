"""optiform from-label: what a declaration can stand for."""

import argparse
from functools import partial

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import scope
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.label.from_label import LabelRanges, from_label, read_label
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.reading.units import parse_quantity
from optiform.telling import json as jsonform
from optiform.telling.label import label as label_told


def run(options: argparse.Namespace) -> int:
    """Read a declaration and print the range of each name."""
    inspection = Inspection("command line")
    looked_for = inspection.given(lambda: scope(options), None)
    caps = dict(inspection.given(partial(_cap, each), ("", 0.0)) for each in options.cap)
    inspection.finish()
    assert looked_for is not None
    names = read_label(options.label)
    check_names(options)
    ranges = from_label(names, looked_for, options.one_percent, caps)
    possible = isinstance(ranges, LabelRanges)
    status = "ranges" if possible else "infeasible"
    telling = label_told(ranges, options.label.name)
    answer(telling, options, lambda: {"status": status, **jsonform.data(ranges)}, telling.title)
    return ANSWERED if possible else IMPOSSIBLE


def _cap(given: str) -> tuple[str, float]:
    """`Name=5 %`."""
    name, _, most = given.rpartition("=")
    try:
        return name.strip(), parse_quantity(most, "%")
    except ValueError as error:
        raise BadInput([Fault("command line", "--cap", repr(given), f"Name=5 %: {error}")]) from None
