"""optiform check: the report on a formula that exists."""

import argparse
from dataclasses import replace
from functools import partial

from optiform.commands import ANSWERED, watch
from optiform.commands.common import setting
from optiform.commands.files import check_names
from optiform.commands.tell import again, answer
from optiform.ingredients.formula import Basis
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.reading.paths import is_folder
from optiform.review.check import check, check_against
from optiform.telling import json as jsonform
from optiform.telling.check import checked
from optiform.telling.steps import after_check


def run(options: argparse.Namespace) -> int:
    """Check and print."""
    if options.on is not None:
        return watch.run(options)
    if is_folder(options.formula):
        expected = "a formula, or a folder with --on and a day"
        raise BadInput([Fault(COMMAND_LINE, str(options.formula), "a folder", expected)])
    brief, _, catalogue, looked_for = setting(options)
    check_names(options)
    basis: Basis | None = Basis(options.basis) if options.basis else None
    if brief is not None:
        looked_at = check_against(options.formula, brief, basis)
    else:
        looked_at = check(options.formula, catalogue, looked_for, basis)
    steps = after_check(options.formula, options.brief, brief, again(options))
    telling = replace(checked(looked_at, looked_for), steps=steps)
    data = partial(jsonform.checked, looked_at, looked_for.currency, looked_for.batch or 1.0)
    answer(telling, options, data)
    return ANSWERED
