"""An option of an answer, taken along as a formula."""

import argparse
from collections.abc import Mapping

from optiform.brief.brief import Brief
from optiform.commands.files import write_formula
from optiform.ingredients.formula import Formula
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.parts import Step
from optiform.telling.steps import draft_of_label, free, line


def write_option(options: argparse.Namespace, formulas: Mapping[str, Formula], first: str) -> None:
    """Save the option that `--option` names, `first` where it names none, where `--write` names a file.

    Raises:
        BadInput: an option that this answer has not.
    """
    if not options.write:
        return
    name = options.option or first
    if name not in formulas:
        names = ", ".join(formulas) or "none: this answer has no options"
        raise BadInput([Fault(COMMAND_LINE, "--option", repr(name) if name else "nothing", f"one of: {names}")])
    write_formula(options, formulas[name])


def onward(options: argparse.Namespace, brief: Brief, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """What can be done next; where an option was saved, what goes on with its file instead of how to save one."""
    if not options.write:
        return steps
    taken = (
        Step(
            "The sheet to make it by",
            line("batch", options.write, "--brief", options.brief, "--html", free("sheet.html")),
        ),
        *draft_of_label(brief, options.brief, options.write),
    )
    return (*taken, *(step for step in steps if "--write" not in step.command))
