"""Arguments of the commands on what the workshop owns and did, and of the workbench."""

from __future__ import annotations

import argparse
from typing import Any

from optiform.commands.arguments.help import add_completion, add_guide
from optiform.commands.arguments.parts import (
    DAY,
    action,
    add_force,
    add_own,
    add_solver,
    add_workshop,
    command,
    number,
    path,
    whole,
)


def add(commands: Any) -> None:
    """Add the family's commands, in the order of the help."""
    _add_ingredients(commands)
    _add_stock(commands)
    _add_trial(commands)
    _add_app(commands)
    _add_demo(commands)
    add_guide(commands)
    add_completion(commands)


def _add_ingredients(commands: Any) -> None:
    parser = command(commands, "ingredients", "search and show ingredients, check an own file")
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="words to look for, or the full name of one ingredient"
    )
    add_own(parser)
    parser.add_argument("--validate", type=path, metavar="FILE", help="read an own file and list every fault")
    parser.add_argument(
        "--resolve", nargs="+", metavar="NAME", help="which declared substance each name means, and what to ask back"
    )


def _add_stock(commands: Any) -> None:
    parser = command(commands, "stock", "what is owned, what expires, what is short; lots, packaging, versions")
    parser.set_defaults(module="stock.show")
    add_workshop(parser, default=None)
    parser.add_argument(
        "--days", type=whole("days"), default=60, metavar="N", help="how soon an expiry is told (default 60)"
    )
    parser.add_argument("--batch", metavar="MASS", help="what is short for this much (default: what was planned last)")
    kinds = parser.add_subparsers(title="what to do instead", metavar="ACTION")
    _add_movements(kinds)
    _add_versions(kinds)
    _add_made(kinds)
    export = action(kinds, "export", "write every record to a zip of CSV files")
    export.add_argument("file", type=path, metavar="FILE.zip")
    add_force(export)
    bring_in = action(kinds, "import", "add the records of a zip, or of a folder, of CSV files", module="bring_in")
    bring_in.add_argument("source", type=path, metavar="FILE.zip|FOLDER")


def _add_movements(kinds: Any) -> None:
    receive = action(kinds, "receive", "a lot has come in")
    receive.add_argument("ingredient", metavar="INGREDIENT")
    receive.add_argument("mass", metavar="MASS", help="for instance '5 kg'")
    receive.add_argument("--lot", metavar="NUMBER", help="your own number (default: the day and a count)")
    for name in ("supplier", "supplier-lot", "note"):
        receive.add_argument(f"--{name}", default="")
    receive.add_argument("--received", metavar=DAY, help="default today")
    receive.add_argument("--expiry", metavar=DAY)
    receive.add_argument("--price", metavar="MONEY", help="landed, per kg")
    receive.add_argument("--currency", default="EUR", help="default EUR")
    use = action(kinds, "use", "something was taken from a lot")
    use.add_argument("what", metavar="LOT|INGREDIENT", help="of an ingredient, the lot that expires first goes first")
    use.add_argument("mass", metavar="MASS")
    use.add_argument("--batch", default="", metavar="NUMBER", help="the batch it went into")
    correct = action(kinds, "correct", "what the scale says is left of a lot")
    correct.add_argument("lot", metavar="LOT")
    correct.add_argument("mass", metavar="MASS", help="what is left")
    packaging = action(kinds, "packaging", "pieces of packaging came, or went (below 0)")
    packaging.add_argument("name", metavar="NAME")
    packaging.add_argument("pieces", type=whole("pieces"), metavar="PIECES")
    packaging.add_argument("--kind", default="", help="of a new one: jar, lid, label, seal, band or box")
    for name, text in (("price", "of one"), ("volume", "what it holds"), ("tare", "what it weighs empty")):
        packaging.add_argument(f"--{name}", help=text)
    packaging.add_argument("--currency", default="EUR", help="default EUR")
    for parser in (use, correct, packaging):
        parser.add_argument("--reason", required=True, metavar="WORDS")
    for parser in (receive, correct, packaging):
        parser.add_argument("--yes", action="store_true", help="a figure that is asked back is right")
    for parser in (receive, use):
        add_own(parser)


def _add_made(kinds: Any) -> None:
    batch = action(kinds, "batch", "a batch that is kept: what came of it")
    batch.add_argument("number", metavar="NUMBER", help="as given to optiform batch --record")
    batch.add_argument("--actual", metavar="MASS", help="what came out")
    batch.add_argument("--jars", type=whole("jars"), metavar="N", help="filled")
    batch.add_argument("--rejected", type=whole("jars"), metavar="N", help="filled, but not good enough to sell")
    batch.add_argument("--deviation", metavar="WORDS", help="what went another way than planned")
    batch.add_argument("--note", metavar="WORDS")


def _add_versions(kinds: Any) -> None:
    versions = action(kinds, "versions", "the versions of formulas: what came from what, and why")
    versions.add_argument("product", nargs="?", metavar="PRODUCT")
    keep = action(kinds, "keep", "keep a formula file as a new version")
    keep.add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    keep.add_argument("--product", required=True)
    keep.add_argument("--name", required=True, help="of the version")
    keep.add_argument("--parent", default="", metavar="NAME", help="the version it came from; none for the first")
    keep.add_argument("--reason", required=True, metavar="WORDS")
    keep.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    add_own(keep)


def _add_trial(commands: Any) -> None:
    parser = command(commands, "trial", "what logged trials teach about firmness, and which one to make next")
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    each = {
        name: command(actions, name, text)
        for name, text in (
            ("log", "keep a trial of a version: what changed and why, and how it was made"),
            ("read", "keep readings of a trial"),
            ("show", "every trial and its readings as a table"),
            ("fit", "the firmness scale as the readings fit it, and trials that disagree"),
            ("predict", "firmness of a formula at a temperature, before and after the readings"),
            ("next", "whether one more trial would change an answer, and which one teaches most"),
        )
    }
    for one in each.values():
        one.set_defaults(module="trial")
        one.add_argument(
            "--records", dest="workshop", metavar="PLACE", help="folder or postgresql:// URL (default: this folder)"
        )
    _add_trial_log(each["log"])
    _add_trial_read(each["read"])
    each["show"].add_argument("--csv", type=path, metavar="FILE", help="save the table")
    add_force(each["show"])
    for one in (each["fit"], each["predict"]):
        _add_trial_scale(one)
    each["fit"].add_argument("--csv", type=path, metavar="FILE", help="save trials against the fit")
    add_force(each["fit"])
    each["predict"].add_argument("formula", type=path, metavar="FORMULA", help="a formula in CSV or TOML")
    each["predict"].add_argument("--at", action="append", default=[], metavar="TEMPERATURE", help="default 20 degC")
    _add_trial_next(each["next"])
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = "".join(one.format_usage() for one in each.values())


def _add_trial_scale(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--brief", type=path, metavar="BRIEF", help="its reference is firmness 100 at 20 degC")
    parser.add_argument("--own", type=path, action="append", default=[], metavar="FILE", help="own ingredients")


def _add_trial_log(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("name", metavar="TRIAL", help="a name no other trial has")
    parser.add_argument("--product", required=True)
    parser.add_argument("--version", required=True, help="the version of the product that was made")
    parser.add_argument("--aim", required=True, metavar="WORDS", help="why it was made")
    parser.add_argument("--changed", default="", metavar="WORDS", help="what changed against the version before")
    parser.add_argument("--made", metavar=DAY, help="default today")
    parser.add_argument("--weights", type=path, metavar="FILE", help="what was really weighed, a formula in grams")
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
    parser.add_argument("--own", type=path, action="append", default=[], metavar="FILE", help="own ingredients")


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
    parser.add_argument("brief", type=path, metavar="BRIEF", help="its reference is changed, inside its limits")
    parser.add_argument(
        "--ask", required=True, metavar="FIRMNESS", help="'firmness at 10 degC' (reference at 20 is 100)"
    )
    parser.add_argument("--most", type=number, metavar="FIRMNESS", help="is it at most this?")
    parser.add_argument("--least", type=number, metavar="FIRMNESS", help="is it at least this?")
    parser.add_argument("--of", type=path, metavar="FORMULA", help="of this formula (default: the reference)")
    parser.add_argument("--firmer-than", type=path, metavar="FORMULA", help="is it above that of this one?")
    parser.add_argument("--mass", help="of a trial (default: as the last one, or 200 g)")
    parser.add_argument("--step", help="what the scale can show (default: the brief's)")


def _add_app(commands: Any) -> None:
    parser = command(commands, "app", "the workbench in the browser, on this machine only")
    words = "begin with this brief, the files it names, making.toml and costs.toml beside it, not with the demo's"
    parser.add_argument("brief", type=path, nargs="?", metavar="BRIEF", help=f"{words}; nothing is written to them")
    parser.add_argument("--port", type=whole("a port"), default=8520, help="default 8520")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
    words = "folder or postgresql:// URL whose records Stock and Trials work on (default: this folder, else the demo's)"
    parser.add_argument("--records", dest="workshop", metavar="PLACE", help=words)


def _add_demo(commands: Any) -> None:
    parser = command(commands, "demo", "run the main job on the demo workshop")
    add_solver(parser)
    parser.add_argument(
        "--copy", type=path, metavar="FOLDER", help="copy the demo's files, dated for today, to a new folder instead"
    )
