"""Arguments of the commands that find a formula."""

from __future__ import annotations

import re

from optiform.commands.arguments.options import SHARES, add, amount, file, form, money, number, quantity, text, whole
from optiform.commands.arguments.parser import Parser
from optiform.commands.arguments.parts import (
    KIND,
    MARKET,
    add_brief,
    add_files,
    add_force,
    add_option,
    add_output,
    add_own,
    add_readings,
    add_scope,
    add_solver,
    flag,
)  # fmt: skip


def add_new(parser: Parser) -> None:
    """A new brief, every key with a word on it, from what is usual or what you make."""
    add(parser, "brief", file("BRIEF"), "the file to write (default brief.toml); it must not be there yet", nargs="?")
    add(parser, "--kind", KIND, "kind of product, for instance 'body butter'")
    add(parser, "--from", file("FORMULA"), "the formula you make today, a file beside the brief", dest="today")
    add(parser, "--title", text("WORDS"), "name of the product (default: its kind)")
    add(parser, "--market", MARKET, "where it is sold; the law there holds", action="append", default=[])
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default: what is usual for the kind")
    add_own(parser)
    add(parser, "--currency", text(None), "currency of your prices (default EUR)", default="EUR")


def add_design(parser: Parser) -> None:
    """The best formula that meets a brief."""
    add_brief(parser)
    add_readings(parser)
    add_solver(parser)
    add(parser, "--write", file(), "save the formula (.csv, .toml) or the linear program (.lp, .mps)")
    parser.set_defaults(writes=(".csv", ".toml", ".lp", ".mps"))
    words = "what would have to change before this ingredient is used, or this formula is the best"
    add(parser, "--why-not", text("INGREDIENT|FILE"), words)
    flag(parser, "--one-more", "which one ingredient that you are out of would help most")
    add_output(parser)


def add_cheaper(parser: Parser) -> None:
    """Today's formula at less cost, changing more and more lines."""
    add_brief(parser)
    add_readings(parser)
    add_solver(parser)
    least = "change a line only if it saves at least this much per kg (default: 1 %% of what today's formula costs)"
    add(parser, "--saving", money("/kg"), least)
    add(parser, "--most-change", SHARES, "the most that one line may change, in %% points", default="100 %")
    flag(parser, "--no-new", "use only what is in today's formula (a list that was assessed)")
    add_option(parser, "the one shown in full")
    add_files(parser, "solid fat against temperature, today and the option shown in full")


def add_substitute(parser: Parser) -> None:
    """What replaces an ingredient of today's formula."""
    add_brief(parser)
    add_readings(parser)
    add(parser, "missing", text("INGREDIENT"), "what you cannot or do not want to use", nargs="+")
    few = whole("ingredients", None)
    add(parser, "--blend", few, "at most so many ingredients in its place (default 2)", default=2, choices=[1, 2, 3])
    add(parser, "--follow", SHARES, "how far each other line may move with it, in %% points (default 0)", default="0 %")
    add_option(parser, "1")
    add_files(parser, "solid fat against temperature, today and option 1")


def add_texture(parser: Parser) -> None:
    """Firmer or softer at a temperature, changing few lines."""
    add_brief(parser)
    add(parser, "--step", number("PER_CENT"), "20 is a fifth firmer, -20 a fifth softer", default=0.0)
    add(parser, "--at", amount("degC", None), "the temperature at which it changes (default 20 °C)", default="20 °C")
    add(parser, "--cold-most", number("FIRMNESS"), "at most so firm at 10 °C (today's formula at 20 °C is 100)")
    add(parser, "--hot-least", number("FIRMNESS"), "at least so firm at 35 °C")
    flag(parser, "--free-emulsifier", "let emulsifiers change too")
    add_readings(parser)
    add_option(parser, "the first")
    add_files(parser, "firmness against temperature, today and the first option")


def add_explore(parser: Parser) -> None:
    """What a limit costs, what is nearly as good, what if prices or figures are wrong."""
    add_brief(parser)
    add_readings(parser)
    add_solver(parser)
    add(parser, "--limit", text("PROPERTY"), "what this limit costs at each target from --from to --to")
    sides = ["low", "high", "exactly"]
    words = "which end of the limit moves (default low): at least, at most or exactly"
    parser.add_argument("--side", choices=sides, default="low", help=words)
    add(parser, "--from", number("TARGET"), "the lowest target", dest="start")
    add(parser, "--to", number("TARGET"), "the highest target", dest="end")
    add(parser, "--prices", SHARES, "what if prices are wrong by about this much")
    add(parser, "--within", SHARES, "how near to the best a formula has to be (default 2 %%)")
    add(parser, "--unlike", whole("formulas"), "so many good formulas that differ in their ingredients, the best first")
    words = "one formula for all of these prices: tables with a column `ingredient` and one for each list"
    add(parser, "--price-lists", file("FILE.csv"), words, nargs="+")
    words = "with --prices, how many price lists to draw (default 10000)"
    add(parser, "--scenarios", whole("price lists", None), words, default=10_000)
    words = "with --prices, a number that repeats the same draw (default 1)"
    add(parser, "--seed", whole("any size", None), words, default=1)
    words = (
        "keep limits with any N figures wrong (default: all), or in '19 lots of 20' each, or '19 lots of 20 together'"
    )
    add(parser, "--protect", form("N", _protection), words, nargs="?", const="-1")
    add_files(parser, "the goal against the limit, and where the ingredients change")


def add_sheet(parser: Parser) -> None:
    """One page on which the formula follows the limits under the hand."""
    add_brief(parser)
    add(parser, "--html", file(), "the page to write; it needs no network and no server")
    add_force(parser)
    parser.set_defaults(all=False, part=None)  # of what is printed where there is no formula


def add_weigh(parser: Parser) -> None:
    """Grams the scale can show, with every limit kept and few ingredients."""
    add_brief(parser)
    add_readings(parser)
    add_solver(parser)
    add(parser, "--formula", file("FORMULA"), "weigh this formula instead of the brief's best")
    add(parser, "--most", whole("ingredients", least=1), "at most this many ingredients")
    add(parser, "--apart", text("NAME"), "never use both of these", nargs=2, action="append", default=[])
    add(parser, "--step", amount("g"), "what the scale can show (default: the brief's)")
    add(parser, "--fine-step", amount("g"), "what a second, fine scale can show")
    add(parser, "--least-dose", SHARES, "the least dose of any line (default: 20 steps of the finest scale)")
    add(parser, "--write", file(), "save the formula that is weighed (.csv, .toml)")
    add_output(parser)


def add_from_label(parser: Parser) -> None:
    """The range each declared ingredient can have."""
    add(parser, "label", file(), "the ingredient list of a label: names in order, separated by commas")
    add(parser, "--one-percent", whole("names"), "the number in the list of the first name at or below 1 %%")
    add(parser, "--kind", KIND, "kind of product; the middle of each range goes by what is usual in it")
    add_scope(parser)
    add(parser, "--cap", form("NAME=SHARE", _cap), "the most of a name that can be in it", action="append", default=[])
    add(parser, "--write", file(), "save the centre as a formula (.csv): a middle, and no recipe")
    parser.set_defaults(writes=(".csv",))  # it reads no brief, which a formula in TOML could be written over
    add_output(parser)


def _protection(given: str) -> object:
    """A number of figures, below 0 for all of them, or a chance: `19 lots of 20`, `19 lots of 20 together`."""
    if re.fullmatch(r"\s*[-+]?[0-9]{1,12}\s*", given):
        return int(given)
    if lots := re.fullmatch(r"\s*([0-9]{1,6}) lots (?:of|in) ([0-9]{1,6})(,? (?:all )?together)?\s*", given.casefold()):
        from optiform.program.chance import Chance

        good, of = int(lots[1]), int(lots[2])
        if of < 2 * good and good < of:
            return Chance(good, of, bool(lots[3]))
    raise ValueError("a whole number of figures, or more than half of the lots, such as '19 lots of 20'")


def _cap(given: str) -> tuple[str, float]:
    """`Name=5 %`."""
    name, _, most = given.rpartition("=")
    try:
        return name.strip(), quantity(most, "%")
    except ValueError as error:
        raise ValueError(f"Name=5 %: {error}") from None
