"""optiform explore: what a limit costs over its range, what is nearly as good, what if prices or figures are wrong."""

import argparse
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.arguments.options import read
from optiform.commands.common import on_readings, print_json
from optiform.commands.files import check_names, write_chart, write_page, write_table
from optiform.commands.progress import progress
from optiform.commands.tell import again, tell
from optiform.design.alternatives import alternatives
from optiform.design.answer import NoFormula
from optiform.design.explore import TradeOff, explore_limit
from optiform.design.price_lists import for_all_prices
from optiform.design.price_moves import PriceUncertainty, price_uncertainty
from optiform.design.protect import protect
from optiform.design.stepped import Stepped
from optiform.design.unlike import unlike
from optiform.ingredients.price_lists import read_price_lists
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault
from optiform.telling import explore as words
from optiform.telling.charts import trade_off_chart
from optiform.telling.document import document
from optiform.telling.drawing import write
from optiform.telling.json.explore import Explored, explored

READS = True  # its options itself, together with what they lack beside them
EVERY = -1  #: `--protect` alone: every figure may be wrong
#: Options that say what to explore, each with how many words follow it.
EXPLORED = dict.fromkeys(
    ("--within", "--limit", "--side", "--from", "--to", "--prices", "--scenarios", "--seed", "--unlike"), 1
)


def run(options: argparse.Namespace) -> int:
    """Do what is asked for, alternatives if nothing is, and print all of it."""
    brief, fitted = on_readings(options)
    check_names(options)
    answers = {name: work() for name, work in list(_wanted(brief, options))}
    several = tuple(answers.values())
    rows = [row for table in words.tables_of(several) for row in ([c.words for c in table.columns], *table.rows)]
    write_table(options, rows)
    telling = words.explore(brief.title, several, fitted)
    write_page(options, lambda: document(telling))
    _write_curve(options, answers.get("trade_off"))
    if options.json:
        print_json(explored(_status(answers), brief.title, answers, fitted))
    else:
        steps = words.steps(several, again(options), again(options, {**EXPLORED, **_protect(options)}))
        tell(replace(telling, steps=steps), options)
    return {"explored": ANSWERED, "infeasible": IMPOSSIBLE, "undecided": UNPROVEN}[_status(answers)]


def _write_curve(options: argparse.Namespace, curve: Explored | None) -> None:
    if isinstance(curve, TradeOff | Stepped):
        write_chart(options, lambda path: write(trade_off_chart(curve), path))
    elif options.chart:
        raise BadInput([Fault(COMMAND_LINE, "--chart", "no curve", "--limit with --from and --to")])


def _protect(options: argparse.Namespace) -> dict[str, int]:
    """`--protect` with as many words as follow it."""
    return {"--protect": 0 if options.protect is None or options.protect == EVERY else 1}


def _status(answers: Mapping[str, Explored]) -> str:
    none = [answer for answer in answers.values() if isinstance(answer, NoFormula)]
    if any(not answer.decided for answer in none):
        return "undecided"
    return "infeasible" if none else "explored"


def _wanted(brief: Brief, options: argparse.Namespace) -> Iterator[tuple[str, Callable[[], Explored]]]:
    inspection = read(options)
    if options.limit and (options.start is None or options.end is None):
        words = f'--limit needs the range to look at: --limit "{options.limit}" --from 20 --to 30'
        inspection.fault("--limit", options.limit, "--from and --to beside it", words)
    if options.chart and not options.limit:
        inspection.fault("--chart", "no curve", "--limit with --from and --to")
    inspection.finish()
    if options.limit:
        yield "trade_off", lambda: _limit(brief, options)
    if options.prices is not None:
        yield "prices", lambda: _prices(brief, options)
    if options.protect is not None:
        budget = None if options.protect == EVERY else options.protect
        yield "protected", lambda: protect(brief, budget, options.solver)
    if options.unlike is not None:
        yield "unlike", lambda: unlike(brief, options.unlike, options.solver)
    within = 0.02 if options.within is None else options.within
    if options.price_lists:
        lists = read_price_lists(options.price_lists, brief.catalogue, brief.currency)
        yield "price_lists", lambda: for_all_prices(brief, lists, within, options.solver)
    elif options.within is not None or not _asked(options):
        yield "alternatives", lambda: alternatives(brief, 100 * within)


def _asked(options: argparse.Namespace) -> bool:
    """Whether anything is asked for by name."""
    numbers = (options.prices, options.protect, options.unlike)
    return bool(options.limit) or any(number is not None for number in numbers)


def _limit(brief: Brief, options: argparse.Namespace) -> TradeOff | Stepped | NoFormula:
    with progress("targets tried", options.json) as shown:
        return explore_limit(brief, options.limit, options.side, options.start, options.end, progress=shown)


def _prices(brief: Brief, options: argparse.Namespace) -> PriceUncertainty | NoFormula:
    with progress("price lists tried", options.json) as shown:
        return price_uncertainty(
            brief, options.prices, options.scenarios, options.seed, progress=shown, solver=options.solver
        )
