"""Commands in what is printed go on with the records that were given: `--records` stands in each that can take it."""

import argparse
import re
import shlex
from dataclasses import replace

from optiform.telling.parts import Part, Sentence, Step, Telling

#: Commands that take `--records`; tests/journeys/test_records_elsewhere.py holds them to the parser.
TAKE = (
    "batch", "buy", "cheaper", "check", "compare", "costs", "design", "explore", "range", "stock", "substitute",
    "texture", "trial", "weigh",
)  # fmt: skip
_WRITTEN = re.compile(r"`(?P<command>optiform [^`]+)`")


def secret(place: str) -> bool:
    """Whether it is an address with a password in it, which is not printed."""
    user, at, _ = place.partition("://")[2].rpartition("@")
    return bool(at) and ":" in user


def at(options: argparse.Namespace) -> str:
    """The option that names the records that were given; empty for none, the current folder, and a secret address."""
    place = str(getattr(options, "workshop", None) or ".")
    return "" if place == "." or secret(place) else f" --records {shlex.quote(place)}"


def carried(telling: Telling, options: argparse.Namespace) -> Telling:
    """The telling with the records that were given in its next steps and in the commands that its sentences name."""
    if not at(options):
        return telling
    steps = tuple(Step(step.words, _command(step.command, options)) for step in telling.steps)
    sections = (
        replace(section, parts=tuple(_part(part, options) for part in section.parts)) for section in telling.sections
    )
    return replace(telling, sections=tuple(sections), steps=steps)


def carrying(text: str, options: argparse.Namespace) -> str:
    """A text with the records that were given in every command that it names.

    Example:
        >>> carrying("`optiform stock` lists them; `optiform guide records`", argparse.Namespace(workshop="attic"))
        '`optiform stock --records attic` lists them; `optiform guide records`'
    """
    if not at(options):
        return text
    return _WRITTEN.sub(lambda found: f"`{_command(found['command'], options)}`", text)


def _part(part: Part, options: argparse.Namespace) -> Part:
    return replace(part, text=carrying(part.text, options)) if isinstance(part, Sentence) else part


def _command(command: str, options: argparse.Namespace) -> str:
    words = command.split()
    takes = len(words) > 1 and words[0] == "optiform" and words[1] in TAKE
    has = any(re.match(r"--(records|workshop|help|offers|lots)\b", word) for word in words)
    return f"{command}{at(options)}" if takes and not has else command
