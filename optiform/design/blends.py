"""The nearest blends without weighing out every one of them: best first, by a bound from linear programming duals.

A blend S of parts is as far from today as its amounts x move what is counted: the sum over rows k of w_k max(0, r_k x).
A property has two rows, one for each way it can move, and w_k = g today / most g can be, so that the sum is no more
than the distance itself; a limit has one, of how far it is missed. For any u with 0 <= u <= w and any v,

    sum_k w_k max(0, r_k x)  >=  u r x  =  v + (u r - v) x,

as x sums to one, and the least of the right side over the amounts that a blend may have is known in closed form: lines
of the frame stand at one end of their band, and what has gone is made up for by the part with the least (u r - v) per
unit of what it brings. The u and v of one blend, which its linear program gives, bound all others; a blend whose bound
is above the last of the best at hand is never solved. (Lagrangian bounds: Geoffrion 1974.) Properties that bend are
left out of the bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector

Places = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Makeup:
    """Parts that make up for what has gone of their kin.

    Attributes:
        strength: what one part of each part on the shelf brings of what is kept; 0 for what is no kin. Shape (parts,).
        least, most: how much of it has to be brought again, mass fraction times strength.
        alone: no more than one of them.
    """

    strength: Vector
    least: float
    most: float
    alone: bool = False


@dataclass(frozen=True, eq=False)
class Shelf:
    """What a bound on blends needs to know. Columns are the parts on the shelf, then the other lines of the frame.

    Attributes:
        rows: r_k, counted where it is above 0. Shape (rows, columns).
        weights: w_k of each row.
        cost: which of the rows is the cost.
        before: today's fraction of each column.
        low, high: the band of each line of the frame, mass fraction; of a part that is not in the blend too.
        makeups: what has gone, by family.
        names: names of the label that each part brings and today does not have. Shape (parts, names).
        name: distance of each new name. Shape (names,).
    """

    rows: Vector
    weights: Vector
    cost: NDArray[np.bool_]
    before: Vector
    low: Vector
    high: Vector
    makeups: tuple[Makeup, ...]
    names: NDArray[np.bool_]
    name: Vector

    @property
    def unpriced(self) -> "Shelf":
        """The same where the cost is no distance."""
        return replace(self, weights=np.where(self.cost, 0.0, self.weights))

    def new_names(self, blends: Places) -> Vector:
        """The distance that each blend's new names add."""
        names: Vector = np.any([self.names[column] for column in blends.T], axis=0) @ self.name
        return names

    def allowed(self, blends: Places) -> NDArray[np.bool_]:
        """Which blends have no more than one part where one takes the place of one. Shape (blends,)."""
        single = np.ones(len(blends), dtype=bool)
        for makeup in self.makeups:
            single &= not makeup.alone or (makeup.strength > 0)[blends].sum(axis=1) <= 1
        return single

    @cached_property
    def _parts(self) -> int:
        return len(self.names)

    def bound(self, blends: Places, u: Vector, v: float) -> Vector:
        """No amounts of these blends move the properties less. Shape (blends,).

        Args:
            blends: the parts of each blend. Shape (blends, parts in each).
            u: of each row; what is out of range is brought into it.
            v: of the sum of all lines.
        """
        price = np.clip(u, 0.0, self.weights) @ self.rows - v
        frame = np.minimum(price * self.low, price * self.high)
        own = price[: self._parts] * self.before[: self._parts] - frame[: self._parts]
        total = v + frame.sum() + own[blends].sum(axis=1)
        for makeup in self.makeups:
            kin = makeup.strength > 0
            each = np.full(self._parts, np.inf)
            each[kin] = price[: self._parts][kin] / makeup.strength[kin]
            total = total + _made_up_for(each[blends].min(axis=1), makeup.least, makeup.most)
        return np.asarray(total)


def _made_up_for(price: Vector, least: float, most: float) -> Vector:
    """The least that so much at this price can come to; no part at all (an endless price) can only be nothing."""
    some = np.isfinite(price)
    amount = np.where(price < 0, most, least)
    cost = np.where(some, price, 0.0) * amount
    return np.where(some, cost, np.inf if least > 0 else 0.0)


class Blends:
    """All blends of so many parts, each with the best bound so far on its distance, new names counted."""

    def __init__(self, shelf: Shelf, sizes: Sequence[int]) -> None:
        parts = range(len(shelf.names))
        self._shelf = shelf
        blocks = [_block(list(combinations(parts, size)), size) for size in sizes]
        self._blocks = [block[shelf.allowed(block)] for block in blocks]
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
