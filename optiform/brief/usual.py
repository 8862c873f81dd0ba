"""What is usual in a brief's kind of product, as far as the brief's own words and today's formula leave it standing."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from optiform.brief.limits import Limit, Range
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Bent, Mix, Property, Terms, fractions
from optiform.properties.registry import find_property
from optiform.properties.solubility import OutOfRange
from optiform.reading.frozen import frozen
from optiform.rules.usual import (
    ADDITIVES,
    COUNT,
    UsualRange,
    added,
    additives_without_a_row,
    grain_in,
    grains_of,
    proposed_most,
    unasked,
    usual_ranges,
    usual_use,
)  # fmt: skip

MISSED = 1e-6  # relative: below it a miss is rounding
EXACT = 9  # decimal places of an end; what is beyond them is the tail of a sum of fractions
IN_BASE = " in the base"


@frozen
class UsualLimit:
    """A property with its usual range in the brief's kind; an end is None where it does not hold.

    Attributes:
        size: what counts as once too much of it, in its unit: half the usual width, or a tenth of its top.
        over: how much of the whole it is over in a usual product, as a mass fraction.
        needed: whether a product must have this part to be one of its kind.
        if_used: its low end is asked only where any of it is used.
    """

    property: Property
    low: float | None
    high: float | None
    size: float
    over: float
    needed: bool
    if_used: bool

    def misses(self, value: float) -> bool:
        """Whether a value lies outside, beyond rounding."""
        off = MISSED * (1 + abs(value))
        low = self.low is not None and value < self.low - off and not (self.if_used and value <= 0)
        return low or (self.high is not None and value > self.high + off)


def usual_limits(
    kind: str,
    mix: Mix,
    ranges: Sequence[Range],
    limits: Sequence[Limit],
    today: Formula | None,
    currency: str,
    goal: str = "",
) -> tuple[UsualLimit, ...]:
    """The usual ranges of a kind that hold for a brief: each yields to what the brief or today's formula says of it.

    Additives are no fillers: of one that the brief does not name, no more is proposed than is typical.

    Args:
        kind: of product.
        mix: the candidates.
        ranges: of the candidates, in their order.
        limits: the brief's own.
        today: the formula made today, if there is one; what it has outside a usual range widens that range to it.
        currency: of the brief.
        goal: the property that it reaches for, if it is one.
    """
    grain = grain_of(kind, mix, ranges, limits, today)
    rows = [row for row in usual_ranges(kind, grain) if row.property != COUNT]
    parts = (goal, *(limit.property.name for limit in limits))
    lines = {item.functions[0] for item, span in zip(mix.ingredients, ranges, strict=True) if span.source == "brief"}
    named = {*map(added, parts), *lines}
    yielded = (
        _limit(row, row.high if added(row.property) in named else unasked(row), currency, mix, ranges, limits, today)
        for row in (*rows, *additives_without_a_row(rows))
        if row in rows or added(row.property) not in named
    )
    return tuple(limit for limit in yielded if limit is not None)


def grain_of(
    kind: str, mix: Mix, ranges: Sequence[Range], limits: Sequence[Limit], today: Formula | None
) -> str:  # fmt: skip
    """The set of the kind's ranges that a brief is about: by its limits, its lines, today's grains, or its shelf's."""
    sets = grains_of(kind)
    for limit in limits:
        words = limit.property.name.split(" at ")[0].removeprefix("undissolved ")
        if words in sets and (limit.low or 0) > 0:
            return words
    wanted = dict(zip(mix.ingredients, (span.low for span in ranges), strict=True))
    have = {line.ingredient: line.fraction for line in today.lines} if today else {}
    shelf = {grain_in(kind, {item: 1.0}) for item in mix.ingredients} - {""}
    return grain_in(kind, wanted) or grain_in(kind, have) or next((word for word in sets if word in shelf), "")


def _limit(
    row: UsualRange,
    top: float,
    currency: str,
    mix: Mix,
    ranges: Sequence[Range],
    limits: Sequence[Limit],
    today: Formula | None,
) -> UsualLimit | None:
    wanted = find_property(row.property, currency)
    if isinstance(wanted, Bent) or said_by_lines(wanted, mix, ranges):
        return None
    low, high = _widened(replace(row, high=top), wanted, mix, ranges, today)
    own = [limit for limit in limits if _plain(limit.property.name) == _plain(wanted.name)]
    for limit in own:
        of_base = limit.property.name != wanted.name  # another basis: the maker's word is all that counts
        if of_base or (limit.low is not None and limit.low > high) or (limit.high is not None and limit.high < low):
            return None
    least = None if any(limit.low is not None for limit in own) or low <= 0 else low
    most = None if any(limit.high is not None for limit in own) else high
    if least is None and most is None:
        return None
    size = max(row.half(), row.high / 10, 0.1)
    return UsualLimit(wanted, least, most, size, row.over / 100, row.needed, row.if_used)


def said_by_lines(wanted: Property, mix: Mix, ranges: Sequence[Range]) -> bool:
    """Whether the brief itself sets the line of everything that brings any of a property."""
    brings = wanted.everywhere(mix).numerator != 0
    sources = {span.source for span, some in zip(ranges, brings, strict=True) if some}
    return sources == {"brief"}


def _plain(name: str) -> str:
    return name.removesuffix(IN_BASE)


def _widened(
    row: UsualRange, wanted: Property, mix: Mix, ranges: Sequence[Range], today: Formula | None
) -> tuple[float, float]:
    """The ends, wide enough for today's formula and for what the brief's lines ask of it at least."""
    low, high = row.low, row.high
    value = None if today is None else _value(wanted, today)
    if value is not None and not (row.if_used and value <= 0):
        low, high = min(low, round(value, EXACT)), max(high, round(value, EXACT))
    asked = np.array([span.low if span.source == "brief" else 0.0 for span in ranges])
    terms = wanted.terms(mix, asked)
    if terms.whole:
        high = max(high, float(terms.numerator @ asked))
    return low, high


def _value(wanted: Property, formula: Formula) -> float | None:
    try:
        return wanted.at(Mix.of(formula), fractions(formula)).at(fractions(formula))
    except OutOfRange:
        return None


def where_known(terms: Terms) -> Terms:
    """Terms without the lines whose figure is missing: what is not known cannot be kept usual.

    Only for a mean: of the whole, a line whose figure is missing brings nothing.
    """
    return terms if terms.whole else replace(terms, denominator=terms.denominator * (1 - terms.missing))


# -- lines -------------------------------------------------------------------------------------------------------------


def advised(item: Ingredient, kind: str = "", today: Mapping[str, float] | None = None) -> Range:
    """From none to the usual maximum of a candidate in this kind of product: a range that the brief may overrule.

    The maximum use that its maker advises holds in any case, and the top of usual use of an additive: more of a
    fragrance or an antioxidant is no filler. Every other top is `usual`: it gives where the brief cannot be met else.

    Args:
        item: the candidate.
        kind: of product.
        today: the mass fraction of each ingredient in today's formula; what is more than usual there stays possible.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> glycerin = read_catalogue().ingredients["glycerin"]
        >>> advised(glycerin, "lotion"), advised(glycerin, "lotion", {"glycerin": 0.08}).high
        (Range(low=0.0, high=0.05, source='usual'), 0.08)
    """
    most, proposed = item.value("maximum use"), proposed_most(kind, item)
    top = None if proposed is None else max(proposed / 100, (today or {}).get(item.name, 0.0))
    if most is not None and (top is None or most.figure / 100 <= top):
        return Range(0.0, min(100.0, most.figure) / 100, "advice")
    if top is None:
        return Range()
    return Range(0.0, min(1.0, top), "advice" if item.functions[0] in ADDITIVES else "usual")


def unusual_lines(kind: str, mix: Mix, ranges: Sequence[Range]) -> Iterator[tuple[int, float]]:
    """Candidates, by their place, of which there is a least that is usual, as a mass fraction: less is no dose.

    Those whose line the brief sets itself are not among them.
    """
    for place, (item, span) in enumerate(zip(mix.ingredients, ranges, strict=True)):
        usual = usual_use(kind, item)
        if usual is not None and usual.low and span.source != "brief" and 0 < usual.low / 100 < span.high:
            yield place, usual.low / 100
