"""What a basis becomes where the targets of ratios move, and how far one of them can.

A limit on a ratio moves coefficients: a row that binds becomes  (a - d g) x >= 0, which changes the basis by one row.
With S the columns of the inverse that belong to such rows, the point moves by S z where (I - D G S) z = D G x, as many
equations as ratios bind and have moved; the duals likewise (Sherman and Morrison 1950, Annals of Mathematical
Statistics 21:124; Woodbury).

Where one ratio alone has moved by m, all duals go along one line, by  d = m y / (1 - m g S)  with y the dual of its
row. So they are right from one m to another, and there the basis proves what nothing costs less than, whether its own
point fits or not.
"""

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.tolerances import SHARP
from optiform.reading.frozen import frozen

CLEAR = 1e-6  # of 1: what a ratio that moves must leave of the divisor
Places = NDArray[np.intp]


@frozen
class Turning:
    """What moves with the targets of ratios.

    Attributes:
        rows: the limit of each row over a group, shape (ratios,).
        line: that of the region, behind it what times the position is the amount of each of these groups, and last what
            the duals prove that nothing costs less than.
        felt: what the room of all checks loses by such a row, shape (checks, ratios).
        tight: which of these rows bind, shape (binding,); the rest has an entry for each of those.
        point: what a unit of z does to all that `line` tells, shape (binding, checks + 1 + columns + ratios + 1).
        duals: of the rows that bind, shape (binding,).
        signs, turns: what reduced costs and duals are at the start, each with the sign that makes it right where it is
            above 0, shape (signs,), and what the ratios that bind add to them, shape (binding, signs).
    """

    rows: Places
    line: Vector
    felt: Vector
    tight: Places
    point: Vector
    duals: Vector
    signs: Vector
    turns: Vector

    @cached_property
    def wrong(self) -> float:
        """A reduced cost that is below 0 by rounding only."""
        return -SHARP * (1 + float(np.abs(self.signs).max(initial=0.0)))

    @cached_property
    def stands(self) -> bool:
        """Whether its duals are right where no ratio has moved."""
        return bool(self.signs.min(initial=0.0) >= self.wrong)

    @cached_property
    def inner(self) -> Vector:
        """What a unit of z adds to the amount of its own group, for each row that binds. Shape (binding,)."""
        return self.point[np.arange(len(self.tight)), self._groups]

    @cached_property
    def _groups(self) -> Places:
        """Where `line` has the groups of the rows that bind, counted from its end. Shape (binding,)."""
        return self.tight - len(self.rows) - 1

    @cached_property
    def lasts(self) -> list[tuple[float, float]]:
        """From where to where each ratio that binds can move, the others where they start, with duals that are right.

        They go along one line, by d = m y / (1 - m g S), which rises or falls with the move m all the way.
        """
        return [
            _lasting(float(own), float(inner), *_able(self.signs, turns, self.wrong))
            for own, inner, turns in zip(self.duals, self.inner, self.turns, strict=True)
        ]

    def turn(self, seen: Vector, moved: list[float]) -> Vector | None:
        """What `line` tells where some of the ratios that bind have moved; None where the duals are not right there.

        Args:
            seen: what `line` tells where none of them has.
            moved: by how much each that binds has.
        """
        of = [k for k, change in enumerate(moved) if change]
        if len(of) == 1:  # almost always
            return self._turn_one(seen, of[0], moved[of[0]])
        if not of:
            return seen if self.stands else None
        change, rows, own = np.array([moved[k] for k in of]), self._groups[of], self.duals[of]
        inner = self.point[of][:, rows].T
        try:
            inverse = np.linalg.inv(np.eye(len(of)) - change[:, None] * inner)
        except np.linalg.LinAlgError:
            return None
        z, duals = inverse @ (change * seen[rows]), (own @ inverse) * change
        off = np.abs(duals - change * (own + duals @ inner)).max()
        signs = self.signs + duals @ self.turns[of]
        if not off <= SHARP * (1 + np.abs(duals).max()) or signs.min(initial=0.0) < self.wrong:
            return None
        return seen + z @ self.point[of]

    def _turn_one(self, seen: Vector, k: int, moved: float) -> Vector | None:
        low, high = self.lasts[k]
        if not low <= moved <= high:
            return None
        z = moved * seen.item(self._groups.item(k)) / (1 - moved * self.inner.item(k))
        turned: Vector = seen + z * self.point[k]
        return turned


def _able(signs: Vector, turns: Vector, wrong: float) -> tuple[float, float]:
    """The least and the most d for which signs + d turns are right; the first is above the second where none is."""
    if np.any((turns == 0) & (signs < wrong)):
        return np.inf, -np.inf
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = (wrong - signs) / turns
    return float(ends[turns > 0].max(initial=-np.inf)), float(ends[turns < 0].min(initial=np.inf))


def _lasting(own: float, inner: float, low: float, high: float) -> tuple[float, float]:
    """The least and the most m for which d = m own / (1 - m inner) is from low to high, and the divisor well above 0.

    The first is above the second where there is none.
    """
    if own < 0:
        own, low, high = -own, -high, -low
    first = (1 - CLEAR) / inner if inner < 0 else -np.inf
    last = (1 - CLEAR) / inner if inner > 0 else np.inf
    if not own:
        return (first, last) if low <= 0 <= high else (np.inf, -np.inf)

    def dual(m: float) -> float:
        return m * own / (1 - m * inner) if np.isfinite(m) else -own / inner if inner else m

    if low > high or low > dual(last) or high < dual(first):
        return np.inf, -np.inf
    least = first if low <= dual(first) else low / (own + low * inner)
    return least, last if high >= dual(last) else high / (own + high * inner)


def least(numbers: Vector) -> float:
    """The least of some numbers: looked up by its place, which takes a fifth of what a minimum does."""
    return numbers.item(numbers.argmin())
