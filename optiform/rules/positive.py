"""Preservatives, colourants and UV filters: a market allows only those that stand on its list for that use.

EU and GB have a list for each of the three (Annexes V, IV and VI). The US has one for colour additives; there a UV
filter makes a drug of the product. A line is looked at as what it is bought for. What stands on no list for that may
still be used for something else, which has to be apparent: then it is not known whether it is allowed.
"""

import datetime
import re
from collections.abc import Iterator
from enum import Enum, auto
from functools import cache
from itertools import product

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.ingredients.spelling import is_colour
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.law import Scope, day, known
from optiform.rules.markets import MARKETS, country

#: Use to the annex of its list in the EU and in GB.
ANNEXES = {"preservative": {"EU": "Annex V", "GB": "Annex 5"}, "colourant": {"EU": "Annex IV", "GB": "Annex 4"}}
ANNEXES["uv filter"] = {"EU": "Annex VI", "GB": "Annex 6"}
ACTS = {"EU": "Regulation (EC) 1223/2009", "GB": "assimilated Regulation (EC) 1223/2009"}
#: How a list is known where nothing stands on it: the EU's was read as of August 2026, the GB's is inferred from it. Of
#: the US's, colours exempt from certification were read to guaiazulene and those that need it to D&C Red No. 27; which
#: others there are is from memory.
READ = {"EU": Evidence.PUBLISHED, "GB": Evidence.SECONDARY, "US": Evidence.RECALLED}
US_COLOURS = "21 CFR 73, 74 and 82"
DRUG = "21 CFR 700.35"


class Listed(Enum):
    """How it stands with a list: of an entry that does not cover the product, then of names that no entry has."""

    LATER = auto()  #: from a day on
    STRUCK = auto()  #: until a day
    OTHER_USE = auto()  #: for rinse-off, or leave-on, only
    OTHER_AREA = auto()  #: not for this area
    NOT = auto()  #: and it has no other lawful purpose
    UNKNOWN_NAME = auto()  #: known to no table here
    OTHER_PURPOSE = auto()  #: it may have one that is lawful
    BOUGHT_AS = auto()  #: something else, first
    ORDINARY = auto()  #: all of it is used for other purposes too
    ONLY_PURPOSE = auto()  #: it has no purpose but that, and is bought as something else
    DRUG = auto()  #: it makes a drug of the product
    OTHER_COLOUR_AREA = auto()  #: a colour additive, not for this area
    SOME_PRODUCTS = auto()  #: a colour additive in some products of this area
    CERTIFIED = auto()  #: a colour additive from certified batches only, whose name it then bears


@frozen
class Listing:
    """How these names stand with a list; `detail`: the day, use, area, purposes or names that it is about."""

    how: Listed
    names: tuple[str, ...] = ()
    detail: str = ""


@frozen
class Standing:
    """What a market's list says of a line: not `allowed`, or (None) not known, and why."""

    use: str
    market: str
    allowed: bool | None
    why: Listing
    reference: str
    evidence: Evidence


@frozen
class ByLaw:
    """Why a candidate cannot be used: what lists forbid, or leave open."""

    standings: tuple[Standing, ...]


@frozen
class Entry:
    """An entry of a list: from when to when, for which use and areas."""

    use: str
    areas: tuple[str, ...]
    start: datetime.date | None
    end: datetime.date | None
    reference: str

    def missed(self, scope: Scope) -> tuple[Listed, str] | None:
        """Why the entry does not cover a product of this scope, with the day, use or area; None where it does."""
        if self.start and scope.date < self.start:
            return Listed.LATER, str(self.start)
        if self.end and scope.date > self.end:
            return Listed.STRUCK, str(self.end)
        if self.use not in ("any", scope.use):
            return Listed.OTHER_USE, self.use
        return None if "any" in self.areas or scope.area in self.areas else (Listed.OTHER_AREA, scope.area)


def standings(item: Ingredient, scope: Scope) -> Iterator[Standing]:
    """What stands against an ingredient in the lists of the markets; nothing where it is listed or needs no list.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 26))
        >>> list(standings(items["phenoxyethanol"], scope))
        []
        >>> mixture = items["caprylhydroxamic acid + caprylyl glycol + glycerin"]
        >>> [(point.allowed, point.reference) for point in standings(mixture, scope)]
        [(None, 'Regulation (EC) 1223/2009, Annex V')]

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    uses = _uses(item)
    for use, market in product(ANNEXES, scope.markets):
        if use not in uses:
            yield from _without_purpose(item, use, market)
        elif country(market) == "US":
            yield from _american(item, use, market, scope)
        else:
            yield from _european(item, use, market, scope)


def not_allowed(item: Ingredient, scope: Scope) -> ByLaw | None:
    """Why a list forbids an ingredient; None where none does.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 26))
        >>> not_allowed(read_catalogue().ingredients["phenoxyethanol"], scope) is None
        True

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    points = tuple(point for point in standings(item, scope) if point.allowed is False)
    return ByLaw(points) if points else None


def not_settled(item: Ingredient, scope: Scope) -> ByLaw | None:
    """Why it is forbidden, or not known whether an ingredient is allowed as what it is bought for.

    None where every list that it needs has it.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 26))
        >>> not_settled(items["phenoxyethanol"], scope) is None
        True
        >>> not_settled(items["caprylhydroxamic acid + caprylyl glycol + glycerin"], scope).standings[0].use
        'preservative'

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    points = tuple(point for point in standings(item, scope) if point.allowed is None)
    return not_allowed(item, scope) or (ByLaw(points) if points else None)


def _uses(item: Ingredient) -> list[str]:
    """What it is bought for, and what else it serves that needs a list. A clay may colour as well and stays a clay."""
    first, *others = item.functions or ("",)
    return [use for use in ANNEXES if use == first or (use in others and use != "colourant")]


def _names(item: Ingredient) -> list[str]:
    return [part.inci for part in item.constituents if part.share.most > 0]


def _european(item: Ingredient, use: str, market: str, scope: Scope) -> Iterator[Standing]:
    names = _names(item)
    entries = [entry for name in names for entry in _listings(use, market).get(name, ())]
    missed = [entry.missed(scope) for entry in entries]
    if not names or None in missed:
        return
    annex, act = ANNEXES[use][market], ACTS[market]
    if missed and (first := missed[0]):
        why = Listing(first[0], tuple(names), first[1])
        yield Standing(use, market, False, why, entries[0].reference, READ[market])
        return
    allowed, why = _otherwise(item, use)
    yield Standing(use, market, allowed, why, f"{act}, {annex}", READ[market])


def _otherwise(item: Ingredient, use: str) -> tuple[bool | None, Listing]:
    """What an ingredient may be that is on no list for a use: (False or None, why)."""
    names = tuple(_names(item))
    unknown = [name for name in names if not any(name in known(where) for where in MARKETS)]
    # A list of colours goes by their numbers, that of the US by names of its own: one it does not hold is on no list.
    if strange := tuple(name for name in unknown if use != "colourant" or not is_colour(name)):
        return None, Listing(Listed.UNKNOWN_NAME, strange)
    purposes = {name: row["other purpose"] for name in names if (row := _unlisted(use).get(name))}
    other = [f"{name} ({purpose})" for name, purpose in purposes.items() if purpose]
    if other:
        return None, Listing(Listed.OTHER_PURPOSE, names, ", ".join(other))
    if item.functions[0] != use:
        return None, Listing(Listed.BOUGHT_AS, names, item.functions[0])
    ordinary = all(name in _ordinary() for name in names)
    return (None, Listing(Listed.ORDINARY, names)) if ordinary else (False, Listing(Listed.NOT, names))


def _without_purpose(item: Ingredient, use: str, market: str) -> Iterator[Standing]:
    """What is known as a preservative, colour or UV filter only and stands on no list, bought as something else."""
    american = country(market) == "US"
    rows = {name: row for name in _names(item) if (row := _unlisted(use).get(name)) and not row["other purpose"]}
    names = [name for name, row in rows.items() if not american or (use == "colourant" and row["us"] != "listed")]
    if names:
        why = Listing(Listed.ONLY_PURPOSE, tuple(names))
        reference = US_COLOURS if american else f"{ACTS[market]}, {ANNEXES[use][market]}"
        yield Standing(use, market, None, why, reference, Evidence(rows[names[0]]["evidence"]))


def _american(item: Ingredient, use: str, market: str, scope: Scope) -> Iterator[Standing]:
    if use == "uv filter":
        yield Standing(use, market, None, Listing(Listed.DRUG), DRUG, Evidence.PUBLISHED)
    if use != "colourant" or not (names := tuple(_names(item))):
        return
    rows = [row for name in names if (row := _us_colours().get(name.casefold()))]
    areas = [_us_areas(row, scope.area) for row in rows]
    if ["yes"] in areas:
        yield from _uncertified(names, rows[areas.index(["yes"])], market)
    elif rows:
        some = next((row for row, where in zip(rows, areas, strict=True) if scope.area in where), None)
        row = some or rows[0]
        how = Listed.OTHER_COLOUR_AREA if row["us reference"] else Listed.NOT
        why = Listing(Listed.SOME_PRODUCTS, names, some["note"]) if some else Listing(how, names)
        reference, evidence = row["us reference"] or US_COLOURS, Evidence(row["us evidence"])
        yield Standing(use, market, None if some else False, why, reference, evidence)
    else:
        allowed, why = _otherwise(item, use)
        yield Standing(use, market, allowed, why, US_COLOURS, READ["US"])


def _uncertified(names: tuple[str, ...], row: dict[str, str], market: str) -> Iterator[Standing]:
    """A colour of which each batch has to be certified, by its number: an uncertified one is called so too."""
    if row["us certified"] and not any(name.casefold() in _certified() for name in names):
        why = Listing(Listed.CERTIFIED, names, row["us name"])
        yield Standing("colourant", market, None, why, row["us reference"], Evidence(row["us evidence"]))


def _us_areas(row: dict[str, str], area: str) -> list[str]:
    """`yes` or `no` for a colour in this area, or the areas of which some products may have it."""
    return row[f"us {area if area in ('eyes', 'lips') else 'external'}"].split("; ")


# -- the tables --------------------------------------------------------------------------------------------------------


@cache
def _listings(use: str, market: str) -> dict[str, list[Entry]]:
    """Each name on a list with its entries; a colour also by the names of colourants.csv."""
    entries: dict[str, list[Entry]] = {}
    for row in shipped("positive_lists"):
        if (row["list"], row["market"]) == (use, market):
            areas = tuple(row["area"].split("; "))
            entry = Entry(row["use"], areas, day(row["from"]), day(row["until"]), row["reference"])
            for name in row["inci"].split("; "):
                entries.setdefault(name, []).append(entry)
    if use == "colourant":
        for row in shipped("colourants"):
            for name in row["inci"].split("; ") if row["eu reference"] else ():
                numbered = entries.get(f"CI {row['ci']}", [Entry("any", ("any",), None, None, row["eu reference"])])
                entries.setdefault(name, numbered)
    return entries


@cache
def changes() -> tuple[datetime.date, ...]:
    """The days on which something comes onto a list or is struck, in order.

    Example:
        >>> str(changes()[-1])
        '2026-08-28'

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    rows = shipped("positive_lists")
    ends = (last + datetime.timedelta(days=1) for row in rows if (last := day(row["until"])))
    return tuple(sorted({*ends, *(first for row in rows if (first := day(row["from"])))}))


@cache
def _unlisted(use: str) -> dict[str, dict[str, str]]:
    """Substances that are known to stand on no list for a use, by name."""
    return {row["inci"]: row for row in shipped("unlisted") if row["list"] == use}


@cache
def _us_colours() -> dict[str, dict[str, str]]:
    """Rows of colourants.csv by each of their names, without case."""
    rows = shipped("colourants")
    named = {name.casefold(): row for row in rows for name in row["inci"].split("; ")}
    return {f"ci {row['ci']}": row for row in rows if row["ci"]} | _certified() | named


@cache
def _certified() -> dict[str, dict[str, str]]:
    """Those that are certified by the names they then bear, long and short, as D&C Red No. 33 and Red 33."""
    rows = [row for row in shipped("colourants") if row["us certified"]]
    long = {name.casefold(): row for row in rows for name in row["us name"].split(" or ")}
    return long | {re.sub(r"(?:f?d&c|no\.) ", "", name): row for name, row in long.items()}


@cache
def _ordinary() -> frozenset[str]:
    """What shipped ingredients bring that are bought for something that needs no list."""
    free = {row["name"] for row in shipped("ingredients") if row["functions"].split(";")[0].strip() not in ANNEXES}
    return frozenset(row["inci"] for row in shipped("constituents") if row["ingredient"] in free)
