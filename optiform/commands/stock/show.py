"""optiform stock: what is owned, what expires, what is short."""

import argparse
import datetime

from optiform import jsonform
from optiform.commands import ANSWERED
from optiform.commands.common import print_json, quantity
from optiform.commands.place import open_workshop
from optiform.faults import BadInput, Fault
from optiform.jobs.stock import stock
from optiform.plain import stock as plain


def run(options: argparse.Namespace) -> int:
    """Print the state of the shelf."""
    kg = quantity(options.batch, "--batch", "kg") if options.batch is not None else None
    if options.days < 0:
        raise BadInput([Fault("command line", "--days", str(options.days), "0 days or more")])
    with open_workshop(options) as workshop:
        found = stock(workshop.read_all(), datetime.date.today(), options.days, kg)
    print_json({"status": "stock", **jsonform.data(found)}) if options.json else print(plain.stock(found))
    return ANSWERED
