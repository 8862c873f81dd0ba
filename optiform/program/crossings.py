"""Where along a target one segment of optima comes to lie below another: both are quotients of straight lines."""

from itertools import pairwise

import numpy as np

from optiform.program.linear import Vector
from optiform.program.prices import Segment, gained
from optiform.program.tolerances import SAME_LINE


def gain_of(along: Segment) -> float:
    """What another formula must cost less than one on a segment, to be better by more than rounding."""
    return along.objective - gained(along.objective)


def overtaken(along: Segment, other: Segment, near: float, far: float) -> float | None:
    """The change nearest to `near`, up to `far`, from where on another segment is below this one; None if it is not."""
    stops = sorted([near, *crossings(along, other, *sorted((near, far))), far], key=lambda stop: abs(stop - near))
    return next((stop for stop, after in pairwise(stops) if below(along, other, (stop + after) / 2)), None)


def below(along: Segment, other: Segment, change: float) -> bool:
    """Whether another segment is below this one at a change, by more than rounding."""
    return other.objective_at(change) < along.objective_at(change) - gain_of(along)


def crossings(along: Segment, other: Segment, low: float, high: float) -> list[float]:
    """The changes between two where another segment comes to lie below this one, or no more, in rising order.

    Both are quotients of two straight lines, so their difference has two zeros at most.
    """
    one, two = (np.array([1 + each.origin * each.bend, -each.bend]) for each in (along, other))
    level = other.objective - along.objective + gain_of(along)
    risen, other_risen = (each.slope * np.array([-each.origin, 1.0]) for each in (along, other))
    zeros = _zeros(level * _product(one, two) + _product(other_risen, one) - _product(risen, two))
    return sorted(zero for zero in zeros if low < zero < high)


def _product(one: Vector, two: Vector) -> Vector:
    """The coefficients of 1, z and z^2 in the product of two straight lines, each given by those of 1 and z."""
    return np.array([one[0] * two[0], one[0] * two[1] + one[1] * two[0], one[1] * two[1]])


def _zeros(quadratic: Vector) -> list[float]:
    """The real zeros of c + b z + a z^2, each by the formula that loses no digits however small a is.

    With q = -(b + sign(b) sqrt(b^2 - 4 a c)) / 2 they are q / a and c / q (Press et al., Numerical Recipes, 5.6). A
    double zero that rounding takes off the axis counts.
    """
    c, b, a = quadratic.tolist()
    square = b * b - 4 * a * c
    if square < -SAME_LINE * b * b:
        return []
    q = -(b + float(np.copysign(np.sqrt(max(square, 0.0)), b))) / 2
    return [over / under for over, under in ((q, a), (c, q)) if abs(under) > 1e-300]
