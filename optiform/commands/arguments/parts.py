"""Pieces that several commands' arguments share."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def path(text: str) -> Path:
    """A path as argument; pathlib is imported only when one is given."""
    from pathlib import Path

    return Path(text)


#: How a day is written.
DAY = "YYYY-MM-DD"


def number(text: str) -> float:
    """A number as argument; a decimal comma is read where it can mean nothing else."""
    from optiform.reading.units import parse_number

    try:
        return parse_number(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(misread(text, str(error))) from None


def whole(of: str) -> Callable[[str], int]:
    """A whole number of something as argument."""

    def read(text: str) -> int:
        if re.fullmatch(r"\s*[-+]?[0-9]{1,12}\s*", text) is None:
            raise argparse.ArgumentTypeError(misread(text, f"a whole number of {of}"))
        return int(text)

    return read


def misread(text: str, expected: str) -> str:
    """What was read and expected of an argument; the parser puts the place before it."""
    return f"read {text!r}, expected {expected}"


def command(commands: Any, name: str, text: str) -> argparse.ArgumentParser:
    """A command with what all commands share."""
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(module=name.replace("-", "_"))
    return parser


def add_brief(parser: argparse.ArgumentParser) -> None:
    """The brief a command works on."""
    parser.add_argument("brief", type=path, metavar="BRIEF", help="a brief in TOML")


def add_solver(parser: argparse.ArgumentParser) -> None:
    """Which solver answers."""
    parser.add_argument("--solver", choices=["highs", "cbc"], default="highs", help="cbc is the second opinion")


def add_force(parser: argparse.ArgumentParser) -> None:
    """Leave to replace what has the name of a file to save."""
    parser.add_argument("--force", action="store_true", help="replace a file of the same kind that is there")


def add_files(parser: argparse.ArgumentParser, picture: str) -> None:
    """A table and a picture to save."""
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the table")
    parser.add_argument("--chart", type=path, metavar="FILE", help=f"save a picture (.png or .svg): {picture}")
    add_force(parser)


def add_papers(parser: argparse.ArgumentParser) -> None:
    """A table and a page to save."""
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the table")
    parser.add_argument("--html", type=path, metavar="FILE", help="save a page to print")
    add_force(parser)


def add_telling(parser: argparse.ArgumentParser) -> None:
    """How much of the answer is printed."""
    much = parser.add_mutually_exclusive_group()
    much.add_argument("--all", action="store_true", help="print everything there is to say")
    much.add_argument("--part", metavar="NAME", help="print one part only; a name that is none lists them")


def add_scope(parser: argparse.ArgumentParser) -> None:
    """What a formula is used for, and where it is sold."""
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    parser.add_argument("--area", help="body (default), face, hands, feet, lips, hair, eyes or baby")
    parser.add_argument("--market", action="append", default=[], metavar="EU|GB|US", help="legal limits of this market")
    parser.add_argument("--date", metavar=DAY, help="date the limits are taken for (default today)")


def add_setting(parser: argparse.ArgumentParser) -> None:
    """What a formula is looked at for: a brief, or the same by options."""
    parser.add_argument("--brief", type=path, metavar="BRIEF", help="take limits, prices and use from a brief")
    add_own(parser)
    parser.add_argument("--kind", default="", help="kind of product, for instance 'cream scrub'")
    add_scope(parser)
    parser.add_argument("--currency", help="default EUR")
    parser.add_argument("--batch", metavar="MASS", help="default 1 kg")


def add_own(parser: argparse.ArgumentParser) -> None:
    """Own tables of ingredients."""
    parser.add_argument(
        "--own", type=path, action="append", default=[], metavar="FILE", help="own ingredients and prices"
    )


def add_workshop(parser: argparse.ArgumentParser, default: Any) -> None:
    """Which workshop's records."""
    parser.add_argument(
        "--records",
        dest="workshop",
        default=default,
        metavar="PLACE",
        help="folder of records.db, or postgresql://user@host/database (default: the current folder)",
    )


def action(kinds: Any, name: str, text: str, module: str = "") -> argparse.ArgumentParser:
    """One kind of work on the workshop. Options that `stock` has too keep what was given there."""
    parser: argparse.ArgumentParser = kinds.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="print one JSON object")
    add_workshop(parser, default=argparse.SUPPRESS)
    parser.set_defaults(module=f"stock.{module or name}")
    return parser
