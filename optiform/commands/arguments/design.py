"""Arguments of the commands that find a formula."""

from __future__ import annotations

from typing import Any

from optiform.commands.arguments.parts import (
    add_brief,
    add_files,
    add_force,
    add_scope,
    add_solver,
    command,
    number,
    path,
    whole,
)


def add(commands: Any) -> None:
    """Add the family's commands, in the order of the help."""
    _add_design(commands)
    _add_cheaper(commands)
    _add_substitute(commands)
    _add_texture(commands)
    _add_explore(commands)
    _add_weigh(commands)
    _add_from_label(commands)


def _add_design(commands: Any) -> None:
    parser = command(commands, "design", "the best formula that meets a brief")
    add_brief(parser)
    add_solver(parser)
    parser.add_argument(
        "--write", type=path, metavar="FILE", help="save the formula (.csv, .toml) or the linear program (.lp, .mps)"
    )
    add_force(parser)


def _add_cheaper(commands: Any) -> None:
    parser = command(commands, "cheaper", "today's formula at less cost, one changed line after another")
    add_brief(parser)
    add_solver(parser)
    parser.add_argument(
        "--saving", default="0", metavar="MONEY", help="least saving per kg for which a line is changed"
    )
    parser.add_argument("--most-change", default="100 %", metavar="SHARE", help="how far one line may change")
    parser.add_argument("--no-new", action="store_true", help="only ingredients of today's formula (an assessed list)")
    add_files(parser, "solid fat against temperature, today and the last rung")


def _add_substitute(commands: Any) -> None:
    parser = command(commands, "substitute", "what replaces an ingredient of today's formula")
    add_brief(parser)
    parser.add_argument("missing", nargs="+", metavar="INGREDIENT", help="what is out of stock, too dear or banned")
    parser.add_argument(
        "--blend", type=whole("ingredients"), default=2, choices=[1, 2, 3], help="most ingredients in its place"
    )
    parser.add_argument("--follow", default="0 %", metavar="SHARE", help="how far each other line may follow")
    add_files(parser, "solid fat against temperature, today and the three nearest")


def _add_texture(commands: Any) -> None:
    parser = command(commands, "texture", "firmer or softer at a temperature, changing few lines")
    add_brief(parser)
    parser.add_argument("--step", type=number, default=0.0, metavar="PER_CENT", help="20 is a fifth firmer, -20 softer")
    parser.add_argument("--at", default="20 degC", metavar="TEMPERATURE", help="default 20 degC")
    parser.add_argument(
        "--cold-most", type=number, metavar="FIRMNESS", help="most at 10 degC (today at 20 degC is 100)"
    )
    parser.add_argument("--hot-least", type=number, metavar="FIRMNESS", help="least at 35 degC")
    parser.add_argument("--free-emulsifier", action="store_true", help="let emulsifiers change too")
    parser.add_argument(
        "--records", dest="workshop", metavar="PLACE", help="take the firmness scale that its trials fit"
    )
    add_files(parser, "solid fat against temperature, today and the first course")


def _add_explore(commands: Any) -> None:
    parser = command(
        commands, "explore", "what a limit costs, what is nearly as good, what if prices or figures are wrong"
    )
    add_brief(parser)
    add_solver(parser)
    parser.add_argument("--within", metavar="PER_CENT", help="formulas within this of the best (default, 2 %%)")
    parser.add_argument("--limit", metavar="PROPERTY", help="the goal against this limit, from one target to another")
    parser.add_argument(
        "--side", choices=["low", "high", "exactly"], default="low", help="at least, at most or exactly"
    )
    parser.add_argument("--from", dest="start", type=number, metavar="TARGET")
    parser.add_argument("--to", dest="end", type=number, metavar="TARGET")
    parser.add_argument("--prices", metavar="PER_CENT", help="draw prices with this spread around today's")
    parser.add_argument(
        "--scenarios", type=whole("price lists"), default=10_000, help="price lists to draw (default 10000)"
    )
    parser.add_argument("--seed", type=whole("any size"), default=1, help="of the drawn prices; same seed, same answer")
    parser.add_argument(
        "--protect",
        type=whole("figures"),
        nargs="?",
        const=-1,
        metavar="N",
        help="limits hold with any N figures wrong (default all)",
    )
    add_files(parser, "the trade-off curve with its break points")


def _add_weigh(commands: Any) -> None:
    parser = command(commands, "weigh", "grams the scale can show, with every limit kept and few ingredients")
    add_brief(parser)
    add_solver(parser)
    parser.add_argument("--formula", type=path, metavar="FORMULA", help="round this one instead of the brief's best")
    parser.add_argument("--most", type=whole("ingredients"), metavar="N", help="at most this many ingredients")
    parser.add_argument("--least-dose", metavar="SHARE", help="least share of a line in use (default 20 finest steps)")
    parser.add_argument("--apart", nargs=2, action="append", default=[], metavar="NAME", help="never both of these")
    parser.add_argument("--step", metavar="MASS", help="what the scale can show (default: the brief's)")
    parser.add_argument("--fine-step", metavar="MASS", help="what a second, fine scale can show")
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the table")
    add_force(parser)


def _add_from_label(commands: Any) -> None:
    parser = command(commands, "from-label", "the range each declared ingredient can have")
    parser.add_argument("label", type=path, metavar="FILE", help="a declaration: names in order, separated by commas")
    parser.add_argument(
        "--one-percent", type=whole("names"), metavar="N", help="number of the first name at or below 1 %%"
    )
    parser.add_argument("--cap", action="append", default=[], metavar="NAME=SHARE", help="the most a name can have")
    add_scope(parser)
    parser.add_argument("--csv", type=path, metavar="FILE", help="save the table")
    add_force(parser)
