"""How a property bends: curves of a few ratios, each bounded by straight lines on an interval.

A property that bends is, in each of a few cases, z = sum_k f_k(r_k + sum_l s_kl m_kl), carried to its unit by a rising
function. r_k = n_k x / D x is a ratio over one group D that all k share, m_kl means over groups of their own, f_k a
curve of one number. On an interval a curve lies between two lines (curve.py): where it bulges its tangent, else its
chord. Means are bounded likewise, together with the ratio of D to their own group. So in a box of such intervals z lies
between ratios over D, and a limit on z becomes linear rows that every formula of the box keeps (a relaxation), and one
that is enough to keep it (a restriction). The two meet as the box shrinks, by the square of its size. (McCormick 1976,
Mathematical Programming 10:147.)
"""

from collections.abc import Callable, Sequence
from dataclasses import field
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from optiform.properties.curve import STRAIGHT, Curve, Interval, Line
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable

Vector = NDArray[np.float64]
Side = Literal["low", "high"]


@frozen
class Mean(Comparable):
    """A mean over a group, numerator x / group x, and how often it is counted. `reach`: no formula goes beyond."""

    words: str
    numerator: Vector
    group: Vector
    times: float
    reach: Interval


@frozen
class Part(Comparable):
    """One term of z: the curve at numerator x / D x + the means. `reach`: what the ratio lies between in this case."""

    words: str
    numerator: Vector
    curve: Curve
    reach: Interval
    means: tuple[Mean, ...] = ()

    @property
    def straight(self) -> bool:
        """Whether no interval of the ratio itself is needed."""
        return self.curve == STRAIGHT


@frozen
class Edge(Comparable):
    """A straight condition that a case has: amount x, in %, at most or at least `target`."""

    words: str
    amount: Vector
    side: Side
    target: float


@frozen
class Quantity(Comparable):
    """A ratio that a box holds between two numbers. `reach`: what it lies between anyway; `knots`: of its curve."""

    words: str
    numerator: Vector
    group: Vector
    reach: Interval
    knots: tuple[float, ...] = ()

    def at(self, x: Vector) -> float | None:
        """Its value at x; None where there is nothing of the group."""
        return ratio_at(self.numerator, self.group, x)


@frozen
class Case(Comparable):
    """One case of a property: where it is (`edges`), what must be there, and its terms over `group`.

    Without a group the property does not apply and a limit on it asks nothing.
    """

    edges: tuple[Edge, ...]
    there: tuple[tuple[str, Vector], ...] = ()
    group: Vector = field(default_factory=lambda: np.zeros(0))
    parts: tuple[Part, ...] = ()

    @property
    def applies(self) -> bool:
        """Whether the property has a value here."""
        return len(self.group) > 0

    def astray(self, x: Vector) -> float:
        """By how many % x lies outside its edges; not above 0 inside them."""
        signs = {"low": -1.0, "high": 1.0}
        return max((signs[edge.side] * (float(edge.amount @ x) - edge.target) for edge in self.edges), default=0.0)

    def value(self, x: Vector) -> float | None:
        """Z at x; None where it does not apply."""
        if not self.applies or self.group @ x <= 0:
            return None
        z = 0.0
        for part in self.parts:
            argument = self.argument(part, x)
            if argument is None:
                return None
            z += part.curve.value(argument)
        return z

    def arguments(self, x: Vector) -> tuple[float, ...] | None:
        """What the curve of each part is taken at; None where one of them has no value."""
        arguments = [self.argument(part, x) for part in self.parts]
        return None if None in arguments else tuple(argument for argument in arguments if argument is not None)

    def argument(self, part: Part, x: Vector) -> float | None:
        """What the curve of a part is taken at; None where that has no value."""
        ratio = ratio_at(part.numerator, self.group, x)
        means = [ratio_at(mean.numerator, mean.group, x) for mean in part.means]
        if ratio is None or None in means:
            return None
        return ratio + sum(mean.times * m for mean, m in zip(part.means, means, strict=True) if m is not None)

    def gradient(self, x: Vector) -> Vector:
        """The slope of z at x, where it applies. Shape (lines,)."""
        slope = np.zeros(len(x))
        for part in self.parts:
            steps = [_ratio_slope(part.numerator, self.group, x)]
            steps += [mean.times * _ratio_slope(mean.numerator, mean.group, x) for mean in part.means]
            slope += part.curve.slope(self.argument(part, x) or 0.0) * sum(steps)
        return slope

    # -- in a box -----------------------------------------------------------------------------------------------------

    @cached_property
    def quantities(self) -> tuple[Quantity, ...]:
        """What a box has two ends of: of each part the ratio, then of each of its means the mean and D over its group.

        A mean enters z times D as the product of the two.
        """
        quantities = []
        for part in self.parts:
            quantities.append(Quantity(part.words, part.numerator, self.group, part.reach, part.curve.knots))
            for mean in part.means:
                quantities.append(Quantity(mean.words, mean.numerator, mean.group, mean.reach))
                quantities.append(Quantity(f"share beside {mean.words}", self.group, mean.group, (0.0, np.inf)))
        return tuple(quantities)

    def bounds(self, spans: Sequence[Interval], lower: bool, near: Sequence[float]) -> list[Vector]:
        """Vectors n with n x <= z D x (or >=, not `lower`) for every x with its quantities in these spans.

        Curves by `Curve.line`, one for each part, near the argument that `near` has for it; m q with m in [a, b] and
        q = D / G in [c, d] by the four products of distances to the ends that are never negative, such as
        (m - a) (q - c) (McCormick 1976), each linear in x after taking it times G.
        """
        sums, place = [np.zeros(len(self.group))], 0
        for part, at in zip(self.parts, near, strict=True):
            line = self._line(part, spans[place:], at, lower)
            base = line.slope * part.numerator + line.offset * self.group
            sums = [total + base for total in sums]
            for i, mean in enumerate(part.means):
                times = line.slope * mean.times
                products = self._products(
                    mean, spans[place + 2 * i + 1], spans[place + 2 * i + 2], lower == (times > 0)
                )
                sums = [total + times * product for total in sums for product in products]
            place += 1 + 2 * len(part.means)
        return sums

    def lowest(self, spans: Sequence[Interval]) -> tuple[float, ...]:
        """The least that the argument of each part can be with the quantities in these spans."""
        ends, place = [], 0
        for part in self.parts:
            ends.append(self._between(part, spans[place:])[0])
            place += 1 + 2 * len(part.means)
        return tuple(ends)

    def _line(self, part: Part, spans: Sequence[Interval], at: float, lower: bool) -> Line:
        """A line that bounds a part's curve over what its argument can be, its spans coming first."""
        return Line(1.0, 0.0) if part.straight else part.curve.line(*self._between(part, spans), at, lower)

    def _between(self, part: Part, spans: Sequence[Interval]) -> Interval:
        low, high = spans[0]
        for i, mean in enumerate(part.means):
            ends = [mean.times * end for end in spans[2 * i + 1]]
            low, high = low + min(ends), high + max(ends)
        return low, high

    def _products(self, mean: Mean, span: Interval, share: Interval, lower: bool) -> list[Vector]:
        """Linear bounds of the mean times D."""
        (a, b), (c, d) = span, share
        if a == b:
            return [a * self.group]
        first, last = (a, b) if lower else (b, a)
        products = [first * self.group + c * mean.numerator - first * c * mean.group]
        if np.isfinite(d):
            products.append(last * self.group + d * mean.numerator - last * d * mean.group)
        return products

    def splits(self, spans: Sequence[Interval], x: Vector, lower: bool) -> list[tuple[float, int, float]]:
        """How far off the nearest bounds of each curve and each mean are at x, in z; what to split, and where.

        Bounds that are off between the ends of a span are right at its ends, so a split at x makes them right there in
        both halves.
        """
        splits, place = [], 0
        for part in self.parts:
            argument, ratio = self.argument(part, x), ratio_at(part.numerator, self.group, x)
            slope = 1.0
            if argument is not None and ratio is not None and not part.straight:
                line = self._line(part, spans[place:], argument, lower)
                slope = line.slope
                splits.append((abs(line.value(argument) - part.curve.value(argument)), place, ratio))
            for i, mean in enumerate(part.means):
                at, times = place + 2 * i + 1, slope * mean.times
                split = self._split_of_mean(at, spans, x, lower == (times > 0))
                if split is not None:
                    splits.append((abs(times) * split[0], *split[1:]))
            place += 1 + 2 * len(part.means)
        return splits

    def _split_of_mean(
        self, at: int, spans: Sequence[Interval], x: Vector, lower: bool
    ) -> tuple[float, int, float] | None:
        """How far off the bounds of a mean are at x; whether to split the mean or the share beside it, and where."""
        (a, b), (c, d) = spans[at], spans[at + 1]
        m, q = self.quantities[at].at(x), self.quantities[at + 1].at(x)
        if m is None or q is None or q <= 0:
            return None
        first, last = (m - a, b - m) if lower else (b - m, m - a)
        off = first * (q - c) if np.isinf(d) else min(first * (q - c), last * (d - q))
        whole = self.quantities[at].reach
        of_mean, of_share = (b - a) / (whole[1] - whole[0]), 1.0 if np.isinf(d) else (d - c) / d
        return (off / q, at, m) if of_mean >= of_share and np.isfinite(d) else (off / q, at + 1, q)


def _same(z: float) -> float:
    """The number itself."""
    return z


def _one(_: float) -> float:
    """1 for any number."""
    return 1.0


@frozen
class Cases:
    """The cases of a property over a mix; every formula is in one of them.

    Attributes:
        cases: see above.
        inner: from the property's unit to z, rising.
        slope: the slope of `inner`.
        outer: from z back to the unit.
    """

    cases: tuple[Case, ...]
    inner: Callable[[float], float] = _same
    slope: Callable[[float], float] = _one
    outer: Callable[[float], float] = _same

    def at(self, x: Vector) -> Case:
        """The case in which the property applies that x is in, or nearest to."""
        return min((case for case in self.cases if case.applies), key=lambda case: case.astray(x))

    def needs(self) -> tuple[Edge, ...]:
        """What every formula has that the property applies to."""
        applying = [case for case in self.cases if case.applies]
        shared = [{(edge.words, edge.side, edge.target) for edge in case.edges} for case in applying]
        edges = applying[0].edges if applying else ()
        return tuple(edge for edge in edges if all((edge.words, edge.side, edge.target) in other for other in shared))

    def tangent(self, case: Case, x: Vector) -> tuple[float, Vector] | None:
        """The property's value at x, in its unit, and its slope there; None where it does not apply in this case."""
        z = case.value(x)
        if z is None:
            return None
        value = self.outer(z)
        return value, case.gradient(x) / self.slope(value)


def ratio_at(numerator: Vector, group: Vector, x: Vector) -> float | None:
    """Numerator x / group x; None where there is nothing of the group.

    Example:
        >>> shares = np.array([0.25, 0.75])
        >>> ratio_at(np.array([0.0, 80.0]), np.ones(2), shares), ratio_at(shares, np.zeros(2), shares)
        (60.0, None)

    Source: none: bookkeeping, exact.
    """
    size = float(group @ x)
    return float(numerator @ x) / size if size > 1e-9 else None


def _ratio_slope(numerator: Vector, group: Vector, x: Vector) -> Vector:
    ratio = ratio_at(numerator, group, x)
    if ratio is None:
        return np.zeros(len(x))
    return np.asarray((numerator - ratio * group) / (group @ x))


def reach_of(numerator: Vector, group: Vector) -> Interval:
    """Least and greatest of numerator x / group x where every line of the numerator is in the group too.

    Example:
        >>> reach_of(np.array([10.0, 45.0]), np.array([1.0, 1.0]))
        (10.0, 45.0)

    Source: none: bookkeeping, exact.
    """
    among = group > 0
    ratios = numerator[among] / group[among]
    return float(ratios.min()), float(ratios.max())
