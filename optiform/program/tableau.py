"""Many simplex tableaus of one program at once, in NumPy: how basic variables follow from the others, and pivots.

Variables are the columns x and after them the row activities A x. With the nonbasic ones at bounds, the basic ones are

    z_B = T z_N,

and whatever the costs are, entering variable k leads to the same next tableau: the ratio test looks at bounds only. So
many cost vectors can go from basis to basis together for as long as they enter the same variables (scenarios.py). With
r the row of T that k leaves for, solved for z_k, every other row of T, and a row of reduced costs as well, goes on by
what it has at k, times r. (Dantzig 1963, Linear Programming and Extensions, chapter 5.) Rounding adds up from pivot to
pivot, so who uses a point proves it from the program's own numbers.
"""

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.live import Basis
from optiform.reading.frozen import frozen

PIVOT = 1e-9  # the least to divide by
ROOM = 1e-9  # in units of a variable: which of several in the way within rounding may leave (Harris 1973)
Places = NDArray[np.intp]


@frozen
class Tableaus:
    """Bases of one program; everything but `matrix`, `low` and `high` has a basis as its first axis.

    Attributes:
        matrix: M = [A, -I], shape (rows, columns + rows).
        low, high: of all variables.
        basic: their numbers, shape (bases, rows); `nonbasic` those of the others, shape (bases, columns).
        at_high: which of the nonbasic stand at their upper bound, shape (bases, columns).
        table: T, shape (bases, rows, columns).
    """

    matrix: Vector
    low: Vector
    high: Vector
    basic: Places
    nonbasic: Places
    at_high: NDArray[np.bool_]
    table: Vector

    @staticmethod
    def of(basis: Basis) -> "Tableaus":
        """The tableau of one basis.

        Raises:
            numpy.linalg.LinAlgError: when it has none.
        """
        free = np.ones(len(basis.low), dtype=bool)
        free[basis.basic] = False
        nonbasic = np.flatnonzero(free)
        table = -basis.inverse @ basis.matrix[:, nonbasic]
        high = basis.stands_high[nonbasic]
        return Tableaus(basis.matrix, basis.low, basis.high, basis.basic[None], nonbasic[None], high[None], table[None])

    def __len__(self) -> int:
        """How many bases."""
        return len(self.basic)

    def _with(self, basic: Places, nonbasic: Places, at_high: NDArray[np.bool_], table: Vector) -> "Tableaus":
        return Tableaus(self.matrix, self.low, self.high, basic, nonbasic, at_high, table)

    @cached_property
    def _bounds(self) -> Vector:
        """Where the nonbasic variables stand."""
        bounds: Vector = np.where(self.at_high, self.high[self.nonbasic], self.low[self.nonbasic])
        return bounds

    @cached_property
    def _values(self) -> Vector:
        """What the basic variables are then."""
        values: Vector = (self.table @ self._bounds[:, :, None])[:, :, 0]
        return values

    def points(self, bases: Places) -> Vector:
        """The columns' values at some bases. Shape (bases, columns)."""
        z = np.empty((len(bases), len(self.low)))
        np.put_along_axis(z, self.nonbasic[bases], self._bounds[bases], axis=1)
        np.put_along_axis(z, self.basic[bases], self._values[bases], axis=1)
        return z[:, : self.table.shape[2]]

    @property
    def ways_up(self) -> Vector:
        """Which way each nonbasic variable can go: 1 up, -1 down, 0 where it is fixed. Shape (bases, columns)."""
        free = self.low[self.nonbasic] < self.high[self.nonbasic]
        ways: Vector = np.where(self.at_high, -1.0, 1.0) * free
        return ways

    def reduced(self, costs: Vector) -> Vector:
        """Reduced costs of what is nonbasic in the first basis, under each row of costs. Shape (costs, columns)."""
        basic, nonbasic = self.basic[0], self.nonbasic[0]
        follows = np.zeros((len(self.low), len(nonbasic)))
        follows[nonbasic, np.arange(len(nonbasic))] = 1.0
        follows[basic] = self.table[0]
        reduced: Vector = costs @ follows[: costs.shape[1]]
        return reduced

    def duals(self, bases: Places, reduced: Vector) -> Vector:
        """The rows' duals, each row of reduced costs at a basis of its own. Shape (reduced costs, rows)."""
        wide = np.zeros((len(bases), len(self.low)))
        np.put_along_axis(wide, self.nonbasic[bases], reduced, axis=1)
        return wide[:, self.table.shape[2] :]

    def entering(self, bases: Places, place: Places) -> "Pivots":
        """What happens where nonbasic variables, by their places, enter at some bases. Shapes (pivots,)."""
        every, variables = np.arange(len(bases)), self.nonbasic[bases, place]
        column = self.table[bases, :, place]
        rate = column * np.where(self.at_high[bases, place], -1.0, 1.0)[:, None]
        basic, values, speed, up = self.basic[bases], self._values[bases], np.abs(rate), rate > 0
        room = np.maximum(np.where(up, self.high[basic] - values, values - self.low[basic]), 0.0)
        speed = np.where(speed > PIVOT, speed, 0.0)
        with np.errstate(divide="ignore", invalid="ignore"):
            steps = np.where(speed > 0, room / speed, np.inf)
            near = steps <= np.where(speed > 0, (room + ROOM) / speed, np.inf).min(axis=1)[:, None]
        first, span = steps.min(axis=1), self.high[variables] - self.low[variables]
        leaving = np.where(near, speed, -1.0).argmax(axis=1)
        row = self.table[bases, leaving] / -column[every, leaving, None]
        row[every, place] = 1 / column[every, leaving]
        flips = span <= first
        return Pivots(self, bases, place, leaving, up[every, leaving], flips, np.minimum(first, span), column, row)


@frozen
class Pivots:
    """Variables that enter, each at a basis of some tableaus. Every array has a pivot as its first axis.

    Attributes:
        bases, place: where it enters, by its place among the nonbasic; `leaving` what leaves for it, by its row.
        to_high: whether that leaves for its upper bound.
        flips: where it goes from bound to bound, and nothing leaves.
        step: how far it goes; infinite if nothing stops it.
        column, row: what all rows have at it, and the row it takes, shapes (pivots, rows) and (pivots, columns).
    """

    tableaus: Tableaus
    bases: Places
    place: Places
    leaving: Places
    to_high: NDArray[np.bool_]
    flips: NDArray[np.bool_]
    step: Vector
    column: Vector
    row: Vector

    def of(self, some: Places) -> "Pivots":
        """Some of them."""
        numbers = (self.bases, self.place, self.leaving, self.to_high, self.flips, self.step, self.column, self.row)
        return Pivots(self.tableaus, *(part[some] for part in numbers))  # type: ignore[arg-type]

    def turn(self) -> Vector:
        """By what a row of reduced costs changes for each unit of the one that enters. Shape (pivots, columns)."""
        turn = self.row.copy()
        turn[np.arange(len(turn)), self.place] -= 1.0
        turn[self.flips] = 0.0
        return turn

    def distinct(self) -> tuple[Places, Places]:
        """One pivot towards each basis that they lead to, and of each pivot the number of that basis among these."""
        old, every = self.tableaus, np.arange(len(self.bases))
        marks = np.zeros((len(old), len(old.low)), dtype=np.int8)
        np.put_along_axis(marks, old.nonbasic, np.where(old.at_high, np.int8(2), np.int8(0)), axis=1)
        np.put_along_axis(marks, old.basic, np.int8(1), axis=1)
        marks = marks[self.bases]
        enters, leaves = old.nonbasic[self.bases, self.place], old.basic[self.bases, self.leaving]
        marks[every, enters] = np.where(self.flips, 2 - marks[every, enters], 1)
        marks[every, leaves] = np.where(self.flips, 1, 2 * self.to_high)
        keys = np.ascontiguousarray(marks).view(f"V{marks.shape[1]}").ravel()
        _, first, which = np.unique(keys, return_index=True, return_inverse=True)
        return first, which.reshape(-1)

    def order(self, after: Tableaus, which: Places) -> Places:
        """The places that the nonbasic variables of the basis each leads to had before. Shape (pivots, columns)."""
        old, every = self.tableaus, np.arange(len(self.bases))
        nonbasic, moves = old.nonbasic[self.bases], ~self.flips
        nonbasic[every[moves], self.place[moves]] = old.basic[self.bases, self.leaving][moves]
        places = np.zeros((len(every), len(old.low)), dtype=np.intp)
        np.put_along_axis(places, nonbasic, np.arange(nonbasic.shape[1])[None], axis=1)
        return np.take_along_axis(places, after.nonbasic[which], axis=1)

    def made(self) -> Tableaus:
        """The tableaus they lead to."""
        old, moves = self.tableaus, np.flatnonzero(~self.flips)
        basic, nonbasic, at_high = old.basic[self.bases], old.nonbasic[self.bases], old.at_high[self.bases]
        at_high[self.flips, self.place[self.flips]] ^= True
        table, row, place, leaving = old.table[self.bases], self.row[moves], self.place[moves], self.leaving[moves]
        enters, leaves = nonbasic[moves, place], basic[moves, leaving]
        basic[moves, leaving], nonbasic[moves, place], at_high[moves, place] = enters, leaves, self.to_high[moves]
        table[moves, :, place] = 0.0
        table[moves] += self.column[moves][:, :, None] * row[:, None, :]
        table[moves, leaving] = row
        return old._with(basic, nonbasic, at_high, table)
