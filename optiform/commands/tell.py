"""An answer in the terminal: the short telling, all of it, or one part."""

import argparse
import shlex
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from optiform.commands.carried import carried
from optiform.commands.common import print_json
from optiform.commands.files import write_chart, write_page, write_table
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.parts import Telling
from optiform.telling.terminal import short, terminal


def answer(telling: Telling, options: argparse.Namespace, data: Callable[[], dict[str, object]]) -> None:
    """Save table, page and first chart where options name files, then print the answer, as `--json` the `data`.

    Args:
        telling: the answer.
        options: of the command.
        data: the answer as JSON, made only then.

    Raises:
        BadInput: a file that cannot be written, with every fault; a part that this answer has not.
    """
    check_part(telling, options)
    telling = carried(telling, options)
    write_table(options, telling.table)
    write_page(options, lambda: _page(telling))
    write_chart(options, lambda path: _draw(telling, path))
    print_json(data()) if options.json else tell(telling, options)


def _page(telling: Telling) -> str:
    from optiform.telling.document import document  # what most runs do not write is not loaded

    return document(telling)


def _draw(telling: Telling, path: Path) -> None:
    from optiform.telling.drawing import write

    write(telling.charts[0], path)


def tell(telling: Telling, options: argparse.Namespace) -> None:
    """Print a telling as `--all` and `--part` ask; what was typed is no next step.

    Raises:
        BadInput: a part that this answer has not; the fault names those that it has.
    """
    check_part(telling, options)
    telling = carried(telling, options)
    typed = shlex.join(["optiform", *options.typed])
    telling = replace(telling, steps=tuple(step for step in telling.steps if step.command != typed))
    if options.part:
        print(terminal(telling.only(options.part)))
    else:
        print(terminal(telling) if options.all else short(telling))


def check_part(telling: Telling, options: argparse.Namespace) -> None:
    """See before anything is written whether the answer has the part that is asked for.

    Raises:
        BadInput: it has not; the fault names those that it has.
    """
    if options.part and options.part not in telling.names:
        raise BadInput([Fault(COMMAND_LINE, "--part", repr(options.part), f"one of: {', '.join(telling.names)}")])


#: Options that say what to do with an answer, not what to answer; with how many words follow each.
SHOWING = {"--csv": 1, "--html": 1, "--chart": 1, "--write": 1, "--option": 1, "--part": 1} | dict.fromkeys(
    ("--all", "--json", "--force"), 0
)


def again(options: argparse.Namespace, without: Mapping[str, int] | None = None) -> str:
    """The command line as it was typed, for a next step that goes on with the same answer.

    Args:
        options: of the command.
        without: more options to leave out than those that say what to do with an answer, each with how many words
            follow it.
    """
    return shlex.join(["optiform", *_left(options.typed, {**SHOWING, **(without or {})})])


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
