"""Looking at one formula from every side: properties, law, warnings, cautions."""

import re

from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, fractions
from optiform.review.answer import FormulaWarning, Report
from optiform.review.cautions import cautions
from optiform.review.law import broken, rule_checks, unjudged_parts, unjudged_warnings
from optiform.review.measures import Setting, lines_off, measures
from optiform.review.warnings import warnings
from optiform.rules.kinds import ruled_out


def report(formula: Formula, setting: Setting) -> Report:
    """Everything there is to say about a formula in a setting."""
    mix, x = Mix.of(formula), fractions(formula)
    measured = tuple(measures(mix, x, setting))
    checks = tuple(rule_checks(mix, x, setting.scope)) if setting.scope else ()
    markets = setting.scope.markets if setting.scope else ()
    open_points = tuple(unjudged_parts(mix, x, setting.scope)) if setting.scope and markets else ()
    lines = tuple(lines_off(formula, setting))
    asked = (*measured, *lines)
    every = dict.fromkeys([*broken(checks), *unjudged_warnings(open_points), *warnings(formula, asked, setting)])
    cautioned = tuple(cautions(mix, x, setting.scope, setting.kind))
    unjudged = tuple(point.what for point in open_points)
    unlike = {item.name: why for item in mix.ingredients if (why := ruled_out(setting.kind, item))}
    return Report(formula, measured, checks, tuple(every), cautioned, markets, unjudged, lines, tuple(unlike.items()))


def new_warnings(now: Report, before: Report) -> tuple[FormulaWarning, ...]:
    """Warnings that a changed formula has and the one before had not; another figure in one is no new warning."""
    known = {_figureless(warning.text) for warning in before.warnings}
    return tuple(warning for warning in now.warnings if _figureless(warning.text) not in known)


def _figureless(text: str) -> str:
    return re.sub(r"\d[\d.e+-]*", "#", text)
