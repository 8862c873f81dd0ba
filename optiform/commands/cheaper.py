"""optiform cheaper: today's formula at less cost."""

import argparse
from dataclasses import replace

from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.arguments.options import read
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_chart, write_table
from optiform.commands.progress import progress
from optiform.design.cheaper import Ladder, cheaper
from optiform.telling import around
from optiform.telling import json as jsonform
from optiform.telling.charts import solid_fat_chart

READS = True  # its options, of which one is money, when it knows the brief's currency


def run(options: argparse.Namespace) -> int:
    """Climb the ladder and print it."""
    brief = read_brief(options.brief)
    check_names(options)
    read(options, currency=brief.currency).finish()
    with progress("changed lines tried", options.json) as shown:
        found = cheaper(
            brief,
            least_saving=options.saving,
            most_change=options.most_change,
            new_ingredients=not options.no_new,
            solver=options.solver,
            progress=shown,
        )
    write_table(options, _rows(found))
    formulas = [found.today.formula, *(replace(rung.report.formula, name="new") for rung in found.rungs[-1:])]
    write_chart(options, lambda path: solid_fat_chart(path, formulas))
    print_json(_plain(found)) if options.json else print(around.cheaper(found))
    if found.impossible is not None:
        return IMPOSSIBLE if found.decided else UNPROVEN
    return ANSWERED if found.rungs or found.decided else UNPROVEN


def _plain(found: Ladder) -> jsonform.Data:
    return jsonform.impossible(found.impossible) if found.impossible else jsonform.data(found)


def _rows(found: Ladder) -> list[list[object]]:
    rows: list[list[object]] = [["lines changed", "cost per kg", "saving per kg", "ingredient", "before %", "after %"]]
    for rung in found.rungs:
        rows += [[rung.lines, rung.cost, rung.saving, m.ingredient, m.before, m.after] for m in rung.moves]
    return rows
