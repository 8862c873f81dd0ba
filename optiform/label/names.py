"""What a declared substance is called on the label of a market, and whether it stands there as a colourant."""

from collections.abc import Iterator
from functools import cache

from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.markets import country


@frozen
class Colourant:
    """A row of colourants.csv: one colour, its names and where it is listed.

    `us_areas`: `eyes`, `lips`, `external`, for which the US lists it, and the areas of which some products may have
    it. External leaves out lips and mucous membrane.
    """

    names: tuple[str, ...]
    cas: str
    ci: str
    eu_name: str
    us_name: str
    eu_reference: str
    us_reference: str
    certified: bool
    us_areas: frozenset[str]
    source: str
    evidence: Evidence
    us_source: str
    us_evidence: Evidence
    note: str

    def named(self, market: str) -> str:
        """Its name in a market; empty where the tables have none."""
        return self.us_name if country(market) == "US" else self.eu_name

    def counts(self, market: str) -> bool:
        """Whether the market treats it as a colourant: mica, for one, is none in the EU copy."""
        return country(market) == "US" or bool(self.eu_reference)

    def us_listed(self, area: str) -> bool:
        """Whether the US lists it for products of this area, or for some of them."""
        return area in self.us_areas or (area not in ("eyes", "lips") and "external" in self.us_areas)


@frozen
class Printed:
    """A substance as a label prints it; `colourant` where it stands there as one."""

    name: str
    colourant: Colourant | None
    source: str
    evidence: Evidence


def printed(part: Constituent, item: Ingredient, market: str) -> Printed:
    """The name of a constituent of an ingredient on the label of a market.

    A substance is a colourant only where it is bought as one: zinc oxide in a powder is an ordinary ingredient.
    """
    colour = colourant(part) if item.has("colourant") else None
    if colour is not None and colour.counts(market):
        us = country(market) == "US"
        source, evidence = (colour.us_source, colour.us_evidence) if us else (colour.source, colour.evidence)
        return Printed(colour.named(market) or part.inci, colour, source, evidence)
    special = _special_names().get(part.inci.casefold())
    if special is None and country(market) == "US" and (customary := _us_forms().get(part.inci)):
        return Printed(*customary)
    if special is None:
        return Printed(part.inci, None, part.share.source, part.share.evidence)
    european, american, source, evidence = special
    return Printed(american if country(market) == "US" else european, None, source, evidence)


def is_fragrance(item: Ingredient) -> bool:
    """Whether it is bought to smell, or holds a perfume composition: its supplier has an allergen list for it."""
    special = (_special_names().get(part.inci.casefold()) for part in item.constituents)
    return item.has("fragrance") or any(found is not None and found[0] == "Parfum" for found in special)


def colourant(part: Constituent) -> Colourant | None:
    """The colour that a constituent is: by its CAS number, else the row of its name without one."""
    name = part.inci.casefold()
    rows = [row for row in colourants() if name in row.names]
    exact = [row for row in rows if row.cas and row.cas == part.cas]
    open_ended = [row for row in rows if not row.cas]
    return next(iter([*exact, *open_ended, *rows]), None)


@cache
def colourants() -> tuple[Colourant, ...]:
    """Every row of colourants.csv."""
    return tuple(map(_colourant, shipped("colourants")))


def _colourant(row: dict[str, str]) -> Colourant:
    names = [name.strip() for name in row["inci"].split(";")] + ([f"CI {row['ci']}"] if row["ci"] else [])
    return Colourant(
        names=tuple(name.casefold() for name in names),
        cas=row["cas"],
        ci=row["ci"],
        eu_name=row["eu name"],
        us_name=row["us name"],
        eu_reference=row["eu reference"],
        us_reference=row["us reference"],
        certified=row["us certified"] == "yes",
        us_areas=frozenset(_us_areas(row)),
        source=row["source"],
        evidence=Evidence(row["evidence"]),
        us_source=row["us source"],
        us_evidence=Evidence(row["us evidence"]),
        note=row["note"],
    )


def _us_areas(row: dict[str, str]) -> Iterator[str]:
    for area in ("eyes", "lips", "external"):
        cell = row[f"us {area}"]
        yield from [area] if cell == "yes" else cell.split("; ") if cell != "no" else ()


@cache
def _us_forms() -> dict[str, tuple[str, None, str, Evidence]]:
    """Plants by the form that is customary in the US, with the common name: (name, no colour, source, evidence)."""
    forms: dict[str, tuple[str, None, str, Evidence]] = {}
    for row in shipped("names"):
        if row["kind"] == "US form":
            forms.setdefault(row["inci"], (row["spelling"], None, row["source"], Evidence(row["evidence"])))
    return forms


@cache
def _special_names() -> dict[str, tuple[str, str, str, Evidence]]:
    """Spelling in lower case to (EU and GB name, US name, source, evidence)."""
    return {
        name.strip().casefold(): (row["eu"], row["us"], row["source"], Evidence(row["evidence"]))
        for row in shipped("label_names")
        for name in row["names"].split(";")
    }
