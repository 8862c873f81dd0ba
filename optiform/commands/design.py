"""optiform design: the best formula that meets a brief."""

import argparse
from functools import partial
from pathlib import Path

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_formula
from optiform.design.answer import Designed, Impossible
from optiform.design.design import design
from optiform.program.solver import write_model
from optiform.telling import json as jsonform
from optiform.telling.design import designed, impossible


def run(options: argparse.Namespace) -> int:
    """Design and print; `--write` comes first: if the file cannot be written, only that is told."""
    brief = read_brief(options.brief)
    check_names(options)
    answer = design(brief, options.solver)
    if isinstance(answer, Designed):
        write_formula(options, partial(_save, answer))
    return show(answer, options.json)


def show(answer: Designed | Impossible, as_json: bool) -> int:
    """Print an answer; the exit code says whether there is one."""
    if isinstance(answer, Designed):
        print_json(jsonform.designed(answer)) if as_json else print(designed(answer))
        return ANSWERED
    print_json(jsonform.impossible(answer)) if as_json else print(impossible(answer))
    return IMPOSSIBLE if answer.decided else UNPROVEN


def _save(answer: Designed, path: Path) -> None:
    if path.suffix in (".lp", ".mps"):
        write_model(answer.program, path)
    else:
        answer.report.formula.write(path)
