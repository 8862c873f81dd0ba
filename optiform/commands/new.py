"""optiform new: a brief to begin with."""

import argparse
import sys
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.brief.new import Start, brief_text, usual_shelf
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.output import Output
from optiform.reading.plain import answered
from optiform.telling.begin import begun
from optiform.telling.terminal import terminal

FILE = Path("brief.toml")


def run(options: argparse.Namespace) -> int:
    """Write the brief; what it names is read before, so that it can be answered at once."""
    path: Path = options.brief or FILE
    if not options.kind and not options.today:
        expected = "--kind 'body butter', or --from today.csv"
        words = f"What is it to begin from? Write a kind or a formula: {expected}."
        raise BadInput([Fault(COMMAND_LINE, "--kind", "neither", expected, words)])
    catalogue = read_catalogue(options.own)
    today = read_formula(options.today, catalogue) if options.today else None
    used = [line.ingredient.name for line in today.formula.lines] if today else []
    candidates = _candidates(options, catalogue, used)
    start = Start(
        title=options.title or (options.kind or options.today.stem).capitalize(),
        kind=options.kind or "",
        use=options.use or "",
        markets=tuple(options.market),
        currency=options.currency.upper(),
        own_files=tuple(_beside(path, own) for own in options.own),
        candidates=candidates,
        today=_beside(path, options.today) if options.today else "",
    )
    text = brief_text(start)
    output = Output("BRIEF", path, endings=(".toml",), kind=".toml", forcing="")
    output.save(lambda to: to.write_text(text, encoding="utf-8"))
    if options.json:
        print_json(answered("written", file=str(path), brief=text))
    else:
        print(f"written: {path}", file=sys.stderr)
        print(terminal(begun(path, read_brief(path), today)))
    return ANSWERED


def _candidates(options: argparse.Namespace, catalogue: Catalogue, today: list[str]) -> tuple[str, ...]:
    """What the product can be made of: the own tables where there are any; else what is usual, and today's."""
    if options.own:
        return ()
    usual = [item.name for item in usual_shelf(options.kind, catalogue)] if options.kind else []
    return tuple(dict.fromkeys([*today, *usual]))


def _beside(brief: Path, file: Path) -> str:
    """A file by its name in the folder of the brief.

    Raises:
        BadInput: it lies elsewhere.
    """
    try:
        return file.resolve().relative_to(brief.resolve().parent).as_posix()
    except ValueError:
        words = f"a file in the folder of {brief}, or below it: copy it there"
        raise BadInput([Fault(COMMAND_LINE, "files", str(file), words)]) from None
