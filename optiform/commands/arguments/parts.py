"""Pieces that several commands' arguments share."""

from __future__ import annotations

import argparse
from typing import Any, TypeAlias

from optiform.commands.arguments.options import DAY, Parser, add, amount, file, one_of, text

Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def command(commands: Commands, name: str, words: str) -> argparse.ArgumentParser:
    """A command with what all commands share."""
    parser = commands.add_parser(name, help=words, description=words[0].upper() + words[1:] + ".")
    flag(parser, "--json", "print one JSON object and nothing else")
    parser.set_defaults(module=name.replace("-", "_"))
    return parser


def action(kinds: Commands, name: str, words: str, module: str = "") -> argparse.ArgumentParser:
    """One kind of work on the workshop. Options that `stock` has too keep what was given there."""
    parser = kinds.add_parser(name, help=words, description=words[0].upper() + words[1:] + ".")
    flag(parser, "--json", "print one JSON object", argparse.SUPPRESS)
    add_workshop(parser, argparse.SUPPRESS)
    parser.set_defaults(module=f"stock.{module or name}")
    return parser


def flag(parser: Parser, name: str, words: str, default: bool | str = False) -> None:
    """Something that is asked for or not."""
    parser.add_argument(name, action="store_true", default=default, help=words)


def add_brief(parser: Parser) -> None:
    """The brief a command works on."""
    add(parser, "brief", file("BRIEF"), "a brief in TOML")


def add_formula(parser: Parser) -> None:
    """The formula a command looks at."""
    add(parser, "formula", file("FORMULA"), "a formula in CSV or TOML")


def add_basis(parser: Parser) -> None:
    """What its numbers are of."""
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")


def add_solver(parser: Parser) -> None:
    """Which solver answers."""
    parser.add_argument("--solver", choices=["highs", "cbc"], default="highs", help="cbc is the second opinion")


#: For an option that the command above has too: what was given there stays.
ABOVE: dict[str, Any] = {"default": argparse.SUPPRESS}


def add_force(parser: Parser, **more: Any) -> None:
    """Leave to replace what has the name of a file to save."""
    flag(parser, "--force", "replace a file of the same kind that is there", **more)


def add_table(parser: Parser, words: str = "save the table", **more: Any) -> None:
    """A table to save."""
    add(parser, "--csv", file(), words, **more)
    add_force(parser, **more)


def add_files(parser: Parser, picture: str) -> None:
    """How much of the answer is printed, and a table, a page and a picture to save."""
    add_telling(parser)
    add(parser, "--chart", file(), f"save a picture (.png or .svg): {picture}")
    add_papers(parser)


def add_option(parser: Parser, first: str) -> None:
    """An option of the answer to take along as a formula."""
    add(parser, "--write", file(), "save an option's formula (.csv, .toml)")
    add(parser, "--option", text("OPTION"), f"which option --write saves (default {first})")


def add_papers(parser: Parser, table: str = "save the table", page: str = "save a page to print", **more: Any) -> None:
    """A table and a page to save."""
    add(parser, "--html", file(), page, **more)
    add_table(parser, table, **more)


def add_telling(parser: Parser, **more: Any) -> None:
    """How much of the answer is printed."""
    much = parser.add_mutually_exclusive_group()
    flag(much, "--all", "print everything there is to say", **more)
    add(much, "--part", text("NAME"), "print one part only; a name that is none lists them", **more)


def add_own(parser: Parser) -> None:
    """Own tables of ingredients."""
    add(parser, "--own", file(), "own ingredients and prices", action="append", default=[])


def add_workshop(
    parser: Parser, default: str | None = None,
    words: str = "folder of records.db, or postgresql://user@host/database (default: the current folder)",
) -> None:  # fmt: skip
    """Which workshop's records."""
    add(parser, "--records", text("PLACE"), words, default=default, dest="workshop")


# -- what a formula is looked at for -----------------------------------------------------------------------------------


def _markets() -> tuple[str, ...]:
    from optiform.rules.law import MARKETS

    return MARKETS


def _areas() -> tuple[str, ...]:
    from optiform.rules.law import AREAS

    return AREAS


def _kinds() -> tuple[str, ...]:
    from optiform.brief.brief import KINDS

    return tuple(KINDS)


MARKET = one_of("EU|GB|US", _markets, str.upper)


def add_use(parser: Parser, rules: str) -> None:
    """What a formula is used for, and the day whose rules count."""
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    add(parser, "--area", one_of(None, _areas), "body (default), face, hands, feet, lips, hair, eyes or baby")
    add(parser, "--date", DAY, f"date the {rules} are taken for (default today)")


def add_scope(parser: Parser) -> None:
    """What a formula is used for, and where it is sold."""
    add(parser, "--market", MARKET, "legal limits of this market", action="append", default=[])
    add_use(parser, "limits")


def add_setting(parser: Parser) -> None:
    """What a formula is looked at for: a brief, or the same by options."""
    add(parser, "--brief", file("BRIEF"), "take limits, prices and use from a brief")
    add_own(parser)
    add(parser, "--kind", one_of(None, _kinds, str.casefold), "kind of product, for instance 'cream scrub'")
    add_scope(parser)
    add(parser, "--currency", text(None), "default EUR")
    add(parser, "--batch", amount("kg"), "default 1 kg")
