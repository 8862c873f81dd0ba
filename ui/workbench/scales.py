"""The scale of each limit's slider: the same whatever the brief says, and never past what is possible."""

from collections.abc import Iterable
from functools import cache
from itertools import pairwise
from math import inf

from optiform.properties.base import Property
from optiform.reading.units import PARTS

Scale = tuple[float, ...]


def steps(*sections: tuple[float, float]) -> Scale:
    """Points from 0 on: up to the first end by its step, then up to the second by its own, and so on.

    >>> steps((1, 0.5), (3, 1))
    (0.0, 0.5, 1.0, 2.0, 3.0)
    """
    points = [0.0]
    for (start, _), (end, step) in pairwise([(0.0, 0.0), *sections]):
        points += [round(start + number * step, 6) for number in range(1, round((end - start) / step) + 1)]
    return tuple(points)


SHARE = steps((10, 0.1), (100, 0.5))
OPEN = steps((10, 0.1), (100, 1), (1_000, 10))  # what has no greatest value; an end beyond is typed
#: By name, where the unit does not say it. Of the figures of fats and of HLB no ingredient has more.
BY_NAME: dict[str, Scale] = {
    "water activity": steps((1, 0.005)),
    "required hlb": steps((40, 0.1)),
    "hlb of the emulsifiers": steps((40, 0.1)),
    "hlb difference": tuple(sorted({sign * at for at in steps((20, 0.1)) for sign in (-1, 1)})),
    "iodine value": steps((250, 1)),
    "saponification value": steps((400, 1)),
    "density": steps((2, 0.01)),
    "mean grain size": steps((1000, 10), (3000, 50)),
    "cost": OPEN,
}


def scale(wanted: Property) -> Scale:
    """The points of a property's slider; none where nothing is known of how far it reaches."""
    if wanted.name in BY_NAME:
        return BY_NAME[wanted.name]
    if wanted.name.startswith("firmness"):
        return OPEN
    return {"%": SHARE, PARTS: OPEN}.get(wanted.unit, ())


def options(points: Scale, ends: Iterable[float]) -> list[float]:
    """What a slider can stand at: its scale, ends of the brief between its points, and beyond both sides no limit."""
    return sorted({-inf, *points, *ends, inf})


@cache
def words(end: float) -> str:
    """A place on the slider, in words; by these, which are all different, the browser names it.

    >>> words(2.5), words(inf)
    ('2.5', 'no most')
    """
    return {-inf: "no least", inf: "no most"}.get(end, f"{end:.9g}")
