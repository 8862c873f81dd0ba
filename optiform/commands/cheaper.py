"""optiform cheaper: today's formula at less cost."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.arguments.options import read
from optiform.commands.common import on_readings
from optiform.commands.files import check_names
from optiform.commands.options import onward, write_option
from optiform.commands.progress import progress
from optiform.commands.tell import again, answer
from optiform.design.cheaper import cheaper
from optiform.telling import cheaper as words
from optiform.telling.json.options import cheaper as as_json

READS = True  # its options, of which one is money, when it knows the brief's currency


def run(options: argparse.Namespace) -> int:
    """Find the options and print them."""
    brief, fitted = on_readings(options)
    check_names(options)
    read(options, currency=brief.currency).finish()
    with progress("changed lines tried", options.json) as shown:
        result = cheaper(
            brief,
            least_saving=options.saving,
            most_change=options.most_change,
            new_ingredients=not options.no_new,
            solver=options.solver,
            progress=shown,
        )
    formulas = {str(number): choice.report.formula for number, choice in enumerate(result.rungs, 1)}
    write_option(options, formulas, str(words.rewarding(result)) if formulas else "")
    telling = words.cheaper(result, fitted)
    steps = words.steps(result, again(options))
    answer(replace(telling, steps=onward(options, brief, steps)), options, lambda: as_json(result, fitted))
    if result.impossible is not None:
        return IMPOSSIBLE if result.decided else UNPROVEN
    return ANSWERED if result.rungs or result.decided else UNPROVEN
