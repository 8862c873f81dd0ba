"""optiform demo: the main job on the demo workshop."""

import argparse
import sys
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.shown import show
from optiform.design.design import design
from optiform.reading import clock
from optiform.reading.demo import copy_demo
from optiform.reading.faults import BadInput, Fault
from optiform.reading.paths import DEMO
from optiform.reading.plain import answered
from optiform.telling import steps

LINES = 45  #: the answer, and all that can be tried next


def run(options: argparse.Namespace) -> int:
    """Design the demo brief and say what to try next; or copy its files."""
    if options.copy:
        return _copy(options.copy, options.json)
    return show(design(read_brief(DEMO / "brief.toml"), options.solver), options, steps.demo(options.all), LINES)


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
        print_json(answered("copied", folder=str(folder), files=names))
    else:
        print(f"copied: {', '.join(names)} to {folder}", file=sys.stderr)
    return ANSWERED
