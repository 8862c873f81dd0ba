"""optiform texture: firmer or softer."""

import argparse
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.file import read_brief
from optiform.commands import ANSWERED, IMPOSSIBLE, UNPROVEN
from optiform.commands.common import print_json
from optiform.commands.files import check_names, write_chart, write_table
from optiform.design.around import today_of
from optiform.design.texture import Course, Texture, texture
from optiform.properties.firmness import ASSUMED, Exponents
from optiform.telling import around
from optiform.telling import json as jsonform
from optiform.telling.charts import solid_fat_chart
from optiform.trials.fit import exponents, fit
from optiform.workshop.log import records_from


def run(options: argparse.Namespace) -> int:
    """Find the courses and print them."""
    brief = read_brief(options.brief)
    check_names(options)
    found = texture(
        brief,
        step=options.step,
        temperature=options.at,
        free_emulsifier=options.free_emulsifier,
        cold_most=options.cold_most,
        hot_least=options.hot_least,
        known=_known(brief, options.workshop) if options.workshop else ASSUMED,
    )
    write_table(options, _rows(found))
    formulas = [found.today.formula, *(replace(course.formula, name=name) for name, course in _named(found)[:2])]
    write_chart(options, lambda path: solid_fat_chart(path, formulas))
    status, code = ("answered", ANSWERED) if found.reached else ("infeasible", IMPOSSIBLE)
    if not found.decided:
        status, code = "undecided", UNPROVEN
    print_json({"status": status, **jsonform.data(found)}) if options.json else print(around.texture(found))
    return code


def _known(brief: Brief, place: str) -> Exponents:
    """The scale as the trials of a workshop fit it; the brief's reference is 100."""
    return exponents(fit(records_from(place), brief.catalogue, today_of(brief)))


def _named(found: Texture) -> list[tuple[str, Course]]:
    if found.season is not None:
        return [("winter", found.season.winter), ("summer", found.season.summer)]
    return [(f"course {number}", course) for number, course in enumerate(found.courses, 1)]


def _rows(found: Texture) -> list[list[object]]:
    rows: list[list[object]] = [["course", "ingredient", "before %", "after %"]]
    for name, course in _named(found):
        rows += [[name, move.ingredient, move.before, move.after] for move in course.moves]
        rows += [
            [name, f"firmness at {at:g} degC", found.before[at].typical, b.typical] for at, b in course.firmness.items()
        ]
    return rows
