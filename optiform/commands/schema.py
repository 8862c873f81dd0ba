"""optiform schema: the JSON Schema of an answer, or of a kind of file."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.plain import answered
from optiform.telling.json.schema import names, schema, title
from optiform.telling.parts import Column, Table
from optiform.telling.terminal import table, window


def run(options: argparse.Namespace) -> int:
    """Print a schema, or the list of them."""
    if options.name:
        print_json(_schema(options.name))
    elif options.json:
        print_json(answered("listed", schemas=[{"name": name, "title": title(name)} for name in names()]))
    else:
        rows = tuple((f"optiform schema {name}", title(name)) for name in names())
        print("Schemas of what optiform says with --json, and of the files that it reads\n")
        print(table(Table((Column("schema"), Column("of")), rows), window()))
    return ANSWERED


def _schema(name: str) -> dict[str, object]:
    try:
        return schema(name)
    except KeyError:
        words = f"There is no schema {name}. Write one of: {', '.join(names())}."
        raise BadInput([Fault(COMMAND_LINE, "NAME", repr(name), f"one of: {', '.join(names())}", words)]) from None
