"""What does not go together in a formula, by the very rules that `design` keeps."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.review.answer import ABOUT, FormulaWarning
from optiform.review.facts import Clash, DryEnough, NoCommonPh
from optiform.review.measures import Setting, measure
from optiform.rules.acidity import Window, windows_of
from optiform.rules.chemistry import Chemistry, chemistry, eithers
from optiform.rules.forms import LEVELS, Bound, Either, Rule

#: Water activity below which microbes do not grow: a criterion of ISO 29621, read at a test institute.
DRY = 0.75
WATER_NEEDS = "water-needs-preservative"
#: What decides whether a rule applies rather than what breaks it: named only where nothing else is at fault.
CONDITIONS = ("water", "oil")


def clashes(formula: Formula, setting: Setting) -> list[FormulaWarning]:
    """A warning of every rule that a formula breaks; what says less of the same lines than another is left out.

    A rule that the brief overrules is told as a note that says so. What asks for acid or alkali is left out where no pH
    suits what it asks it for.
    """
    items = [line.ingredient for line in formula.lines if line.fraction > 0]
    area = setting.scope.area if setting.scope else ""
    rules = eithers(items, setting.kind, setting.ph, (), LEVELS, setting.exposure, area)
    broken = [either for either in rules if either.broken(formula)]
    warnings = [(either.rule, _warning(either, formula, setting)) for either in broken]
    return [own for rule, own in warnings if not any(_covers(*other, rule, own) for other in warnings)]


def _covers(graver: Rule, other: FormulaWarning, rule: Rule, warning: FormulaWarning) -> bool:
    """Whether a graver rule speaks of the same lines; overruled, or softened to a question, it does so too."""
    above = LEVELS.index(graver.level) < LEVELS.index(rule.level)
    same = other.about == warning.about and set(warning.lines) <= set(other.lines)
    return same and (above or (graver.level == rule.level and _of_ph(graver) and not _of_ph(rule)))


def _of_ph(rule: Rule) -> bool:
    """Whether a rule is that all of a formula bears one pH."""
    return rule.id.startswith("acidity-")


def _warning(either: Either, formula: Formula, setting: Setting) -> FormulaWarning:
    rule = either.rule
    if _of_ph(rule):
        return _overruled(_acidity(either, formula, setting), setting)
    lines = at_fault(either, formula)
    clash = Clash(rule, row_of(rule.id).figures, lines, tuple(_amounts(either, formula)))
    about = next(word for word in ABOUT if word == rule.about)
    warning = FormulaWarning(about, rule.level, clash, rule.id, lines, rule.evidence, rule.source)
    return _overruled(_dry(warning, formula, setting) if rule.id == WATER_NEEDS else warning, setting)


@cache
def row_of(rule: str) -> Chemistry:
    """The row of chemistry.csv of this id."""
    return next(row for row in chemistry() if row.rule.id == rule)


def at_fault(either: Either, formula: Formula) -> tuple[str, ...]:
    """The lines of a formula that break a rule.

    What there is too much of; of a need, what there is too little of; what only makes a rule apply, as water does,
    where there is nothing else.
    """
    missed = [bound for way in either.ways for bound in way if not bound.met(formula)]
    much = [bound for bound in missed if bound.side == "high"]
    groups = (
        [bound for bound in much if not bound.words.startswith(CONDITIONS)],
        [bound for bound in missed if bound.side == "low"],
        much,
    )
    return next(filter(None, (_lines(group, formula) for group in groups)), ())


def _amounts(either: Either, formula: Formula) -> list[tuple[str, float]]:
    """How much there is of what is too much, in % of the whole."""
    over = (bound for way in either.ways for bound in way if bound.side == "high" and not bound.met(formula))
    plain = [bound for bound in over if bound.target]  # one that is relative to another quantity has no amount here
    return [(_there(bound.words.rpartition(" at most ")[0], formula), 100 * bound.value(formula)) for bound in plain]


def _there(words: str, formula: Formula) -> str:
    """What there is too much of, where a rule names several substances only those that the formula has."""
    has = {part.inci for line in formula.lines if line.fraction > 0 for part in line.ingredient.constituents}
    return " and ".join(name for name in words.split(" or ") if name in has) or words


def _lines(bounds: Sequence[Bound], formula: Formula) -> tuple[str, ...]:
    names = {name for bound in bounds for name, weight in bound.weights if weight > 0}
    used = (line.ingredient.name for line in formula.lines if line.fraction > 0)
    return tuple(name for name in dict.fromkeys(used) if name in names)


def _overruled(warning: FormulaWarning, setting: Setting) -> FormulaWarning:
    """A warning whose rule the brief overrules weighs no more than a note."""
    ids = {warning.rule, "acidity"} if warning.rule.startswith("acidity-") else {warning.rule}
    return warning if ids.isdisjoint(setting.overrule) else replace(warning, level="note", overruled=True)


def _dry(warning: FormulaWarning, formula: Formula, setting: Setting) -> FormulaWarning:
    """A product in which microbes find too little free water is asked about, not stopped, if no wet hand reaches it."""
    activity = measure(find_property("water activity", ""), Mix.of(formula), fractions(formula)).value
    if activity is None or activity >= DRY or setting.wet_fingers:
        return warning
    return replace(warning, level="note", fact=DryEnough(activity, DRY))


# -- acidity -----------------------------------------------------------------------------------------------------------


def _acidity(either: Either, formula: Formula, setting: Setting) -> FormulaWarning:
    windows = list(_narrow(formula, setting))
    lines = tuple(dict.fromkeys(name for name, _ in windows))
    fact = NoCommonPh(setting.ph, tuple(dict.fromkeys(window for _, window in windows)))
    evidence = Evidence.weakest(window.evidence for _, window in windows)
    sources = "; ".join(dict.fromkeys(window.source for _, window in windows if window.source))
    return FormulaWarning("acidity", either.rule.level, fact, either.rule.id, lines, evidence, sources)


def _narrow(formula: Formula, setting: Setting) -> Iterator[tuple[str, Window]]:
    """The lines whose windows keep the others from one pH: outside the brief's, else the ends that do not meet."""
    pairs = [
        (line.ingredient.name, w) for line in formula.lines if line.fraction > 0 for w in windows_of(line.ingredient)
    ]
    if setting.ph is not None:
        yield from (pair for pair in pairs if not pair[1].reaches(setting.ph, setting.ph))
        return
    low, high = max(w.low for _, w in pairs), min(w.high for _, w in pairs)
    yield from (pair for pair in pairs if low in (pair[1].low,) or high == pair[1].high)
