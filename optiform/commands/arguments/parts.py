"""Pieces that several commands' arguments share."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from importlib import import_module
from typing import TypeAlias

from optiform.commands.arguments.catalogue import sentence
from optiform.commands.arguments.options import DAY, Container, Form, add, amount, file, one_of, text
from optiform.commands.arguments.parser import Parser

Commands: TypeAlias = "argparse._SubParsersAction[Parser]"


def action(kinds: Commands, name: str, words: str, module: str = "change") -> Parser:
    """One kind of work on the workshop. Options that `stock` has too keep what was given there."""
    parser = kinds.add_parser(name, help=words, description=sentence(words))
    flag(parser, "--json", "print one JSON object", argparse.SUPPRESS)
    add_workshop(parser, argparse.SUPPRESS)
    parser.set_defaults(module=f"stock.{module}", action=name)
    return parser


def flag(parser: Container, name: str, words: str, default: bool | str = False) -> None:
    """Something that is asked for or not."""
    parser.add_argument(name, action="store_true", default=default, help=words)


def add_brief(parser: Container) -> None:
    """The brief a command works on."""
    add(parser, "brief", file("BRIEF"), "a brief in TOML: optiform guide brief")


def add_formula(parser: Container) -> None:
    """The formula a command looks at."""
    add(parser, "formula", file("FORMULA"), "a formula in CSV or TOML")


def add_basis(parser: Container) -> None:
    """What its numbers are of."""
    words = "what the numbers of the formula are: %% of the whole, %% of the base, parts or grams"
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help=words)


def add_solver(parser: Container) -> None:
    """Which solver answers."""
    parser.add_argument("--solver", choices=["highs", "cbc"], default="highs", help="cbc gives a second opinion")


#: For an option that the command above has too: what was given there stays.
ABOVE = argparse.SUPPRESS


def add_force(parser: Container, default: str | None = None) -> None:
    """Leave to replace what has the name of a file to save."""
    flag(parser, "--force", "replace a file of the same kind", default or False)


def add_table(parser: Container, words: str = "save the table", default: str | None = None) -> None:
    """A table to save."""
    add(parser, "--csv", file(), words, default=default)
    add_force(parser, default)


def add_files(parser: Container, picture: str) -> None:
    """How much of the answer is printed, and a table, a page and a picture to save."""
    add_telling(parser)
    add(parser, "--chart", file(), f"save a picture (.png or .svg): {picture}")
    add_papers(parser)


def add_option(parser: Container, first: str) -> None:
    """An option of the answer to take along as a formula."""
    add(parser, "--write", file(), "save an option's formula (.csv, .toml)")
    add(parser, "--option", text("OPTION"), f"which option --write saves (default {first})")


def add_output(
    parser: Container, table: str = "save the table", page: str = "save a page to print", default: str | None = None
) -> None:
    """How much of the answer is printed, and a table and a page to save."""
    add_telling(parser, default)
    add_papers(parser, table, page, default)


def add_papers(
    parser: Container, table: str = "save the table", page: str = "save a page to print", default: str | None = None
) -> None:
    """A table and a page to save."""
    add(parser, "--html", file(), page, default=default)
    add_table(parser, table, default)


def add_telling(parser: Container, default: str | None = None) -> None:
    """How much of the answer is printed."""
    much = parser.add_mutually_exclusive_group()
    flag(much, "--all", "print the whole answer", default or False)
    add(much, "--part", text("NAME"), "print one part only; any wrong name lists the parts", default=default)


def add_own(parser: Container, words: str = "your own table: ingredients, prices, stock") -> None:
    """Own tables of ingredients."""
    add(parser, "--own", file(), words, action="append", default=[])


def add_workshop(
    parser: Container, default: str | None = None,
    words: str = "folder with records.db, or postgresql://user@host/database (default: this folder)",
) -> None:  # fmt: skip
    """Which workshop's records."""
    add(parser, "--records", text("PLACE"), words, default=default, dest="workshop")


def add_readings(parser: Container, **needs: str) -> None:
    """Whose readings the scale of firmness is fitted to; `needs` as in `add`."""
    words = "use the firmness scale fitted to the trials in these records"
    add(parser, "--records", text("PLACE"), words, dest="workshop", needs=needs)


# -- what a formula is looked at for -----------------------------------------------------------------------------------


def _words(module: str, name: str) -> Callable[[], tuple[str, ...]]:
    """The words of a list whose module is loaded when one of them is read."""
    return lambda: tuple(getattr(import_module(f"optiform.{module}"), name))


MARKET = one_of("EU|GB|US|US-NY|...", _words("rules.law", "MARKETS"), str.upper)


def _kind(given: str) -> str:
    """A kind of product in its own spelling."""
    from optiform.brief.kind_words import KINDS, expected

    if given.casefold() not in KINDS:
        raise ValueError(expected(given))
    return given.casefold()


KIND = Form(None, lambda given, _: _kind(given), known=_words("brief.brief", "KINDS"))


def add_use(parser: Container, rules: str) -> None:
    """What a formula is used for, and the day whose rules count."""
    words = "default: what is usual for the kind, else rinse-off"
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help=words)
    add(
        parser,
        "--area",
        one_of(None, _words("rules.law", "AREAS")),
        "body, face, hands, feet, lips, hair, eyes or baby (default: what is usual for the kind, else body)",
    )
    add(parser, "--date", DAY, f"the day whose {rules} count (default today)")


def add_scope(parser: Container) -> None:
    """What a formula is used for, and where it is sold."""
    add(parser, "--market", MARKET, "where it is sold; the law there holds", action="append", default=[])
    add_use(parser, "limits")


def add_setting(parser: Container) -> None:
    """What a formula is looked at for: a brief, or the same by options."""
    add(parser, "--brief", file("BRIEF"), "take limits, prices and use from a brief")
    add_own(parser)
    add(parser, "--kind", KIND, "kind of product, for instance 'cream scrub'")
    add_scope(parser)
    add(parser, "--currency", text(None), "currency of the costs (default EUR)")
    add(parser, "--batch", amount("kg"), "mass to make (default 1 kg)")
