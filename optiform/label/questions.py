"""What a draft of a label cannot settle by itself: warnings, statements, and questions to a person."""

from collections.abc import Hashable, Iterator, Sequence
from itertools import combinations

from optiform.ingredients.formula import Formula
from optiform.label import facts
from optiform.label.allergens import AllergenContent, exceeds
from optiform.label.items import Item
from optiform.label.names import Colourant, colourant, is_fragrance
from optiform.label.order import ROUNDING, Entry, Part, is_free
from optiform.rules.allergens import lists_allergens
from optiform.rules.law import Scope
from optiform.rules.markets import country

MINOR = 0.1  # %: what comes beside a main constituent and lies below may be a residue (common practice, no source)


def allergen_warnings(details: Sequence[AllergenContent], silent: Sequence[str], market: str) -> Iterator[Hashable]:
    """Fragrances whose allergens are not known, and allergens that another market prohibits."""
    for name in silent:
        yield facts.AllergensUnknown(name, may_lack=country(market) != "US")
    for found in details:
        if found.prohibited and country(market) == "US":  # elsewhere it is a rule of limits.csv, with its dates
            carriers = tuple(name for name, _ in found.carriers)
            yield facts.ProhibitedElsewhere(found.name, carriers, found.reference)


def colour_warnings(formula: Formula, parts: Sequence[Part], scope: Scope) -> Iterator[Hashable]:
    """Colours that the market does not list for the area, or that the tables do not know."""
    for item in dict.fromkeys(line.ingredient for line in formula.lines if line.fraction > 0):
        if item.functions[:1] == ("colourant",) and not any(map(colourant, item.constituents)):
            yield facts.ColourUnknown(item.name, item.inci)
    yield from dict.fromkeys(fault for part in parts for fault in _colour_faults(part, part.printed.colourant, scope))


def _colour_faults(part: Part, colour: Colourant | None, scope: Scope) -> Iterator[Hashable]:
    if colour is None:
        return
    american = any(country(market) == "US" for market in scope.markets)
    if american and not colour.us_listed(scope.area):
        yield facts.ColourNotListed(part.printed.name, colour.us_reference, colour.us_evidence)
    if american and colour.certified:
        yield facts.ColourToCertify(part.printed.name, colour.us_evidence)
    if not american and not colour.eu_name:
        yield facts.ColourUnclear(part.constituent.inci, colour.note)


def open_order(entries: Sequence[Entry], market: str) -> Iterator[Item]:
    """Pairs whose order, and names whose side of the 1 % line, hang on a share that is known as a range only."""
    ordered = [entry for entry in entries if not entry.colourant]
    for before, after in combinations(ordered, 2):
        both_free = is_free(before.most, market) and is_free(after.most, market)
        if after.most > before.least + ROUNDING and not both_free and (before.ranged or after.ranged):
            yield Item("order", facts.OpenOrder(before, after))
    for entry in ordered:
        if is_free(entry.least, market) != is_free(entry.most, market):
            yield Item("order", facts.OpenSide(entry))


def own_questions(
    formula: Formula, parts: Sequence[Part], entries: Sequence[Entry], details: Sequence[AllergenContent], market: str
) -> Iterator[Item]:
    """Questions that this very formula raises."""
    listed = [line.ingredient for line in formula.lines if is_fragrance(line.ingredient)]
    if complete := tuple(item.name for item in dict.fromkeys(listed) if lists_allergens(item)):
        yield Item("allergens", facts.TakenAsComplete(complete))
    yield from _near_allergens(details, market)
    if renamed := tuple(_renamed(parts, details)):
        yield Item("allergens", facts.Renamed(renamed))
    if minor := tuple(_minor(parts, entries)):
        yield Item("residues", facts.Minor(minor, MINOR))


def _near_allergens(details: Sequence[AllergenContent], market: str) -> Iterator[Item]:
    for found in details:
        if found.declared and found.threshold is not None and not exceeds(found.least, found.threshold):
            yield Item("allergens", facts.UpperEndOnly(found.name))
    later = tuple(found.name for found in details if not found.listed and not found.prohibited)
    if later and country(market) != "US":
        yield Item("allergens", facts.InLongList(later))


def _renamed(parts: Sequence[Part], details: Sequence[AllergenContent]) -> Iterator[tuple[str, str]]:
    """What stands in the list by the name of its allergen entry, not by its own; with that name."""
    names = dict.fromkeys(part.printed.name for part in parts)
    return ((name, found.name) for found in details if found.declared for name in names if _member(name, found))


def _member(name: str, found: AllergenContent) -> bool:
    return name.casefold() in found.members and name.casefold() != found.name.casefold()


def _minor(parts: Sequence[Part], entries: Sequence[Entry]) -> list[str]:
    plain = {part.printed.name.casefold() for part in parts if not part.aside}
    small = (entry.name for entry in entries if entry.percent < MINOR and not entry.allergen)
    return [name for name in small if name.casefold() not in plain]
