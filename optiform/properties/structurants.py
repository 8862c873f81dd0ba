"""How firm each kind of crystal makes a base beside as much solid fat, and from which concentration on it gels."""

from collections.abc import Iterable, Mapping
from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped

OTHER = "other"
#: Mixed crystals over as much of one kind: up to four times (F-L24; 3.9 by F-L27). Where it was measured, 30 % of
#: another kind was enough.
MIXED, MIXED_FROM = 4.0, 0.3
BELOW_GEL = 0.25  # of its solids: what a structurant near its gelling concentration still counts as, at least
POWER = 1.85  # of firmness on solids, 1 / (3 - D) of the fractal dimension read for a fat in oil (F-L41)


@frozen
class Structurant:
    """Firmness over that of as much solid fat, least and most, and the highest gelling concentration, in %.

    `as_fat`: g of solid fat that a gram of it stands for, the figure, which is known by `evidence`.
    """

    least: float
    most: float
    gel: float
    as_fat: float = 1.0
    evidence: Evidence = Evidence.DERIVED


@cache
def structurants() -> Mapping[str, Structurant]:
    """The kinds of structurants.csv.

    Example:
        >>> wax = structurants()["sunflower wax"]  # 5 to 18 g of hydrogenated soybean oil for a gram of it
        >>> round(wax.least, 1), round(wax.most, 1), wax.gel
        (19.6, 210.0, 1.0)
        >>> round(wax.as_fat / structurants()["beeswax"].as_fat, 1)
        2.3

    Source: 7 % beeswax as firm as 3 % sunflower wax, abstract (F-L38): 7 over 3 is 2.33.
    """
    rows = shipped("structurants")
    read = {row["kind"]: (float(row["low"]), float(row["high"])) for row in rows if row["low"]}
    spans = strengths(read, [row["kind"] for row in rows])
    return {
        row["kind"]: Structurant(
            *spans[row["kind"]], float(row["gel"]), float(row["typical"]), Evidence(row["evidence"])
        )
        for row in rows
    }


def strengths(
    read: Mapping[str, tuple[float, float]], kinds: Iterable[str], mixed: float = MIXED
) -> dict[str, tuple[float, float]]:
    """Firmness of each kind over that of as much solid fat, least and most, by what was read and by nothing else.

    A kind that was read: g of solid fat that a gram of it stands for, to the power of 1.85. A wax that was not: from
    the least to the most of those, and what mixed crystals do. The rest: what mixed crystals do, either way.

    Args:
        read: g of solid fat for a gram, least and most.
        kinds: of these.
        mixed: how many times firmer mixed crystals are.

    Example:
        >>> {kind: span[0] for kind, span in strengths({"beeswax": (2.0, 8.0)}, ["carnauba wax", "other"]).items()}
        {'carnauba wax': 0.25, 'other': 0.25}
        >>> strengths({}, ["other"])  # of which nothing was read
        {'other': (0.25, 4.0)}

    Source: candelilla wax with behenyl behenate (F-L24): up to 4 times as firm as alone.
    """
    known = {kind: (low**POWER, high**POWER) for kind, (low, high) in read.items()}
    apart = 1 / mixed, mixed
    widest = min(low for low, _ in [apart, *known.values()]), max(high for _, high in [apart, *known.values()])
    return {kind: known.get(kind, apart if kind == OTHER else widest) for kind in kinds}


def structurant(kind: str) -> Structurant:
    """That of a kind; of a kind without a row, `other`.

    Example:
        >>> structurant("beeswax").as_fat, structurant("fatty alcohol").as_fat  # g of solid fat for a gram
        (2.8, 1.0)

    Source: 7 % beeswax as firm as 3 % sunflower wax, abstract (F-L38), which stands for 6.5 g (F-L12): 6.5 x 3 / 7 is
        2.79.
    """
    known = structurants()
    return known.get(kind, known[OTHER])


def strength_span(here: Mapping[str, float], there: Mapping[str, float]) -> tuple[float, float]:
    """Least and most that solids of some kinds are as firm as the same amount of others, each kind alike in both.

    sum(k_i h_i) / sum(k_i t_i) over shares, k_i in its range: least with k low where a kind weighs more here and high
    where it weighs more there.

    Args:
        here: solids by kind, in any unit.
        there: the same of what it is compared with.

    Example:
        >>> strength_span({"beeswax": 7.0}, {"beeswax": 5.0}), strength_span({"cetyl": 20.0}, {"fat": 10.0})
        ((1.0, 1.0), (0.25, 4.0))

    Source: candelilla wax with behenyl behenate (F-L24): up to 4 times as firm as alone.
    """
    one, other = _shares(here), _shares(there)
    heavier = {kind: one.get(kind, 0.0) > other.get(kind, 0.0) for kind in one.keys() | other.keys()}
    low = {kind: structurant(kind).least if more else structurant(kind).most for kind, more in heavier.items()}
    high = {kind: structurant(kind).most if more else structurant(kind).least for kind, more in heavier.items()}
    return _ratio(one, other, low), _ratio(one, other, high)


def mixing(here: Mapping[str, float], there: Mapping[str, float]) -> float:
    """How many times firmer or softer solids can be because their kinds are mixed in another way.

    MIXED^(m / MIXED_FROM), at most MIXED. m is the share of the solids that is of another kind, at most what the more
    mixed of the two has beside its main kind: one pure kind against another is in `strength_span` alone.

    Example:
        >>> mixing({"beeswax": 7.0}, {"fat": 7.0}), mixing({"beeswax": 7.0, "ester": 3.0}, {"beeswax": 5.0})
        (1.0, 4.0)
        >>> round(mixing({"fat": 90.0, "beeswax": 10.0}, {"fat": 93.0, "beeswax": 7.0}), 2)
        1.15

    Source: candelilla wax with behenyl behenate (F-L24): up to 4 times as firm as alone.
    """
    one, other = _shares(here), _shares(there)
    unlike = sum(abs(one.get(kind, 0.0) - other.get(kind, 0.0)) for kind in one.keys() | other.keys()) / 2
    beside = 1 - min(max(one.values()), max(other.values()))
    return float(MIXED ** min(1.0, min(unlike, beside) / MIXED_FROM))


def gelled(solids: Mapping[str, float]) -> float:
    """Solids in % of which each kind counts only beyond its highest gelling concentration, but for a quarter.

    Example:
        >>> gelled({"fat": 10.0, "beeswax": 2.0}), gelled({"beeswax": 7.0})
        (10.5, 4.0)

    Source: Gels 10 (2024) 214: beeswax gels olive oil from 3 % on, so 4.0 of 7.0 % count.
    """
    return sum(max(BELOW_GEL * amount, amount - structurant(kind).gel) for kind, amount in solids.items())


def _shares(solids: Mapping[str, float]) -> dict[str, float]:
    total = sum(solids.values())
    return {kind: amount / total for kind, amount in solids.items()} if total > 0 else {"fat": 1.0}


def _ratio(here: Mapping[str, float], there: Mapping[str, float], strength: Mapping[str, float]) -> float:
    return sum(strength[k] * x for k, x in here.items()) / sum(strength[k] * x for k, x in there.items())
