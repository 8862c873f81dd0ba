"""Arguments of the commands about a formula that exists: looked at, declared, made, costed."""

from __future__ import annotations

import argparse
from typing import Any

from optiform.commands.arguments.parts import (
    DAY,
    add_force,
    add_papers,
    add_setting,
    add_solver,
    add_telling,
    command,
    path,
    whole,
)


def add(commands: Any) -> None:
    """Add the family's commands, in the order of the help."""
    _add_check(commands)
    _add_declare(commands)
    _add_compare(commands)
    _add_batch(commands)
    _add_costs(commands)
    _add_buy(commands)


def _add_check(commands: Any) -> None:
    parser = command(commands, "check", "the same report for a formula that exists")
    parser.add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    add_setting(parser)


def _add_declare(commands: Any) -> None:
    parser = command(commands, "declare", "a draft of the label's ingredient list, and what a person decides")
    parser.add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    parser.add_argument("--brief", type=path, metavar="BRIEF", help="take use, area, date and jar from a brief")
    parser.add_argument("--own", type=path, action="append", default=[], metavar="FILE", help="own ingredients")
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    parser.add_argument("--area", help="body (default), face, hands, feet, lips, hair, eyes or baby")
    parser.add_argument("--market", metavar="EU|GB|US", help="where it is sold (default: the brief's, if it has one)")
    parser.add_argument("--date", metavar=DAY, help="date the rules are taken for (default today)")
    parser.add_argument("--net", metavar="AMOUNT", help="net content: 250 g, 200 mL (default: the brief's jar)")
    parser.add_argument("--html", type=path, metavar="FILE", help="save a page to print and sign")
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the list as a table")
    add_force(parser)
    parser.set_defaults(kind="", currency=None, batch=None)


def _add_compare(commands: Any) -> None:
    parser = command(commands, "compare", "two or more formulas side by side")
    parser.add_argument("formulas", type=path, nargs="+", metavar="FORMULA", help="formulas in CSV or TOML")
    parser.add_argument("--scale", help="what the scale can show (default 0.1 g)")
    add_setting(parser)


def _add_batch(commands: Any) -> None:
    parser = command(commands, "batch", "the sheet to make a batch by: grams in working order, steps, jars, blanks")
    parser.add_argument(
        "formula", type=path, nargs="?", metavar="FORMULA", help="a formula in CSV or TOML (default: the brief's)"
    )
    parser.add_argument("--brief", type=path, required=True, metavar="BRIEF", help="scale, batch, jar, law, prices")
    parser.add_argument("--making", type=path, metavar="FILE", help="how it is made, in TOML")
    size = parser.add_mutually_exclusive_group()
    size.add_argument("--batch", metavar="MASS", help="what is to come out (default: the parts' jars, or the brief's)")
    size.add_argument("--jars", type=whole("jars"), metavar="N", help="how many jars are to come out")
    parser.add_argument("--html", type=path, metavar="FILE", help="save the sheet to print")
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the lines")
    add_force(parser)
    _add_batch_record(parser)


def _add_batch_record(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--records", dest="workshop", metavar="PLACE", help="fill in its lots, first what expires first"
    )
    parser.add_argument("--record", metavar="NUMBER", help="keep the batch, and take it out of the lots")
    parser.add_argument("--made", metavar=DAY, help="the day of the making (default today)")
    parser.add_argument("--maker", metavar="WHO", help="of a batch that is kept")
    parser.add_argument("--room", metavar="TEMPERATURE", help="of a batch that is kept")
    parser.add_argument("--product", metavar="PRODUCT", help="what it is a batch of, where several versions fit")
    parser.add_argument("--version", metavar="NAME", help="the version it is of (default: the one that is the formula)")


def _add_costs(commands: Any) -> None:
    parser = command(commands, "costs", "what a jar costs, all of it, and what its price leaves")
    parser.add_argument("formula", type=path, nargs="?", metavar="FORMULA", help="default: the brief's reference")
    parser.add_argument("--brief", type=path, required=True, metavar="BRIEF", help="prices, jar and batch")
    parser.add_argument("--costs", type=path, required=True, metavar="FILE", help="packaging, work, overhead in TOML")
    parser.add_argument("--offers", type=path, metavar="FILE", help="packs whose price goes before the own table's")
    parser.add_argument("--records", dest="workshop", metavar="PLACE", help="offers and stock of a workshop instead")
    size = parser.add_mutually_exclusive_group()
    size.add_argument(
        "--jars", type=whole("jars"), metavar="N", help="how many to fill (default: what the brief's batch fills)"
    )
    size.add_argument("--batch", metavar="MASS", help="what is to come out instead")
    parser.add_argument("--price", metavar="MONEY", help="retail price instead of the steps'; wholesale follows")
    add_telling(parser)
    add_papers(parser)


def _add_buy(commands: Any) -> None:
    parser = command(commands, "buy", "which packs to buy to make several products, at the least cost")
    parser.add_argument("plan", type=path, metavar="PLAN", help="products, jars and suppliers in TOML")
    parser.add_argument("--offers", type=path, metavar="FILE", help="packs on offer (default: those the plan names)")
    parser.add_argument("--lots", type=path, metavar="FILE", help="stock (default: that the plan names)")
    parser.add_argument(
        "--records", dest="workshop", metavar="PLACE", help="offers and lots of a workshop instead of both files"
    )
    add_solver(parser)
    add_papers(parser)
