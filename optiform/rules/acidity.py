"""One pH for all: in which window each ingredient works or keeps, and whether the windows of a formula meet.

The windows are those of acidity.csv, or the maker's own. Nothing here works out the pH of a product from its formula:
it is what the maker sets and measures.
"""

from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.forms import LEVELS, Bound, Either, Keeping, Level, Rule, absent
from optiform.rules.quantities import amount, facts

OVERLAP = 0.3  # pH units that windows have to share: a maker sets a pH no finer. Common practice, no source.
WATERY = 0.05  # mass fraction of water from which a product has a pH. Common practice, no source.
LEAST = 0.01  # share of an ingredient from which a substance in it brings its window
ENDS = (0.0, 14.0)


@frozen
class Window:
    """From which pH to which an ingredient works or keeps.

    Attributes:
        of: the substance or ingredient it belongs to.
        outside: what happens outside.
        bounds: how well its ends are known, apart from what happens.
    """

    of: str
    low: float
    high: float
    level: Level
    outside: str
    source: str
    evidence: Evidence
    bounds: Evidence

    @property
    def id(self) -> str:
        """What a brief overrules it by."""
        return f"ph {self.of.casefold()}"

    def reaches(self, low: float, high: float) -> bool:
        """Whether it covers all of a stretch."""
        return self.low <= low + 1e-9 and high - 1e-9 <= self.high


@cache
def windows() -> tuple[Window, ...]:
    """Every window of acidity.csv.

    Example:
        >>> len(windows()) >= 100, [(x.low, x.high) for x in windows() if x.of == "Sodium Cocoyl Isethionate"]
        (True, [(5.0, 8.0)])

    Source: an encyclopedia article on isethionates (CH-S32): keeps from pH 5 to 8.
    """
    return tuple(map(_window, shipped("acidity")))


def _window(row: dict[str, str]) -> Window:
    level = next(level for level in LEVELS if level == row["level"])
    low, high = (float(row[end]) if row[end] else other for end, other in zip(("low", "high"), ENDS, strict=True))
    known = Evidence(row["evidence"]), Evidence(row["bounds"])
    return Window(row["of"], low, high, level, row["outside"], row["source"], *known)


@lru_cache(maxsize=10_000)
def windows_of(item: Ingredient) -> tuple[Window, ...]:
    """The windows that an ingredient brings: the maker's own, else those of its name, else those of its substances.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> [(x.of, x.low, x.high) for x in windows_of(read_catalogue().ingredients["sodium cocoyl isethionate"])]
        [('Sodium Cocoyl Isethionate', 5.0, 8.0)]

    Source: an encyclopedia article on isethionates (CH-S32): keeps from pH 5 to 8.
    """
    own = item.value("ph window")
    if own is not None and own.evidence is Evidence.OWN:
        ends = (ENDS[0] if own.low is None else own.low, ENDS[1] if own.high is None else own.high)
        return (Window(item.name, *ends, "mind", "", own.source, own.evidence, own.evidence),)
    return tuple(_window(row) for row, share in facts(item, "acidity") if share >= LEAST)


def meeting(items: Sequence[Ingredient]) -> tuple[float, float] | None:
    """From which to which pH all windows of some ingredients meet; None where they do not.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> meeting([known["sodium cocoyl isethionate"], known["potassium sorbate"]])
        (5.0, 5.5)

    Source: isethionates (CH-S32): pH 5 to 8; sorbic acid worked in lotions (CH-S04) at 5.1 to 5.7.
    """
    brought = [window for item in items for window in windows_of(item)]
    low, high = max((x.low for x in brought), default=ENDS[0]), min((x.high for x in brought), default=ENDS[1])
    return (low, high) if low <= high else None


def solution_ph(item: Ingredient) -> tuple[str, str, Evidence] | None:
    """The pH of a solution of an ingredient, as suppliers and handbooks give it: figure, of which solution, how sure.

    It is not the pH of a product: that is measured.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> solution_ph(read_catalogue().ingredients["decyl glucoside, 50 %"])[:2]
        ('11.5 to 12.5', 'as supplied')

    Source: suppliers' pages on decyl glucoside (CH-S85): pH 11.5 to 12.5 as supplied.
    """
    rows = [row for row, _ in facts(item, "solution_ph")]
    if len(rows) != 1:
        return None  # of several substances no one figure is that of the blend
    (row,) = rows
    figure = row["typical"] or f"{row['low'] or '...'} to {row['high'] or '...'}"
    return figure, row["of solution"], Evidence(row["evidence"])


def acidity(
    items: Sequence[Ingredient], ph: float | None, overrule: frozenset[str], levels: Sequence[Level]
) -> Iterator[Either]:
    """One disjunction a level: a stretch of pH that all ingredients in use bear, over all stretches worth a look.

    The windows of a level hold together with those of the graver ones.

    Args:
        items: that may be in the formula.
        ph: that the maker wants: then there is one stretch.
        overrule: ids of windows or of these rules, or `acidity` for all of them.
        levels: that are asked for.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> known = read_catalogue().ingredients
        >>> pair = [known[name] for name in ("water", "sodium cocoyl isethionate", "sodium benzoate")]
        >>> (rule,) = acidity(pair, None, frozenset(), LEVELS)
        >>> [way[0].words for way in rule.ways]
        ['water', 'what does not bear pH 2 to 2.3', 'what does not bear pH 5 to 5.3']

    Source: isethionates (CH-S32): pH 5 to 8; benzoic acid (CH-S09) almost inactive above 5. That they overlap by 0.3 is
        ours.
    """
    if "acidity" in overrule:
        return
    brought = [(item, window) for item in items for window in windows_of(item) if window.id not in overrule]
    wet = Bound(
        "water", tuple((item.name, share) for item in items if (share := amount(item, "water"))), "high", WATERY
    )
    for level in (x for x in LEVELS if x in levels and f"acidity-{x}" not in overrule):
        grave = [pair for pair in brought if LEVELS.index(pair[1].level) <= LEVELS.index(level)]
        ways = list(_ways(grave, ph))
        own = any(window.level == level for _, window in grave)
        if own and all(way for way in ways) and wet.weights:
            yield Either(_rule(level, ph), ((wet,), *ways))


def _rule(level: Level, ph: float | None) -> Rule:
    words = f"pH {ph:g} suits all" if ph is not None else "one pH suits all"
    return Rule(f"acidity-{level}", "acidity", level, words, "", Evidence.RECALLED, ph=ph)


def _ways(brought: Sequence[tuple[Ingredient, Window]], ph: float | None) -> Iterator[Keeping]:
    """For each stretch: what does not bear it is absent. Stretches that rule out more than another are left out."""
    outs = {
        stretch: frozenset(item.name for item, window in brought if not window.reaches(*stretch))
        for stretch in _stretches(brought, ph)
    }
    seen: set[frozenset[str]] = set()
    for (low, high), names in outs.items():
        if names in seen or any(other < names for other in outs.values()):
            continue
        seen.add(names)
        at = f"pH {low:g}" if low == high else f"pH {low:g} to {high:g}"
        yield (absent(f"what does not bear {at}", sorted(names)),) if names else ()


def _stretches(brought: Sequence[tuple[Ingredient, Window]], ph: float | None) -> list[tuple[float, float]]:
    if ph is not None:
        return [(ph, ph)]
    starts = {window.low for _, window in brought} | {window.high - OVERLAP for _, window in brought}
    return sorted((round(start, 3), round(start + OVERLAP, 3)) for start in starts)
