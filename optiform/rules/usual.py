"""What is usual in a kind of product: its parts with their ranges, how much of an ingredient, and which one first."""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.forms import Level
from optiform.rules.quantities import amount

FAR = 1.0  #: of the width of a usual range: from there beyond it, a value is to be minded. No source.
COUNT = "number of ingredients"  #: a row of usual_ranges.csv that is no property of a mix
GRAINS = ("grains", "undissolved")  #: how the rows begin that say how much there is to scrub with
NO_RANK = 1.5  #: of what stands in no list of usual_choices.csv; the last of a list has 1
#: Functions whose ingredients do unlike things: one that no maker of a kind takes for it does not stand for another.
UNLIKE_EACH_OTHER = (
    "emulsifier", "preservative", "antioxidant", "thickener", "solid surfactant", "liquid surfactant", "powder",
)  # fmt: skip
#: Grains that dissolve, by their solute. A kind may have a set of ranges for each, and one for grains that do not.
SOLUTES = {"sucrose": "sugar", "sodium chloride": "salt", "magnesium sulfate heptahydrate": "salt"}


@frozen
class UsualRange:
    """What is usual for one property of a kind of product, and what happens outside.

    Attributes:
        property: in a brief's words, or `COUNT`.
        typical: the middle that is aimed at; None where the range says only how far one may go.
        needed: whether a product must have this part to be one of its kind.
        if_used: the range says how much where any is used at all; none is usual too.
        over: how much of the whole a ratio is over in a usual product, %; 100 for a share of the whole.
    """

    property: str
    low: float
    typical: float | None
    high: float
    unit: str
    needed: bool
    if_used: bool
    over: float
    below: str
    above: str
    evidence: Evidence
    source: str

    def level(self, value: float) -> Level:
        """How much a value outside weighs: a note, but for one far out of a range that was read.

        Far is once its width, or half of the least that a kind must have. What is only custom or recalled is no reason
        for more than a note, but that nothing is there of the grains of a scrub.
        """
        if value <= 0 < self.low and self.property.startswith(GRAINS):
            return "mind"
        if self.needed and value < self.low / 2 and self.evidence is Evidence.PUBLISHED:
            return "mind"
        beyond, width = max(self.low - value, value - self.high), self.high - self.low
        return "mind" if 0 < FAR * width < beyond and self.evidence is Evidence.PUBLISHED else "note"

    def half(self) -> float:
        """Half its width."""
        return (self.high - self.low) / 2


@frozen
class Instead:
    """What does the work of a part that a formula lacks: so much of another property, in its unit."""

    property: str
    low: float


@cache
def instead_of(kind: str, part: str) -> tuple[Instead, ...]:
    """What may stand in place of a part of a kind of product; mostly nothing.

    Example:
        >>> [(other.property, other.low) for other in instead_of("balm", "wax as beeswax")]
        [('share of fatty alcohol', 6.0)]
        >>> instead_of("lotion", "water")
        ()

    Source: a maker's weblog of 2016 (K-S147): fatty alcohol as the wax; 6 to 11 of it is second-hand.
    """
    rows = (row for row in shipped("usual_instead") if (row["kind"], row["property"]) == (kind, part))
    return tuple(Instead(row["instead"], float(row["low"])) for row in rows)


@cache
def usual_ranges(kind: str, grain: str = "") -> tuple[UsualRange, ...]:
    """The usual ranges for a kind of product with these grains; none for an unknown kind.

    Args:
        kind: of product.
        grain: a set of `grains_of`, where the kind has several; the first of them where it is empty.

    Example:
        >>> [part.property for part in usual_ranges("lotion") if part.needed][:3]
        ['water', 'water phase', 'oil phase']
        >>> [{row.property: row.high for row in usual_ranges("cream scrub", grain)}["water"] for grain in ("", "sugar")]
        [62.0, 16.0]

    Source: makers' pages and 36 published formulas (K-RANGES): 45 to 62 % water in a cream scrub with insoluble grains.
    """
    rows = [row for row in shipped("usual_ranges") if row["kind"] == kind]
    chosen = grain if grain in grains_of(kind) else next(iter(grains_of(kind)), "")
    return tuple(
        UsualRange(
            row["property"], float(row["low"]), float(row["typical"]) if row["typical"] else None, float(row["high"]),
            row["unit"], row["needed"] == "yes", row["if used"] == "yes", float(row["over"] or 100), row["below"],
            row["above"], Evidence(row["evidence"]), row["source"],
        )
        for row in rows
        if row["grain"] in ("", chosen)
    )  # fmt: skip


@cache
def kinds() -> tuple[str, ...]:
    """The kinds of product with usual ranges.

    Example:
        >>> kinds()[:3]
        ('cream scrub', 'anhydrous emulsified scrub', 'foaming scrub')

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return tuple(dict.fromkeys(row["kind"] for row in shipped("usual_ranges")))


@cache
def grains_of(kind: str) -> tuple[str, ...]:
    """The kinds of grains for which a kind of product has a set of ranges each.

    Example:
        >>> grains_of("cream scrub"), grains_of("lotion")
        (('insoluble', 'sugar', 'salt'), ())

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    return tuple(dict.fromkeys(row["grain"] for row in shipped("usual_ranges") if row["kind"] == kind and row["grain"]))


def grain_in(kind: str, amounts: Mapping[Ingredient, float]) -> str:
    """The set of a kind's ranges that is for these amounts of ingredients: by the grains there is most of.

    Empty where the kind has no such sets, or none of the ingredients is a grain.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> grain_in("cream scrub", {items["sea salt, fine"]: 0.3, items["pumice, fine"]: 0.05, items["water"]: 0.4})
        'salt'

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    totals: dict[str, float] = {}
    for item, share in amounts.items():
        if item.phase == "grains" and share > 0:
            word = SOLUTES.get(item.solute, "insoluble")
            totals[word] = totals.get(word, 0.0) + share
    return max(totals, key=lambda word: totals[word]) if totals and grains_of(kind) else ""


@cache
def _uses() -> Mapping[tuple[str, str], Value]:
    return {
        (row["kind"], row["ingredient"]): Value(
            float(row["low"]), float(row["typical"]), float(row["high"]), "%", row["source"], Evidence(row["evidence"])
        )
        for row in shipped("usual_use")
    }


def usual_use(kind: str, item: Ingredient) -> Value | None:
    """How much of an ingredient is usual in a kind of product, %; of the ingredient at large where the kind has no row.

    A figure of the maker's own goes before both.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> glycerin = read_catalogue().ingredients["glycerin"]
        >>> [usual_use(kind, glycerin).high for kind in ("lotion", "solid cleansing bar", "balm")]
        [5.0, 1.0, 45.0]

    Source: makers' pages and 36 published formulas (K-RANGES): 2 to 5 % in lotions; a bar in which 6 failed (K-S63).
    """
    general = item.value("usual use")
    if general is not None and general.evidence is Evidence.OWN:
        return general
    return _uses().get((kind, item.name), general)


def proposed_most(kind: str, item: Ingredient) -> float | None:
    """The most of an ingredient that is proposed in a kind of product, %: the top of its usual use; None without one.

    An oil that makers of the kind take may be all of its oils. What adjusts a pH but is neither an acid nor an alkali
    that a rule may ask for, such as bicarbonate, is proposed only where the kind has a row for it.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> [proposed_most("balm", items[name]) for name in ("sweet almond oil", "squalane")]
        [84.0, 30.0]
        >>> [proposed_most("lotion", items[name]) for name in ("sodium bicarbonate", "citric acid")]
        [0.0, 1.0]

    Source: none: custom of the trade.
    """
    use, listed = usual_use(kind, item), (kind, item.name) in _uses()
    asked_for = amount(item, "group:acid") + amount(item, "group:alkali") > 0
    if kind and item.functions[0] == "ph adjuster" and not listed and not asked_for:
        return 0.0
    if use is None or use.high is None:
        return None
    stated = use.evidence is Evidence.OWN or listed
    if stated or item.functions[:1] != ("oil",) or rank(kind, item) > 1:
        return use.high
    tops = (row.high for row in usual_ranges(kind) if row.property in ("share of oil", "share of oil and ester"))
    return max(use.high, *tops, 0.0)


DRY = 3.0  # % water at most: a kind that has no more holds no water phase
#: Functions whose ingredients no formula is filled up with, each with the share of the whole, %, that is proposed where
#: a kind's table has no row of it and the brief no word: a dose where something may need one, none of what a maker
#: chooses. Common practice, no source.
ADDITIVES: Mapping[str, float] = {
    "ph adjuster": 0.2, "chelator": 0.1, "antioxidant": 0.2,
    "preservative": 0.0, "uv filter": 0.0, "colourant": 0.0, "fragrance": 0.0, "active": 0.0,
}  # fmt: skip


def unasked(row: UsualRange) -> float:
    """How much of a property is proposed to a maker who asks for none of it: of an additive what is typical, no more.

    Of a preservative all that is usual: rules may ask for its full dose.

    Example:
        >>> rows = {row.property: row for row in usual_ranges("lotion")}
        >>> [unasked(rows[name]) for name in ("share of preservative", "share of fragrance", "share of emulsifier")]
        [1.1, 0.3, 8.0]

    Source: makers' pages and 36 published formulas (K-RANGES): 3 to 8 % emulsifier in lotions.
    """
    return row.high if row.typical is None or added(row.property) in (None, "preservative") else row.typical


def added(part: str) -> str | None:
    """The function of additives that a part in a brief's words is the share of; None for any other.

    Example:
        >>> added("share of preservative in the base"), added("share of butter")
        ('preservative', None)

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    function = part.removeprefix("share of ").removesuffix(" in the base")
    return function if function in ADDITIVES else None


def additives_without_a_row(rows: Iterable[UsualRange]) -> Iterator[UsualRange]:
    """The most of each additive that a kind's ranges say nothing of, as a range; none for a kind without ranges.

    Where there is no water there is no pH to adjust.

    Example:
        >>> [row.property for row in additives_without_a_row(usual_ranges("lotion"))]
        ['share of ph adjuster', 'share of uv filter', 'share of colourant', 'share of active']
        >>> list(additives_without_a_row(usual_ranges("no such kind")))
        []

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    rows = tuple(rows)
    known = [added(row.property) for row in rows]
    dry = all(row.property != "water" or row.high <= DRY for row in rows)
    for function, most in ADDITIVES.items():
        if known and function not in known:
            top = 0.0 if dry and function == "ph adjuster" else most
            yield UsualRange(
                f"share of {function}", 0.0, None, top, "%", False, False, 100, "", "", Evidence.PRACTICE, "K-PRACTICE"
            )


#: Parts of a kind that are not named by the function that serves them.
PARTS = {
    "grains": ("grain",), "grains per 100 of base": ("grain",), "grains that do not dissolve": ("grain",),
    "water": ("water",), "humectant active": ("humectant",), "wax as beeswax": ("wax",),
    "active surfactant": ("solid surfactant", "liquid surfactant"),
}  # fmt: skip


@cache
def served(kind: str, grain: str = "") -> frozenset[str]:
    """The functions that serve a part of a kind of product, of which some is usual.

    Example:
        >>> sorted(served("balm"))
        ['antioxidant', 'butter', 'ester', 'fragrance', 'oil', 'wax']

    Source: none: words and yes or no, of tables whose rows have their sources.
    """
    functions: set[str] = set()
    for row in usual_ranges(kind, grain):
        if row.typical:
            named = row.property.removeprefix("share of ").removesuffix(" in the base").split(" and ")
            functions |= set(PARTS.get(row.property, named if row.property.startswith("share of ") else ()))
    return frozenset(functions)


@cache
def _choices() -> Mapping[tuple[str, str], tuple[str, ...]]:
    return {
        (row["kind"], row["function"]): tuple(name.strip() for name in row["ingredients"].split(";"))
        for row in shipped("usual_choices")
    }


def first_choices(kind: str, functions: Iterable[str]) -> tuple[str, ...]:
    """What makers of a kind take for these functions, the usual one first.

    Example:
        >>> first_choices("lotion", ["emulsifier"])[:2]
        ('glyceryl stearate + PEG-100 stearate', 'emulsifying wax NF')

    Source: none: custom of the trade.
    """
    return tuple(name for function in functions for name in _choices().get((kind, function), ()))


@cache
def _alike(kind: str, function: str) -> bool:
    """Whether a kind has a list for another function that serves the same part, such as oils for esters."""
    rows = (row.property.removeprefix("share of ").removesuffix(" in the base") for row in usual_ranges(kind))
    parts = (set(words.split(" and ")) for words in rows)
    return any((kind, other) in _choices() for part in parts if function in part for other in part - {function})


def rank(kind: str, item: Ingredient) -> float:
    """How far down the list of what makers of a kind take for its first function an ingredient stands, 0 to 1.

    Where the kind has no list for that function, 0.375 for what has a row of usual use of some in it, and 0.75 for any
    other: none goes before another. Where it has one for a function that serves the same part, as oils and esters do,
    what is on no list stands behind it.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> items = read_catalogue().ingredients
        >>> [rank("lotion", items[name]) for name in ("emulsifying wax nf", "sorbitan oleate", "allantoin")]
        [0.0625, 1.5, 0.75]
        >>> [rank("solid cleansing bar", items[name]) for name in ("kaolin", "polysorbate 60")]
        [0.375, 0.75]

    Source: none: custom of the trade.
    """
    names = _choices().get((kind, item.functions[0]))
    if names is None:
        taken = _uses().get((kind, item.name))
        return NO_RANK if _alike(kind, item.functions[0]) else NO_RANK / (4 if taken and taken.typical else 2)
    return names.index(item.name) / max(1, len(names) - 1) if item.name in names else NO_RANK
