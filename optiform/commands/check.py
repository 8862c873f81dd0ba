"""optiform check: the report on a formula that exists."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED
from optiform.commands.common import print_json, setting
from optiform.commands.tell import SETTING, line, tell
from optiform.ingredients.formula import Basis
from optiform.review.check import check, check_against
from optiform.telling import json as jsonform
from optiform.telling.check import checked
from optiform.telling.steps import after_check


def run(options: argparse.Namespace) -> int:
    """Check and print."""
    brief, catalogue, looked_for = setting(options)
    basis: Basis | None = Basis(options.basis) if options.basis else None
    if brief is not None:
        answer = check_against(options.formula, brief, basis)
    else:
        answer = check(options.formula, catalogue, looked_for, basis)
    if options.json:
        print_json(jsonform.checked(answer, looked_for.currency, looked_for.batch or 1.0))
    else:
        again = line(options, "check", ("FORMULA", "--basis", *SETTING))
        steps = after_check(options.formula, options.brief, again)
        tell(replace(checked(answer, looked_for), steps=steps), options)
    return ANSWERED
