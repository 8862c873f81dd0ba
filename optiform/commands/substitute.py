"""optiform substitute: what replaces an ingredient of today's formula."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED
from optiform.commands.common import on_readings
from optiform.commands.files import check_names
from optiform.commands.options import onward, write_option
from optiform.commands.progress import progress
from optiform.commands.tell import again, answer
from optiform.design.substitute import substitute
from optiform.telling import substitute as words
from optiform.telling.json.options import substitute as as_json


def run(options: argparse.Namespace) -> int:
    """Rank the replacements and print them."""
    brief, fitted = on_readings(options)
    check_names(options)
    with progress("blends judged", options.json) as shown:
        result = substitute(brief, options.missing, blend=options.blend, follow=options.follow, progress=shown)
    write_option(options, {str(number): choice.formula for number, choice in enumerate(result.swaps, 1)}, "1")
    telling = words.substitute(result, fitted)
    steps = words.steps(result, again(options))
    answer(replace(telling, steps=onward(options, brief, steps)), options, lambda: as_json(result, fitted))
    return ANSWERED
