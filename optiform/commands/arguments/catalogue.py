"""Every command with its words, in the order of the help, and where its arguments are declared.

The module of a family is loaded only when one of its commands is asked for: `add_check` of product.py for `check`.
"""

from __future__ import annotations

from importlib import import_module

from optiform.commands.arguments.parser import Parser

#: Family to its commands, each with its words.
FAMILIES = {
    "design": {
        "new": "a new brief, every key with a word on it, from what is usual or what you make",
        "design": "the best formula that meets a brief",
        "cheaper": "today's formula at less cost, changing more and more lines",
        "substitute": "what replaces an ingredient of today's formula",
        "texture": "firmer or softer at a temperature, changing few lines",
        "explore": "what a limit costs, what is nearly as good, what if prices or figures are wrong",
        "sheet": "one page on which the formula follows the limits under your hand, without a network",
        "weigh": "grams the scale can show, with every limit kept and few ingredients",
        "from-label": "the range each declared ingredient can have",
    },
    "product": {
        "check": "the same report for a formula that exists",
        "declare": "a draft of the label's ingredient list, and what a person decides",
        "compare": "two or more formulas side by side",
        "batch": "the sheet to make a batch by: grams in working order, steps, jars, blanks",
        "costs": "what a jar costs, all of it, and what its price leaves",
        "buy": "which packs to buy to make several products, at the least cost",
        "range": "formulas and packs for several products on one shelf, chosen together",
    },
    "workshop": {
        "ingredients": "search and show ingredients, check an own file",
        "rules": "what goes together and what does not: every rule, or one in full",
        "stock": "what is owned, what expires, what is short; lots, packaging, versions",
        "trial": "what logged trials teach about firmness, and which one to make next",
        "app": "the workbench in the browser, on this machine only",
        "demo": "run the main job on the demo workshop",
    },
    "help": {
        "guide": "what can stand in a brief and in each other file, topic by topic",
        "schema": "print the JSON Schema of an answer or a kind of file, for editors and scripts",
        "completion": "print the script that completes commands, options and files in a shell",
    },
}


def add_commands(parser: Parser) -> None:
    """Add every command to the parser of the program, each to be declared when it is asked for."""
    commands = parser.add_subparsers(title="commands", dest="command", metavar="COMMAND")
    for family, words in FAMILIES.items():
        for name, says in words.items():
            commands.add_parser(name, help=says, description=sentence(says), declare=Declared(family, name))
    parser.set_defaults(commands=commands.choices)


def sentence(words: str) -> str:
    """Words of a command as a sentence."""
    return f"{words[0].upper()}{words[1:]}."


class Declared:
    """What declares the arguments of one command."""

    def __init__(self, family: str, name: str) -> None:
        self.family, self.name = family, name.replace("-", "_")

    def __call__(self, parser: Parser) -> None:
        """Add what all commands share, then the command's own."""
        parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        parser.set_defaults(module=self.name)
        getattr(import_module(f"optiform.commands.arguments.{self.family}"), f"add_{self.name}")(parser)
