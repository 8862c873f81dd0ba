"""A simplex tableau in NumPy: how the basic variables follow from the others, and what entering one of these leads to.

Variables are the columns x and after them the row activities A x. With the nonbasic ones at bounds, the basic ones are

    z_B = T z_N,

and whatever the costs are, entering variable k leads to the same next tableau: the ratio test looks at bounds only. So
many cost vectors can go from basis to basis together for as long as they enter the same variables (scenarios.py).
(Dantzig 1963, Linear Programming and Extensions, chapter 5.) Rounding adds up from pivot to pivot: `afresh` begins
anew, and who uses the point proves it from the program's own numbers.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.live import Basis, inverse_of

PIVOT = 1e-9  # the least to divide by
ROOM = 1e-9  # in units of a variable: which of several in the way within rounding may leave (Harris 1973)


@dataclass(frozen=True, eq=False)
class Tableau:
    """One basis.

    Attributes:
        matrix: M = [A, -I], shape (rows, columns + rows).
        low, high: of all variables.
        basic: their numbers, shape (rows,); `nonbasic` those of the others, shape (columns,).
        at_high: which of the nonbasic stand at their upper bound, shape (columns,).
        table: T, shape (rows, columns).
    """

    matrix: Vector
    low: Vector
    high: Vector
    basic: NDArray[np.intp]
    nonbasic: NDArray[np.intp]
    at_high: NDArray[np.bool_]
    table: Vector

    @staticmethod
    def of(basis: Basis) -> "Tableau":
        """The tableau of a basis.

        Raises:
            numpy.linalg.LinAlgError: when it has none.
        """
        free = np.ones(len(basis.low), dtype=bool)
        free[basis.basic] = False
        nonbasic = np.flatnonzero(free)
        table = -basis.inverse @ basis.matrix[:, nonbasic]
        at_high = (basis.at_high | ~np.isfinite(basis.low))[nonbasic]
        return Tableau(basis.matrix, basis.low, basis.high, basis.basic, nonbasic, at_high, table)

    def afresh(self) -> "Tableau":
        """The same without the rounding of the pivots that led here.

        Raises:
            numpy.linalg.LinAlgError: when rounding has made a basis of what is none.
        """
        return replace(self, table=-inverse_of(self.matrix, self.basic) @ self.matrix[:, self.nonbasic])

    @property
    def key(self) -> bytes:
        """The same for the same basis, however it was reached."""
        marks = np.zeros(len(self.low), dtype=np.int8)
        marks[self.basic] = 1
        marks[self.nonbasic[self.at_high]] = 2
        return marks.tobytes()

    @cached_property
    def _bounds(self) -> Vector:
        """Where the nonbasic variables stand."""
        return np.where(self.at_high, self.high[self.nonbasic], self.low[self.nonbasic])

    @cached_property
    def _values(self) -> Vector:
        values: Vector = self.table @ self._bounds
        return values

    @property
    def point(self) -> Vector:
        """The columns' values. Shape (columns,)."""
        z = np.empty(len(self.low))
        z[self.nonbasic], z[self.basic] = self._bounds, self._values
        return z[: len(self.nonbasic)]

    def reduced(self, costs: Vector) -> Vector:
        """The reduced costs of the nonbasic variables under each row of costs. Shape (scenarios, columns)."""
        count = len(self.nonbasic)
        own, priced = self.nonbasic < count, self.basic < count
        reduced: Vector = costs[:, self.basic[priced]] @ self.table[priced]
        reduced[:, own] += costs[:, self.nonbasic[own]]
        return reduced

    def entered(self, place: int) -> "Tableau | None":
        """The tableau where a nonbasic variable, by its place, has gone as far as it can; None if nothing stops it."""
        rate = self.table[:, place] * (-1.0 if self.at_high[place] else 1.0)
        moving = np.flatnonzero(np.abs(rate) > PIVOT)
        number, speed, up = self.nonbasic[place], np.abs(rate[moving]), rate[moving] > 0
        basic = self.basic[moving]
        room = np.where(up, self.high[basic] - self._values[moving], self._values[moving] - self.low[basic])
        first = float((np.maximum(room, 0.0) / speed).min(initial=np.inf))
        if self.high[number] - self.low[number] <= first:
            return self._flipped(place) if np.isfinite(self.high[number] - self.low[number]) else None
        near = np.maximum(room, 0.0) / speed <= float(((np.maximum(room, 0.0) + ROOM) / speed).min())
        chosen = int(np.argmax(np.where(near, speed, -1.0)))
        return self._exchanged(int(moving[chosen]), place, bool(up[chosen]))

    def _flipped(self, place: int) -> "Tableau":
        at_high = self.at_high.copy()
        at_high[place] ^= True
        return replace(self, at_high=at_high)

    def _exchanged(self, leaving: int, place: int, to_high: bool) -> "Tableau":
        """A basic variable, by its row, leaves for one of its bounds, and the nonbasic one at `place` takes its row."""
        row, column = self.table[leaving], self.table[:, place]
        pivot = row[place]
        table = self.table - np.outer(column / pivot, row)
        table[:, place] = column / pivot
        table[leaving] = -row / pivot
        table[leaving, place] = 1 / pivot
        basic, nonbasic, at_high = self.basic.copy(), self.nonbasic.copy(), self.at_high.copy()
        basic[leaving], nonbasic[place], at_high[place] = self.nonbasic[place], self.basic[leaving], to_high
        return Tableau(self.matrix, self.low, self.high, basic, nonbasic, at_high, table)
