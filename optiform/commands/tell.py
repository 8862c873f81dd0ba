"""An answer in the terminal: the short telling, all of it, or one part."""

import argparse

from optiform.reading.faults import BadInput, Fault
from optiform.telling.parts import Telling
from optiform.telling.terminal import terminal


def tell(telling: Telling, options: argparse.Namespace) -> None:
    """Print a telling as `--all` and `--part` ask.

    Raises:
        BadInput: a part that this answer has not; the fault names those that it has.
    """
    if options.part:
        if options.part not in telling.names:
            raise BadInput([Fault("command line", "--part", repr(options.part), f"one of: {', '.join(telling.names)}")])
        print(terminal(telling.only(options.part)))
    else:
        print(terminal(telling if options.all else telling.brief()))
