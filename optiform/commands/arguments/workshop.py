"""Arguments of the commands on what the workshop owns and did, and of the workbench."""

from __future__ import annotations

import argparse
import re

from optiform.commands.arguments.catalogue import sentence
from optiform.commands.arguments.fields import add_field, add_fields
from optiform.commands.arguments.options import (
    Form,
    add,
    amount,
    file,
    form,
    number,
    quantity,
    text,
    whole,
)  # fmt: skip
from optiform.commands.arguments.parser import Parser
from optiform.commands.arguments.parts import (
    ABOVE,
    Commands,
    action,
    add_basis,
    add_force,
    add_formula,
    add_output,
    add_own,
    add_solver,
    add_telling,
    add_workshop,
    flag,
)  # fmt: skip
from optiform.workshop.columns import Rule
from optiform.workshop.records import Batch, Lot, Movement, Packaging, PackagingCount, Reading, Trial, Version

OWN_NUMBER = Rule("your own number; without --lot, the day and a count", bool)
LEFT = Rule("what is left: 0 or more", lambda value: value >= 0)


def add_ingredients(parser: Parser) -> None:
    """Search and show ingredients, check an own file."""
    add(parser, "words", text("WORD"), "words to look for, or the full name of one ingredient", nargs="*")
    add_own(parser)
    add(parser, "--validate", file(), "read your own table and list every fault")
    words = "which declared substance each name means, and what to ask your supplier"
    add(parser, "--resolve", text("NAME"), words, nargs="+")
    add_output(parser)


def add_rules(parser: Parser) -> None:
    """What goes together and what does not: every rule, or one in full."""
    add(parser, "words", Form("WORD", known=_rules), "the id of a rule, or words to look for", nargs="*")
    add_output(parser)


def _rules() -> list[str]:
    from optiform.rules.chemistry import rule_ids

    return sorted(rule_ids())


def add_stock(parser: Parser) -> None:
    """What is owned, what expires, what is short; lots, packaging, versions."""
    parser.set_defaults(module="stock.show")
    add_workshop(parser)
    add(parser, "--batch", amount("kg"), "what is short to make this much (default: what was planned last)")
    add(parser, "--days", whole("days", least=0), "tell what expires within so many days (default 60)", default=60)
    add_output(parser)
    kinds = parser.add_subparsers(title="what to do instead", metavar="ACTION")
    _add_movements(kinds)
    _add_versions(kinds)
    _add_made(kinds)
    export = action(kinds, "export", "write every record to a zip of CSV files", module="exchange")
    add(export, "file", file("FILE.zip"))
    add_force(export)
    bring_in = action(kinds, "import", "add the records of a zip, or of a folder, of CSV files", module="exchange")
    add(bring_in, "source", file("FILE.zip|FOLDER"))


def _add_movements(kinds: Commands) -> None:
    receive = action(kinds, "receive", "save a lot that has come in")
    add_field(receive, Lot, "ingredient", "INGREDIENT")
    add_field(receive, Movement, "kg", "MASS", words="for instance '5 kg'")
    add_field(receive, Lot, "number", "--lot", form=text("NUMBER", OWN_NUMBER), required=False, also=("lot",))
    add_fields(receive, Lot, "supplier", "supplier_lot", "note", "received", "expiry", "currency", "price")
    use = action(kinds, "use", "save what was taken from a lot")
    first = "of an ingredient, the lot that expires first is used first"
    add_field(use, Movement, "lot", "LOT|INGREDIENT", words=first)
    add_field(use, Movement, "kg", "MASS")
    add_field(use, Movement, "batch")
    correct = action(kinds, "correct", "put right what is left of a lot, as the scale shows it")
    add_field(correct, Movement, "lot", "LOT")
    add_field(correct, Movement, "kg", "MASS", form=amount("kg", LEFT), words="what is left")
    packaging = action(kinds, "packaging", "save pieces of packaging that came, or that went (below 0)")
    add_field(packaging, Packaging, "name", "NAME", also=("packaging",))
    add_field(packaging, PackagingCount, "pieces", "PIECES")
    add_field(packaging, Packaging, "kind", required=False)
    add_fields(packaging, Packaging, "currency", "price", "volume", "tare")
    for parser in (use, correct, packaging):
        add_field(parser, Movement, "reason")
    for parser in (receive, correct, packaging):
        flag(parser, "--yes", "yes, a figure that looks wrong is right")
    for parser in (receive, use):
        add_own(parser)


def _add_made(kinds: Commands) -> None:
    batch = action(kinds, "batch", "the result of a batch that was saved", module="batch")
    add_field(batch, Batch, "number", "NUMBER", words="as given to optiform batch --record")
    add_fields(batch, Batch, "actual", "jars", "rejected", "deviation", "note")
    add_output(batch, default=ABOVE)


def _add_versions(kinds: Commands) -> None:
    versions = action(kinds, "versions", "the versions of formulas: what came from what, and why", module="versions")
    add(versions, "product", text("PRODUCT"), nargs="?")
    add_output(versions, default=ABOVE)
    save = action(kinds, "save", "save a formula as a new version of a product")
    add_formula(save)
    add_field(save, Version, "product")
    add_field(save, Version, "name", also=("version",))
    add_fields(save, Version, "parent", "reason")
    add_basis(save)
    add_own(save)


def add_trial(parser: Parser) -> None:
    """What logged trials teach about firmness, and which one to make next."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    kinds = {
        name: actions.add_parser(name, help=words, description=sentence(words))
        for name, words in (
            ("log", "save a trial of a version: what changed and why, and how it was made"),
            ("read", "save readings of a trial"),
            ("show", "a table of every trial and its readings"),
            ("fit", "fit the firmness scale to your readings, see which trials disagree and what each taught"),
            ("predict", "how firm a formula will be, before and after your readings"),
            ("next", "whether one more trial would change an answer, and which one teaches most"),
            ("between", "two trials made one formula of a wished firmness, held to the brief"),
        )
    }
    for one in kinds.values():
        flag(one, "--json", "print one JSON object and nothing else")
        one.set_defaults(module="trial")
        add_workshop(one)
    _add_trial_log(kinds["log"])
    _add_trial_read(kinds["read"])
    for name in ("show", "fit", "predict", "next", "between"):
        add_output(kinds[name])
    for one in (kinds["fit"], kinds["predict"]):
        _add_trial_scale(one)
    add_formula(kinds["predict"])
    words = "temperature (default 20 °C); give it again for more"
    add(kinds["predict"], "--at", amount("degC", None), words, action="append", default=[])
    _add_trial_next(kinds["next"])
    _add_trial_between(kinds["between"])
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = "".join(one.format_usage() for one in kinds.values())


def _add_trial_scale(parser: argparse.ArgumentParser) -> None:
    add(parser, "--brief", file("BRIEF"), "the brief whose reference is firmness 100 at 20 °C")
    add_own(parser, "your own table of ingredients")


def _add_trial_log(parser: argparse.ArgumentParser) -> None:
    add_field(parser, Trial, "name", "TRIAL", also=("trial",))
    add_fields(parser, Trial, "product", "version", "aim", "changed")
    add_field(parser, Trial, "made", required=False)
    add_fields(parser, Trial, "mass", "hot_water", "hot_oil", "added_at", "room", "cooling", "outcome", "note")
    lines = ("ingredient", "phase", "actual")
    add(parser, "--weights", file(), "what was really weighed, a formula in grams", lines)
    add_own(parser)


def _add_trial_read(parser: argparse.ArgumentParser) -> None:
    add_field(parser, Reading, "trial", "TRIAL")
    value = form("VALUE", _reading)
    add_field(parser, Reading, "value", "VALUE", form=value, nargs="+", also=("unit",), place="value")
    add_fields(parser, Reading, "instrument", "geometry", "age")
    add_field(parser, Reading, "temperature", "--at")
    add_fields(parser, Reading, "held", "condition", "tester", "photo", "excluded", "note")


def _add_trial_next(parser: argparse.ArgumentParser) -> None:
    add(parser, "brief", file("BRIEF"), "a brief in TOML; the trial changes its reference, within its limits")
    words = "what to ask, such as 'firmness at 10 °C' (the reference at 20 °C is 100)"
    add(parser, "--ask", form("FIRMNESS", _asked), words, required=True)
    add(parser, "--most", number("FIRMNESS"), "is it at most this?")
    add(parser, "--least", number("FIRMNESS"), "is it at least this?")
    add(parser, "--of", file("FORMULA"), "ask it of this formula (default: the reference)")
    add(parser, "--firmer-than", file("FORMULA"), "is it firmer than this formula?")
    add(parser, "--mass", amount("g"), "mass of a trial (default: that of the last one, or 200 g)")
    add(parser, "--step", amount("g"), "what the scale can show (default: the brief's)")


def _add_trial_between(parser: argparse.ArgumentParser) -> None:
    add(parser, "brief", file("BRIEF"), "what the formula is held to; its reference is firmness 100 at 20 degC")
    add(parser, "first", text("TRIAL"), "one trial")
    add(parser, "second", text("TRIAL"), "the other")
    add(parser, "--firmness", number("FIRMNESS"), "wished of the formula (reference at 20 is 100)", required=True)
    add(parser, "--at", amount("degC", None), "at which it is wished (default: 20 degC)", default=20.0)
    add(parser, "--write", file(), "save the formula (.csv, .toml)")


def _reading(given: str) -> tuple[float, str]:
    from optiform.workshop.keeping import value_of

    return value_of(given)


def _asked(given: str) -> float:
    """The temperature of `firmness at 10 degC`."""
    asked = re.fullmatch(r"firmness at (.+)", given.strip(), re.IGNORECASE)
    if asked is None:
        raise ValueError('a question such as "firmness at 10 °C"')
    return quantity(asked[1], "degC")


def add_app(parser: Parser) -> None:
    """The workbench in the browser, on this machine only."""
    words = "begin with this brief, the files it names, making.toml and costs.toml beside it; none of them is changed"
    add(parser, "brief", file("BRIEF"), f"{words} (default: your last product, or the demo)", nargs="?")
    add(parser, "--port", whole("a port", None), "port of the page (default 8520)", default=8520)
    flag(parser, "--no-browser", "do not open a browser")
    words = "folder or postgresql:// address of your records (default: this folder, if they are here)"
    add_workshop(parser, words=words)


def add_demo(parser: Parser) -> None:
    """Run the main job on the demo workshop."""
    add_solver(parser)
    add_telling(parser)
    add(parser, "--copy", file("FOLDER"), "copy the demo's files, dated for today, to a new folder")
