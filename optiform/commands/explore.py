"""optiform explore: what a limit costs over its range, what is nearly as good, what if prices or figures are wrong."""

import argparse
from collections.abc import Callable, Iterator
from typing import Any

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import print_json, share
from optiform.commands.files import check_names, write_chart, write_table
from optiform.commands.progress import progress
from optiform.design.answer import Impossible
from optiform.design.explore import Alternatives, TradeOff, alternatives, explore_limit
from optiform.design.price_moves import PriceUncertainty, price_uncertainty
from optiform.design.protect import Protected, protect
from optiform.reading.faults import BadInput, Fault, Inspection
from optiform.telling import explore as plain
from optiform.telling import json as jsonform
from optiform.telling.charts import trade_off_chart
from optiform.telling.impossible import impossible
from optiform.telling.terminal import terminal

POINTS = 200  # of a drawn curve; its break points are drawn exactly


def run(options: argparse.Namespace) -> int:
    """Do what is asked for, alternatives if nothing is, and print all of it."""
    brief = read_brief(options.brief)
    check_names(options)
    found: dict[str, Any] = {}
    for name, work in list(_asked(brief, options)):
        found[name] = work()
    write_table(options, [row for each in found.values() for row in _rows(each)])
    curve = found.get("trade_off")
    if options.chart and not isinstance(curve, TradeOff):
        raise BadInput([Fault("command line", "--chart", "no curve", "--limit with --from and --to")])
    write_chart(options, lambda path: _draw(path, curve))
    if options.json:
        print_json({"status": _status(found), **{name: jsonform.data(each) for name, each in found.items()}})
    else:
        print("\n\n\n".join(_text(each) for each in found.values()))
    return {"explored": ANSWERED, "infeasible": IMPOSSIBLE, "undecided": UNPROVEN}[_status(found)]


def _status(found: dict[str, Any]) -> str:
    none = [each for each in found.values() if isinstance(each, Impossible)]
    if any(not each.decided for each in none):
        return "undecided"
    return "infeasible" if none else "explored"


def _asked(brief: Brief, options: argparse.Namespace) -> Iterator[tuple[str, Callable[[], Any]]]:
    inspection = Inspection("command line")
    spread = inspection.given(lambda: share(options.prices, "--prices") if options.prices else 0.0, 0.0)
    percent = inspection.given(lambda: 100 * share(options.within or "2 %", "--within"), 0.0)
    if options.limit and (options.start is None or options.end is None):
        inspection.fault("--limit", options.limit, "--from and --to beside it")
    if options.chart and not options.limit:
        inspection.fault("--chart", "no curve", "--limit with --from and --to")
    inspection.finish()
    if options.limit:
        yield "trade_off", lambda: explore_limit(brief, options.limit, options.side, options.start, options.end)
    if options.prices:
        yield "prices", lambda: _prices(brief, spread, options)
    if options.protect is not None:
        budget = None if options.protect < 0 else options.protect
        yield "protected", lambda: protect(brief, budget, options.solver)
    if options.within or not (options.limit or options.prices or options.protect is not None):
        yield "alternatives", lambda: alternatives(brief, percent)


def _prices(brief: Brief, spread: float, options: argparse.Namespace) -> PriceUncertainty | Impossible:
    with progress("price lists tried", options.json) as shown:
        return price_uncertainty(brief, spread, options.scenarios, options.seed, progress=shown, solver=options.solver)


def _text(found: Any) -> str:
    if isinstance(found, TradeOff):
        return plain.trade_off(found)
    if isinstance(found, Alternatives):
        return plain.alternatives(found)
    if isinstance(found, PriceUncertainty):
        return plain.price_uncertainty(found)
    return plain.protected(found) if isinstance(found, Protected) else terminal(impossible(found))


def _draw(path: Any, found: Any) -> None:
    start, end = found.fits or found.asked
    targets = sorted(
        {*(start + (end - start) * k / POINTS for k in range(POINTS + 1)), *(c.target for c in found.corners)}
    )
    curve = {at: found.value_at(at) for at in targets if start <= at <= end}
    points = {corner.target: corner.value for corner in found.corners}
    unit = "" if found.unit == "-" else f", {found.unit}"
    trade_off_chart(path, f"{found.words}{unit}", found.value_unit, curve, points, found.today)


def _rows(found: Any) -> Iterator[list[object]]:
    if isinstance(found, TradeOff):
        yield [found.words, found.value_unit, "ingredient", "% of the whole"]
        for corner in found.corners:
            for line in corner.formula.lines:
                yield [corner.target, corner.value, line.ingredient.name, 100 * line.fraction]
    elif isinstance(found, Alternatives):
        yield ["ingredient", "least %", "best %", "most %"]
        yield from ([row.ingredient, row.low, row.best, row.high] for row in found.leeway)
    elif isinstance(found, PriceUncertainty):
        yield ["formula", "cheapest in %", "typical cost", "mean regret", "95 % regret"]
        for number, rival in enumerate(found.rivals, 1):
            yield [number, 100 * rival.share, rival.typical, rival.regret, rival.regret_95]
    elif isinstance(found, Protected):
        yield ["limit", "typical", "at worst", "unprotected at worst"]
        for each in found.limits:
            yield [each.demand.words, each.value, each.worst, each.before]
