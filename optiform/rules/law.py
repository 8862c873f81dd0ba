"""Legal limits on constituents, by market, use, area and date, and the maxima of fragrance certificates.

The tables are a copy of what was read on the dates their sources give; laws move. They switch limits on; they do not
replace the law or a qualified assessor.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient
from optiform.ingredients.names import resolve
from optiform.properties.base import Mix, Terms
from optiform.reading.tables import shipped

MARKETS = ("EU", "GB", "US")
USES = ("rinse-off", "leave-on")
AREAS = ("body", "face", "hands", "feet", "lips", "hair", "eyes", "baby")


@dataclass(frozen=True)
class Scope:
    """Where and when a product is sold and how it is used; what decides which rules apply."""

    use: str
    area: str
    markets: tuple[str, ...]
    date: datetime.date


@dataclass(frozen=True)
class Rule:
    """A limit on the sum of some constituents, in % of the finished product.

    `factors` turn each constituent's mass into the mass the limit is expressed as (the acid of a salt).
    """

    id: str
    group: str
    factors: dict[str, float]
    limit: float | None
    market: str
    use: str
    areas: tuple[str, ...]
    kind: str
    start: datetime.date | None
    end: datetime.date | None
    expressed_as: str
    reference: str
    source: str
    evidence: Evidence
    note: str

    @property
    def hard(self) -> bool:
        """Whether it is law with a number, as against advice or a labelling threshold."""
        return self.kind in ("maximum", "prohibited") and self.limit is not None

    def applies(self, scope: Scope) -> bool:
        """Whether the rule covers a product of this scope on its date."""
        return (
            self.market in scope.markets
            and self.use in ("any", scope.use)
            and ("any" in self.areas or scope.area in self.areas)
            and (self.start is None or self.start <= scope.date)
            and (self.end is None or scope.date <= self.end)
        )

    def terms(self, mix: Mix, wary: bool = False) -> Terms:
        """Mass of the counted constituents, as the limit expresses it: sum_i x_i sum_k f_k a_ik, in %."""
        return Terms.exact(np.array([self.content(item, wary) for item in mix.ingredients]))

    def content(self, item: Ingredient, wary: bool = False) -> float:
        """Content of an ingredient in %, as the limit expresses it; the upper end of a range of shares counts.

        `wary` counts also what a name from memory may be: for what is proposed, not for what is judged.
        """
        named = [(_counted(part, wary), part.share.most) for part in item.constituents]
        return sum(self.factors[name] * share for name, share in named if name in self.factors)

    def assumed(self, mix: Mix) -> str:
        """Which names a wary count takes for others that they may be, in words; empty where it takes none."""
        parts = {part for item in mix.ingredients for part in item.constituents if part.inci not in self.factors}
        pairs = sorted((part.inci, _counted(part, wary=True)) for part in parts)
        return ", ".join(f"{name} may be {other}" for name, other in pairs if other in self.factors)


def _counted(part: Constituent, wary: bool) -> str:
    """The name of a constituent by which rules count it."""
    return resolve(part.inci).inci or part.inci if wary and part.inci not in _all_known() else part.inci


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule of limits.csv.

    Example:
        >>> sorted({rule.market for rule in rules()})
        ['EU', 'GB', 'US']
    """
    return tuple(_rule(row) for row in shipped("limits"))


def _rule(row: dict[str, str]) -> Rule:
    names, factors = (row[column].split(";") for column in ("inci", "factors"))
    start, end = (datetime.date.fromisoformat(day) if (day := row[column]) else None for column in ("from", "until"))
    return Rule(
        id=row["id"],
        group=row["group"],
        factors={name.strip(): float(factor) for name, factor in zip(names, factors, strict=True)},
        limit=float(row["limit"]) if row["limit"] else None,
        market=row["market"],
        use=row["use"],
        areas=tuple(part.strip() for part in row["area"].split(";")),
        kind=row["kind"],
        start=start,
        end=end,
        expressed_as=row["expressed as"],
        reference=row["reference"],
        source=row["source"],
        evidence=Evidence(row["evidence"]),
        note=row["note"],
    )


def applying(scope: Scope, ingredients: Sequence[Ingredient], wary: bool = False) -> list[Rule]:
    """The rules that cover this scope and count something that these ingredients contain; `wary` as in `Rule.terms`.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> item = read_catalogue().ingredients["sodium benzoate"]
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
        >>> [(rule.limit, rule.expressed_as) for rule in applying(scope, [item]) if rule.hard]
        [(2.5, 'benzoic acid')]
    """
    present = {_counted(part, wary) for item in ingredients for part in item.constituents}
    return [rule for rule in rules() if rule.applies(scope) and not present.isdisjoint(rule.factors)]


@cache
def known(market: str) -> frozenset[str]:
    """The substances that were looked up for a market: names of its rules, the catalogue, allergens and colours.

    A name that stands in substances.csv or in another market's rules alone is spelled, not judged.

    Example:
        >>> "Phenoxyethanol" in known("EU"), "Unheardium Extract" in known("EU")
        (True, False)
    """
    counted = (row["inci"] for row in shipped("limits") if row["market"] == market)
    others = (row["inci"] for table in ("constituents", "allergens", "colourants") for row in shipped(table))
    names = {name for cell in (*counted, *others) for name in cell.split("; ")}
    labels = {row["name"] for row in shipped("allergens")} | {row["eu"] for row in shipped("label_names")}
    numbers = (f"CI {row['ci']}" for row in shipped("colourants") if row["ci"])
    return frozenset((*names, *labels, *numbers))


@cache
def _all_known() -> frozenset[str]:
    return frozenset().union(*map(known, MARKETS))


def unjudged(item: Ingredient, scope: Scope) -> list[str]:
    """The declared names of an ingredient for which nothing was looked up in one of the markets.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
        >>> unjudged(read_catalogue().ingredients["glycerin"], scope)
        []
    """
    names = (part.inci for part in item.constituents if part.share.most > 0)
    return [name for name in names if any(name not in known(market) for market in scope.markets)]


def certificate_class(scope: Scope) -> str:
    """The class of product on a fragrance certificate that this scope falls into.

    Classes of the IFRA Standards, 51st Amendment, as the reference maps a small maker's products to them.

    Example:
        >>> certificate_class(Scope("leave-on", "lips", ("EU",), datetime.date(2026, 11, 25)))
        '1'
    """
    if scope.area in ("lips", "eyes"):
        return "1" if scope.area == "lips" else "3"
    if scope.area == "baby":
        return "5D"
    if scope.use == "rinse-off":
        return "7A" if scope.area == "hair" else "9"
    return {"face": "5B", "hands": "5C", "hair": "7B"}.get(scope.area, "5A")


def certificate_terms(mix: Mix, scope: Scope) -> Terms:
    """How much of the certificate maxima is used up: 100 sum(x_i / max_i), in %, at most 100.

    One fragrance reads directly; several may share a restricted material, so their parts are added (the cautious
    test). A fragrance without a certificate in the maker's file brings nothing here; `uncertified` names it.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> lotion = mixed({"water": 99, "lavender essential oil": 1})
        >>> scope = Scope("leave-on", "body", ("EU",), datetime.date(2026, 11, 25))
        >>> certificate_terms(Mix.of(lotion), scope).numerator.tolist()  # no certificate: nothing counts yet
        [0.0, 0.0]
    """
    key = f"certificate maximum {certificate_class(scope).lower()}"
    values = [item.value(key) for item in mix.ingredients]
    parts = [100 / max(value.figure / 100, 1e-9) if value else 0.0 for value in values]
    return Terms.exact(np.array(parts))


def uncertified(mix: Mix, scope: Scope) -> list[str]:
    """Fragrances without a certificate maximum for this class of product.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scope = Scope("leave-on", "body", ("EU",), datetime.date(2026, 11, 25))
        >>> uncertified(Mix.of(mixed({"water": 99, "lavender essential oil": 1})), scope)
        ['lavender essential oil']
    """
    key = f"certificate maximum {certificate_class(scope).lower()}"
    return [item.name for item in mix.ingredients if item.has("fragrance") and item.value(key) is None]
