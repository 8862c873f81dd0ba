"""What goes together and what does not: the rules of chemistry.csv, compiled for certain ingredients.

`check` evaluates them on a formula and `design` branches on the very same ones. A rule that cannot be broken by these
ingredients is left out; a way that cannot be gone with them, too.
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cache, lru_cache

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.acidity import acidity, windows
from optiform.rules.forms import LEVELS, Bound, Either, Keeping, Level, Rule
from optiform.rules.packs import USUAL
from optiform.rules.quantities import Amounts

_BOUND = re.compile(r"(?P<what>.+?) (?P<sign><=|>=) (?P<number>[\d.]+)(?: of (?P<of>.+))?")
AREA = "area:"  #: what stands before an area among the kinds of a row
PROPOSED: tuple[Level, ...] = ("stop", "mind")  #: levels that what is proposed has to keep


@frozen
class Term:
    """A quantity and how much of it there may be, in parts of the whole, or of another quantity."""

    what: str
    side: str
    target: float
    of: str = ""

    @property
    def words(self) -> str:
        """The term as a person reads it.

        Example:
            >>> _term("inci:Carbomer <= 0.05").words
            'Carbomer at most 0.05 %'
        """
        return _words(self)

    def over(self, items: Sequence[Ingredient], brought: Amounts) -> Bound:
        """The term as a bound on the masses of these ingredients; `brought`: what each of them brings."""
        weights = brought.of(self.what)
        if self.of:
            whole = brought.of(self.of)
            weights = [weight - self.target * part for weight, part in zip(weights, whole, strict=True)]
        used = tuple((item.name, weight) for item, weight in zip(items, weights, strict=True) if weight)
        return Bound(self.words, used, "high" if self.side == "high" else "low", 0.0 if self.of else self.target)


@cache
def _words(term: Term) -> str:
    """Worked out once: every set of candidates asks for it again, and the table has few terms."""
    end = "at most" if term.side == "high" else "at least"
    return f"{named(term.what)} {end} {100 * term.target:g} %{f' of the {named(term.of)}' if term.of else ''}"


@frozen
class Chemistry:
    """A row of chemistry.csv.

    Attributes:
        form: need, clash or level; what kind of rule it is.
        ways: each way to keep it, as the terms that hold together.
        kinds: of product that it is about, all where empty; `but` turns it round.
        areas: where the product is used that it is about, all where empty.
        exposures: to air and light, of `packs.EXPOSURES`, that it is about, all where empty.
        advice: what to do where it is broken; empty for a note.
        figures: how well the amounts in it are known, apart from the statement.
    """

    rule: Rule
    form: str
    ways: tuple[tuple[Term, ...], ...]
    kinds: tuple[str, ...]
    but: bool
    areas: tuple[str, ...]
    exposures: tuple[str, ...]
    happens: str
    advice: str
    figures: Evidence
    note: str

    def about_product(self, kind: str, exposure: str, area: str) -> bool:
        """Whether it is about this kind of product in a pack of this exposure, used on this area."""
        used = (not self.exposures or exposure in self.exposures) and (not self.areas or area in self.areas)
        return used and (not self.kinds or (kind in self.kinds) != self.but)


@cache
def chemistry() -> tuple[Chemistry, ...]:
    """Every rule of chemistry.csv.

    Example:
        >>> len(chemistry()) > 60 and sum(row.rule.evidence is Evidence.PUBLISHED for row in chemistry()) > 50
        True
        >>> first, *_ = next(row.ways for row in chemistry() if row.rule.id == "methylparaben-dissolved")
        >>> [(term.what, round(100 * term.target, 2), term.of) for term in first]
        [('inci:Methylparaben', 0.24, 'water')]

    Source: J Soc Cosmet Chem 23 (1972) 714 (CH-S02): water dissolves 0.24 % methylparaben.
    """
    return tuple(_read(row) for row in shipped("chemistry"))


def _read(row: dict[str, str]) -> Chemistry:
    advice = f" {row['advice']}." if row["advice"] else ""
    about = tuple(filter(None, row["kinds"].removeprefix("! ").split("; ")))
    return Chemistry(
        rule=Rule(
            id=row["id"],
            about=row["about"],
            level=next(level for level in LEVELS if level == row["level"]),
            title=row["title"],
            text=f"{row['text'].rstrip('.')}.{advice}",
            evidence=Evidence(row["evidence"]),
            source=row["source"],
        ),
        form=row["form"],
        ways=tuple(tuple(map(_term, way.split(" & "))) for way in row["ways"].split(" | ")),
        kinds=tuple(word for word in about if not word.startswith(AREA)),
        but=row["kinds"].startswith("! "),
        areas=tuple(word.removeprefix(AREA) for word in about if word.startswith(AREA)),
        exposures=tuple(filter(None, row["exposure"].split("; "))),
        happens=row["text"],
        advice=row["advice"],
        figures=Evidence(row["figures"]),
        note=row["note"],
    )


def _term(text: str) -> Term:
    """A term as chemistry.csv writes it.

    Raises:
        ValueError: for what is no term.
    """
    match = _BOUND.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is no bound")
    side = "high" if match["sign"] == "<=" else "low"
    return Term(match["what"], side, float(match["number"]) / 100, match["of"] or "")


def named(quantity: str) -> str:
    """A quantity in words.

    Example:
        >>> named("charge:cationic with surface-active"), named("inci:Illite; inci:Kaolin"), named("group:acid")
        ('cationic surfactant or emulsifier', 'Illite or Kaolin', 'acid')

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return " or ".join(map(_named_term, quantity.split("; ")))


#: Quantities that are no words of a maker, in words.
NAMED = {
    "ions": "magnesium, calcium, zinc or aluminium salt",
    "preserving": "preservative, of its usual low dose,",
    "preserving fully": "preservative, of its usual top dose,",
    "carrying": "oil that the emulsifiers carry",
    "carrying alone": "emulsifier that carries alone",
    "oxidation": "linoleic and twice linolenic acid",
    "surfactant": "active surfactant",
    "surface-active item": "emulsifier or surfactant",
    "salt poor": "emulsifier tender to salt",
    "salt lamellar": "lamellar emulsifier",
    "soap making": "fatty acid that the alkali neutralises",
    "alkali as lye": "alkali, as sodium hydroxide,",
    "water-in-oil": "emulsifier for water in oil",
    "oil-in-water": "emulsifier for oil in water",
    "hydrophilic": "emulsifier for oil in water",
    "partner": "partner of it",
    "head:sulf": "sulfate or sulfonate",
    "electrolyte:strong": "electrolyte",
    "alkaline": "what makes it alkaline",
}


def _named_term(term: str) -> str:
    first, *filters = term.split(" with ")
    words = [NAMED.get(word, word.rpartition(":")[2]) for word in (first, *filters) if word != "surface-active"]
    active = ["surfactant or emulsifier"] if "surface-active" in filters else []
    return " ".join((*reversed(words[1:]), words[0], *active))


@cache
def rule_ids() -> frozenset[str]:
    """Every id that a brief can overrule.

    Example:
        >>> {"acid-carbonate", "acidity", "ph carbomer"} <= rule_ids()
        True

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    acids = ("acidity", *(f"acidity-{level}" for level in LEVELS))
    return frozenset((*(row.rule.id for row in chemistry()), *(window.id for window in windows()), *acids))


# -- for certain ingredients -------------------------------------------------------------------------------------------


def eithers(
    items: Sequence[Ingredient],
    kind: str = "",
    ph: float | None = None,
    overrule: Iterable[str] = (),
    levels: Sequence[Level] = PROPOSED,
    exposure: str = USUAL,
    area: str = "",
) -> tuple[Either, ...]:
    """The rules that these ingredients can break, as disjunctions of bounds on their masses.

    Args:
        items: that may be in the formula.
        kind: of product; empty where it is not known.
        ph: that the maker wants; None where any is welcome.
        overrule: ids of rules that the brief overrules: they are left out.
        levels: of the rules.
        exposure: of the oils to air and light in the pack, of `packs.EXPOSURES`.
        area: where it is used; empty where it is not known.

    Raises:
        ValueError: for a table of ours that cannot be read.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> fizz = [known[name] for name in ("water", "citric acid", "sodium bicarbonate")]
        >>> [either.rule.id for either in eithers(fizz, overrule=["water-needs-preservative"])]
        ['acid-carbonate']

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return _compiled(tuple(dict.fromkeys(items)), kind, ph, frozenset(overrule), tuple(levels), exposure, area)


@lru_cache(maxsize=256)
def _compiled(
    items: tuple[Ingredient, ...],
    kind: str,
    ph: float | None,
    overrule: frozenset[str],
    levels: tuple[Level, ...],
    exposure: str,
    area: str,
) -> tuple[Either, ...]:
    rows = (row for row in chemistry() if row.rule.level in levels and row.about_product(kind, exposure, area))
    brought = _brought(items)
    compiled = (_either(row, items, brought) for row in rows if row.rule.id not in overrule)
    return (*filter(None, compiled), *acidity(items, ph, overrule, levels))


@lru_cache(maxsize=16)
def _brought(items: tuple[Ingredient, ...]) -> Amounts:
    """What these ingredients bring: the same for rules of every level."""
    return Amounts(items)


def _either(row: Chemistry, items: Sequence[Ingredient], brought: Amounts) -> Either | None:
    """A rule over these ingredients; None where they cannot break it. `brought`: what each brings."""
    if any(all(term.side == "high" and not any(brought.of(term.what)) for term in way) for way in row.ways):
        return None  # nothing of what there may be too much of: so it is with most rules, and no bound is made
    ways = [tuple(term.over(items, brought) for term in way) for way in row.ways]
    if any(all(map(_always, way)) for way in ways):
        return None
    open_ways = tuple(way for way in ways if not any(map(_never, way)))
    return Either(row.rule, open_ways)


def _always(bound: Bound) -> bool:
    """Whether any formula of these ingredients keeps a bound: its weights are masses, which are never negative."""
    weights = [weight for _, weight in bound.weights]
    if bound.side == "high":
        return max(weights, default=0.0) <= max(bound.target, 0.0)
    return bound.target <= 0 and min(weights, default=0.0) >= 0


def _never(bound: Bound) -> bool:
    return bound.side == "low" and bound.target > 0 and max((weight for _, weight in bound.weights), default=0.0) <= 0


# -- fewer of them -----------------------------------------------------------------------------------------------------


def merged(rules: Sequence[Either]) -> tuple[Either, ...]:
    """The same rules in fewer disjunctions: those that differ in one way only are one, whose way keeps them all.

    (A or B) and (A or C) is A or (B and C). What breaks one breaks the whole; which one is told by the rules apart.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> bath = ("water", "carbomer", "epsom salt", "zinc oxide", "sodium lactate, 60 %", "triethanolamine")
        >>> apart = eithers([known[name] for name in bath])
        >>> len(merged(apart)) < len(apart)
        True

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    groups: dict[tuple[str, frozenset[Keeping]], list[tuple[Either, Keeping]]] = {}
    for either in rules:
        group, own = min(((_shared(either, way), way) for way in either.ways), key=lambda pair: _size(pair[0], rules))
        groups.setdefault((either.rule.level, group), []).append((either, own))
    return tuple(_joined(group, members) for (_, group), members in groups.items())


def _shared(either: Either, own: Keeping) -> frozenset[Keeping]:
    return frozenset(way for way in either.ways if way != own)


def _size(shared: frozenset[Keeping], rules: Sequence[Either]) -> int:
    """How rare what is shared is among the rules: the commonest stands first."""
    return -sum(len(other.ways) == len(shared) + 1 and shared <= set(other.ways) for other in rules)


def _joined(shared: frozenset[Keeping], members: Sequence[tuple[Either, Keeping]]) -> Either:
    first = members[0][0]
    if len(members) == 1:
        return first
    way = tuple(dict.fromkeys(bound for _, own in members for bound in own))
    rules = [either.rule for either, _ in members]
    rule = replace(
        first.rule,
        id="; ".join(rule.id for rule in rules),
        title="; ".join(dict.fromkeys(rule.title for rule in rules)),
        text=" ".join(dict.fromkeys(rule.text for rule in rules)),
        evidence=Evidence.weakest(rule.evidence for rule in rules),
        source="; ".join(dict.fromkeys(rule.source for rule in rules if rule.source)),
    )
    return Either(rule, (*(way for way in first.ways if way in shared), way))
