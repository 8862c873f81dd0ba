"""What a draft of a label cannot settle by itself: warnings, statements, and questions to a person."""

from collections.abc import Iterator, Sequence
from itertools import combinations

from optiform.ingredients.formula import Formula
from optiform.label.allergens import AllergenContent, exceeds
from optiform.label.items import Item
from optiform.label.names import Colourant, colourant, is_fragrance
from optiform.label.order import ROUNDING, Entry, Part, is_free
from optiform.review.answer import SURE
from optiform.rules.allergens import lists_allergens
from optiform.rules.law import Scope
from optiform.rules.markets import country

MINOR = 0.1  # %: what comes beside a main constituent and lies below may be a residue (common practice, no source)


def allergen_warnings(details: Sequence[AllergenContent], silent: Sequence[str], market: str) -> Iterator[str]:
    """Fragrances whose allergens are not known, and allergens that another market prohibits."""
    for name in silent:
        due = "" if country(market) == "US" else " Until then this list may lack names that have to stand in it."
        yield (
            f"The allergens of {name} are not known: get its supplier's list and enter it in your own table, one "
            f"column for each, for instance 'allergen limonene (%)'.{due}"
        )
    for found in details:
        if found.prohibited and country(market) == "US":  # elsewhere it is a rule of limits.csv, with its dates
            carriers = ", ".join(name for name, _ in found.carriers)
            yield f"{found.name}, in {carriers}, is prohibited in the EU ({found.reference}); no US rule is known here."


def colour_warnings(formula: Formula, parts: Sequence[Part], scope: Scope) -> Iterator[str]:
    """Colours that the market does not list for the area, or that the tables do not know."""
    for item in dict.fromkeys(line.ingredient for line in formula.lines if line.fraction > 0):
        if item.functions[:1] == ("colourant",) and not any(map(colourant, item.constituents)):
            yield f"{item.name} is bought as a colourant, but the tables know no listing of {item.inci}."
    told: set[str] = set()
    for part in parts:
        for words in _colour_faults(part, part.printed.colourant, scope):
            if words not in told:
                told.add(words)
                yield words


def _colour_faults(part: Part, colour: Colourant | None, scope: Scope) -> Iterator[str]:
    if colour is None:
        return
    american = any(country(market) == "US" for market in scope.markets)
    if american and not colour.us_listed(scope.area):
        how = f"{colour.us_reference or 'no section known'}, {SURE[colour.us_evidence]}"
        yield f"{part.printed.name}: not listed as a colour additive for this area in the US ({how})."
    if american and colour.certified:
        yield f"{part.printed.name}: must come from a batch that the FDA has certified ({SURE[colour.us_evidence]})."
    if not american and not colour.eu_name:
        yield f"The CI number of {part.constituent.inci} is not clear: {colour.note}."


def open_order(entries: Sequence[Entry], market: str) -> Iterator[Item]:
    """Pairs whose order, and names whose side of the 1 % line, hang on a share that is known as a range only."""
    ordered = [entry for entry in entries if not entry.colourant]
    for before, after in combinations(ordered, 2):
        both_free = is_free(before.most, market) and is_free(after.most, market)
        if after.most > before.least + ROUNDING and not both_free and _ranged(before, after):
            words = f"{_span(before)} stands before {_span(after)}: the ranges of their shares overlap"
            yield Item("order", f"{words}, so the order needs the figures of your lots.")
    for entry in ordered:
        if is_free(entry.least, market) != is_free(entry.most, market):
            yield Item("order", f"{_span(entry)} may lie on either side of the 1 % line.")


def _ranged(*entries: Entry) -> bool:
    return any(entry.most - entry.least > ROUNDING for entry in entries)


def _span(entry: Entry) -> str:
    if not _ranged(entry):
        return f"{entry.name} ({entry.percent:.3g} %)"
    return f"{entry.name} ({entry.percent:.3g} %, {entry.least:.3g} to {entry.most:.3g})"


def own_questions(
    formula: Formula, parts: Sequence[Part], entries: Sequence[Entry], details: Sequence[AllergenContent], market: str
) -> Iterator[Item]:
    """Questions that this very formula raises."""
    listed = [line.ingredient for line in formula.lines if is_fragrance(line.ingredient)]
    if complete := [item.name for item in dict.fromkeys(listed) if lists_allergens(item)]:
        words = "is taken as complete, what it does not name as absent: compare it with the supplier's for this lot."
        yield Item("allergens", f"The list entered for {', '.join(complete)} {words}")
    yield from _near_allergens(details, market)
    if renamed := _renamed(parts, details):
        yield Item("allergens", f"{renamed}: whether its own name is asked for as well is for the assessor.")
    if minor := _minor(parts, entries):
        words = f"Brought in beside the main constituent only, below {MINOR:g} %: {', '.join(minor)}."
        yield Item("residues", f"{words} An impurity or a residue without effect need not stand in the list.")


def _near_allergens(details: Sequence[AllergenContent], market: str) -> Iterator[Item]:
    for found in details:
        if found.declared and found.threshold is not None and not exceeds(found.least, found.threshold):
            words = "is named because the upper end of its range is above the threshold; the lower end is not"
            yield Item("allergens", f"{found.name} {words}.")
    later = [found.name for found in details if not found.listed and not found.prohibited]
    if later and country(market) != "US":
        yield Item("allergens", f"In the EU's long list, not in the list taken here: {', '.join(later)}.")


def _renamed(parts: Sequence[Part], details: Sequence[AllergenContent]) -> str:
    """What stands in the list by the name of its allergen entry, not by its own."""
    names = dict.fromkeys(part.printed.name for part in parts)
    due = ((found.name, name) for found in details if found.declared for name in names if _member(name, found))
    return "; ".join(f"{name} stands as {group}, the name of its entry" for group, name in due)


def _member(name: str, found: AllergenContent) -> bool:
    return name.casefold() in found.members and name.casefold() != found.name.casefold()


def _minor(parts: Sequence[Part], entries: Sequence[Entry]) -> list[str]:
    plain = {part.printed.name.casefold() for part in parts if not part.aside}
    small = (entry.name for entry in entries if entry.percent < MINOR and not entry.allergen)
    return [name for name in small if name.casefold() not in plain]
