"""Which line changed what, from one formula to another: each property's change shared out over the lines that moved.

Along the straight path from one formula to the other, x(t) = a + t (b - a), a property v = P / G, the ratio of the two
sums P = p x and G = g x, changes by what each line does to it at every point; what line j has done at the end is

    (b_j - a_j)  integral over t from 0 to 1 of  (p_j - v(t) g_j) / G(t)

This is the Aumann-Shapley value (Aumann and Shapley, Values of Non-Atomic Games, 1974; for costs Billera and Heath,
Mathematics of Operations Research 7, 1982): the shares add up to the whole change, none of two lines that do the same
per gram gets more than the other, and a line that stays has none. For a ratio the integral has a closed form, and a
largest of several ratios is one ratio between the points where they cross. What bends has no terms that hold on the
way, so it is not shared out. For an amount in the whole G is 1 on all of the path, and the part is (b_j - a_j) p_j.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.base import Bent, Mix, Piecewise, Property, Ratio, Terms, Vector
from optiform.properties.solubility import OutOfRange
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first

SMALL = 1e-4  # relative change of a group: its integrals are then told by their series
NOTHING = 1e-9  # of a change: rounding


@frozen
class Cause:
    """A property's change from one formula to another, in its unit, and what each line has to do with it.

    Attributes:
        lines: ingredients, each with its part of the change, the largest first.
    """

    name: str
    unit: str
    basis: str
    before: float
    after: float
    lines: tuple[tuple[str, float], ...]

    @property
    def change(self) -> float:
        """What the parts of the lines add up to."""
        return self.after - self.before


def causes(first: Formula, second: Formula, wanted: Sequence[Property]) -> tuple[Cause, ...]:
    """What each line has done to each property, from the first formula to the second.

    Left out is a property that bends, that one of the two has no value for, or that stays.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> from optiform.properties.registry import find_property
        >>> one, two = mixed({"water": 3, "glycerin": 1}), mixed({"water": 1, "glycerin": 1})
        >>> wanted = [find_property(words, "EUR") for words in ("water phase", "humectant active")]
        >>> (cause,) = causes(one, two, wanted)
        >>> cause.name, cause.lines, cause.change
        ('humectant active', (('glycerin', 24.875),), 24.875)
    """
    mix, start, end = _path(first, second)
    return tuple(cause for of in wanted if (cause := _cause(of, mix, start, end)))


def _path(first: Formula, second: Formula) -> tuple[Mix, Vector, Vector]:
    """The lines of both, the same in two phases being two, and the mass fractions of each formula."""
    lines = dict.fromkeys((line.ingredient, line.phase) for formula in (first, second) for line in formula.lines)
    ends = []
    for formula in (first, second):
        shares = dict.fromkeys(lines, 0.0)
        for line in formula.lines:
            shares[line.ingredient, line.phase] += line.fraction
        ends.append(np.array(list(shares.values())))
    return Mix(tuple(item for item, _ in lines), tuple(phase for _, phase in lines)), ends[0], ends[1]


def _cause(wanted: Property, mix: Mix, start: Vector, end: Vector) -> Cause | None:
    if isinstance(wanted, Bent):
        return None
    try:
        before, after = wanted.at(mix, start).at(start), wanted.at(mix, end).at(end)
    except OutOfRange:
        return None
    if before is None or after is None or abs(after - before) <= NOTHING * (1 + abs(before)):
        return None
    parts = sum(_part(terms, start, end, *ends) for terms, *ends in _stretches(wanted, mix, start, end))
    shares: dict[str, float] = {}
    for item, share in zip(mix.ingredients, np.atleast_1d(parts), strict=True):
        shares[item.name] = shares.get(item.name, 0.0) + float(share)
    size = NOTHING * max(map(abs, shares.values()))
    counting = [(name, share) for name, share in shares.items() if abs(share) > size]
    lines = sorted(counting, key=lambda line: largest_first(abs(line[1]), line[0]))
    return Cause(wanted.name, wanted.unit, wanted.basis, before, after, tuple(lines))


def _stretches(wanted: Ratio | Piecewise, mix: Mix, start: Vector, end: Vector) -> Iterator[tuple[Terms, float, float]]:
    """The path in stretches along which a property is one ratio, each with its ends."""
    pieces = wanted.pieces(mix) if isinstance(wanted, Piecewise) else ()
    stops = [0.0, *_crossings([piece.numerator for piece in pieces], start, end), 1.0]
    for near, far in pairwise(stops):
        yield wanted.terms(mix, start + (near + far) / 2 * (end - start)), near, far


def _crossings(pieces: Sequence[Vector], start: Vector, end: Vector) -> list[float]:
    """Where on the path two of several sums are even, in rising order."""
    at = [(float(piece @ start), float(piece @ (end - start))) for piece in pieces]
    pairs = ((one, other) for k, one in enumerate(at) for other in at[k + 1 :] if one[1] != other[1])
    zeros = {(other[0] - one[0]) / (one[1] - other[1]) for one, other in pairs}
    return sorted(zero for zero in zeros if 0 < zero < 1)


def _part(terms: Terms, start: Vector, end: Vector, near: float, far: float) -> Vector:
    """What each line does to a ratio between two points of the path. Shape (lines,)."""
    first, last = start + near * (end - start), start + far * (end - start)
    p, g = terms.numerator, terms.denominator
    if terms.whole:
        return np.asarray((last - first) * p)
    group, sum_, grown, risen = float(g @ first), float(p @ first), float(g @ (last - first)), float(p @ (last - first))
    inverse, ramp = _integrals(grown / group)
    weighted = (sum_ / (1 + grown / group) + risen * ramp) / group**2  # the integral of v / G
    part: Vector = (last - first) * (p * inverse / group - g * weighted)
    return part


def _integrals(growth: float) -> tuple[float, float]:
    """The integrals over t from 0 to 1 of 1 / (1 + z t) and of t / (1 + z t)^2.

    Example:
        >>> _integrals(0.0), tuple(round(integral, 6) for integral in _integrals(1.0))
        ((1.0, 0.5), (0.693147, 0.193147))
    """
    z = growth
    if abs(z) < SMALL:
        return 1 - z / 2 + z**2 / 3 - z**3 / 4, 1 / 2 - 2 * z / 3 + 3 * z**2 / 4 - 4 * z**3 / 5
    inverse = float(np.log1p(z) / z)
    return inverse, (inverse - 1 / (1 + z)) / z
