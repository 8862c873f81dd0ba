"""An answer in the terminal: the short telling, all of it, or one part."""

import argparse
import shlex
from collections.abc import Iterator, Mapping, Sequence

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


#: Options that say what to do with an answer, not what to answer; with how many words follow each.
SHOWING = {"--csv": 1, "--html": 1, "--chart": 1, "--write": 1, "--option": 1, "--part": 1} | dict.fromkeys(
    ("--all", "--json", "--force"), 0
)


def line(options: argparse.Namespace, without: Mapping[str, int] | None = None) -> str:
    """The command that gave an answer, as a next step goes on from it.

    Args:
        options: of the command.
        without: more options to leave out, each with how many words follow it.
    """
    return shlex.join(["optiform", *_left(options.words, {**SHOWING, **(without or {})})])


def _left(words: Sequence[str], dropped: Mapping[str, int]) -> Iterator[str]:
    skip = 0
    for word in words:
        name, _, value = word.partition("=")
        if skip:
            skip -= 1
        elif name in dropped:
            skip = 0 if value else dropped[name]
        else:
            yield word
