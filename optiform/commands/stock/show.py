"""optiform stock: what is owned, what expires, what is short."""

import argparse

from optiform.batch.on_hand import stock
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.place import open_workshop
from optiform.reading import clock
from optiform.telling import json as jsonform
from optiform.telling import stock as plain


def run(options: argparse.Namespace) -> int:
    """Print the state of the shelf."""
    with open_workshop(options) as workshop:
        found = stock(workshop.read_all(), clock.today(), options.days, options.batch)
    print_json({"status": "stock", **jsonform.data(found)}) if options.json else print(plain.stock(found))
    return ANSWERED
