"""optiform completion: the script that lets a shell complete commands, options and files."""

import argparse

from optiform.commands import ANSWERED
from optiform.commands.arguments.completion import script
from optiform.commands.common import print_json
from optiform.reading.plain import answered


def run(options: argparse.Namespace) -> int:
    """Print the script for one shell."""
    text = script(options.shell, options.commands)
    print_json(answered("written", language=options.shell, script=text)) if options.json else print(text)
    return ANSWERED
