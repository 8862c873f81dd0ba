"""optiform range: formulas and packs for several products on one shelf, chosen together."""

import argparse
from dataclasses import replace

from optiform.commands import ANSWERED, IMPOSSIBLE
from optiform.commands.files import check_names
from optiform.commands.options import check_option, write_option
from optiform.commands.planned import stock
from optiform.commands.progress import progress
from optiform.commands.tell import again, answer
from optiform.costs.plan import read_plan
from optiform.design.range import RangeAnswer, range_design
from optiform.telling import range as words
from optiform.telling.json.range import range_design as as_json


def run(options: argparse.Namespace) -> int:
    """Choose formulas and packs and print them."""
    plan = read_plan(options.plan, formulas=False)
    offers, lots = stock(plan, options)
    check_names(options)
    check_option(options)
    with progress("programs solved", options.json) as shown:
        result = range_design(plan, offers, lots, options.seconds, shown)
    telling = words.range_design(result)
    if isinstance(result, RangeAnswer):
        formulas = {each.product.name: each.product.formula for each in result.products}
        write_option(options, formulas, words.most_changed(result))
        telling = replace(telling, steps=words.steps(result, again(options)))
    answer(telling, options, lambda: as_json(result), telling.title)
    return ANSWERED if isinstance(result, RangeAnswer) else IMPOSSIBLE
