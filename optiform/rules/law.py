"""Legal limits on constituents, by market, use, area and date.

The tables are a copy of what was read on the dates their sources give; laws move. They switch limits on; they do not
replace the law or a qualified assessor.
"""

import datetime
from collections.abc import Sequence
from functools import cache

import numpy as np

from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient
from optiform.ingredients.names import is_nano, resolve
from optiform.properties.base import Mix, Terms, Vector
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.markets import MARKETS as MARKETS
from optiform.rules.markets import jurisdictions

HARD = ("maximum", "below", "prohibited")  #: kinds that are law with a number
TRACE = 0.1  #: %; a declared part below this share of an ingredient may be a trace that nobody added
BROUGHT = 10.0  #: %; below it a part comes along with what is bought for something else. Common practice, no source.
POWDER = "powder product"  #: what some rules are about; with `PASTE` of what is `WET` it is none (custom, no source)
WET = "water", "oil", "butter", "ester", "silicone", "humectant", "liquid surfactant"
PASTE = 0.2
#: What a rule asks of an oil as it is bought; its certificate says so, the product does not.
OF_THE_OIL = "peroxide value", "content of the oil"
ROUNDING = 1e-6  #: relative; the last digit of a formula as it is written to a file
USES = ("rinse-off", "leave-on")
AREAS = ("body", "face", "hands", "feet", "lips", "hair", "eyes", "baby")


@frozen
class Scope:
    """Where and when a product is sold and how it is used; what decides which rules apply."""

    use: str
    area: str
    markets: tuple[str, ...]
    date: datetime.date

    @property
    def jurisdictions(self) -> tuple[str, ...]:
        """Whose law holds: the markets, and the countries of those that are states."""
        return _holding(self.markets)


@cache  # a look at a formula asks it for every rule there is
def _holding(markets: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(law for market in markets for law in jurisdictions(market)))


@frozen
class Rule:
    """A limit on the sum of some constituents, in % of the finished product.

    Attributes:
        factors: turn each constituent's mass into the mass the limit is expressed as (the acid of a salt).
        kind: `maximum`, `below` (the limit itself is too much) and `prohibited` are law; `label` is a threshold for a
            statement, `guidance` advice, `no entry` no number, `open` a rule of which it is not known whether it is
            kept, above its limit where it has one.
        only: `preservative`, `uv filter` or `ph adjuster` where it holds for what is bought as one, `added` where a
            trace is let pass, `powder product` where the finished product has to be a powder; else empty.
        highest_ph: of a product with it, where the rule has one: a base whose pH is set below that keeps the rule.
        statement: the condition on what is bought that a supplier can confirm, where it is open for that; else empty.
        words: what a label has to say; else empty.
        read: the day its text was last read; None where it never was.
    """

    id: str
    group: str
    factors: dict[str, float]
    limit: float | None
    market: str
    use: str
    areas: tuple[str, ...]
    kind: str
    only: str
    highest_ph: float | None
    statement: str
    words: str
    start: datetime.date | None
    end: datetime.date | None
    expressed_as: str
    reference: str
    source: str
    evidence: Evidence
    read: datetime.date | None
    note: str

    @property
    def hard(self) -> bool:
        """Whether it is law with a number, as against advice or a labelling threshold."""
        return self.kind in HARD and self.limit is not None

    @property
    def reach(self) -> float:
        """The most that a proposal may contain, %: where the limit itself is too much, 1 % of it below."""
        return (self.limit or 0.0) * (0.99 if self.kind == "below" else 1.0)

    def keeps(self, content: float) -> bool:
        """Whether a content is within the limit, but for the last digit of a formula as it is written to a file."""
        if self.limit is None or self.kind == "open":
            return True
        return self.within(content)

    def within(self, content: float) -> bool:
        """Likewise, where it has a limit; without one nothing is, but what is not there."""
        if self.limit is None:
            return content <= 0
        off = min(ROUNDING * max(1.0, self.limit), 1e-3 * self.limit) if self.limit else 1e-9
        return content < self.limit - off if self.kind == "below" else content <= self.limit + off

    def applies(self, scope: Scope) -> bool:
        """Whether the rule covers a product of this scope on its date."""
        return (
            self.market in scope.jurisdictions
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

    def certain(self, mix: Mix) -> Terms:
        """Likewise, of what counts beyond doubt where the rule is `only` for some of it, and no supplier confirms."""
        return Terms.exact(np.array([self.beyond_doubt(item) for item in mix.ingredients]))

    def covers(self, mix: Mix, x: Vector) -> bool:
        """Whether a product may be of the form that the rule is about; most rules are about any."""
        wet = np.array([bool(item.functions) and item.functions[0] in WET for item in mix.ingredients])
        return self.only != POWDER or float(x[wet].sum()) < PASTE

    def beyond_doubt(self, item: Ingredient) -> float:
        """Content of an ingredient in % of what counts beyond doubt: nothing that a supplier's paper confirms."""
        if self.statement in item.statements:
            return 0.0
        least = TRACE if self.only == "added" else 0.0
        if self.only not in ("", "added", POWDER) and not item.has(self.only):
            least = BROUGHT if self.kind == "open" else np.inf
        named = ((_counted(part, wary=False), part.share.most) for part in item.constituents)
        return sum(self.factors[name] * share for name, share in named if name in self.factors and share >= least)

    def assumed(self, mix: Mix) -> str:
        """Which names a wary count takes for others that they may be, in words; empty where it takes none."""
        parts = {part for item in mix.ingredients for part in item.constituents if part.inci not in self.factors}
        pairs = sorted((part.inci, _counted(part, wary=True)) for part in parts)
        return ", ".join(f"{name} may be {other}" for name, other in pairs if other in self.factors)


def _counted(part: Constituent, wary: bool) -> str:
    """The name of a constituent by which rules count it; a nano form is counted with its substance."""
    if (wary or is_nano(part.inci)) and part.inci not in _all_known():
        return resolve(part.inci).inci or part.inci
    return part.inci


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule of limits.csv.

    Example:
        >>> sorted({rule.market for rule in rules()})[:5]
        ['EU', 'GB', 'US', 'US-CA', 'US-CO']
        >>> [rule.limit for rule in rules() if rule.id == "EU-V-29"]
        [1.0]

    Source: Regulation (EC) 1223/2009, Annex V/29 (L-COSING-2026): phenoxyethanol 1.0 %.
    """
    return tuple(map(_rule_at, range(len(_rows()))))


@cache
def _rows() -> list[dict[str, str]]:
    return shipped("limits")


@cache
def _places() -> dict[str, list[int]]:
    """Each name that a rule counts, with the places of its rules: a formula has few of the names."""
    places: dict[str, list[int]] = {}
    for place, row in enumerate(_rows()):
        for name in row["inci"].split("; "):
            places.setdefault(name, []).append(place)
    return places


@cache
def _rule_at(place: int) -> Rule:
    row = _rows()[place]
    names, factors = (row[column].split("; ") for column in ("inci", "factors"))
    return Rule(
        id=row["id"],
        group=row["group"],
        factors={name: float(factor) for name, factor in zip(names, factors, strict=True)},
        limit=float(row["limit"]) if row["limit"] else None,
        market=row["market"],
        use=row["use"],
        areas=tuple(row["area"].split("; ")),
        kind=row["kind"],
        only=row["only as"],
        highest_ph=float(row["ph at most"]) if row["ph at most"] else None,
        statement=row["statement"],
        words=row["words"],
        start=day(row["from"]),
        end=day(row["until"]),
        expressed_as=row["expressed as"],
        reference=row["reference"],
        source=row["source"],
        evidence=Evidence(row["evidence"]),
        read=day(row["read on"]),
        note=row["note"],
    )


def day(cell: str) -> datetime.date | None:
    """The date of a cell; None where it is empty.

    Example:
        >>> day("2027-01-01"), day("")
        (datetime.date(2027, 1, 1), None)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return datetime.date.fromisoformat(cell) if cell else None


def counting(ingredients: Sequence[Ingredient], wary: bool = False) -> list[Rule]:
    """Every rule that counts something that these ingredients contain, in the order of the table.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> item = read_catalogue().ingredients["phenoxyethanol"]
        >>> [(rule.id, rule.limit) for rule in counting([item])]
        [('EU-V-29', 1.0), ('GB-V-29', 1.0)]

    Source: Regulation (EC) 1223/2009, Annex V/29 (L-COSING-2026): phenoxyethanol 1.0 %.
    """
    present = {_counted(part, wary) for item in ingredients for part in item.constituents}
    return [_rule_at(place) for place in sorted({place for name in present for place in _places().get(name, ())})]


def applying(scope: Scope, ingredients: Sequence[Ingredient], wary: bool = False) -> list[Rule]:
    """The rules that cover this scope and count something that these ingredients contain; `wary` as in `Rule.terms`.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> item = read_catalogue().ingredients["sodium benzoate"]
        >>> scope = Scope("rinse-off", "body", ("EU",), datetime.date(2026, 11, 25))
        >>> [(rule.limit, rule.expressed_as) for rule in applying(scope, [item]) if rule.hard]
        [(2.5, 'benzoic acid')]

    Source: Regulation (EC) 1223/2009, Annex V/1 (L-COSING-2026): 2.5 % of the acid in what is rinsed off.
    """
    return [rule for rule in counting(ingredients, wary) if rule.applies(scope)]


def unconfirmed(item: Ingredient, scope: Scope) -> list[str]:
    """The conditions on an ingredient as it is bought that the law has here and none of its suppliers' papers confirms.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> scope = Scope("leave-on", "body", ("EU",), datetime.date(2026, 11, 27))
        >>> items = read_catalogue().ingredients
        >>> unconfirmed(items["petrolatum"], scope), unconfirmed(items["beeswax"], scope)
        (['refining history'], [])

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    rules = [rule for rule in applying(scope, [item]) if rule.kind == "open" and rule.statement]
    return sorted({rule.statement for rule in rules if not rule.within(rule.beyond_doubt(item))})


@cache
def known(market: str) -> frozenset[str]:
    """The substances that were looked up for a market: names of its rules and lists, the catalogue, allergens, colours.

    A name that stands in substances.csv or in another market's rules alone is spelled, not judged.

    Example:
        >>> "Phenoxyethanol" in known("EU"), "Unheardium Extract" in known("EU")
        (True, False)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return _everywhere().union(*(_by_market().get(other, frozenset()) for other in jurisdictions(market)))


@cache
def _everywhere() -> frozenset[str]:
    """The names that are known whatever the market."""
    tables = {table: shipped(table) for table in ("constituents", "allergens", "colourants", "unlisted", "label_names")}
    labels = (*(row["name"] for row in tables["allergens"]), *(row["eu"] for row in tables.pop("label_names")))
    numbers = (f"CI {row['ci']}" for row in tables["colourants"] if row["ci"])
    names = (name for rows in tables.values() for row in rows for name in row["inci"].split("; "))
    return frozenset((*names, *labels, *numbers))


@cache
def _by_market() -> dict[str, set[str]]:
    """The names that the rules and lists of each market count."""
    names: dict[str, set[str]] = {}
    for row in (*_rows(), *shipped("positive_lists")):
        names.setdefault(row["market"], set()).update(row["inci"].split("; "))
    return names


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

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    names = (part.inci for part in item.constituents if part.share.most > 0)
    return [name for name in names if any(name not in known(market) for market in scope.markets)]
