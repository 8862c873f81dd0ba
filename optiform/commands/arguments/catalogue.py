"""Every command with its words, in the order of the help, and where its arguments are declared.

The module of a family is loaded only when one of its commands is asked for: `add_check` of product.py for `check`.
"""

from __future__ import annotations

from importlib import import_module

from optiform.commands.arguments.parser import Parser

#: Family to its commands, each with its words.
FAMILIES = {
    "design": {
        "new": "begin a brief, from what is usual or from what you make; every key is explained in it",
        "design": "the best formula that meets a brief",
        "cheaper": "today's formula for less money, with one line changed, then two, then more",
        "substitute": "what can replace an ingredient of today's formula",
        "texture": "make today's formula firmer or softer, changing few lines",
        "explore": "what a limit costs, what is nearly as good, and what if prices or figures are wrong",
        "sheet": "save one page on which the formula follows as you move the limits; it needs no network",
        "weigh": "the best formula in grams your scale can show, with few ingredients if you wish",
        "from-label": "how much of each ingredient a label leaves room for",
    },
    "product": {
        "check": "what a formula is, what to watch out for, and whether it is within your limits and the law",
        "declare": "a draft of the label's ingredient list, and what you have to decide yourself",
        "compare": "two or more formulas side by side",
        "batch": "the sheet to make a batch by: grams in working order, steps, jars, and room to write",
        "costs": "what a jar costs in all, and what its price leaves you",
        "buy": "which packs to buy for several products, for the least money",
        "range": "choose the formulas and packs of several products together, for the least money",
    },
    "workshop": {
        "ingredients": "look up ingredients, or check your own table",
        "rules": "what goes together and what does not: all rules, or one in full",
        "stock": "what you have, what expires, what is short; lots, packaging, versions",
        "trial": "what your trials teach about firmness, and which one to make next",
        "app": "the workbench in the browser, on this machine only",
        "demo": "design the best formula for the demo",
    },
    "help": {
        "guide": "what a brief and the other files can say, topic by topic",
        "schema": "print the JSON Schema of an answer or of a file, for editors and scripts",
        "completion": "print a script that lets your shell complete commands, options and files",
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
