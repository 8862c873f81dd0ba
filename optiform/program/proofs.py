"""What duals and rays prove wherever the targets of limits stand: many of them looked at together.

Row weights y of right signs prove that nothing costs less than  y b + sum_j min(d_j l_j, d_j u_j)  with d = c - y A;
with c = 0 they prove that nothing fits where that is above 0 (certificate.py). When targets move, the right-hand sides
b move with them in step, and so do the coefficients A of a ratio; so y b and d are kept as they stand at the start,
with what one unit of each target adds to them.
"""

from collections.abc import Mapping, Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Program, Vector
from optiform.reading.frozen import frozen

LACK = 1e-9  # relative: what a proof that nothing fits must be short of, see certificate.py
CLEAR = 1e-6  # of such a proof, its largest weight 1: short by more than LACK of any sum of right-hand sides
WEIGHT = 1e9  # with which it goes into a bound
DIGITS = 9  # of the numbers of proofs: the same to these are one


@frozen
class Proofs:
    """Proofs over the same columns, for the same limits.

    Attributes:
        demand: y b at the start. Shape (proofs,).
        slope: what one unit of each limit's target adds to it. Shape (proofs, limits).
        reduced: d at the start. Shape (proofs, columns).
        turns: what one unit of a limit's target adds to d, by the number of the limit; those that add nothing are not
            in it.
        rays: which of them are proofs that nothing fits. Shape (proofs,).
        low, high: of the columns.
    """

    demand: Vector
    slope: Vector
    reduced: Vector
    turns: Mapping[int, Vector]
    rays: NDArray[np.bool_]
    low: Vector
    high: Vector

    @cached_property
    def _rest(self) -> Vector:
        return self._least(self.reduced)

    @cached_property
    def _alone(self) -> Mapping[int, tuple[NDArray[np.intp], Vector, Vector]]:
        """For each limit that turns any the numbers of those proofs, what they are at the start, and by how much."""
        turned = {limit: np.flatnonzero(turn.any(axis=1)) for limit, turn in self.turns.items()}
        return {limit: (rows, self.reduced[rows], self.turns[limit][rows]) for limit, rows in turned.items()}

    def _least(self, reduced: Vector) -> Vector:
        least: Vector = reduced @ self.low + np.minimum(reduced, 0.0) @ (self.high - self.low)
        return least

    def at(self, position: Vector) -> Vector:
        """What nothing costs less than by each proof; of a ray, infinite where it proves that nothing fits.

        Args:
            position: the change of each limit's target. Shape (limits,).
        """
        demand, moved = self.demand + self.slope @ position, [limit for limit in self.turns if position[limit]]
        if not moved:
            rest = self._rest
        elif len(moved) == 1:
            rows, reduced, turn = self._alone[moved[0]]
            rest = self._rest.copy()
            rest[rows] = self._least(reduced + position[moved[0]] * turn)
        else:
            rest = self._least(self.reduced + sum(position[limit] * self.turns[limit] for limit in moved))
        bounds: Vector = demand + rest
        empty = bounds > LACK * (1 + np.abs(demand))
        return np.where(self.rays, np.where(empty, np.inf, -np.inf), bounds)

    def once(self) -> tuple["Proofs", NDArray[np.intp]]:
        """Those that differ, in their order, and for each that there was its number among them."""
        numbers = np.column_stack([self.demand, self.slope, self.reduced, self.rays, *self.turns.values()])
        _, first, same = np.unique(numbers.round(DIGITS), axis=0, return_index=True, return_inverse=True)
        order = first.argsort()
        some, place = first[order], np.empty_like(order)
        place[order] = np.arange(len(order))
        turns = {limit: turn[some] for limit, turn in self.turns.items()}
        kept = Proofs(
            self.demand[some], self.slope[some], self.reduced[some], turns, self.rays[some], self.low, self.high
        )
        return kept, place[same.reshape(-1)]

    @cached_property
    def straight(self) -> Vector:
        """The bounds while only amounts move: times a position with a 1 behind it. Shape (proofs, limits + 1).

        What proves that nothing fits is above 0 where it does; the objective is at least nothing's, and so many times
        that: a bound like any other, and past all that a formula can cost where the proof holds clearly.
        """
        bounds = np.column_stack([self.slope, self.demand + self._rest])
        bounds[self.rays, -1] -= CLEAR
        bounds[self.rays] *= WEIGHT
        bounds[self.rays, -1] += self._rest[0]
        return bounds

    @cached_property
    def most(self) -> float:
        """What no point between the ends of the columns costs more than; the first proof is that by no weights."""
        return float(np.maximum(self.reduced[0] * self.low, self.reduced[0] * self.high).sum())


def proofs_of(
    program: Program, moving: Sequence[int], limits: int, duals: Sequence[Vector], rays: Sequence[Vector]
) -> Proofs:
    """The proofs by these duals and rays of a program, and first of all that by no weights.

    Args:
        program: with the targets where they start.
        moving: for each row the number of the limit whose target it has, -1 for none.
        limits: how many there are.
        duals: prove what nothing costs less than; of right signs, shape (rows,) each.
        rays: prove that nothing fits; likewise.
    """
    weights = np.array([np.zeros(len(program.rows)), *duals, *rays])
    of_rays = np.arange(len(weights)) > len(duals)
    per_target = np.array([row.per_target for row in program.rows])
    slope = np.zeros((len(weights), limits))
    turns: dict[int, Vector] = {}
    for row, limit in enumerate(moving):
        if limit < 0:
            continue
        slope[:, limit] += weights[:, row] * per_target[row]
        group = program.rows[row].group
        if group is not None:
            turns[limit] = turns.get(limit, 0.0) + np.outer(weights[:, row], group)
    reduced = np.where(of_rays[:, None], 0.0, program.cost) - weights @ program.matrix
    return Proofs(weights @ program.rhs, slope, reduced, turns, of_rays, program.low, program.high)


def joined(parts: Sequence[Proofs]) -> Proofs:
    """All of them as one, in their order."""
    turning = dict.fromkeys(limit for part in parts for limit in part.turns)
    turns = {
        limit: np.concatenate([part.turns.get(limit, np.zeros_like(part.reduced)) for part in parts])
        for limit in turning
    }
    demand, slope, reduced, rays = (
        np.concatenate([getattr(part, name) for part in parts]) for name in ("demand", "slope", "reduced", "rays")
    )
    return Proofs(demand, slope, reduced, turns, rays, parts[0].low, parts[0].high)
