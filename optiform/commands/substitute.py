"""optiform substitute: what replaces an ingredient of today's formula."""

import argparse
from dataclasses import replace

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, share
from optiform.commands.files import check_names, write_told
from optiform.commands.options import check_option, write_option
from optiform.commands.progress import progress
from optiform.commands.tell import line, tell
from optiform.design.substitute import substitute
from optiform.telling import json as jsonform
from optiform.telling import substitute as words


def run(options: argparse.Namespace) -> int:
    """Rank the replacements and print them."""
    brief = read_brief(options.brief)
    check_names(options)
    check_option(options)
    follow = share(options.follow, "--follow")
    with progress("blends judged", options.json) as shown:
        answer = substitute(brief, options.missing, blend=options.blend, follow=follow, progress=shown)
    write_option(options, {str(number): choice.formula for number, choice in enumerate(answer.swaps, 1)}, "1")
    telling = words.substitute(answer)
    write_told(options, telling)
    if options.json:
        print_json(jsonform.data(answer))
    else:
        tell(replace(telling, steps=words.steps(answer, line(options))), options)
    return ANSWERED
