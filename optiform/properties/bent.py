"""How a property bends: curves of a few ratios, each bounded by straight lines on an interval.

A property that bends is, in each of a few cases, z = sum_k f_k(r_k + sum_l s_kl m_kl), carried to its unit by a rising function.
r_k = n_k x / D x is a ratio over one group D that all k share, m_kl means over groups of their own, f_k a curve of one
number. On an interval [a, b] a curve lies between two lines of one slope, f's chord moved down and up (`Curve.between`).
With the means held between two numbers as well, z lies between two ratios over D, and a limit on z becomes a linear row that
every formula in these intervals keeps (a relaxation), and another that is enough to keep it (a restriction). The two
meet as the intervals shrink. (McCormick 1976, Mathematical Programming 10:147, for bounds of this kind on intervals.)
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Interval = tuple[float, float]


@dataclass(frozen=True)
class Lines:
    """slope z + low <= f(z) <= slope z + high, on the interval it was asked for."""

    slope: float
    low: float
    high: float


@dataclass(frozen=True)
class Curve:
    """A continuous function of one number.

    Attributes:
        value: the function.
        curvature: bounds of its second derivative between two numbers without a knot between them.
        knots: where it is not smooth, rising.
    """

    value: Callable[[float], float]
    curvature: Callable[[float, float], Interval]
    knots: tuple[float, ...] = ()

    def slope(self, at: float, step: float = 1e-6) -> float:
        """The slope, by a difference to both sides; at a knot half way between its two."""
        return (self.value(at + step) - self.value(at - step)) / (2 * step)

    def between(self, a: float, b: float) -> Lines:
        """The chord from a to b, moved down and up until the curve lies between.

        On a piece of width h without a knot, a curve whose second derivative is at most M is at most M h^2 / 8 below
        its own chord, and at least M makes it at most -M h^2 / 8 above (interpolation error; for instance Davis,
        Interpolation and Approximation, 1975, chapter 3). Against the chord of all pieces the piece's own chord
        differs most at an end.

        Example:
            >>> square = Curve(lambda z: z * z, lambda a, b: (2.0, 2.0))
            >>> square.between(1.0, 3.0)
            Lines(slope=4.0, low=-4.0, high=-3.0)
        """
        if b - a <= 1e-15 * (1 + abs(a)):
            return Lines(0.0, self.value(a), self.value(a))
        ends = [a, *(knot for knot in self.knots if a < knot < b), b]
        values = [self.value(end) for end in ends]
        slope = (values[-1] - values[0]) / (b - a)
        off = [value - slope * end for value, end in zip(values, ends, strict=True)]
        low, high = np.inf, -np.inf
        for k in range(len(ends) - 1):
            least, most = self.curvature(ends[k], ends[k + 1])
            eighth = (ends[k + 1] - ends[k]) ** 2 / 8
            low = min(low, off[k] - max(most, 0.0) * eighth, off[k + 1] - max(most, 0.0) * eighth)
            high = max(high, off[k] - min(least, 0.0) * eighth, off[k + 1] - min(least, 0.0) * eighth)
        return Lines(slope, float(low), float(high))


STRAIGHT = Curve(lambda z: z, lambda a, b: (0.0, 0.0))


@dataclass(frozen=True)
class Mean:
    """A mean over a group, numerator x / group x, and how often it is counted. `reach`: no formula goes beyond."""

    words: str
    numerator: Vector
    group: Vector
    times: float
    reach: Interval


@dataclass(frozen=True)
class Part:
    """One term of z: the curve at numerator x / D x + the means. `reach`: what the ratio lies between in this case."""

    words: str
    numerator: Vector
    curve: Curve
    reach: Interval
    means: tuple[Mean, ...] = ()

    @property
    def straight(self) -> bool:
        """Whether no interval of the ratio itself is needed."""
        return self.curve is STRAIGHT


@dataclass(frozen=True)
class Edge:
    """A straight condition that a case has: amount x, in %, at most or at least `target`."""

    words: str
    amount: Vector
    side: str
    target: float


@dataclass(frozen=True)
class Case:
    """One case of a property: where it is (`edges`), what must be there, and its terms over `group`.

    Without parts the property does not apply and a limit on it asks nothing.
    """

    edges: tuple[Edge, ...]
    there: tuple[tuple[str, Vector], ...] = ()
    group: Vector | None = None
    parts: tuple[Part, ...] = ()

    def value(self, x: Vector) -> float | None:
        """z at x; None where it does not apply."""
        z = 0.0
        for part in self.parts:
            ratio = ratio_at(part.numerator, self.group, x)
            means = [ratio_at(mean.numerator, mean.group, x) for mean in part.means]
            if ratio is None or None in means:
                return None
            shift = sum(mean.times * m for mean, m in zip(part.means, means, strict=True) if m is not None)
            z += part.curve.value(ratio + shift)
        return z

    def gradient(self, x: Vector) -> Vector:
        """The slope of z at x, where it applies. Shape (lines,)."""
        slope = np.zeros(len(x))
        for part in self.parts:
            steps = [_mean_slope(part.numerator, self.group, x)]
            argument = ratio_at(part.numerator, self.group, x) or 0.0
            for mean in part.means:
                steps.append(mean.times * _mean_slope(mean.numerator, mean.group, x))
                argument += mean.times * (ratio_at(mean.numerator, mean.group, x) or 0.0)
            slope += part.curve.slope(argument) * sum(steps)
        return slope


@dataclass(frozen=True)
class Bent:
    """The cases of a property over a mix; every formula is in one of them.

    Attributes:
        cases: see above.
        inner: from the property's unit to z, rising.
        slope: the slope of `inner`.
        outer: from z back to the unit.
    """

    cases: tuple[Case, ...]
    inner: Callable[[float], float] = lambda value: value
    slope: Callable[[float], float] = lambda value: 1.0
    outer: Callable[[float], float] = lambda z: z

    def tangent(self, case: Case, x: Vector) -> tuple[float, Vector] | None:
        """The property's value at x, in its unit, and its slope there; None where it does not apply in this case."""
        z = case.value(x)
        if z is None:
            return None
        value = self.outer(z)
        return value, case.gradient(x) / self.slope(value)


def ratio_at(numerator: Vector, group: Vector | None, x: Vector) -> float | None:
    """numerator x / group x; None where there is nothing of the group."""
    size = 0.0 if group is None else float(group @ x)
    return float(numerator @ x) / size if size > 1e-9 else None


def _mean_slope(numerator: Vector, group: Vector | None, x: Vector) -> Vector:
    ratio = ratio_at(numerator, group, x)
    if group is None or ratio is None:
        return np.zeros(len(x))
    return np.asarray((numerator - ratio * group) / (group @ x))


def reach_of(numerator: Vector, group: Vector) -> Interval:
    """Least and greatest of numerator x / group x where every line of the numerator is in the group too."""
    among = group > 0
    ratios = numerator[among] / group[among]
    return float(ratios.min()), float(ratios.max())
