"""optiform substitute: what replaces an ingredient of today's formula."""

import argparse

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_chart, write_table
from optiform.commands.progress import progress
from optiform.design.substitute import Substitutes, substitute
from optiform.telling import around
from optiform.telling import json as jsonform
from optiform.telling.charts import solid_fat_chart


def run(options: argparse.Namespace) -> int:
    """Rank the replacements and print them."""
    brief = read_brief(options.brief)
    check_names(options)
    with progress("blends judged", options.json) as shown:
        found = substitute(brief, options.missing, blend=options.blend, follow=options.follow, progress=shown)
    write_table(options, _rows(found))
    formulas = [found.today.formula, *(swap.formula for swap in found.swaps[:3])]
    write_chart(options, lambda path: solid_fat_chart(path, formulas))
    print_json(jsonform.data(found)) if options.json else print(around.substitutes(found))
    return ANSWERED


def _rows(found: Substitutes) -> list[list[object]]:
    head = ["replacement", "distance", "close", "cost per kg", "change per kg"]
    rows: list[list[object]] = [[*head, "property", "before", "after", "unit"]]
    for swap in found.swaps:
        words = " + ".join(f"{name} {percent:.2f} %" for name, percent in swap.parts)
        told = [words, swap.distance, swap.close, swap.cost, swap.cost_change]
        rows += [[*told, s.name, s.before, s.after, s.unit] for s in swap.shifts]
    return rows
