"""optiform design: the best formula that meets a brief."""

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands import tell as told
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_formula
from optiform.design.answer import Designed, Impossible
from optiform.design.design import design
from optiform.program.solver import write_model
from optiform.telling import json as jsonform
from optiform.telling.design import designed
from optiform.telling.impossible import impossible
from optiform.telling.parts import Step
from optiform.telling.steps import after_design, after_impossible


def run(options: argparse.Namespace) -> int:
    """Design and print; `--write` comes first: if the file cannot be written, only that is told."""
    brief = read_brief(options.brief)
    check_names(options)
    answer = design(brief, options.solver)
    if isinstance(answer, Impossible):
        return show(answer, options, after_impossible(options.brief))
    write_formula(options, partial(_save, answer))
    return show(answer, options, after_design(brief, options.brief, options.write))


def show(answer: Designed | Impossible, options: argparse.Namespace, steps: tuple[Step, ...]) -> int:
    """Print an answer with its next steps; the exit code says whether there is one."""
    if isinstance(answer, Designed):
        told.answer(replace(designed(answer), steps=steps), options, lambda: jsonform.designed(answer))
        return ANSWERED
    if options.json:
        print_json(jsonform.impossible(answer))
    else:
        told.tell(replace(impossible(answer), steps=steps), options)
    return IMPOSSIBLE if answer.decided else UNPROVEN


def _save(answer: Designed, path: Path) -> None:
    if path.suffix in (".lp", ".mps"):
        write_model(answer.program, path)
    else:
        answer.report.formula.write(path)
