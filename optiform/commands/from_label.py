"""optiform from-label: what a declaration can stand for."""

import argparse

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import scope
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.label.from_label import LabelRanges, from_label
from optiform.label.list_text import read_label
from optiform.rules.kinds import used_so
from optiform.rules.usual import kinds
from optiform.telling.json.label import from_label as as_json
from optiform.telling.label import label as label_told


def run(options: argparse.Namespace) -> int:
    """Read a declaration and print the range of each name."""
    listed = read_label(options.label)
    check_names(options)
    ranges = from_label(
        listed.names,
        scope(options),
        options.one_percent,
        dict(options.cap),
        listed.may_contain,
        options.kind or "",
        used_so(kinds(), options.use or "", options.area or ""),
    )
    possible = isinstance(ranges, LabelRanges)
    telling = label_told(ranges, options.label.name)
    answer(telling, options, lambda: as_json(ranges))
    return ANSWERED if possible else IMPOSSIBLE
