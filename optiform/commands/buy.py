"""optiform buy: which packs to buy."""

import argparse
from collections.abc import Sequence

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.files import check_names
from optiform.commands.planned import NOTHING, plan_of, stock
from optiform.commands.progress import progress
from optiform.commands.tell import answer
from optiform.costs.buy import Purchases, buy
from optiform.costs.cliffs import cliffs
from optiform.costs.plan import Plan
from optiform.reading.faults import COMMAND_LINE, Inspection
from optiform.telling.buy import buy as buy_told
from optiform.telling.cliffs import cliffs as cliffs_told
from optiform.telling.json.buy import buy as as_json
from optiform.telling.json.cliffs import cliffs as cliffs_json
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf


def run(options: argparse.Namespace) -> int:
    """Choose the packs and print them."""
    plan, inspection = plan_of(options), Inspection(COMMAND_LINE)
    offers, lots = inspection.given(lambda: stock(plan, options), NOTHING)
    inspection.given(lambda: check_names(options), None)
    inspection.finish()
    if options.cliffs:
        return _cliffs(plan, offers, lots, options)
    purchases = buy(plan, offers, lots, options.solver)
    possible = isinstance(purchases, Purchases)
    telling = buy_told(purchases)
    answer(telling, options, lambda: as_json(purchases))
    return ANSWERED if possible else IMPOSSIBLE


def _cliffs(plan: Plan, offers: Sequence[Offer], lots: Sequence[OnShelf], options: argparse.Namespace) -> int:
    """What the last jars cost; stopped, as far as it came."""
    with progress("jars left out", options.json) as shown:
        steps = cliffs(plan, offers, lots, options.solver, shown)
    telling = cliffs_told(steps)
    answer(telling, options, lambda: cliffs_json(steps))
    return ANSWERED
