"""Arguments of the commands that help with the others."""

from __future__ import annotations

from optiform.commands.arguments.options import Form, add
from optiform.commands.arguments.parser import Parser

#: Topics of the guide in the order in which they are read.
TOPICS = ("brief", "words", "own-table", "making", "costs", "buying", "records", "workbench", "how-sure")
SHELLS = ("bash", "zsh", "fish")


def add_guide(parser: Parser) -> None:
    """What briefs, files and words mean."""
    parser.add_argument("topic", nargs="?", choices=TOPICS, metavar="TOPIC", help="without it, the list of topics")


def add_schema(parser: Parser) -> None:
    """What a program or an editor needs to check answers and files."""
    add(
        parser, "name", Form("NAME", known=_schemas), "such as brief or design; without it, the list of them", nargs="?"
    )


def _schemas() -> tuple[str, ...]:
    from optiform.telling.json.schema import names

    return names()


def add_completion(parser: Parser) -> None:
    """What a shell needs to complete a line."""
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help="bash, zsh or fish")
