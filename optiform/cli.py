"""The command line: arguments in, one command picked. The command's module is imported only then, so help is quick."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any, NoReturn

from optiform.commands import ANSWERED, BAD_INPUT, UNPROVEN

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns the exit code: 0 answered, 1 the brief cannot be met, 2 bad input, 3 an answer that failed its own check.
    """
    options = _parser().parse_args(arguments)
    from importlib import import_module

    from optiform.faults import BadInput, Unproven

    try:
        return int(import_module(f"optiform.commands.{options.module}").run(options))
    except BadInput as bad:
        print("\n".join(map(str, bad.faults)), file=sys.stderr)
        faults = [{"file": f.file, "place": f.place, "read": f.read, "expected": f.expected} for f in bad.faults]
        _tell(options.json, {"status": "bad input", "faults": faults})
        return BAD_INPUT
    except Unproven as error:
        words = "the answer did not pass its own check, so it is not shown; the other --solver may do better"
        print(f"optiform: {words} ({error})", file=sys.stderr)
        _tell(options.json, {"status": "unproven", "warnings": [words]})
        return UNPROVEN
    except BrokenPipeError:  # the reader of our output has gone; nothing is left to say
        sys.stderr.close()
        return ANSWERED


def _tell(as_json: bool, data: dict[str, Any]) -> None:
    if as_json:
        import json

        print(json.dumps(data, ensure_ascii=False, indent=1))


class _Parser(argparse.ArgumentParser):
    """A parser whose usage errors are a JSON object too where JSON was asked for."""

    def error(self, message: str) -> NoReturn:
        _tell("--json" in sys.argv, {"status": "bad input", "faults": [{"file": "command line", "expected": message}]})
        super().error(message)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="optiform",
        description="Design cosmetic formulas before mixing: the cheapest formula that meets a brief, and why.",
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_design(commands)
    _add_cheaper(commands)
    _add_substitute(commands)
    _add_texture(commands)
    _add_explore(commands)
    _add_weigh(commands)
    _add_batch(commands)
    _add_costs(commands)
    _add_buy(commands)
    _add_from_label(commands)
    _add_check(commands)
    _add_declare(commands)
    _add_compare(commands)
    _add_ingredients(commands)
    _add_stock(commands)
    _add_trial(commands)
    _add_app(commands)
    _add_demo(commands)
    return parser


def _path(text: str) -> Path:
    from pathlib import Path

    return Path(text)


def _command(commands: Any, name: str, text: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(module=name.replace("-", "_"))
    return parser


def _add_design(commands: Any) -> None:
    parser = _command(commands, "design", "the best formula that meets a brief")
    _add_brief(parser)
    _add_solver(parser)
    parser.add_argument(
        "--write", type=_path, metavar="FILE", help="save the formula (.csv, .toml) or the linear program (.lp, .mps)"
    )


def _add_brief(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("brief", type=_path, metavar="BRIEF", help="a brief in TOML")


def _add_solver(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--solver", choices=["highs", "cbc"], default="highs", help="cbc is the second opinion")


def _add_files(parser: argparse.ArgumentParser, picture: str) -> None:
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the table")
    parser.add_argument("--chart", type=_path, metavar="FILE", help=f"save a picture (.png or .svg): {picture}")


def _add_cheaper(commands: Any) -> None:
    parser = _command(commands, "cheaper", "today's formula at less cost, one changed line after another")
    _add_brief(parser)
    _add_solver(parser)
    parser.add_argument(
        "--saving", default="0", metavar="MONEY", help="least saving per kg for which a line is changed"
    )
    parser.add_argument("--most-change", default="100 %", metavar="SHARE", help="how far one line may change")
    parser.add_argument("--no-new", action="store_true", help="only ingredients of today's formula (an assessed list)")
    _add_files(parser, "solid fat against temperature, today and the last rung")


def _add_substitute(commands: Any) -> None:
    parser = _command(commands, "substitute", "what replaces an ingredient of today's formula")
    _add_brief(parser)
    parser.add_argument("missing", nargs="+", metavar="INGREDIENT", help="what is out of stock, too dear or banned")
    parser.add_argument("--blend", type=int, default=2, choices=[1, 2, 3], help="most ingredients in its place")
    parser.add_argument("--follow", default="0 %", metavar="SHARE", help="how far each other line may follow")
    _add_files(parser, "solid fat against temperature, today and the three nearest")


def _add_texture(commands: Any) -> None:
    parser = _command(commands, "texture", "firmer or softer at a temperature, changing few lines")
    _add_brief(parser)
    parser.add_argument("--step", type=float, default=0.0, metavar="PER_CENT", help="20 is a fifth firmer, -20 softer")
    parser.add_argument("--at", default="20 degC", metavar="TEMPERATURE", help="default 20 degC")
    parser.add_argument("--cold-most", type=float, metavar="FIRMNESS", help="most at 10 degC (today at 20 degC is 100)")
    parser.add_argument("--hot-least", type=float, metavar="FIRMNESS", help="least at 35 degC")
    parser.add_argument("--free-emulsifier", action="store_true", help="let emulsifiers change too")
    parser.add_argument("--workshop", metavar="PLACE", help="take the firmness scale that its trials fit")
    _add_files(parser, "solid fat against temperature, today and the first course")


def _add_explore(commands: Any) -> None:
    parser = _command(
        commands, "explore", "what a limit costs, what is nearly as good, what if prices or figures are wrong"
    )
    _add_brief(parser)
    _add_solver(parser)
    parser.add_argument("--within", metavar="PER_CENT", help="formulas within this of the best (default, 2 %%)")
    parser.add_argument("--limit", metavar="PROPERTY", help="the goal against this limit, from one target to another")
    parser.add_argument(
        "--side", choices=["low", "high", "exactly"], default="low", help="at least, at most or exactly"
    )
    parser.add_argument("--from", dest="start", type=float, metavar="TARGET")
    parser.add_argument("--to", dest="end", type=float, metavar="TARGET")
    parser.add_argument("--prices", metavar="PER_CENT", help="draw prices with this spread around today's")
    parser.add_argument("--scenarios", type=int, default=10_000, help="price lists to draw (default 10000)")
    parser.add_argument("--seed", type=int, default=1, help="of the drawn prices; same seed, same answer")
    parser.add_argument(
        "--protect",
        type=int,
        nargs="?",
        const=-1,
        metavar="N",
        help="limits hold with any N figures wrong (default all)",
    )
    _add_files(parser, "the trade-off curve with its break points")


def _add_weigh(commands: Any) -> None:
    parser = _command(commands, "weigh", "grams the scale can show, with every limit kept and few ingredients")
    _add_brief(parser)
    _add_solver(parser)
    parser.add_argument("--formula", type=_path, metavar="FORMULA", help="round this one instead of the brief's best")
    parser.add_argument("--most", type=int, metavar="N", help="at most this many ingredients")
    parser.add_argument("--least-dose", metavar="SHARE", help="least share of a line in use (default 20 steps)")
    parser.add_argument("--apart", nargs=2, action="append", default=[], metavar="NAME", help="never both of these")
    parser.add_argument("--step", metavar="MASS", help="what the scale can show (default: the brief's)")
    parser.add_argument("--fine-step", metavar="MASS", help="what a second, fine scale can show")
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the table")


def _add_batch(commands: Any) -> None:
    parser = _command(commands, "batch", "the sheet to make a batch by: grams in working order, steps, jars, blanks")
    parser.add_argument(
        "formula", type=_path, nargs="?", metavar="FORMULA", help="a formula in CSV or TOML (default: the brief's)"
    )
    parser.add_argument("--brief", type=_path, required=True, metavar="BRIEF", help="scale, batch, jar, law, prices")
    parser.add_argument("--making", type=_path, metavar="FILE", help="how it is made, in TOML")
    size = parser.add_mutually_exclusive_group()
    size.add_argument("--batch", metavar="MASS", help="what is to come out (default: the parts' jars, or the brief's)")
    size.add_argument("--jars", type=int, metavar="N", help="how many jars are to come out")
    parser.add_argument("--html", type=_path, metavar="FILE", help="save the sheet to print")
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the lines")
    _add_batch_record(parser)


def _add_batch_record(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--workshop", metavar="PLACE", help="fill in its lots, first what expires first")
    parser.add_argument("--record", metavar="NUMBER", help="keep the batch, and take it out of the lots")
    parser.add_argument("--made", metavar="DATE", help="the day of the making (default today)")
    parser.add_argument("--maker", metavar="WHO", help="of a batch that is kept")
    parser.add_argument("--room", metavar="TEMPERATURE", help="of a batch that is kept")
    parser.add_argument("--product", metavar="PRODUCT", help="what it is a batch of, where several versions fit")
    parser.add_argument("--version", metavar="NAME", help="the version it is of (default: the one that is the formula)")


def _add_costs(commands: Any) -> None:
    parser = _command(commands, "costs", "what a jar costs, all of it, and what its price leaves")
    parser.add_argument("formula", type=_path, nargs="?", metavar="FORMULA", help="default: the brief's reference")
    parser.add_argument("--brief", type=_path, required=True, metavar="BRIEF", help="prices, jar and batch")
    parser.add_argument("--costs", type=_path, required=True, metavar="FILE", help="packaging, work, overhead in TOML")
    parser.add_argument("--offers", type=_path, metavar="FILE", help="packs whose price goes before the own table's")
    parser.add_argument("--workshop", metavar="PLACE", help="offers and stock of a workshop instead")
    size = parser.add_mutually_exclusive_group()
    size.add_argument("--jars", type=int, metavar="N", help="how many to fill (default: what the brief's batch fills)")
    size.add_argument("--batch", metavar="MASS", help="what is weighed instead, loss included")
    parser.add_argument("--price", metavar="MONEY", help="asked at every channel instead of the ladder's")
    _add_papers(parser)


def _add_papers(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the table")
    parser.add_argument("--html", type=_path, metavar="FILE", help="save a page to print")


def _add_buy(commands: Any) -> None:
    parser = _command(commands, "buy", "which packs to buy to make several products, at the least cost")
    parser.add_argument("plan", type=_path, metavar="PLAN", help="products, jars and suppliers in TOML")
    parser.add_argument("--offers", type=_path, metavar="FILE", help="packs on offer (default: those the plan names)")
    parser.add_argument("--lots", type=_path, metavar="FILE", help="stock (default: that the plan names)")
    parser.add_argument("--workshop", metavar="PLACE", help="offers and lots of a workshop instead of both files")
    _add_solver(parser)
    _add_papers(parser)


def _add_from_label(commands: Any) -> None:
    parser = _command(commands, "from-label", "the range each declared ingredient can have")
    parser.add_argument("label", type=_path, metavar="FILE", help="a declaration: names in order, separated by commas")
    parser.add_argument("--one-percent", type=int, metavar="N", help="number of the first name at or below 1 %%")
    parser.add_argument("--cap", action="append", default=[], metavar="NAME=SHARE", help="the most a name can have")
    _add_scope(parser)
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the table")


def _add_scope(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    parser.add_argument("--area", help="body (default), face, hands, feet, lips, hair, eyes or baby")
    parser.add_argument("--market", action="append", default=[], metavar="EU|GB|US", help="legal limits of this market")
    parser.add_argument("--date", help="date the limits are taken for (default today)")


def _add_check(commands: Any) -> None:
    parser = _command(commands, "check", "the same report for a formula that exists")
    parser.add_argument("formula", type=_path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    _add_setting(parser)


def _add_declare(commands: Any) -> None:
    parser = _command(commands, "declare", "a draft of the label's ingredient list, and what a person decides")
    parser.add_argument("formula", type=_path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    parser.add_argument("--brief", type=_path, metavar="BRIEF", help="take use, area, date and jar from a brief")
    parser.add_argument("--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients")
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    parser.add_argument("--area", help="body (default), face, hands, feet, lips, hair, eyes or baby")
    parser.add_argument("--market", metavar="EU|GB|US", help="where it is sold (default: the brief's, if it has one)")
    parser.add_argument("--date", help="date the rules are taken for (default today)")
    parser.add_argument("--net", metavar="AMOUNT", help="net content: 250 g, 200 mL (default: the brief's jar)")
    parser.add_argument("--html", type=_path, metavar="FILE", help="save a page to print and sign")
    parser.add_argument("--csv", type=_path, metavar="FILE", help="save the list as a table")
    parser.set_defaults(kind="", currency=None, batch=None)


def _add_compare(commands: Any) -> None:
    parser = _command(commands, "compare", "two or more formulas side by side")
    parser.add_argument("formulas", type=_path, nargs="+", metavar="FORMULA", help="formulas in CSV or TOML")
    parser.add_argument("--scale", help="what the scale can show (default 0.1 g)")
    _add_setting(parser)


def _add_setting(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--brief", type=_path, metavar="BRIEF", help="take limits, prices and use from a brief")
    _add_own(parser)
    parser.add_argument("--kind", default="", help="kind of product, for instance 'cream scrub'")
    _add_scope(parser)
    parser.add_argument("--currency", help="default EUR")
    parser.add_argument("--batch", help="default 1 kg")


def _add_ingredients(commands: Any) -> None:
    parser = _command(commands, "ingredients", "search and show ingredients, check an own file")
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="words to look for, or the full name of one ingredient"
    )
    _add_own(parser)
    parser.add_argument("--validate", type=_path, metavar="FILE", help="read an own file and list every fault")


def _add_stock(commands: Any) -> None:
    parser = _command(commands, "stock", "what is owned, what expires, what is short; lots, packaging, versions")
    parser.set_defaults(module="stock.show")
    _add_workshop(parser, default=None)
    parser.add_argument("--days", type=int, default=60, metavar="N", help="how soon an expiry is told (default 60)")
    parser.add_argument("--batch", metavar="MASS", help="what is short for this much (default: what was planned last)")
    kinds = parser.add_subparsers(title="what to do instead", metavar="ACTION")
    _add_movements(kinds)
    _add_versions(kinds)
    _add_made(kinds)
    export = _action(kinds, "export", "write every record to a zip of CSV files")
    export.add_argument("file", type=_path, metavar="FILE.zip")
    bring_in = _action(kinds, "import", "add the records of a zip, or of a folder, of CSV files", module="bring_in")
    bring_in.add_argument("source", type=_path, metavar="FILE.zip|FOLDER")


def _add_workshop(parser: argparse.ArgumentParser, default: Any) -> None:
    parser.add_argument(
        "--workshop",
        default=default,
        metavar="PLACE",
        help="folder of workshop.db, or postgresql://user@host/database (default: the current folder)",
    )


def _action(kinds: Any, name: str, text: str, module: str = "") -> argparse.ArgumentParser:
    """One kind of work on the workshop. Options that `stock` has too keep what was given there."""
    parser: argparse.ArgumentParser = kinds.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".")
    parser.add_argument("--json", action="store_true", default=argparse.SUPPRESS, help="print one JSON object")
    _add_workshop(parser, default=argparse.SUPPRESS)
    parser.set_defaults(module=f"stock.{module or name}")
    return parser


def _add_movements(kinds: Any) -> None:
    receive = _action(kinds, "receive", "a lot has come in")
    receive.add_argument("ingredient", metavar="INGREDIENT")
    receive.add_argument("mass", metavar="MASS", help="for instance '5 kg'")
    receive.add_argument("--lot", metavar="NUMBER", help="your own number (default: the day and a count)")
    for name in ("supplier", "supplier-lot", "note"):
        receive.add_argument(f"--{name}", default="")
    receive.add_argument("--received", metavar="DATE", help="default today")
    receive.add_argument("--expiry", metavar="DATE")
    receive.add_argument("--price", metavar="MONEY", help="landed, per kg")
    receive.add_argument("--currency", default="EUR", help="default EUR")
    use = _action(kinds, "use", "something was taken from a lot")
    use.add_argument("what", metavar="LOT|INGREDIENT", help="of an ingredient, the lot that expires first goes first")
    use.add_argument("mass", metavar="MASS")
    use.add_argument("--batch", default="", metavar="NUMBER", help="the batch it went into")
    correct = _action(kinds, "correct", "what the scale says is left of a lot")
    correct.add_argument("lot", metavar="LOT")
    correct.add_argument("mass", metavar="MASS", help="what is left")
    packaging = _action(kinds, "packaging", "pieces of packaging came, or went (below 0)")
    packaging.add_argument("name", metavar="NAME")
    packaging.add_argument("pieces", type=int, metavar="PIECES")
    packaging.add_argument("--kind", default="", help="of a new one: jar, lid, label, seal, band or box")
    for name, text in (("price", "of one"), ("volume", "what it holds"), ("tare", "what it weighs empty")):
        packaging.add_argument(f"--{name}", help=text)
    packaging.add_argument("--currency", default="EUR", help="default EUR")
    for parser in (use, correct, packaging):
        parser.add_argument("--reason", required=True, metavar="WORDS")
    for parser in (receive, use):
        _add_own(parser)


def _add_made(kinds: Any) -> None:
    batch = _action(kinds, "batch", "a batch that is kept: what came of it")
    batch.add_argument("number", metavar="NUMBER", help="as given to optiform batch --record")
    batch.add_argument("--actual", metavar="MASS", help="what came out")
    batch.add_argument("--jars", type=int, metavar="N", help="filled")
    batch.add_argument("--rejected", type=int, metavar="N", help="filled, but not good enough to sell")
    batch.add_argument("--deviation", metavar="WORDS", help="what went another way than planned")
    batch.add_argument("--note", metavar="WORDS")


def _add_versions(kinds: Any) -> None:
    versions = _action(kinds, "versions", "the versions of formulas: what came from what, and why")
    versions.add_argument("product", nargs="?", metavar="PRODUCT")
    keep = _action(kinds, "keep", "keep a formula file as a new version")
    keep.add_argument("formula", type=_path, metavar="FORMULA", help="a formula in CSV or TOML")
    keep.add_argument("--product", required=True)
    keep.add_argument("--name", required=True, help="of the version")
    keep.add_argument("--parent", default="", metavar="NAME", help="the version it came from; none for the first")
    keep.add_argument("--reason", required=True, metavar="WORDS")
    keep.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    _add_own(keep)


def _add_own(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients and prices"
    )


def _add_trial(commands: Any) -> None:
    parser = _command(commands, "trial", "what logged trials teach about firmness, and which one to make next")
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    each = {
        name: _command(actions, name, text)
        for name, text in (
            ("log", "keep a trial of a version: what changed and why, and how it was made"),
            ("read", "keep readings of a trial"),
            ("show", "every trial and its readings as a table"),
            ("fit", "the firmness scale as the readings fit it, and trials that disagree"),
            ("predict", "firmness of a formula at a temperature, before and after the readings"),
            ("next", "whether one more trial would change an answer, and which one teaches most"),
        )
    }
    for action in each.values():
        action.set_defaults(module="trial")
        action.add_argument("--workshop", metavar="PLACE", help="folder or postgresql:// URL (default: this folder)")
    _add_trial_log(each["log"])
    _add_trial_read(each["read"])
    each["show"].add_argument("--csv", type=_path, metavar="FILE", help="save the table")
    for action in (each["fit"], each["predict"]):
        _add_trial_scale(action)
    each["fit"].add_argument("--csv", type=_path, metavar="FILE", help="save trials against the fit")
    each["predict"].add_argument("formula", type=_path, metavar="FORMULA", help="a formula in CSV or TOML")
    each["predict"].add_argument("--at", action="append", default=[], metavar="TEMPERATURE", help="default 20 degC")
    _add_trial_next(each["next"])
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = "".join(action.format_usage() for action in each.values())


def _add_trial_scale(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--brief", type=_path, metavar="BRIEF", help="its reference is firmness 100 at 20 degC")
    parser.add_argument("--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients")


def _add_trial_log(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="TRIAL", help="a name no other trial has")
    parser.add_argument("--product", required=True)
    parser.add_argument("--version", required=True, help="the version of the product that was made")
    parser.add_argument("--aim", required=True, metavar="WORDS", help="why it was made")
    parser.add_argument("--changed", default="", metavar="WORDS", help="what changed against the version before")
    parser.add_argument("--made", metavar="DATE", help="default today")
    parser.add_argument("--weights", type=_path, metavar="FILE", help="what was really weighed, a formula in grams")
    for option, unit, text in (
        ("mass", "MASS", "made in all"),
        ("hot-water", "TEMPERATURE", "of the water phase"),
        ("hot-oil", "TEMPERATURE", "of the oil phase"),
        ("added-at", "TEMPERATURE", "of the mass when the grains went in"),
        ("room", "TEMPERATURE", "of the room"),
    ):
        parser.add_argument(f"--{option}", metavar=unit, help=text)
    parser.add_argument("--cooling", metavar="TIME", help="from the end of heating to the grains, 35 min")
    parser.add_argument("--outcome", default="", metavar="WORDS")
    parser.add_argument("--note", default="", metavar="WORDS")
    parser.add_argument("--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients")


def _add_trial_read(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="TRIAL")
    parser.add_argument("values", nargs="+", metavar="VALUE", help="one for each jar: '210 g', '8.5 mm', 3")
    parser.add_argument("--instrument", required=True, help="flat probe, push on a scale, spoon score, or your word")
    parser.add_argument("--geometry", default="", metavar="WORDS", help="size, travel and mass: '12 mm rod, 5 mm deep'")
    parser.add_argument("--age", required=True, metavar="TIME", help="since making: '24 h', '7 day'")
    parser.add_argument("--at", required=True, metavar="TEMPERATURE", help="of the product's core")
    parser.add_argument("--held", metavar="TIME", help="how long at that temperature")
    parser.add_argument("--condition", default="plain", help="plain (default), cold room, freeze-thaw or heat")
    parser.add_argument("--tester", default="", metavar="WHO")
    parser.add_argument("--photo", default="", metavar="PATH", help="of a picture, kept as written")
    parser.add_argument("--excluded", default="", metavar="WHY", help="why these do not count")
    parser.add_argument("--note", default="", metavar="WORDS")


def _add_trial_next(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("brief", type=_path, metavar="BRIEF", help="its reference is changed, inside its limits")
    parser.add_argument(
        "--ask", required=True, metavar="FIRMNESS", help="'firmness at 10 degC' (reference at 20 is 100)"
    )
    parser.add_argument("--most", type=float, metavar="FIRMNESS", help="is it at most this?")
    parser.add_argument("--least", type=float, metavar="FIRMNESS", help="is it at least this?")
    parser.add_argument("--of", type=_path, metavar="FORMULA", help="of this formula (default: the reference)")
    parser.add_argument("--firmer-than", type=_path, metavar="FORMULA", help="is it above that of this one?")
    parser.add_argument("--mass", help="of a trial (default: as the last one, or 200 g)")
    parser.add_argument("--step", help="what the scale can show (default: the brief's)")


def _add_app(commands: Any) -> None:
    parser = _command(commands, "app", "the workbench in the browser, on this machine only")
    parser.add_argument("--port", type=int, default=8520, help="default 8520")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")


def _add_demo(commands: Any) -> None:
    parser = _command(commands, "demo", "run the main job on the demo workshop")
    _add_solver(parser)
    parser.add_argument("--copy", type=_path, metavar="FOLDER", help="copy the demo's files to a new folder instead")
