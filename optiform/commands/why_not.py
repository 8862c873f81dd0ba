"""optiform design --why-not: what keeps an ingredient, or a formula of the maker's own, out of the answer."""

import argparse
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.commands import ANSWERED
from optiform.commands import tell as told
from optiform.commands.shown import show
from optiform.design.answer import NoFormula
from optiform.design.entry import why_not
from optiform.ingredients.formula import Formula, read_formula
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.json.why_not import why_not as why_not_json
from optiform.telling.steps import after_impossible
from optiform.telling.why_not import why_not as why_not_told


def tell_why_not(brief: Brief, options: argparse.Namespace) -> int:
    """Print why what `--why-not` names is not in the answer.

    Raises:
        BadInput: a name that is not known; `--write`, which would save nothing.
    """
    if options.write:
        words = "--write cannot stand beside --why-not: that designs nothing new to be saved."
        raise BadInput([Fault(COMMAND_LINE, "--write", str(options.write), "one of the two", words)])
    answer = why_not(brief, _subject(brief, options.why_not))
    if isinstance(answer, NoFormula):
        return show(answer, options, after_impossible(options.brief))
    told.answer(why_not_told(answer), options, lambda: why_not_json(answer))
    return ANSWERED


def _subject(brief: Brief, name: str) -> Ingredient | Formula:
    """The formula of a file, or the ingredient of this name."""
    if Path(name).suffix in (".csv", ".toml"):
        return read_formula(Path(name), brief.catalogue).formula
    item = brief.catalogue.find(name)
    if item is None:
        expected = brief.catalogue.unknown(name)
        raise BadInput([Fault(COMMAND_LINE, "--why-not", repr(name), expected)])
    return item
