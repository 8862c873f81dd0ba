"""optiform schema: the JSON Schema of an answer, or of a kind of file."""

import argparse
from collections.abc import Iterator
from itertools import zip_longest

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.near import nearest
from optiform.reading.plain import answered
from optiform.telling.json.schema import ENDING, names, schema, title
from optiform.telling.parts import Column, Table
from optiform.telling.terminal import table, window, wrapped


def run(options: argparse.Namespace) -> int:
    """Print a schema, or the list of them."""
    if options.name:
        print_json(_schema(options.name))
    elif options.json:
        print_json(answered("listed", schemas=[{"name": name, "title": title(name)} for name in names()]))
    else:
        print("\n\n".join(_listed(window())))
    return ANSWERED


def _listed(width: int) -> Iterator[str]:
    """The schemas of files, then those of answers beside the commands that print them with --json."""
    yield wrapped("What a file, or an answer with --json, can hold. Of a brief: `optiform schema brief.toml`.")
    files = tuple((name, title(name)) for name in names() if name.endswith(ENDING))
    yield table(Table((Column("file"), Column("what it is")), files), width)
    answers = [(name, _command(name)) for name in names() if not name.endswith(ENDING)]
    half = (len(answers) + 1) // 2
    pairs = zip_longest(answers[:half], answers[half:], fillvalue=("", ""))
    heads = (Column("schema"), Column("answer of"), Column("schema "), Column("answer of "))
    yield table(Table(heads, tuple((*left, *right) for left, right in pairs)), width)


def _command(name: str) -> str:
    """The command that gives an answer; where several do, in words which it is."""
    words, _, command = title(name).partition(": optiform ")
    return command.replace("optiform ", "") or f"{words[0].lower()}{words[1:]}"


def _schema(name: str) -> dict[str, object]:
    try:
        return schema(name)
    except KeyError:
        near = nearest(name, names())
        told = f"Did you mean {near}?" if near else "`optiform schema` lists them."
        words = f"There is no schema {name}. {told}"
        raise BadInput([Fault(COMMAND_LINE, "NAME", repr(name), f"one of: {', '.join(names())}", words)]) from None
