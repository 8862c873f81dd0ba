"""The nearest blends without weighing out every one of them: best first, by a bound from linear programming duals.

A blend S of parts is as far from today as its amounts x move the properties: the sum over properties k of
w_k |r_k x|, where r_k is (p - v g) / (g today, unit of distance) and w_k = g today / most g can be, so that the sum is
no more than the distance itself. For any u with -w <= u <= w (from 0 for what only counts upwards) and any v,

    sum_k w_k |r_k x|  >=  u r x  =  v + (u r - v) x,

as x sums to one, and the least of the right side over the amounts that a blend may have is known in closed form: lines
of the frame stand at one end of their band, and all of what has gone is made up for by the part with the least u r - v.
The u and v of one blend, which its linear program gives, bound all others; a blend whose bound is above the last of the
best at hand is never solved. (Lagrangian bounds: Geoffrion 1974.) Properties that bend are left out of the bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector

Places = NDArray[np.intp]


@dataclass(frozen=True)
class Family:
    """Parts that make up for what has gone of their kin: which they are, and how much, mass fraction."""

    parts: NDArray[np.bool_]
    gone: float


@dataclass(frozen=True)
class Shelf:
    """What a bound on blends needs to know. Columns are the parts on the shelf, then the other lines of the frame.

    Attributes:
        rows: r_k of each property that runs straight. Shape (properties, columns).
        groups: g_k of each; `today` its value today.
        cost: which of the properties is the cost: it counts only where it grows.
        before: today's fraction of each column.
        follow: how far a line of the frame may follow, mass fraction.
        families: what has gone.
        names: names of the label that each part brings and today does not have. Shape (parts, names).
        name: distance of one new name.
    """

    rows: Vector
    groups: Vector
    today: Vector
    cost: NDArray[np.bool_]
    before: Vector
    follow: float
    families: tuple[Family, ...]
    names: NDArray[np.bool_]
    name: float

    @cached_property
    def weights(self) -> Vector:
        """w_k: what one unit of the linear program is at least, in distance."""
        frame = self.groups @ (self.before + self.follow * (self.before > 0))
        parts = self.groups[:, : len(self.names)]
        more = [(family.gone + self.follow) * parts[:, family.parts].max(axis=1, initial=0) for family in self.families]
        most = np.maximum(frame + np.sum(more, axis=0), self.today)
        weights: Vector = self.today / most
        return weights

    @property
    def unpriced(self) -> "Shelf":
        """The same where the cost is no distance."""
        return replace(self, rows=np.where(self.cost[:, None], 0.0, self.rows))

    def new_names(self, blends: Places) -> Vector:
        """The distance that each blend's new names add."""
        found: Vector = self.name * np.any([self.names[column] for column in blends.T], axis=0).sum(axis=1)
        return found

    def bound(self, blends: Places, u: Vector, v: float) -> Vector:
        """No amounts of these blends move the properties less. Shape (blends,).

        Args:
            blends: the parts of each blend. Shape (blends, parts in each).
            u: of each property; what is out of range is brought into it.
            v: of the sum of all lines.
        """
        price = np.clip(u, np.where(self.cost, 0.0, -self.weights), self.weights) @ self.rows - v
        low, high = np.maximum(0, self.before - self.follow), np.minimum(1, self.before + self.follow)
        frame = np.minimum(price * low, price * high) * (self.before > 0)
        parts = len(self.names)
        own = price[:parts] * self.before[:parts] - frame[:parts]
        total = v + frame.sum() + own[blends].sum(axis=1)
        for family in self.families:
            best = np.where(family.parts, price[:parts], np.inf)[blends].min(axis=1)
            total = total + _made_up_for(best, family.gone - self.follow, family.gone + self.follow)
        return np.asarray(total)


def _made_up_for(price: Vector, least: float, most: float) -> Vector:
    """The least that so much at this price can come to; no part at all (an endless price) can only be nothing."""
    least = max(0.0, least)
    some = np.isfinite(price)
    amount = np.where(price < 0, most, least)
    cost = np.where(some, price, 0.0) * amount
    return np.where(some, cost, np.inf if least > 0 else 0.0)


class Blends:
    """All blends of so many parts, each with the best bound so far on its distance, new names counted."""

    def __init__(self, shelf: Shelf, sizes: Sequence[int]) -> None:
        parts = range(len(shelf.names))
        self._shelf = shelf
        self._blocks = [_block(list(combinations(parts, size)), size) for size in sizes]
        self._names = np.concatenate([shelf.new_names(block) for block in self._blocks])
        self._bounds = self._names.copy()

    def __len__(self) -> int:
        return len(self._names)

    def most_promising(self, beaten: float) -> int | None:
        """The place of the open blend of the least bound; None where no bound is below `beaten`."""
        place = int(np.argmin(self._bounds)) if len(self) else 0
        return place if len(self) and self._bounds[place] < beaten else None

    def settled(self, beaten: float) -> int:
        """How many blends need no further look: those closed, and those that cannot come nearer than `beaten`."""
        return int((self._bounds >= beaten).sum())

    def parts(self, place: int) -> tuple[int, ...]:
        """The parts of one blend."""
        for block in self._blocks:
            if place < len(block):
                return tuple(block[place].tolist())
            place -= len(block)
        raise IndexError(place)

    def close(self, place: int) -> None:
        """Do not offer a blend again."""
        self._bounds[place] = np.inf

    def learn(self, u: Vector, v: float) -> None:
        """Raise the bounds by what the linear program of one blend says of all."""
        moves = [self._shelf.bound(block, u, v) for block in self._blocks]
        self._bounds = np.maximum(self._bounds, np.concatenate(moves) + self._names)


def _block(blends: list[tuple[int, ...]], size: int) -> Places:
    return np.array(blends, dtype=np.intp).reshape(len(blends), size)
