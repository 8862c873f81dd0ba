"""A mixture of normal distributions: what a sum over a grid of assumptions gives for one number."""

from dataclasses import dataclass
from math import erfc, sqrt

import numpy as np

from optiform.properties.base import Vector

HALVINGS = 60
REACH = 12.0  # standard deviations within which all of it lies


@dataclass(frozen=True)
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

    def quantile(self, probability: float) -> float:
        """The value that has this probability below it, by halving."""
        low = float((self.means - REACH * self.deviations).min()) - 1e-9
        high = float((self.means + REACH * self.deviations).max()) + 1e-9
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if self.below(middle) < probability else (low, middle)
        return (low + high) / 2

    def central(self, level: float) -> tuple[float, float]:
        """The interval that leaves the same probability on both sides."""
        return self.quantile((1 - level) / 2), self.quantile((1 + level) / 2)


def normal_below(z: Vector) -> Vector:
    """The standard normal distribution function."""
    return np.array([0.5 * erfc(-each / sqrt(2)) for each in np.ravel(z)]).reshape(np.shape(z))
