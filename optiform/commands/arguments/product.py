"""Arguments of the commands about a formula that exists: looked at, declared, made, costed."""

from __future__ import annotations

import argparse
import datetime

from optiform.commands.arguments.options import (
    SOMETHING,
    Form,
    add,
    add_field,
    count,
    day,
    day_of,
    money,
    quantity,
    text,
)
from optiform.commands.arguments.parts import (
    DAY,
    Commands,
    add_force,
    add_papers,
    add_solver,
    add_telling,
    command,
    path,
    whole,
)
from optiform.commands.arguments.scope import MARKET, add_area, add_setting
from optiform.workshop.columns import Rule
from optiform.workshop.records import Batch


def add_commands(commands: Commands) -> None:
    """Add the family's commands, in the order of the help."""
    _add_check(commands)
    _add_declare(commands)
    _add_compare(commands)
    _add_batch(commands)
    _add_costs(commands)
    _add_buy(commands)


def _add_check(commands: Commands) -> None:
    parser = command(commands, "check", "the same report for a formula that exists")
    parser.add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    add_setting(parser)


def _add_declare(commands: Commands) -> None:
    parser = command(commands, "declare", "a draft of the label's ingredient list, and what a person decides")
    parser.add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    parser.add_argument("--brief", type=path, metavar="BRIEF", help="take use, area, date and jar from a brief")
    parser.add_argument("--own", type=path, action="append", default=[], metavar="FILE", help="own ingredients")
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    add_area(parser)
    add(parser, "--market", MARKET, "where it is sold (default: the brief's, if it has one)")
    add(parser, "--date", day(), "date the rules are taken for (default today)")
    parser.add_argument("--net", metavar="AMOUNT", help="net content: 250 g, 200 mL (default: the brief's jar)")
    parser.add_argument("--html", type=path, metavar="FILE", help="save a page to print and sign")
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the list as a table")
    add_force(parser)
    parser.set_defaults(kind="", currency=None, batch=None)


def _add_compare(commands: Commands) -> None:
    parser = command(commands, "compare", "two or more formulas side by side")
    parser.add_argument("formulas", type=path, nargs="+", metavar="FORMULA", help="formulas in CSV or TOML")
    add(parser, "--scale", quantity("g"), "what the scale can show (default 0.1 g)")
    add_setting(parser)


def _add_batch(commands: Commands) -> None:
    parser = command(commands, "batch", "the sheet to make a batch by: grams in working order, steps, jars, blanks")
    parser.add_argument(
        "formula", type=path, nargs="?", metavar="FORMULA", help="a formula in CSV or TOML (default: the brief's)"
    )
    parser.add_argument("--brief", type=path, required=True, metavar="BRIEF", help="scale, batch, jar, law, prices")
    parser.add_argument("--making", type=path, metavar="FILE", help="how it is made, in TOML")
    size = parser.add_mutually_exclusive_group()
    add(size, "--batch", quantity("g"), "what is to come out (default: the parts' jars, or the brief's)")
    add(size, "--jars", count(1, ""), "how many jars are to come out", type=whole("jars"))
    parser.add_argument("--html", type=path, metavar="FILE", help="save the sheet to print")
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the lines")
    add_force(parser)
    _add_batch_record(parser)


def _add_batch_record(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--workshop", metavar="PLACE", help="fill in its lots, first what expires first")
    number = text("NUMBER", Rule("the number of the batch", bool))
    add(parser, "--record", number, "keep the batch, and take it out of the lots", ("number", "batch"))
    made, kept = Form(DAY, _made), ("--record NUMBER",)
    add(parser, "--made", made, "the day of the making (default today)", needs=("--workshop PLACE", *kept))
    for name in ("version", "product", "maker", "room"):
        add_field(parser, Batch, name, required=False, needs=kept)


def _made(given: str, options: argparse.Namespace) -> datetime.date:
    from optiform.reading import clock

    made, today = day_of(given), clock.today()
    if options.record is not None and made > today:
        raise ValueError(f"{today} or before: what is kept has been made")
    return made


def _add_costs(commands: Commands) -> None:
    parser = command(commands, "costs", "what a jar costs, all of it, and what its price leaves")
    parser.add_argument("formula", type=path, nargs="?", metavar="FORMULA", help="default: the brief's reference")
    parser.add_argument("--brief", type=path, required=True, metavar="BRIEF", help="prices, jar and batch")
    parser.add_argument("--costs", type=path, required=True, metavar="FILE", help="packaging, work, overhead in TOML")
    parser.add_argument("--offers", type=path, metavar="FILE", help="packs whose price goes before the own table's")
    parser.add_argument("--workshop", metavar="PLACE", help="offers and stock of a workshop instead")
    size = parser.add_mutually_exclusive_group()
    size.add_argument(
        "--jars", type=whole("jars"), metavar="N", help="how many to fill (default: what the brief's batch fills)"
    )
    add(size, "--batch", quantity("kg"), "what is to come out instead")
    add(parser, "--price", money(rule=SOMETHING), "retail price instead of the steps'; wholesale follows")
    add_telling(parser)
    add_papers(parser)


def _add_buy(commands: Commands) -> None:
    parser = command(commands, "buy", "which packs to buy to make several products, at the least cost")
    parser.add_argument("plan", type=path, metavar="PLAN", help="products, jars and suppliers in TOML")
    parser.add_argument("--offers", type=path, metavar="FILE", help="packs on offer (default: those the plan names)")
    parser.add_argument("--lots", type=path, metavar="FILE", help="stock (default: that the plan names)")
    parser.add_argument("--workshop", metavar="PLACE", help="offers and lots of a workshop instead of both files")
    add_solver(parser)
    add_papers(parser)
