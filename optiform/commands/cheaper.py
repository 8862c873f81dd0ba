"""optiform cheaper: today's formula at less cost."""

import argparse
from dataclasses import replace

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import amount, print_json, share
from optiform.commands.files import check_names, write_told
from optiform.commands.options import check_option, write_option
from optiform.commands.progress import progress
from optiform.commands.tell import line, tell
from optiform.design.cheaper import CheaperOptions, cheaper
from optiform.reading.faults import Inspection
from optiform.telling import cheaper as words
from optiform.telling import json as jsonform


def run(options: argparse.Namespace) -> int:
    """Find the options and print them."""
    brief = read_brief(options.brief)
    check_names(options)
    check_option(options)
    inspection = Inspection("command line")
    saving = inspection.given(lambda: amount(options.saving, "--saving", f"{brief.currency}/kg"), 0.0)
    change = inspection.given(lambda: share(options.most_change, "--most-change"), 1.0)
    inspection.finish()
    with progress("changed lines tried", options.json) as shown:
        answer = cheaper(
            brief,
            least_saving=saving,
            most_change=change,
            new_ingredients=not options.no_new,
            solver=options.solver,
            progress=shown,
        )
    formulas = {str(number): choice.report.formula for number, choice in enumerate(answer.rungs, 1)}
    write_option(options, formulas, str(words.rewarding(answer)) if formulas else "")
    telling = words.cheaper(answer)
    write_told(options, telling)
    if options.json:
        print_json(_plain(answer))
    else:
        tell(replace(telling, steps=words.steps(answer, line(options))), options)
    if answer.impossible is not None:
        return IMPOSSIBLE if answer.decided else UNPROVEN
    return ANSWERED if answer.rungs or answer.decided else UNPROVEN


def _plain(answer: CheaperOptions) -> jsonform.Data:
    return jsonform.impossible(answer.impossible) if answer.impossible else jsonform.data(answer)
