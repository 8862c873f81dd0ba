"""The names of a label's ingredient list, and their order in one market.

Order: EU and GB, descending weight as added, free below 1 % (Regulation (EC) 1223/2009, Art. 19(1)(g)); US, descending
predominance, free at not more than 1 % (21 CFR 701.3). Everything is put in order of weight, which keeps both; where
the free part begins is marked. Colourants follow last.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Constituent, Evidence
from optiform.label.allergens import AllergenContent
from optiform.label.names import Printed, printed
from optiform.reading.frozen import frozen
from optiform.rules.markets import country

WATER = ("Aqua", "Water")
FREE = 1.0  # %, the line of both texts
ROUNDING = 1e-9  # %, of sums of binary fractions


@frozen
class Entry:
    """One name of the list.

    Attributes:
        percent, least, most: % of the whole by the typical shares, and by both ends of their ranges.
        colourant: whether it follows the others as a colourant.
        allergen: whether it is there, or there as well, because an allergen has to be named.
        free: whether it may stand in any order within its part.
        carriers: what brings it, with the part of each, % of the whole.
        source, evidence: of the name; `shares_known` is the weakest evidence of the shares.
    """

    name: str
    percent: float
    least: float
    most: float
    colourant: bool
    allergen: bool
    free: bool
    carriers: tuple[tuple[str, float], ...]
    source: str
    evidence: Evidence
    shares_known: Evidence

    @property
    def known(self) -> Evidence:
        """The weakest evidence of name and shares."""
        return Evidence.weakest((self.evidence, self.shares_known))

    @property
    def ranged(self) -> bool:
        """Whether its share is known as a range only."""
        return self.most - self.least > ROUNDING


@frozen
class Part:
    """A constituent that one ingredient brings, by its printed name.

    `aside`: it is neither what the ingredient is mostly made of, water apart, nor part of a preservative.
    """

    ingredient: str
    constituent: Constituent
    printed: Printed
    fraction: float
    aside: bool

    def percent(self, end: str) -> float:
        """Its part of the whole, %, by `figure`, `least` or `most` of its share."""
        share: float = getattr(self.constituent.share, end)
        return self.fraction * share


def parts_of(formula: Formula, market: str) -> list[Part]:
    """Every constituent of every ingredient in use, by its printed name."""
    return [part for line in formula.lines if line.fraction > 0 for part in _parts(line, market)]


def _parts(line: Line, market: str) -> Iterator[Part]:
    item = line.ingredient
    names = [(part, printed(part, item, market)) for part in item.constituents if part.share.most > 0]
    dry = [part.share.figure for part, name in names if name.name not in WATER]
    for part, name in names:
        aside = bool(dry) and part.share.figure < max(dry) and not item.has("preservative")
        yield Part(item.name, part, name, line.fraction, aside)


def label_list(parts: Sequence[Part], details: Sequence[AllergenContent], market: str) -> tuple[Entry, ...]:
    """The list: constituents summed, allergens that are due named once, all in the market's order."""
    return _ordered(_with_allergens(_entries(parts), details), market)


def _entries(parts: Sequence[Part]) -> list[Entry]:
    """Equal names are one entry, whatever their case; the spelling is that of the largest part."""
    parts_by_name: dict[str, list[Part]] = defaultdict(list)
    for part in parts:
        parts_by_name[" ".join(part.printed.name.casefold().split())].append(part)
    return [_entry(same) for same in parts_by_name.values()]


def _entry(parts: Sequence[Part]) -> Entry:
    largest = max(parts, key=lambda part: part.percent("figure"))
    carriers: dict[str, float] = defaultdict(float)
    for part in parts:
        carriers[part.ingredient] += part.percent("figure")
    percent, least, most = (sum(part.percent(end) for part in parts) for end in ("figure", "least", "most"))
    return Entry(
        name=largest.printed.name,
        percent=percent,
        least=least,
        most=most,
        colourant=any(part.printed.colourant for part in parts),
        allergen=False,
        free=False,
        carriers=tuple(carriers.items()),
        source=largest.printed.source,
        evidence=largest.printed.evidence,
        shares_known=Evidence.weakest(part.constituent.share.evidence for part in parts),
    )


def _with_allergens(entries: list[Entry], details: Sequence[AllergenContent]) -> list[Entry]:
    """Allergens that are due, each once and by the name of its entry: what stands there as a member of it is that.

    Sweet orange oil is Citrus Aurantium Peel Oil where that is due, and not both. Parfum loses nothing.
    """
    named = {entry.name.casefold(): entry for entry in entries}
    for due in details:
        if due.declared:
            own = [named.pop(name) for name in (due.name.casefold(), *due.members) if name in named]
            named[due.name.casefold()] = _under(due, own) if own else _of_allergen(due)
    return list(named.values())


def _under(due: AllergenContent, entries: Sequence[Entry]) -> Entry:
    """The entries that are members of an allergen's entry as one, by its name."""
    carriers: dict[str, float] = defaultdict(float)
    for name, share in (pair for entry in entries for pair in entry.carriers):
        carriers[name] += share
    percent, least, most = (sum(getattr(entry, end) for entry in entries) for end in ("percent", "least", "most"))
    shares = Evidence.weakest(entry.shares_known for entry in entries)
    own = next((entry for entry in entries if entry.name.casefold() == due.name.casefold()), None)
    source, evidence = (own.source, own.evidence) if own else (due.source, due.evidence)
    return Entry(
        own.name if own else due.name, percent, least, most, any(entry.colourant for entry in entries), True, False,
        tuple(carriers.items()), source, evidence, shares,
    )  # fmt: skip


def _of_allergen(due: AllergenContent) -> Entry:
    return Entry(
        name=due.name,
        percent=due.percent,
        least=due.least,
        most=due.percent,
        colourant=False,
        allergen=True,
        free=False,
        carriers=due.carriers,
        source=due.source,
        evidence=due.evidence,
        shares_known=due.known,
    )


def _ordered(entries: Sequence[Entry], market: str) -> tuple[Entry, ...]:
    """By weight, colourants last; equal weights by name."""
    by_weight = sorted(entries, key=lambda e: (e.colourant, -round(e.percent, 9), e.name.casefold()))
    return tuple(replace(entry, free=entry.colourant or is_free(entry.percent, market)) for entry in by_weight)


def is_free(percent: float, market: str) -> bool:
    """Whether an ingredient at this content may follow in any order.

    EU and GB: below 1 %; the text leaves exactly 1 % open, which is taken as ordered. US: not exceeding 1 %.

    Example:
        >>> [is_free(1.0, market) for market in ("EU", "US")]
        [False, True]
    """
    return percent <= FREE + ROUNDING if country(market) == "US" else percent < FREE - ROUNDING
