"""optiform range: formulas and packs for several products on one shelf, chosen together."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.common import by_readings
from optiform.commands.files import check_names
from optiform.commands.options import write_option
from optiform.commands.planned import NOTHING, plan_of, stock
from optiform.commands.progress import progress
from optiform.commands.tell import again, answer
from optiform.costs.file import OneOff, read_costs
from optiform.costs.plan import Plan
from optiform.design.planned import RangeAnswer
from optiform.design.range import range_design
from optiform.reading.faults import COMMAND_LINE, BadInput, Fault, Inspection
from optiform.telling import range as words
from optiform.telling.json.range import range_design as as_json


def run(options: argparse.Namespace) -> int:
    """Choose formulas and packs and print them."""
    plan, inspection = plan_of(options, formulas=False), Inspection(COMMAND_LINE)
    offers, lots = inspection.given(lambda: stock(plan, options), NOTHING)
    use_up = inspection.given(lambda: _known(plan, options.use_up) if options.use_up else "", "")
    once = inspection.given(lambda: _once(plan, options), tuple[OneOff, ...]())
    inspection.given(lambda: check_names(options), None)
    inspection.finish()
    plan = replace(
        plan, products=tuple(replace(x, brief=by_readings(x.brief, options.workshop)) for x in plan.products)
    )
    with progress("programs solved", options.json) as shown:
        result = range_design(plan, offers, lots, options.seconds, shown, use_up, options.common_base)
    telling = words.range_design(result, once)
    if isinstance(result, RangeAnswer):
        formulas = {each.product.name: each.product.formula for each in result.products}
        write_option(options, formulas, words.most_changed(result))
        telling = replace(telling, steps=words.steps(result, again(options), _longer(options)))
    answer(telling, options, lambda: as_json(result))
    return ANSWERED if isinstance(result, RangeAnswer) else IMPOSSIBLE


def _longer(options: argparse.Namespace) -> str:
    """The same command with ten times as long for each step of the search."""
    return f"{again(options, {'--seconds': 1})} --seconds {max(10 * options.seconds, 60):g}"


def _once(plan: Plan, options: argparse.Namespace) -> tuple[OneOff, ...]:
    """What is paid once for a formula, of the file of costs.

    Raises:
        BadInput: there is one and no common base is asked for, or it cannot be read.
    """
    if options.costs is None:
        return ()
    if not options.common_base:
        raise BadInput([Fault(COMMAND_LINE, "--costs", str(options.costs), "--common-base beside it")])
    return read_costs(options.costs, plan.products[0].brief.catalogue, plan.currency).one_offs


def _known(plan: Plan, name: str) -> str:
    """An ingredient as the catalogues of the plan name it.

    Raises:
        BadInput: none of them knows it.
    """
    catalogues = [product.brief.catalogue for product in plan.products]
    item = next((item for catalogue in catalogues if (item := catalogue.find(name))), None)
    if item is None:
        raise BadInput([Fault(COMMAND_LINE, "--use-up", name, catalogues[0].unknown(name))])
    return item.name
