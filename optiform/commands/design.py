"""optiform design: the best formula that meets a brief."""

import argparse
from functools import partial

from optiform.commands.common import on_readings
from optiform.commands.files import check_names, write_formula, write_program
from optiform.commands.shown import show
from optiform.commands.tell import again
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.telling.steps import after_design, after_impossible


def run(options: argparse.Namespace) -> int:
    """Design and print; `--write` comes first: if the file cannot be written, only that is told."""
    brief, _ = on_readings(options)
    check_names(options)
    if options.why_not:
        from optiform.commands.why_not import tell_why_not  # what this answer does not use is not loaded

        return tell_why_not(brief, options)
    if options.one_more:
        from optiform.commands.one_more import tell_one_more  # as above

        return tell_one_more(brief, options)
    whole = options.all or options.part or options.json or options.html  # the short telling says less of prices
    answer = design(brief, options.solver, "whole" if whole else "savings")
    if isinstance(answer, NoFormula):
        return show(answer, options, after_impossible(options.brief))
    _save(options, answer.settled())  # where a proof of its prices does not check no file is written
    steps = after_design(brief, answer.formula, options.brief, options.write, again(options))
    return show(answer, options, steps)


def _save(options: argparse.Namespace, answer: Designed) -> None:
    if options.write and options.write.suffix in (".lp", ".mps"):
        from optiform.program.stated import write_model

        write_program(options, partial(write_model, answer.program))
    else:
        write_formula(options, answer.report.formula)
