"""Fragrance allergens in a formula against the thresholds above which a market wants their names on the label."""

from collections.abc import Iterator, Sequence
from operator import attrgetter

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence
from optiform.label.names import is_fragrance
from optiform.reading.frozen import frozen
from optiform.review.answer import RuleCheck
from optiform.rules.allergens import Allergen, allergens, lists_allergens
from optiform.rules.law import Scope, rules

LEAST, MOST = attrgetter("least"), attrgetter("most")
ROUNDING = 1e-9  # relative: sums of binary fractions, far below any analysis


@frozen
class AllergenContent:
    """An allergen in the product, % of the whole, upper end of each range.

    Attributes:
        members: names that count towards it, in lower case.
        least: the same from the lower ends.
        threshold: above it the name is due in this use; None where the market has no rule.
        listed: whether the market's list of this date holds it.
        declared: whether it is listed and above the threshold.
        carriers: what brings it, with the part of each, % of the whole.
        known: the weakest evidence of the shares; `evidence` is that of the rule.
    """

    name: str
    members: tuple[str, ...]
    percent: float
    least: float
    threshold: float | None
    listed: bool
    declared: bool
    prohibited: bool
    carriers: tuple[tuple[str, float], ...]
    known: Evidence
    reference: str
    source: str
    evidence: Evidence
    note: str


def allergen_contents(formula: Formula, scope: Scope) -> tuple[AllergenContent, ...]:
    """Every allergen of the tables that the formula is known to hold, the largest first. `scope` has one market."""
    (market,) = scope.markets
    found = (_content(entry, formula, market, scope) for entry in allergens())
    return tuple(sorted((each for each in found if each.percent > 0), key=lambda each: (-each.percent, each.name)))


def _content(entry: Allergen, formula: Formula, market: str, scope: Scope) -> AllergenContent:
    parts = [(line, line.fraction * entry.content(line.ingredient, MOST)) for line in formula.lines]
    percent = sum(part for _, part in parts)
    listed = entry.listed(market, scope.date)
    threshold = entry.thresholds.get(scope.use) if listed else None
    return AllergenContent(
        name=entry.name,
        members=entry.members,
        percent=percent,
        least=sum(line.fraction * entry.content(line.ingredient, LEAST) for line in formula.lines),
        threshold=threshold,
        listed=listed,
        declared=threshold is not None and exceeds(percent, threshold),
        prohibited=entry.era == "prohibited",
        carriers=tuple((line.ingredient.name, part) for line, part in parts if part > 0),
        known=Evidence.weakest(_shares(entry, formula)),
        reference=entry.reference,
        source=entry.source,
        # the GB list is inferred: the EU text as taken over, which no instrument that was read lengthens
        evidence=Evidence.weakest((entry.evidence, Evidence.SECONDARY)) if market == "GB" else entry.evidence,
        note=entry.note,
    )


def _shares(entry: Allergen, formula: Formula) -> Iterator[Evidence]:
    for line in formula.lines:
        parts = (part for part in line.ingredient.constituents if part.inci.casefold() in entry.members)
        yield from (part.share.evidence for part in parts)
        yield from (value.evidence for value in entry.listed_shares(line.ingredient))


def limit_checks(details: Sequence[AllergenContent], scope: Scope) -> Iterator[RuleCheck]:
    """Law on single allergens, with what suppliers' lists tell: the usual check sees declared constituents only."""
    for rule in rules():
        counted = {name.casefold() for name in rule.factors}
        content = sum(found.percent for found in details if counted.intersection(found.members))
        if content > 0 and rule.limit is not None and rule.hard and rule.applies(scope):
            yield RuleCheck(
                group=rule.group,
                content=content,
                limit=rule.limit,
                market=rule.market,
                kind=rule.kind,
                reference=rule.reference,
                evidence=rule.evidence,
                kept=rule.keeps(content),
                note=rule.note,
                id=rule.id,
                expressed_as=rule.expressed_as,
            )


def exceeds(percent: float, threshold: float) -> bool:
    """Whether a content is strictly above a threshold, rounding of sums aside."""
    return percent > threshold * (1 + ROUNDING)


def without_list(formula: Formula) -> tuple[str, ...]:
    """Fragrances and essential oils in use whose supplier's allergen list is not in the maker's table."""
    used = dict.fromkeys(line.ingredient for line in formula.lines if line.fraction > 0)
    return tuple(item.name for item in used if is_fragrance(item) and not lists_allergens(item))
