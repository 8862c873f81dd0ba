"""optiform demo: the main job on the demo workshop."""

import argparse
import sys
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.design import show
from optiform.design.design import design
from optiform.reading import clock
from optiform.reading.demo import copy_demo
from optiform.reading.faults import BadInput, Fault
from optiform.reading.paths import DEMO

WHAT_NEXT = """
What to try next
  Take the demo's files:                          optiform demo --copy my-scrub && cd my-scrub
  Change a limit or a price in them, then:        optiform design brief.toml
  Keep this answer; it is new.csv below:          optiform design brief.toml --write new.csv
  What is sold today, against the same limits:    optiform check today.csv --brief brief.toml
  Both, side by side:                             optiform compare today.csv new.csv --brief brief.toml
  Cheaper, changing one line after another:       optiform cheaper brief.toml
  What replaces the butter that is sold out:      optiform substitute brief.toml "mango butter"
  A draft of the label's ingredient list:         optiform declare new.csv --brief brief.toml
  What a jar costs, all of it:                    optiform costs new.csv --brief brief.toml --costs costs.toml
  A fifth firmer at 20 degC, fewest changes:      optiform texture brief.toml --step 20
  The sheet to make a batch by, to print:         optiform batch new.csv --brief brief.toml --html sheet.html
  Its lots, versions, batches and trials:         optiform stock import workshop --records .
                                                  optiform stock
  Then which lots to weigh of it:                 optiform batch new.csv --brief brief.toml --records .
  Which packs to buy for what the plan makes:     optiform buy plan.toml --records .
  Everything known of an ingredient:              optiform ingredients shea butter, refined
  Make it impossible on purpose: ask for a solid fat at 30 degC of at least 40 %, and read what clashes."""


def run(options: argparse.Namespace) -> int:
    """Design the demo brief and say what to try next; or copy its files."""
    if options.copy:
        return _copy(options.copy, options.json)
    code = show(design(read_brief(DEMO / "brief.toml"), options.solver), options.json)
    if not options.json:
        print(WHAT_NEXT)
    return code


def _copy(folder: Path, as_json: bool) -> int:
    """The demo's files in a new folder, dated for today; nothing that exists is overwritten."""
    if folder.exists():
        raise BadInput([Fault("--copy", str(folder), "something that exists", "the name of a new folder")])
    try:
        copy_demo(folder, clock.today())
    except OSError as error:
        raise BadInput([Fault("--copy", str(folder), str(error.strerror), "a folder that can be made")]) from None
    names = sorted(path.name for path in folder.iterdir())
    if as_json:
        print_json({"status": "copied", "folder": str(folder), "files": names})
    else:
        print(f"copied: {', '.join(names)} to {folder}", file=sys.stderr)
    return ANSWERED
