"""The command line: arguments in, printed answers out. Each command imports what it needs, so that help is quick."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from optiform.brief import Brief
    from optiform.catalogue import Catalogue
    from optiform.formula import Basis
    from optiform.jobs.answer import Designed, Impossible
    from optiform.jobs.measures import Setting

ANSWERED, IMPOSSIBLE, BAD_INPUT, UNPROVEN = 0, 1, 2, 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns the exit code: 0 answered, 1 the brief cannot be met, 2 bad input, 3 an answer that failed its own check.
    """
    options = _parser().parse_args(arguments)
    from optiform.faults import BadInput

    run: Callable[[argparse.Namespace], int] = options.run
    try:
        return run(options)
    except BadInput as bad:
        print("\n".join(map(str, bad.faults)), file=sys.stderr)
        if options.json:
            _print_json({"status": "bad input", "faults": [_fault(fault) for fault in bad.faults]})
        return BAD_INPUT
    except BrokenPipeError:  # the reader of our output has gone; nothing is left to say
        sys.stderr.close()
        return ANSWERED


def _fault(fault: Any) -> dict[str, str]:
    return {"file": fault.file, "place": fault.place, "read": fault.read, "expected": fault.expected}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="optiform",
        description="Design cosmetic formulas before mixing: the cheapest formula that meets a brief, and why.",
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")
    _add_design(commands)
    _add_check(commands)
    _add_compare(commands)
    _add_ingredients(commands)
    demo = _command(commands, "demo", _demo, "run the main job on the demo workshop")
    demo.add_argument("--solver", choices=["highs", "cbc"], default="highs", help=argparse.SUPPRESS)
    return parser


def _path(text: str) -> Path:
    from pathlib import Path

    return Path(text)


def _command(commands: Any, name: str, run: Callable[[argparse.Namespace], int], text: str) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(name, help=text, description=text.capitalize() + ".")
    parser.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
    parser.set_defaults(run=run)
    return parser


def _add_design(commands: Any) -> None:
    parser = _command(commands, "design", _design, "the best formula that meets a brief")
    parser.add_argument("brief", type=_path, metavar="BRIEF", help="a brief in TOML")
    parser.add_argument("--solver", choices=["highs", "cbc"], default="highs", help="cbc is the second opinion")
    parser.add_argument(
        "--write", type=_path, metavar="FILE", help="save the formula (.csv, .toml) or the linear program (.lp, .mps)"
    )


def _add_check(commands: Any) -> None:
    parser = _command(commands, "check", _check, "the same report for a formula that exists")
    parser.add_argument("formula", type=_path, metavar="FORMULA", help="a formula in CSV or TOML")
    parser.add_argument("--basis", choices=["whole", "base", "parts", "grams"], help="how to take the numbers")
    _add_setting(parser)


def _add_compare(commands: Any) -> None:
    parser = _command(commands, "compare", _compare, "two or more formulas side by side")
    parser.add_argument("formulas", type=_path, nargs="+", metavar="FORMULA", help="formulas in CSV or TOML")
    parser.add_argument("--scale", help="what the scale can show (default 0.1 g)")
    _add_setting(parser)


def _add_setting(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--brief", type=_path, metavar="BRIEF", help="take limits, prices and use from a brief")
    parser.add_argument(
        "--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients and prices"
    )
    parser.add_argument("--kind", default="", help="kind of product, for instance 'cream scrub'")
    parser.add_argument("--use", choices=["rinse-off", "leave-on"], help="default rinse-off")
    parser.add_argument("--area", help="body (default), face, hands, feet, lips, hair, eyes or baby")
    parser.add_argument("--market", action="append", default=[], metavar="EU|GB|US", help="legal limits of this market")
    parser.add_argument("--date", help="date the limits are taken for (default today)")
    parser.add_argument("--currency", help="default EUR")
    parser.add_argument("--batch", help="default 1 kg")


def _add_ingredients(commands: Any) -> None:
    parser = _command(commands, "ingredients", _ingredients, "search and show ingredients, check an own file")
    parser.add_argument(
        "words", nargs="*", metavar="WORD", help="words to look for, or the full name of one ingredient"
    )
    parser.add_argument(
        "--own", type=_path, action="append", default=[], metavar="FILE", help="own ingredients and prices"
    )
    parser.add_argument("--validate", type=_path, metavar="FILE", help="read an own file and list every fault")


# -- commands ----------------------------------------------------------------------------------------------------------


def _design(options: argparse.Namespace) -> int:
    from optiform.brieffile import read_brief
    from optiform.jobs.answer import Designed
    from optiform.jobs.design import design

    brief = read_brief(options.brief)
    if options.write:
        _check_writable(options.write)
    answer = _proven(lambda: design(brief, options.solver), options.json)
    if answer is None:
        return UNPROVEN
    if options.write and isinstance(answer, Designed):  # first: if it cannot be written, only that is told
        _save(answer, options.write)
    return _print_design(answer, options.json)


def _proven(work: Callable[[], Designed | Impossible], as_json: bool) -> Designed | Impossible | None:
    """The answer, or None after saying that it did not pass its own check: then nothing of it is shown."""
    from optiform.program.certificate import NotCertified
    from optiform.program.solver import SolverFailed

    try:
        return work()
    except (NotCertified, SolverFailed) as error:
        words = "the answer did not pass its own check, so it is not shown; the other --solver may do better"
        print(f"optiform: {words} ({error})", file=sys.stderr)
        if as_json:
            _print_json({"status": "unproven", "warnings": [words]})
        return None


def _print_design(answer: Designed | Impossible, as_json: bool) -> int:
    from optiform import jsonform
    from optiform.jobs.answer import Designed
    from optiform.plain.design import designed, impossible

    if isinstance(answer, Designed):
        _print_json(jsonform.designed(answer)) if as_json else print(designed(answer))
        return ANSWERED
    _print_json(jsonform.impossible(answer)) if as_json else print(impossible(answer))
    return IMPOSSIBLE


def _check_writable(path: Path) -> None:
    from optiform.faults import BadInput, Fault

    if path.suffix not in (".csv", ".toml", ".lp", ".mps"):
        raise BadInput([Fault("--write", "file name", repr(path.name), "a name that ends in .csv, .toml, .lp or .mps")])
    if not path.parent.is_dir():
        raise BadInput([Fault("--write", "folder", repr(str(path.parent)), "a folder that exists")])


def _save(answer: Designed, path: Path) -> None:
    from optiform.faults import BadInput, Fault
    from optiform.program.solver import write_model

    try:
        if path.suffix in (".lp", ".mps"):
            write_model(answer.program, path)
        else:
            answer.report.formula.write(path)
    except OSError as error:
        raise BadInput([Fault("--write", str(path), str(error.strerror), "a file that can be written")]) from None
    print(f"written: {path}", file=sys.stderr)


def _demo(options: argparse.Namespace) -> int:
    from optiform.brieffile import read_brief
    from optiform.jobs.design import design
    from optiform.paths import DEMO

    answer = _proven(lambda: design(read_brief(DEMO / "brief.toml"), options.solver), options.json)
    if answer is None:
        return UNPROVEN
    code = _print_design(answer, options.json)
    if not options.json:
        print(_WHAT_NEXT.format(folder=DEMO))
    return code


_WHAT_NEXT = """
What to try next
  The demo is three files in {folder}: brief.toml, workshop.csv, today.csv.
  Copy them, change a limit or a price, and run   optiform design brief.toml
  What is sold today, against the same limits:    optiform check today.csv --brief brief.toml
  Keep an answer and put it beside today's:       optiform design brief.toml --write new.csv
                                                  optiform compare today.csv new.csv --brief brief.toml
  Everything known of an ingredient:              optiform ingredients shea butter, refined
  Make it impossible on purpose: ask for a solid fat at 30 degC of at least 40 %, and read what clashes."""


def _check(options: argparse.Namespace) -> int:
    from optiform import jsonform
    from optiform.formula import Basis
    from optiform.jobs.check import check, check_against
    from optiform.plain.check import checked

    brief, catalogue, setting = _setting(options)
    basis: Basis | None = Basis(options.basis) if options.basis else None
    if brief is not None:
        answer = check_against(options.formula, brief, basis)
    else:
        answer = check(options.formula, catalogue, setting, basis)
    batch = setting.batch or 1.0
    if options.json:
        _print_json(jsonform.checked(answer, setting.currency, batch))
    else:
        print(checked(answer, setting.currency, batch))
    return ANSWERED


def _compare(options: argparse.Namespace) -> int:
    from optiform import jsonform
    from optiform.faults import BadInput, Fault
    from optiform.formula import read_formula
    from optiform.jobs.compare import compare
    from optiform.plain.compare import compared

    if len(options.formulas) < 2:
        raise BadInput([Fault("compare", "formulas", "one file", "two or more files")])
    brief, catalogue, setting = _setting(options)
    faults: list[Fault] = []
    formulas, notes = [], []
    for path in options.formulas:
        try:
            reading = read_formula(path, catalogue)
        except BadInput as bad:
            faults.extend(bad.faults)
        else:
            formulas.append(reading.formula)
            notes += [f"{reading.formula.name}: {note}" for note in reading.notes]
    if faults:
        raise BadInput(faults)
    step = brief.step if brief else _quantity(options.scale or "0.1 g", "--scale", "g")
    found = compare(formulas, setting, step)
    if options.json:
        _print_json(jsonform.compared(found, notes))
    else:
        print(compared(found, notes))
    return ANSWERED


def _ingredients(options: argparse.Namespace) -> int:
    from optiform import jsonform
    from optiform.catalogue import read_catalogue
    from optiform.plain.ingredients import ingredient_list, ingredient_page

    catalogue = read_catalogue([*options.own, *([options.validate] if options.validate else [])])
    words = " ".join(options.words)
    if options.validate and not words:
        found = [catalogue.ingredients[key] for key in sorted(catalogue.owned)]
    else:
        one = catalogue.find(words) if words else None
        found = [one] if one else catalogue.search(words)
    if options.json:
        _print_json({"ingredients": [jsonform.ingredient(item) for item in found]})
    elif len(found) == 1:
        print(ingredient_page(found[0], {key: source.title for key, source in catalogue.sources.items()}))
    elif found:
        print(ingredient_list(found))
    else:
        near = catalogue.near(words)
        print(f"No ingredient has all of: {words}." + (f" Near: {', '.join(near)}." if near else ""))
    if options.validate and not options.json:
        print(f"\n  {options.validate}: {len(catalogue.owned)} ingredients read, no fault found.")
    return ANSWERED


# -- shared ------------------------------------------------------------------------------------------------------------


def _setting(options: argparse.Namespace) -> tuple[Brief | None, Catalogue, Setting]:
    """What a formula is looked at for: from the brief if one is given, else from the options."""
    from optiform.brieffile import read_brief
    from optiform.catalogue import read_catalogue
    from optiform.jobs.design import setting_of
    from optiform.jobs.measures import Setting

    if options.brief:
        _refuse_both(options)
        brief = read_brief(options.brief)
        return brief, brief.catalogue, setting_of(brief)
    scope = _scope(options)
    batch = _quantity(options.batch or "1 kg", "--batch", "kg")
    setting = Setting(options.kind.casefold(), scope, (options.currency or "EUR").upper(), batch)
    return None, read_catalogue(options.own), setting


def _refuse_both(options: argparse.Namespace) -> None:
    """A brief says all this itself; an option beside it would be passed over in silence."""
    from optiform.faults import Inspection

    inspection = Inspection("command line")
    for name in ("own", "kind", "use", "area", "market", "date", "currency", "batch", "scale"):
        if getattr(options, name, None):
            inspection.fault(f"--{name}", "given with --brief", "one of the two: the brief says this itself")
    inspection.finish()


def _scope(options: argparse.Namespace) -> Any:
    import datetime

    from optiform.brief import KINDS
    from optiform.faults import Inspection
    from optiform.properties.rules import AREAS, MARKETS, Scope

    inspection = Inspection("command line")
    markets = tuple(market.upper() for market in options.market)
    for market in markets:
        if market not in MARKETS:
            inspection.fault("--market", market, f"one of: {', '.join(MARKETS)}")
    area = options.area or "body"
    if area not in AREAS:
        inspection.fault("--area", area, f"one of: {', '.join(AREAS)}")
    if options.kind and options.kind.casefold() not in KINDS:
        inspection.fault("--kind", options.kind, f"one of: {', '.join(KINDS)}")
    date = datetime.date.today()
    if options.date:
        try:
            date = datetime.date.fromisoformat(options.date)
        except ValueError:
            inspection.fault("--date", options.date, "a date such as 2026-11-25")
    inspection.finish()
    return Scope(options.use or "rinse-off", area, markets, date)


def _quantity(given: str, option: str, unit: str) -> float:
    from optiform.faults import BadInput, Fault
    from optiform.units import parse_quantity

    try:
        value = parse_quantity(given, unit)
    except ValueError as error:
        raise BadInput([Fault("command line", option, repr(given), str(error))]) from None
    if value <= 0:
        raise BadInput([Fault("command line", option, repr(given), "more than nothing")])
    return value


def _print_json(data: dict[str, Any]) -> None:
    import json

    print(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
