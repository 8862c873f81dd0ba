"""A curve of one number, and the straight lines that no point of it on an interval lies above, or below."""

from collections.abc import Callable
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from optiform.reading.frozen import frozen
from optiform.reading.values import Bound

Vector = NDArray[np.float64]

Interval = tuple[float, float]

FINE = 24  # pieces that an interval is looked at in, at least


@frozen
class Line:
    """The number slope z + offset."""

    slope: float
    offset: float

    def value(self, z: float) -> float:
        """Its value at z."""
        return self.slope * z + self.offset


@frozen
class Curve:
    """A continuous function of one number.

    Attributes:
        value: the function.
        slopes: its slopes to the left and to the right of a number; the same but at a knot.
        curvature: bounds of its second derivative between two numbers without a knot between them.
        knots: where it is not smooth, rising.
    """

    value: Callable[[float], float]
    slopes: Callable[[float], Interval]
    curvature: Callable[[float, float], Interval]
    knots: tuple[float, ...] = ()

    def slope(self, at: float) -> float:
        """The slope; at a knot half way between its two."""
        return sum(self.slopes(at)) / 2

    def line(self, a: float, b: float, at: float, lower: bool) -> Line:
        """A line that the curve is nowhere below (`lower`), or nowhere above, from a to b, near it at `at`.

        The interval is cut at the knots, at `at` and into `FINE` parts between them. Tried are the slopes of the curve
        at `at` and of its chords from `at` to every stop and between the ends; each line is moved until it holds on
        every piece, and the nearest at `at` is taken. So where the curve bulges to that side it is all but the tangent,
        else all but the chord that touches the curve from there.

        Args:
            a: one end of the interval.
            b: the other, no less.
            at: taken for the nearer end where it lies outside.
            lower: whether the line lies below the curve.

        Example:
            >>> square = Curve(lambda z: z * z, lambda z: (2 * z, 2 * z), lambda a, b: (2.0, 2.0))
            >>> square.line(1.0, 3.0, 2.0, lower=True)
            Line(slope=4.0, offset=-4.0)
            >>> square.line(1.0, 3.0, 2.0, lower=False)
            Line(slope=4.0, offset=-3.0)
        """
        return _line(self, a, b, min(max(at, a), b), lower)

    def turned(self) -> "Curve":
        """The curve with its sign turned."""
        curvature = Bound(_turned_curvature, (self,))
        return Curve(Bound(_turned_value, (self,)), Bound(_turned_slopes, (self,)), curvature, self.knots)


def _turned_value(z: float, curve: Curve) -> float:
    return -curve.value(z)


def _turned_slopes(z: float, curve: Curve) -> Interval:
    left, right = curve.slopes(z)
    return -left, -right


def _turned_curvature(a: float, b: float, curve: Curve) -> Interval:
    least, most = curve.curvature(a, b)
    return -most, -least


@lru_cache(maxsize=4096)
def _line(curve: Curve, a: float, b: float, at: float, lower: bool) -> Line:
    """See `Curve.line`; a search asks for the same lines in box after box."""
    if b - a <= 1e-15 * (1 + abs(a)):
        return Line(0.0, curve.value(a))
    if lower:
        above = _line(curve.turned(), a, b, at, lower=False)
        return Line(-above.slope, -above.offset)
    coarse = sorted({a, b, at, *(knot for knot in curve.knots if a < knot < b)})
    parts = max(1, FINE // (len(coarse) - 1))
    stops = np.unique(np.concatenate([np.linspace(u, v, parts + 1) for u, v in pairwise(coarse)]))
    values = np.array([curve.value(stop) for stop in stops.tolist()])
    away, here = stops != at, curve.value(at)
    chords = (values[away] - here) / (stops[away] - at)
    slopes = np.array([*curve.slopes(at), (values[-1] - values[0]) / (b - a), *chords])
    offsets = _highest(curve, stops, values, slopes)
    best = int(np.argmin(slopes * at + offsets))
    return Line(float(slopes[best]), float(offsets[best]))


def _highest(curve: Curve, stops: Vector, values: Vector, slopes: Vector) -> Vector:
    """For each slope, no less than g(z) = f(z) - slope z anywhere between the first and the last stop.

    Between two stops u and v, with m <= f'' <= M, g is at most the greater of its ends and  max(0, -m) (v - u)^2 / 8
    (interpolation error; for instance Davis, Interpolation and Approximation, 1975, chapter 3). And
    h = g + max(0, M) / 2 (z - u) (v - z)  is concave, not below g and the same at both ends (alpha-BB; Androulakis,
    Maranas and Floudas 1995, Journal of Global Optimization 7:337), so g is nowhere above the tangents of h at u and v,
    nor above the place where they meet. Shape (slopes,).
    """
    numbers = stops.tolist()
    bends = np.array([curve.curvature(u, v) for u, v in pairwise(numbers)])
    sides = np.array([curve.slopes(stop) for stop in numbers])
    width, lift = np.diff(stops), np.maximum(bends[:, 1], 0.0) / 2 * np.diff(stops)
    ends = values - slopes[:, None] * stops
    first, last = ends[:, :-1], ends[:, 1:]
    rise, fall = sides[:-1, 1] + lift - slopes[:, None], sides[1:, 0] - lift - slopes[:, None]  # of h at u and at v
    higher, inside = np.maximum(first, last), (rise > 0) & (fall < 0)
    meet = first + rise * (last - first - fall * width) / np.where(inside, rise - fall, 1.0)
    bound = np.minimum(meet, higher + np.maximum(-bends[:, 0], 0.0) * width**2 / 8)
    return np.asarray(np.where(inside, bound, higher).max(axis=1))


def _same(z: float) -> float:
    return z


def _one(_: float) -> Interval:
    return 1.0, 1.0


def _level(_: float, __: float) -> Interval:
    return 0.0, 0.0


STRAIGHT = Curve(_same, _one, _level)
