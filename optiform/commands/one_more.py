"""optiform design --one-more: which one ingredient that is out of stock would help most."""

import argparse

from optiform.brief.brief import Brief
from optiform.commands import ANSWERED
from optiform.commands import tell as told
from optiform.design.one_more import one_more
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling.json.one_more import one_more as one_more_json
from optiform.telling.one_more import one_more as one_more_told


def tell_one_more(brief: Brief, options: argparse.Namespace) -> int:
    """Print what one purchase would do.

    Raises:
        BadInput: `--write`, which would save nothing.
    """
    if options.write:
        words = "--write cannot stand beside --one-more: that designs nothing new to be saved."
        raise BadInput([Fault(COMMAND_LINE, "--write", str(options.write), "one of the two", words)])
    answer = one_more(brief)
    told.answer(one_more_told(answer), options, lambda: one_more_json(answer))
    return ANSWERED
