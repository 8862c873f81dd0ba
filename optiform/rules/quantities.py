"""How much of what a rule speaks of an ingredient brings: water, oil, an acid, a charged surfactant, a dose.

A rule names quantities in words (chemistry.csv). A quantity is one or several terms joined by `;`, which add up; a term
is a word of `WORDS` or a selector, narrowed by words behind `with`:

    inci:X    the substance X                       charge:X  substances of this charge (charge.csv)
    group:X   substances of substance_groups.csv    head:X    substances whose head group has this word in it
    ion:X     salts that bring this ion             electrolyte:strong  salts and what acts as one
    function:X, item:X   the ingredient as supplied

Shares of substances are those of the ingredient as it declares them, so a 25 % blend brings a quarter.
"""

from collections.abc import Callable, Mapping, Sequence
from functools import cache, lru_cache

from optiform.ingredients.ingredient import Constituent, Ingredient
from optiform.properties.oxidation import oxidation_index
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.reading.values import Bound

#: Bought for one of these, an ingredient is part of the oil that an emulsifier has to carry.
OIL = ("oil", "butter", "ester", "silicone", "wax", "fatty alcohol", "fatty acid")
SURFACTANT = ("solid surfactant", "liquid surfactant")
SURFACE_ACTIVE = ("emulsifier", *SURFACTANT)
#: Grams of fatty acid that one gram of an alkali makes soap of: 284.5 g/mol of stearic acid over that of the alkali.
NEUTRALISES = {"Sodium Hydroxide": 7.1, "Potassium Hydroxide": 5.1, "Triethanolamine": 1.9, "Sodium Borate": 1.5}
#: Grams of sodium hydroxide that one gram of an alkali stands for: 40.0 g/mol over that of the alkali.
AS_LYE = {
    "Sodium Hydroxide": 1.0, "Potassium Hydroxide": 0.713, "Aminomethyl Propanol": 0.449, "Tromethamine": 0.330,
    "Triethanolamine": 0.268, "Arginine": 0.230,
}  # fmt: skip
USUAL_DOSE = 0.5  # % of a preservative for which no usual use is known. Common practice, no source.
SURFACTANT_DOSE = 15.0  # g of active surfactant that carry 100 g of oil in water. Recalled.
UNKNOWN_DOSE = 10.0  # g of an emulsifier without a row that carry 100 g of oil: it gets the benefit of the doubt
EMULSIFIES_OIL_OUTSIDE, EMULSIFIES_WATER_OUTSIDE = 7.0, 9.0  # HLB up to which, from which. Griffin's bands, recalled.


@cache
def keyed(table: str, column: str = "of") -> Mapping[str, dict[str, str]]:
    """The rows of a table by the name in one column, in lower case.

    Example:
        >>> keyed("charge", "inci")["sodium lauryl sulfate"]["head group"]
        'sulfate'

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return {row[column].casefold(): row for row in shipped(table)}


def facts(item: Ingredient, table: str) -> list[tuple[dict[str, str], float]]:
    """The rows of a table that are about an ingredient, each with its share of the ingredient, as a fraction.

    A row of the ingredient's own name goes before those of what it declares.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> betaine = read_catalogue().ingredients["cocamidopropyl betaine, 30 %"]
        >>> [(row["of"], share) for row, share in facts(betaine, "acidity")]
        [('Cocamidopropyl Betaine', 0.3)]

    Source: a report on cocamidopropyl betaine (W-S43): about 30 % active as supplied, 0.3.
    """
    rows = keyed(table)
    if own := rows.get(item.name.casefold()):
        return [(own, 1.0)]
    parts = ((rows.get(part.inci.casefold()), part.share.figure / 100) for part in item.constituents)
    return [(row, share) for row, share in parts if row]


@lru_cache(maxsize=200_000)
def amount(item: Ingredient, quantity: str) -> float:
    """How much of a quantity one unit of mass of an ingredient brings.

    Raises:
        ValueError: for words that name no quantity.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> blend, betaine = known["behentrimonium methosulfate blend, 25 %"], known["cocamidopropyl betaine, 30 %"]
        >>> amount(blend, "charge:cationic with surface-active"), amount(betaine, "charge:cationic")
        (0.25, 0.0)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return float(sum(_brought(item, term) for term in _terms(quantity)))


class Amounts:
    """How much of a quantity each of some ingredients brings, worked out once for each quantity that is asked for.

    Most quantities are of substances that none of them holds: those are told without looking at any ingredient.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> Amounts([known["water"], known["glycerin"]]).of("inci:Glycerin; inci:Carbomer")  # 99.5 % of it
        [0.0, 0.995]
    """

    def __init__(self, items: Sequence[Ingredient]) -> None:
        """Nothing is worked out yet."""
        self._items = tuple(items)
        self._held = frozenset(part.inci.casefold() for item in items for part in item.constituents)
        self._known: dict[str, list[float]] = {}

    def of(self, quantity: str) -> list[float]:
        """What one unit of mass of each ingredient brings of it, as `amount` has it.

        Raises:
            ValueError: for words that name no quantity.
        """
        if quantity not in self._known:
            terms = [term for term in _terms(quantity) if term.of is None or not term.of.isdisjoint(self._held)]
            self._known[quantity] = [float(sum(_brought(item, term) for term in terms)) for item in self._items]
        return self._known[quantity]


@frozen
class _Term:
    """A term of a quantity as it is read once: what is counted, and what the ingredient must be besides.

    `of`: the substances it counts; None where it counts something else.
    """

    count: Callable[[Ingredient], float]
    narrowed: tuple[str, ...]
    of: frozenset[str] | None = None


@cache
def _terms(quantity: str) -> tuple[_Term, ...]:
    return tuple(map(_term, quantity.split("; ")))


def _brought(item: Ingredient, term: _Term) -> float:
    return term.count(item) if all(_passes(item, word) for word in term.narrowed) else 0.0


def _term(text: str) -> _Term:
    first, *filters = text.split(" with ")
    of_parts = [word for word in filters if word.split(":")[0] in SELECTORS]
    narrowed = tuple(word for word in filters if word not in of_parts)
    kind, _, word = first.partition(":")
    if first in WORDS:
        return _Term(WORDS[first], narrowed)
    if kind in SELECTORS:
        names = frozenset.intersection(*(_substances(*text.split(":", 1)) for text in (first, *of_parts)))
        return _Term(Bound(_share_of, (names,)), narrowed, names)
    if kind == "function":
        return _Term(lambda item: float(item.functions[:1] == (word,)), narrowed)
    if kind == "item":
        return _Term(lambda item: float(item.name == word), narrowed)
    raise ValueError(f"{text!r} names no quantity")


def _share_of(item: Ingredient, names: frozenset[str]) -> float:
    """How much of it are substances of these names."""
    return sum(part.share.figure / 100 for part in item.constituents if part.inci.casefold() in names)


def _passes(item: Ingredient, word: str) -> bool:
    kind, _, name = word.partition(":")
    if kind == "origin":
        return name in item.origin
    if kind == "function":
        return name in item.functions
    if word == "surface-active":
        return item.has(*SURFACE_ACTIVE)
    if word == "moist":
        water = item.value("water")
        return not item.solute and (water is None or water.figure > 0)
    raise ValueError(f"{word!r} narrows nothing")


# -- substances --------------------------------------------------------------------------------------------------------


def _charge(part: Constituent) -> dict[str, str]:
    return keyed("charge", "inci").get(part.inci.casefold(), {})


@cache
def _group(name: str) -> frozenset[str]:
    members = frozenset(row["inci"].casefold() for row in shipped("substance_groups") if row["group"] == name)
    if not members:
        raise ValueError(f"{name!r} is no group of substance_groups.csv")
    return members


#: Selectors of substances; those of charge.csv with the column that they look in.
SELECTORS = {
    "inci": "",
    "group": "",
    "charge": "charge",
    "head": "head group",
    "ion": "ion",
    "electrolyte": "electrolyte",
}


@cache
def _substances(selector: str, word: str) -> frozenset[str]:
    """The names of the substances that a selector means, in lower case."""
    if selector == "inci":
        return frozenset((word.casefold(),))
    if selector == "group":
        return _group(word)
    column, rows = SELECTORS[selector], keyed("charge", "inci")
    cells = ((name, row[column]) for name, row in rows.items())
    return frozenset(name for name, cell in cells if (word in cell if selector == "head" else cell == word))


def _summed(test: Callable[[Constituent], bool]) -> Callable[[Ingredient], float]:
    return lambda item: sum(part.share.figure / 100 for part in item.constituents if test(part))


def _neutralising(item: Ingredient, by: Mapping[str, float]) -> float:
    return sum(by.get(part.inci, 0.0) * part.share.figure / 100 for part in item.constituents)


# -- water, oil, surfactant --------------------------------------------------------------------------------------------


#: What these hold of water is bound as they are bought: starch, clay, coffee, the film on brown sugar.
DRY = ("grain", "powder", "clay")


def _water(item: Ingredient) -> float:
    if item.functions[:1] and item.functions[0] in DRY:
        return 0.0
    stored = item.value("water")
    if stored is not None:
        return stored.figure / 100
    return sum(part.share.figure / 100 for part in item.constituents if part.inci == "Aqua")


def _active(item: Ingredient) -> float:
    stored = item.value("active surfactant")
    return stored.figure / 100 if stored is not None and item.has(*SURFACTANT) else 0.0


def _oil(item: Ingredient) -> float:
    return float(item.functions[:1] != () and item.functions[0] in OIL)


def _vegetable(item: Ingredient) -> float:
    return float("plant" in item.origin and item.functions[0] in ("oil", "butter"))


def _oxidation(item: Ingredient) -> float:
    return _oil(item) * oxidation_index({acid: value.figure for acid, value in item.fatty_acids.items()}) / 100


# -- emulsifiers -------------------------------------------------------------------------------------------------------


def outer_phase(item: Ingredient) -> str:
    """What an emulsifier likes outside: `water`, `oil`, `either`, or `none` where it carries no emulsion.

    By its row of emulsifiers.csv, else by its HLB, else `either`: what is not known is not held against it. Empty for
    what is no emulsifier.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> [outer_phase(known[name]) for name in ("polysorbate 80", "sorbitan oleate", "cocoa butter")]
        ['water', 'oil', '']

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    if not item.has("emulsifier"):
        return ""
    if rows := facts(item, "emulsifiers"):
        phases = [row["outer phase"] for row, _ in rows]
        return "water" if "water" in phases else phases[0]
    hlb = item.value("hlb")
    if hlb is None:
        return "either"
    if hlb.figure <= EMULSIFIES_OIL_OUTSIDE:
        return "oil"
    return "water" if hlb.figure >= EMULSIFIES_WATER_OUTSIDE else "either"


def carries(item: Ingredient) -> str:
    """What an emulsifier carries in what, and whether it wants a partner for it, in words.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> [carries(known[name]) for name in ("emulsifying wax nf", "polysorbate 60", "sorbitan oleate")]
        ['oil in water', 'oil in water, with a partner', 'water in oil']

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    outside = outer_phase(item)
    words = {"water": "oil in water", "oil": "water in oil", "either": "either", "none": "no emulsion"}.get(outside, "")
    return f"{words}, with a partner" if outside in ("water", "either") and not _alone(item) else words


def _water_outside(item: Ingredient) -> float:
    return max(_active(item), float(outer_phase(item) in ("water", "either")))


def _hydrophilic(item: Ingredient) -> float:
    return max(_active(item), float(outer_phase(item) == "water"))


def _carried(item: Ingredient) -> float:
    """Grams of oil that one gram carries in water, at the low end of its usual dose."""
    if outer_phase(item) not in ("water", "either"):
        return _active(item) * 100 / SURFACTANT_DOSE
    rows = facts(item, "emulsifiers")
    dose = min((float(row["dose low"]) for row, _ in rows if row["dose low"]), default=UNKNOWN_DOSE)
    return 100 / dose


def _alone(item: Ingredient) -> float:
    """Whether it carries an emulsion without a partner; one that is not known is taken to."""
    if outer_phase(item) in ("", "none"):
        return 0.0
    rows = facts(item, "emulsifiers")
    if not rows:
        return float(outer_phase(item) != "oil")
    return float(any(row["alone"] == "yes" for row, _ in rows) or len({row["of"] for row, _ in rows}) > 1)


def _partner(item: Ingredient) -> float:
    """Whether it stands beside a hydrophilic emulsifier as its partner; a free fatty acid emulsifies as soap only."""
    return float(outer_phase(item) in ("oil", "either") or item.functions[:1] == ("fatty alcohol",))


def _bears_salt(item: Ingredient, how: str) -> float:
    return sum(share for row, share in facts(item, "emulsifiers") if row["salt"] == how)


# -- preservatives -----------------------------------------------------------------------------------------------------


def _preserving(item: Ingredient, upper: bool) -> float:
    """How many usual doses one unit of mass is: 1 % of what is used at 0.5 to 1 % is two low ones, or one high one."""
    if item.functions[:1] != ("preservative",):
        return 0.0
    usual = item.value("usual use")
    dose = USUAL_DOSE if usual is None else usual.most if upper else usual.least
    return 100 / max(dose, 1e-3)


ALKALINE = 8.5  # pH of its own solution from which an ingredient makes a product alkaline. Common practice, no source.


def _alkaline(item: Ingredient) -> float:
    """The share of it whose own solution is alkaline, by solution_ph.csv."""
    rows = facts(item, "solution_ph")
    return sum(share for row, share in rows if float(row["low"] or row["typical"] or row["high"]) >= ALKALINE)


WORDS: dict[str, Callable[[Ingredient], float]] = {
    "water": _water,
    "oil": _oil,
    "vegetable oil": _vegetable,
    "oxidation": _oxidation,
    "surfactant": _active,
    "alkaline": _alkaline,
    "surface-active item": lambda item: float(item.has(*SURFACE_ACTIVE)),
    "soap": _summed(lambda part: _charge(part).get("soap") == "yes"),
    "ions": _summed(lambda part: bool(_charge(part).get("ion"))),
    "soap making": lambda item: _neutralising(item, NEUTRALISES),
    "alkali as lye": lambda item: _neutralising(item, AS_LYE),
    "oil-in-water": _water_outside,
    "hydrophilic": _hydrophilic,
    "water-in-oil": lambda item: float(outer_phase(item) == "oil"),
    "carrying": _carried,
    "carrying alone": _alone,
    "partner": _partner,
    "salt poor": lambda item: _bears_salt(item, "poor"),
    "salt lamellar": lambda item: _bears_salt(item, "lamellar"),
    "preserving": lambda item: _preserving(item, upper=False),
    "preserving fully": lambda item: _preserving(item, upper=True),
}
