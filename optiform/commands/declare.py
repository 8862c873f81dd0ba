"""optiform declare: a draft of the label's ingredient list."""

import argparse
from dataclasses import replace

from optiform.brief.brief import Brief, titled
from optiform.commands import ANSWERED
from optiform.commands.common import setting
from optiform.commands.files import check_names
from optiform.commands.tell import answer
from optiform.ingredients.formula import Basis, read_formula
from optiform.label.declare import declare
from optiform.label.net_content import stated_or_jar
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.rules.law import MARKETS
from optiform.telling.declare import declaration
from optiform.telling.json.label import declared


def run(options: argparse.Namespace) -> int:
    """Draft the declaration for one market, print it and save what was asked for."""
    # A market beside a brief picks one; what else a brief says, it says itself.
    asked = [options.market] if options.market and not options.brief else []
    brief, _, catalogue, looked_for = setting(argparse.Namespace(**{**vars(options), "market": asked}), figures=False)
    assert looked_for.scope is not None
    market = _market(options.market, brief)
    reading = read_formula(options.formula, catalogue, Basis(options.basis) if options.basis else None)
    check_names(options)
    scope = replace(looked_for.scope, markets=(market,))
    net = stated_or_jar(options.net, brief, market, (COMMAND_LINE, "--net"))
    draft = declare(titled(reading.formula, brief), scope, net, reading.notes, looked_for)
    telling = declaration(draft, catalogue.sources)
    answer(telling, options, lambda: declared(draft))
    return ANSWERED


def _market(given: str | None, brief: Brief | None) -> str:
    """The market asked for, else the only one of the brief: each has its own rules, so none is guessed."""
    known = f"one of: {', '.join(MARKETS)}"
    if given:
        return given
    markets = brief.scope.markets if brief else ()
    if len(markets) == 1:
        return markets[0]
    expected = f"one of the brief's: {', '.join(markets)}" if markets else known
    raise BadInput([Fault(COMMAND_LINE, "--market", "nothing", expected)])
