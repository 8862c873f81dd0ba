"""What a formula meets anew: rules that begin after one day and by another, each looked at on its first day."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.properties.base import Mix, Vector, fractions
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable
from optiform.rules.allergens import allergens
from optiform.rules.duties import Duty, duties
from optiform.rules.law import HARD, Rule, Scope, counting
from optiform.rules.positive import Listing, Standing, changes, standings


@frozen
class Coming:
    """A rule that begins, and what it does to a formula.

    Attributes:
        day: its first day.
        effect: `breaks`, `label` (a statement or a name is due), `not known`, `advice` or `note`.
        about: a group of substances, a line as what it is bought for, or an `allergen` whose name is due.
        content: % of the whole, as the rule counts it; `limit` likewise, None where it has none.
    """

    day: datetime.date
    market: str
    effect: str
    about: str
    content: float
    limit: float | None
    reference: str
    evidence: Evidence
    note: str | Listing = ""
    id: str = ""
    allergen: bool = False


def coming(formula: Formula, scope: Scope, until: datetime.date) -> tuple[Coming, ...]:
    """Every rule that begins after the scope's day and by another and that touches the formula, by day.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> lotion = mixed({"water": 99, "dmdm hydantoin, 55 %": 1})
        >>> today = Scope("leave-on", "body", ("US-WA",), datetime.date(2026, 11, 26))
        >>> [(str(rule.day), rule.effect, rule.limit) for rule in coming(lotion, today, datetime.date(2027, 1, 2))]
        [('2027-01-01', 'breaks', 0.0)]
    """
    mix, x = Mix.of(formula), fractions(formula)
    begun = [*_limits(mix, x, scope, until), *_lists(mix, x, scope, until), *_names(mix, x, scope, until)]
    return tuple(sorted(begun, key=lambda rule: (rule.day, rule.market, rule.id, rule.about)))


def _limits(mix: Mix, x: Vector, scope: Scope, until: datetime.date) -> Iterator[Coming]:
    used = [item for item, share in zip(mix.ingredients, x, strict=True) if share > 0]
    for rule in counting(used):
        if rule.start and scope.date < rule.start <= until and rule.applies(replace(scope, date=rule.start)):
            content = float(rule.terms(mix).numerator @ x)
            if content > 0 and (effect := _effect(rule, mix, x, content)):
                yield Coming(
                    rule.start, rule.market, effect, rule.group, content, rule.limit, rule.reference, rule.evidence,
                    "; ".join(filter(None, (rule.words and f'"{rule.words}"', rule.note))), rule.id,
                )  # fmt: skip


def _effect(rule: Rule, mix: Mix, x: Vector, content: float) -> str:
    """What a rule does to a formula from its first day; empty where it is kept."""
    certain = float(rule.certain(mix).numerator @ x)
    if rule.kind == "open":
        return "" if rule.statement and rule.within(certain) else "not known"
    if rule.kind == "no entry":
        return "note"
    if rule.keeps(content) or not rule.covers(mix, x):
        return ""
    if rule.kind in HARD:
        return "not known" if rule.only and rule.keeps(certain) else "breaks"
    return "label" if rule.kind == "label" else "advice"


def _lists(mix: Mix, x: Vector, scope: Scope, until: datetime.date) -> Iterator[Coming]:
    """Lines that a list of preservatives, colourants or UV filters stops allowing."""
    days = [day for day in changes() if scope.date < day <= until]
    for item, share in zip(mix.ingredients, x, strict=True):
        before = _forbidden(item, scope)
        for day in days if share > 0 else ():
            now = _forbidden(item, replace(scope, date=day))
            for use, market in sorted(set(now) - set(before)):
                point = now[use, market]
                about = f"{item.name} as a {use}"
                yield Coming(
                    day, market, "breaks", about, 100 * float(share), None, point.reference, point.evidence, point.why
                )
            before = now


def _forbidden(item: Ingredient, scope: Scope) -> dict[tuple[str, str], Standing]:
    return {(point.use, point.market): point for point in standings(item, scope) if point.allowed is False}


def _names(mix: Mix, x: Vector, scope: Scope, until: datetime.date) -> Iterator[Coming]:
    """Fragrance allergens that have to be named on the label."""
    for entry in allergens():
        if entry.start is None or not scope.date < entry.start <= until:
            continue
        content = sum(
            float(share) * entry.content(item, lambda value: value.most)
            for item, share in zip(mix.ingredients, x, strict=True)
        )
        limit = entry.thresholds.get(scope.use)
        for market in scope.jurisdictions:
            if limit is not None and content > limit and entry.listed(market, entry.start):
                yield Coming(
                    entry.start, market, "label", entry.name, content, limit, entry.reference, entry.evidence,
                    entry.note, allergen=True,
                )  # fmt: skip


@frozen
class Watched(Comparable):
    """A formula and what begins for it."""

    name: str
    rules: tuple[Coming, ...]

    @property
    def broken(self) -> bool:
        """Whether a rule that begins is broken."""
        return any(rule.effect == "breaks" for rule in self.rules)


@frozen
class Watch(Answer):
    """What begins for several formulas after one day and by another.

    Attributes:
        formulas: each with the rules that begin for it.
        duties: what begins for whoever sells there, whatever the formula.
        not_read: formulas that could not be read, with the reason.
        others: files that are no formulas.
    """

    scope: Scope
    until: datetime.date
    formulas: tuple[Watched, ...]
    duties: tuple[Duty, ...]
    not_read: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


def watch(
    formulas: Sequence[Formula],
    scope: Scope,
    until: datetime.date,
    unread: Sequence[str] = (),
    others: Sequence[str] = (),
) -> Watch:
    """What begins for formulas in a scope after its day and by another."""
    rows = tuple(Watched(formula.name, coming(formula, scope, until)) for formula in formulas)
    begun = {duty.id: duty for market in scope.markets for duty in duties(market)}
    soon = tuple(duty for duty in begun.values() if duty.start and scope.date < duty.start <= until)
    return Watch(scope, until, rows, soon, tuple(unread), tuple(others))
