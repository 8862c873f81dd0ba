"""optiform design: the best formula that meets a brief."""

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands import tell as told
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_formula
from optiform.commands.tell import again
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.entry import why_not
from optiform.design.one_more import one_more
from optiform.ingredients.formula import Formula, read_formula
from optiform.ingredients.ingredient import Ingredient
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling import json as jsonform
from optiform.telling.design import designed
from optiform.telling.impossible import impossible
from optiform.telling.json.one_more import one_more as one_more_json
from optiform.telling.json.why_not import why_not as why_not_json
from optiform.telling.one_more import one_more as one_more_told
from optiform.telling.parts import Step
from optiform.telling.steps import after_design, after_impossible
from optiform.telling.why_not import why_not as why_not_told


def run(options: argparse.Namespace) -> int:
    """Design and print; `--write` comes first: if the file cannot be written, only that is told."""
    brief = read_brief(options.brief)
    check_names(options)
    if options.why_not:
        return _why_not(brief, options)
    if options.one_more:
        return _one_more(brief, options)
    answer = design(brief, options.solver)
    if isinstance(answer, NoFormula):
        return show(answer, options, after_impossible(options.brief))
    write_formula(options, partial(_save, answer))
    return show(answer, options, after_design(brief, options.brief, options.write, again(options)))


def show(answer: Designed | NoFormula, options: argparse.Namespace, steps: tuple[Step, ...]) -> int:
    """Print an answer with its next steps; the exit code says whether there is one."""
    if isinstance(answer, Designed):
        told.answer(replace(designed(answer), steps=steps), options, lambda: jsonform.designed(answer))
        return ANSWERED
    if options.json:
        print_json(jsonform.impossible(answer))
    else:
        told.tell(replace(impossible(answer), steps=steps), options)
    return IMPOSSIBLE if answer.decided else UNPROVEN


def _why_not(brief: Brief, options: argparse.Namespace) -> int:
    if options.write:
        raise BadInput(
            [Fault(COMMAND_LINE, "--write", str(options.write), "one of the two: --why-not designs nothing new")]
        )
    answer = why_not(brief, _subject(brief, options.why_not))
    if isinstance(answer, NoFormula):
        return show(answer, options, after_impossible(options.brief))
    told.answer(why_not_told(answer), options, lambda: why_not_json(answer))
    return ANSWERED


def _one_more(brief: Brief, options: argparse.Namespace) -> int:
    if options.write:
        raise BadInput([Fault(COMMAND_LINE, "--write", str(options.write), "one of the two: --one-more saves nothing")])
    answer = one_more(brief)
    told.answer(one_more_told(answer), options, lambda: one_more_json(answer))
    return ANSWERED


def _subject(brief: Brief, name: str) -> Ingredient | Formula:
    """The formula of a file, or the ingredient of this name."""
    if Path(name).suffix in (".csv", ".toml"):
        return read_formula(Path(name), brief.catalogue).formula
    item = brief.catalogue.find(name)
    if item is None:
        expected = f"a formula file, or {brief.catalogue.unknown(name)}"
        raise BadInput([Fault(COMMAND_LINE, "--why-not", repr(name), expected)])
    return item


def _save(answer: Designed, path: Path) -> None:
    if path.suffix in (".lp", ".mps"):
        from optiform.program.stated import write_model

        write_model(answer.program, path)
    else:
        answer.report.formula.write(path)
