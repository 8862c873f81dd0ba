"""Arguments of the commands that find a formula."""

from __future__ import annotations

from optiform.commands.arguments.options import SHARES, add, amount, file, form, money, number, quantity, text, whole
from optiform.commands.arguments.parts import (
    Commands,
    add_brief,
    add_files,
    add_option,
    add_papers,
    add_scope,
    add_solver,
    add_telling,
    command,
    flag,
)  # fmt: skip


def add_commands(commands: Commands) -> None:
    """Add the family's commands, in the order of the help."""
    _add_design(commands)
    _add_cheaper(commands)
    _add_substitute(commands)
    _add_texture(commands)
    _add_explore(commands)
    _add_weigh(commands)
    _add_from_label(commands)


def _add_design(commands: Commands) -> None:
    parser = command(commands, "design", "the best formula that meets a brief")
    add_brief(parser)
    add_solver(parser)
    add(parser, "--write", file(), "save the formula (.csv, .toml) or the linear program (.lp, .mps)")
    add_telling(parser)
    add_papers(parser)


def _add_cheaper(commands: Commands) -> None:
    parser = command(commands, "cheaper", "today's formula at less cost, changing more and more lines")
    add_brief(parser)
    add_solver(parser)
    add(parser, "--saving", money("/kg"), "least saving per kg for which a line is changed", default="0")
    add(parser, "--most-change", SHARES, "how far one line may change", default="100 %")
    flag(parser, "--no-new", "only ingredients of today's formula (an assessed list)")
    add_option(parser, "the one shown in full")
    add_files(parser, "solid fat against temperature, today and the option shown in full")


def _add_substitute(commands: Commands) -> None:
    parser = command(commands, "substitute", "what replaces an ingredient of today's formula")
    add_brief(parser)
    add(parser, "missing", text("INGREDIENT"), "what is out of stock, too dear or banned", nargs="+")
    few = whole("ingredients", None)
    add(parser, "--blend", few, "most ingredients in its place", default=2, choices=[1, 2, 3])
    add(parser, "--follow", SHARES, "how far each other line may follow", default="0 %")
    add_option(parser, "1")
    add_files(parser, "solid fat against temperature, today and option 1")


def _add_texture(commands: Commands) -> None:
    parser = command(commands, "texture", "firmer or softer at a temperature, changing few lines")
    add_brief(parser)
    add(parser, "--step", number("PER_CENT"), "20 is a fifth firmer, -20 softer", default=0.0)
    add(parser, "--at", amount("degC", None), "default 20 °C", default="20 °C")
    add(parser, "--cold-most", number("FIRMNESS"), "most at 10 °C (today at 20 °C is 100)")
    add(parser, "--hot-least", number("FIRMNESS"), "least at 35 °C")
    flag(parser, "--free-emulsifier", "let emulsifiers change too")
    add(parser, "--records", text("PLACE"), "take the firmness scale that its trials fit", dest="workshop")
    add_option(parser, "the first")
    add_files(parser, "firmness against temperature, today and the first option")


def _add_explore(commands: Commands) -> None:
    words = "what a limit costs, what is nearly as good, what if prices or figures are wrong"
    parser = command(commands, "explore", words)
    add_brief(parser)
    add_solver(parser)
    add(parser, "--limit", text("PROPERTY"), "the goal against this limit, from one target to another")
    sides = ["low", "high", "exactly"]
    parser.add_argument("--side", choices=sides, default="low", help="at least, at most or exactly")
    add(parser, "--from", number("TARGET"), dest="start")
    add(parser, "--to", number("TARGET"), dest="end")
    add(parser, "--prices", SHARES, "draw prices with this spread around today's")
    add(parser, "--within", SHARES, "formulas within this of the best (default, 2 %%)")
    add(parser, "--scenarios", whole("price lists", None), "price lists to draw (default 10000)", default=10_000)
    add(parser, "--seed", whole("any size", None), "of the drawn prices; same seed, same answer", default=1)
    words = "limits hold with any N figures wrong (default all)"
    add(parser, "--protect", whole("figures"), words, nargs="?", const=-1)
    add_files(parser, "the goal against the limit, and where the mix changes")


def _add_weigh(commands: Commands) -> None:
    parser = command(commands, "weigh", "grams the scale can show, with every limit kept and few ingredients")
    add_brief(parser)
    add_solver(parser)
    add(parser, "--formula", file("FORMULA"), "round this one instead of the brief's best")
    add(parser, "--most", whole("ingredients"), "at most this many ingredients")
    add(parser, "--apart", text("NAME"), "never both of these", nargs=2, action="append", default=[])
    add(parser, "--step", amount("g"), "what the scale can show (default: the brief's)")
    add(parser, "--fine-step", amount("g"), "what a second, fine scale can show")
    add(parser, "--least-dose", SHARES, "least share of a line in use (default 20 finest steps)")
    add_telling(parser)
    add_papers(parser)


def _add_from_label(commands: Commands) -> None:
    parser = command(commands, "from-label", "the range each declared ingredient can have")
    add(parser, "label", file(), "a declaration: names in order, separated by commas")
    add(parser, "--one-percent", whole("names"), "number of the first name at or below 1 %%")
    add_scope(parser)
    add(parser, "--cap", form("NAME=SHARE", _cap), "the most a name can have", action="append", default=[])
    add_telling(parser)
    add_papers(parser)


def _cap(given: str) -> tuple[str, float]:
    """`Name=5 %`."""
    name, _, most = given.rpartition("=")
    try:
        return name.strip(), quantity(most, "%")
    except ValueError as error:
        raise ValueError(f"Name=5 %: {error}") from None
