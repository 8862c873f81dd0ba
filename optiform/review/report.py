"""Looking at one formula from every side: properties, law, warnings, cautions."""

from dataclasses import fields, is_dataclass
from itertools import takewhile

from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, fractions
from optiform.reading.frozen import frozen
from optiform.review.answer import FormulaWarning, Measured, Report
from optiform.review.cautions import cautions
from optiform.review.law import broken, rule_checks, statements, unjudged_parts, unjudged_warnings
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
    stated = tuple(statements(mix, x, setting.scope)) if setting.scope and markets else ()
    lines = tuple(lines_off(formula, setting))
    asked = (*measured, *lines)
    every = dict.fromkeys([*broken(checks), *unjudged_warnings(open_points), *warnings(formula, asked, setting)])
    cautioned = tuple(cautions(mix, x, setting.scope, setting.kind))
    unlike = {item.name: why for item in mix.ingredients if (why := ruled_out(setting.kind, item))}
    return Report(
        formula,
        measured,
        checks,
        tuple(every),
        cautioned,
        markets,
        open_points,
        lines,
        tuple(unlike.items()),
        stated,
    )


@frozen
class Compliance:
    """What a formula keeps of what is asked of it, without all else that there is to say of it.

    Attributes:
        measures: the limited properties, in the brief's order.
        lines: the ingredients of which there is not as much as the brief says.
        breaks_law: whether a rule of law or a certificate is broken.
    """

    measures: tuple[Measured, ...]
    lines: tuple[Measured, ...]
    breaks_law: bool


def compliance(formula: Formula, setting: Setting) -> Compliance:
    """What a formula keeps of a setting's limits, lines and law, as its report says it.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> compliance(mixed({"olive oil": 97, "beeswax": 3}), Setting())
        Compliance(measures=(), lines=(), breaks_law=False)
    """
    mix, x = Mix.of(formula), fractions(formula)
    limited = takewhile(lambda measured: measured.limited, measures(mix, x, setting))
    checks = rule_checks(mix, x, setting.scope) if setting.scope else ()
    return Compliance(
        tuple(limited), tuple(lines_off(formula, setting)), any(rule.hard and not rule.kept for rule in checks)
    )


def new_warnings(now: Report, before: Report) -> tuple[FormulaWarning, ...]:
    """Warnings that a changed formula has and the one before had not; another figure in one is no new warning."""
    known = {coarse(warning.fact) for warning in before.warnings}
    return tuple(warning for warning in now.warnings if coarse(warning.fact) not in known)


def coarse(value: object, digits: int = 0) -> object:
    """What a warning says, or a part of it, with its figures to so many digits, or without them.

    Example:
        >>> from optiform.review.facts import Short
        >>> [coarse(Short("salt", 1.2344, 0.5), digits)[2:] for digits in (3, 0)]
        [(1.23, 0.5), (None, None)]
    """
    if is_dataclass(value):
        return type(value), *(coarse(getattr(value, field.name), digits) for field in fields(value))
    if isinstance(value, tuple):
        return tuple(coarse(part, digits) for part in value)
    if isinstance(value, int | float):
        return float(f"{value:.{digits}g}") if digits else None
    return value
