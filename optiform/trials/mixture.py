"""A mixture of normal distributions: what a sum over a grid of assumptions gives for one number."""

from math import erfc, pi, sqrt
from statistics import NormalDist

import numpy as np

from optiform.properties.base import Vector
from optiform.reading.frozen import frozen

HALVINGS = 60
CLOSE = 1e-13  # relative: rounding
REACH = 12.0  # standard deviations within which all of it lies


@frozen
class Mixture:
    """Normals with these weights (sum 1), means and standard deviations; all of shape (components,)."""

    weights: Vector
    means: Vector
    deviations: Vector

    @property
    def mean(self) -> float:
        """Its mean."""
        return float(self.weights @ self.means)

    @property
    def deviation(self) -> float:
        """Its standard deviation, by the law of total variance."""
        spread = self.deviations**2 + (self.means - self.mean) ** 2
        return float(np.sqrt(self.weights @ spread))

    def below(self, value: float) -> float:
        """The probability of less than `value`."""
        z = (value - self.means) / np.maximum(self.deviations, 1e-12)
        return float(self.weights @ normal_below(z))

    def density(self, value: float) -> float:
        """The probability per unit at `value`."""
        spread = np.maximum(self.deviations, 1e-12)
        z = (value - self.means) / spread
        return float(self.weights @ (np.exp(-0.5 * z**2) / spread)) / sqrt(2 * pi)

    def quantile(self, probability: float) -> float:
        """The value that has this probability below it, by Newton's steps, halved where they leave the bracket.

        Example:
            >>> one = Mixture(np.array([1.0]), np.array([3.0]), np.array([2.0]))
            >>> round(one.quantile(0.5), 9), round(one.quantile(0.975), 6)  # 1.959964 deviations up
            (3.0, 6.919928)
        """
        low = float((self.means - REACH * self.deviations).min()) - 1e-9
        high = float((self.means + REACH * self.deviations).max()) + 1e-9
        as_one = self.mean + self.deviation * NormalDist().inv_cdf(probability)  # where one normal would have it
        value = min(high, max(low, as_one))
        for _ in range(HALVINGS):
            off, slope = self.below(value) - probability, self.density(value)
            step = value - off / slope if slope > 0 else high
            if abs(step - value) <= CLOSE * (1 + abs(value)):  # rounding decides on which side of the bracket's end
                return step
            low, high = (low, value) if off >= 0 else (value, high)
            value = step if low < step < high else (low + high) / 2
        return value

    def central(self, level: float) -> tuple[float, float]:
        """The interval that leaves the same probability on both sides."""
        return self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)


def normal_below(z: Vector) -> Vector:
    """The standard normal distribution function."""
    turned: list[float] = (-np.ravel(z) / sqrt(2)).tolist()  # numbers of Python's own, several times as fast in a loop
    return 0.5 * np.array([*map(erfc, turned)]).reshape(np.shape(z))
