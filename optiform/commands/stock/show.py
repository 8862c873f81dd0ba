"""optiform stock: what is owned, what expires, what is short."""

import argparse

from optiform.batch.on_hand import stock
from optiform.commands import ANSWERED
from optiform.commands.files import check_names
from optiform.commands.place import open_workshop
from optiform.commands.tell import answer
from optiform.reading import clock
from optiform.telling.json.records import stock as as_json
from optiform.telling.stock import stock as stock_told
from optiform.workshop.store import at_a_glance


def run(options: argparse.Namespace) -> int:
    """Print the state of the shelf."""
    check_names(options)
    with open_workshop(options) as workshop:
        records, held = workshop.look(at_a_glance)
    owned = stock(records, held, clock.today(), options.days, options.batch)
    answer(stock_told(owned), options, lambda: as_json(owned))
    return ANSWERED
