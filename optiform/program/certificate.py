"""Proof that an answer is right, recomputed from the program's own numbers and nothing the solver reports.

Optimal: with row duals y (>= 0 on at-least rows, <= 0 on at-most rows) and d = c - A'y, every feasible point costs at
least  y b + sum_j min(d_j l_j, d_j u_j).  A feasible x that costs no more than that is optimal. Infeasible: weights y
of the same signs for which even the largest  (A'y) x  over the bounds stays below  y b  (Farkas). Textbook linear
programming duality, for instance Chvatal, Linear Programming (1983), chapters 5 and 16.
"""

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.reading.faults import Unproven
from optiform.reading.frozen import frozen

#: Largest residual taken for rounding. Fractions, percent rows and prices per kg all stay well inside 1e3.
TOLERANCE = 1e-6


class Arrays(Protocol):
    """A linear program as plain arrays: `linear.Program`, or one whose numbers move (live.py)."""

    @property
    def matrix(self) -> Vector:
        """Shape (rows, columns)."""

    @property
    def rhs(self) -> Vector:
        """Shape (rows,)."""

    @property
    def at_least(self) -> NDArray[np.bool_]:
        """Which rows forbid less than the right-hand side. Shape (rows,)."""

    @property
    def at_most(self) -> NDArray[np.bool_]:
        """Which rows forbid more. Shape (rows,)."""

    @property
    def cost(self) -> Vector:
        """Shape (columns,)."""

    @property
    def low(self) -> Vector:
        """Shape (columns,)."""

    @property
    def high(self) -> Vector:
        """Shape (columns,)."""


@frozen
class Certificate:
    """Residuals of a proof, each relative to the size of the numbers it comes from.

    Attributes:
        primal: worst violation of a row or bound by the formula.
        dual: worst wrong sign of a row's dual.
        complementarity: worst product of a dual and the slack of its row or bound.
        gap: objective less its proven lower bound; for an infeasible brief, 0.
    """

    primal: float
    dual: float
    complementarity: float
    gap: float

    @property
    def worst(self) -> float:
        """The largest residual; no number where one of them is none."""
        return float(np.abs([self.primal, self.dual, self.complementarity, self.gap]).max())

    @property
    def holds(self) -> bool:
        """Whether every residual is small enough to be rounding."""
        every = (self.primal, self.dual, self.complementarity, self.gap)
        return all(abs(residual) <= TOLERANCE for residual in every)  # false for what is no number


class NotCertified(Unproven):
    """A solver's claim did not stand up to checking: an error, not an answer."""


def certify_optimal(program: Arrays, x: Vector, y: Vector) -> Certificate:
    """Check that x is feasible and that y proves that nothing is better."""
    right = signed(program, y)
    slack = program.matrix.dot(x) - program.rhs
    size = 1 + np.abs(program.rhs) + np.abs(program.matrix).dot(np.abs(x))
    breach = np.maximum(np.where(program.at_least, -slack, 0.0), np.where(program.at_most, slack, 0.0)) / size
    above, below = x - program.low, program.high - x
    reduced = program.cost - right.dot(program.matrix)
    cost, rising, falling = float(program.cost.dot(x)), np.maximum(reduced, 0.0), np.minimum(reduced, 0.0)
    scale = 1 + abs(cost)
    loose = np.where(program.at_least & program.at_most, 0.0, right * slack)
    return Certificate(
        primal=_worst(breach, -above, -below),
        dual=_wrong_sign(y, right),
        complementarity=_worst(np.abs(loose), rising * np.abs(above), -falling * np.abs(below)) / scale,
        gap=(cost - _bound(program, right, reduced)) / scale,
    )


def proven_bound(program: Arrays, y: Vector) -> float:
    """What no feasible point costs less than, whatever the row duals y are; the best duals make it the optimum."""
    y = signed(program, y)
    return _bound(program, y, program.cost - program.matrix.T @ y)


def _bound(program: Arrays, y: Vector, reduced: Vector) -> float:
    """The same by duals of right signs and the reduced costs that they make."""
    return float(program.rhs.dot(y) + np.minimum(reduced * program.low, reduced * program.high).sum())


def certify_infeasible(program: Arrays, y: Vector, beyond: float = 1e-9) -> Certificate:
    """Check that the weights y prove that no point satisfies all rows and bounds, by more than `beyond`, relative.

    `gap` is 0 when the proof closes, else the amount by which it fails.
    """
    right = signed(program, y)
    weights = right / (np.abs(y).max() or 1.0)
    combined = program.matrix.T @ weights
    reach = float(np.maximum(combined * program.low, combined * program.high).sum())
    demand = float(weights @ program.rhs)
    lack = (demand - reach) / (1 + abs(demand))
    return Certificate(0.0, _wrong_sign(y, right), 0.0, 0.0 if lack > beyond else 1.0 - lack)


def signed(program: Arrays, y: Vector) -> Vector:
    """The duals with every wrong sign set to 0: whatever they prove then is proven without tolerance on signs.

    Shape (..., rows), as y has.
    """
    return np.where(np.where(y > 0, program.at_least, program.at_most), y, 0.0)


def _wrong_sign(y: Vector, right: Vector) -> float:
    """The worst of what duals have of a wrong sign; `right`: those without it."""
    return _most(np.abs(y - right)) / (1 + _most(np.abs(y)))


def _worst(*residuals: Vector) -> float:
    return _most(np.concatenate(residuals))


def _most(numbers: Vector) -> float:
    """The largest, 0 at least; no number where one of them is none. Looked up by its place: a fifth of the time."""
    if not len(numbers):
        return 0.0
    most: float = numbers.item(numbers.argmax())
    return 0.0 if most <= 0 else most
