"""Arguments of the commands about a formula that exists: looked at, declared, made, costed."""

from __future__ import annotations

import argparse
import datetime

from optiform.commands.arguments.fields import add_fields
from optiform.commands.arguments.options import (
    DAY,
    Form,
    add,
    amount,
    file,
    money,
    number,
    text,
    whole,
)  # fmt: skip
from optiform.commands.arguments.parser import Parser
from optiform.commands.arguments.parts import (
    MARKET,
    add_basis,
    add_formula,
    add_option,
    add_output,
    add_own,
    add_readings,
    add_setting,
    add_solver,
    add_use,
    add_workshop,
    flag,
)  # fmt: skip
from optiform.workshop.columns import SOMETHING, Rule, day
from optiform.workshop.records import Batch


def add_check(parser: Parser) -> None:
    """The same report for a formula that exists."""
    add(parser, "formula", file("FORMULA"), "a formula in CSV or TOML; with --on also a folder of them")
    add(parser, "--on", DAY, "which formulas break a rule of law that begins between today and this day")
    add_basis(parser)
    add_setting(parser)
    add_readings(parser, brief="--brief BRIEF")
    add_output(parser)


def add_declare(parser: Parser) -> None:
    """A draft of the label's ingredient list, and what a person decides."""
    add_formula(parser)
    add_basis(parser)
    add(parser, "--brief", file("BRIEF"), "take use, area, date and jar from a brief")
    add_own(parser, "your own table of ingredients")
    add(parser, "--market", MARKET, "where it is sold (default: the brief's, if it has one)")
    add_use(parser, "rules")
    add(parser, "--net", text("AMOUNT"), "net content: 250 g, 200 mL (default: the brief's jar)")
    add_output(parser, "save the list as a table", "save a page to print and sign")
    parser.set_defaults(kind="", currency=None, batch=None)


def add_compare(parser: Parser) -> None:
    """Two or more formulas side by side."""
    add(parser, "formulas", file("FORMULA"), "formulas in CSV or TOML", nargs="+")
    add(parser, "--scale", amount("g"), "what the scale can show (default 0.1 g)")
    add_setting(parser)
    add_readings(parser, brief="--brief BRIEF")
    add_output(parser)


def add_batch(parser: Parser) -> None:
    """The sheet to make a batch by: grams in working order, steps, jars, blanks."""
    add(parser, "formula", file("FORMULA"), "a formula in CSV or TOML (default: the brief's)", nargs="?")
    add(parser, "--brief", file("BRIEF"), "the brief it is made to: scale, batch, jar, law, prices", required=True)
    add(parser, "--making", file(), "how you make it, in TOML: optiform guide making")
    size = parser.add_mutually_exclusive_group()
    add(size, "--batch", amount("g"), "how much to make (default: what the parts' jars take, or the brief's batch)")
    add(size, "--jars", whole("jars", least=1), "how many jars to fill")
    add_output(parser, "save the lines", "save the sheet to print")
    _add_batch_record(parser)


def _add_batch_record(parser: argparse.ArgumentParser) -> None:
    words = "fill in the lots to weigh from, what expires first before the rest"
    add_workshop(parser, words=words)
    number, needed = text("NUMBER", Rule("the number of the batch", bool)), {"record": "--record NUMBER"}
    add(parser, "--record", number, "save the batch, and take it out of the lots", ("number", "batch"))
    made, words = Form("YYYY-MM-DD", _made), "the day it is made (default today)"
    add(parser, "--made", made, words, needs={"workshop": "--records PLACE", **needed})
    add_fields(parser, Batch, "version", "product", "maker", "room", required=False, needs=needed)


def _made(given: str, options: argparse.Namespace) -> datetime.date:
    from optiform.reading import clock

    made, today = day(given), clock.today()
    if options.record is not None and made > today:
        raise ValueError(f"{today} or before: what is saved has been made")
    return made


def add_costs(parser: Parser) -> None:
    """What a jar costs, all of it, and what its price leaves."""
    add(parser, "formula", file("FORMULA"), "a formula in CSV or TOML (default: the brief's reference)", nargs="?")
    add(parser, "--brief", file("BRIEF"), "prices, jar and batch", required=True)
    add(parser, "--costs", file(), "packaging, work, overhead in TOML: optiform guide costs", required=True)
    add(parser, "--offers", file(), "packs on offer; their prices go before those of your own table")
    add_workshop(parser, words="take offers and stock from these records")
    size = parser.add_mutually_exclusive_group()
    add(size, "--jars", whole("jars", least=1), "how many to fill (default: what the brief's batch fills)")
    add(size, "--batch", amount("kg"), "how much to make instead")
    add(parser, "--price", money(rule=SOMETHING), "your retail price, in place of the price steps'; wholesale follows")
    words = "a full cost to reach: what it leaves for ingredients, and a formula that reaches it"
    add(parser, "--jar-cost", money(rule=SOMETHING), words)
    add(parser, "--write", file(), "save the formula that reaches --jar-cost (.csv, .toml)")
    add_output(parser)


def _add_plan(parser: Parser) -> None:
    """A plan, with the offers and lots it is bought for."""
    add(parser, "plan", file("PLAN"), "products, jars and suppliers in TOML: optiform guide buying")
    add(parser, "--offers", file(), "packs on offer (default: those the plan names)")
    add(parser, "--lots", file(), "stock (default: the table the plan names)")
    add_workshop(parser, words="take offers and lots from these records instead")


def add_range(parser: Parser) -> None:
    """Formulas and packs for several products on one shelf, chosen together."""
    _add_plan(parser)
    words = "use as much of your stock of this as you can, and look at the money after that"
    add(parser, "--use-up", text("INGREDIENT"), words)
    flag(parser, "--common-base", "one base for as many products as can share it, and what that costs you")
    add(parser, "--costs", file("COSTS.toml"), "with --common-base, what is paid once for each formula")
    add(parser, "--seconds", number("SECONDS"), "how long each step of the search may take (default 60)", default=60.0)
    add_option(parser, "the product that changes most")
    add_output(parser)


def add_buy(parser: Parser) -> None:
    """Which packs to buy to make several products, at the least cost."""
    _add_plan(parser)
    flag(parser, "--cliffs", "what the last jars cost you, from all jars down to those that cost nothing")
    add_solver(parser)
    add_output(parser)
