"""optiform from-label: what a declaration can stand for."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import scope
from optiform.commands.files import check_names, write_formula
from optiform.commands.tell import again, answer
from optiform.ingredients.catalogue import read_catalogue
from optiform.label.facts import CentreOf
from optiform.label.from_label import LabelRanges, from_label
from optiform.label.list_text import read_label
from optiform.label.middle import middle
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.rules.kinds import used_so
from optiform.rules.usual import kinds
from optiform.telling.json.label import from_label as as_json
from optiform.telling.label import label as label_told
from optiform.telling.label import saved
from optiform.telling.parts import Telling
from optiform.telling.steps import after_label


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
    telling = label_told(ranges, options.label.name)
    if isinstance(ranges, LabelRanges):
        telling = _onward(ranges, telling, options)
    answer(telling, options, lambda: as_json(ranges))
    return ANSWERED if isinstance(ranges, LabelRanges) else IMPOSSIBLE


def _onward(ranges: LabelRanges, telling: Telling, options: argparse.Namespace) -> Telling:
    """The telling with what goes on from the centre as a formula; that is saved where `--write` names a file."""
    centre = middle(ranges.ranges, read_catalogue(), options.label.stem)
    if options.write:
        if not centre.formula.lines:
            words = "No ingredient known here is declared by any name of this label, so there is no formula to save."
            raise BadInput([Fault(COMMAND_LINE, "--write", str(options.write), words)])
        write_formula(options, centre.formula)
        telling = replace(telling, sections=(*telling.sections, saved(centre, options.write)))
    if not centre.formula.lines:
        return telling
    kind = options.kind or next((note.kind for note in ranges.notes if isinstance(note, CentreOf)), "")
    setting = [word for market in options.market for word in ("--market", market)]
    setting += ["--kind", kind] if kind else []
    setting += ["--use", options.use] if options.use else []
    return replace(telling, steps=after_label(options.write, again(options), setting))
