"""What lies within reach of the best: how far each column can move, and points as unlike each other as possible."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import TOLERANCE, NotCertified, certify_optimal
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.live import Live
from optiform.reading.frozen import frozen

UNLIKE = 1e-4  # percentage points that change hands: below it two points are one


@frozen
class Spread:
    """The range of each column among all points that are good enough.

    Attributes:
        low, high: shape (columns asked for,).
        points: the points at which the ends are reached, each an extreme point. Shape (2 x columns asked for, columns).
        residual: the worst residual of all their proofs, see certificate.py.
    """

    low: Vector
    high: Vector
    points: Vector
    residual: float

    def promise(self, best: "Spread | None") -> Vector | None:
        """Its point where an end lies beyond another's by most; None where none does."""
        gains = self._ends if best is None else best._ends - self._ends
        most = int(np.argmax(gains))
        return self.points[most] if best is None or gains[most] > TOLERANCE else None

    def lower(self, other: "Spread") -> "Spread":
        """The wider of both at each end."""
        mine = self._ends <= other._ends
        points = np.where(mine[:, None], self.points, other.points)
        low, high = np.split(np.minimum(self._ends, other._ends), 2)
        return Spread(low, -high, points, max(self.residual, other.residual))

    @property
    def _ends(self) -> Vector:
        """The low ends, and the high ends with their sign turned: both are looked for as the least."""
        return np.concatenate([self.low, -self.high])


def ranges(program: Program, optimum: float, slack: float, count: int | None = None) -> Spread:
    """The least and the greatest value of each column while the objective stays within `slack` of `optimum`.

    Two linear programs for each column, all warm on one solver, each proven optimal for itself. (Flux variability
    analysis in metabolic modelling, Mahadevan and Schilling 2003, is the same question.)

    Args:
        program: a minimisation.
        optimum: its best objective.
        slack: in the objective's unit, not a share of it.
        count: only the first so many columns; the helper columns of a `nearest` goal have no range of interest.

    Raises:
        ValueError: when nothing is that good.
        NotCertified: when a solver's optimum does not check.
    """
    words = f"within {slack:.6g} of the best"
    enough = Row(words, program.cost, Sense.AT_MOST, optimum + slack)
    within = program.with_rows([*program.rows, enough])
    live = Live(within)
    width = len(program.columns)
    ends = [_end(live, within, sign * np.eye(width)[j]) for sign in (1.0, -1.0) for j in range(count or width)]
    points = np.array([x for x, _ in ends])
    low, high = (half.diagonal().copy() for half in np.split(points[:, : count or width], 2))
    return Spread(low, high, points, max(residual for _, residual in ends))


def _end(live: Live, program: Program, cost: Vector) -> tuple[Vector, float]:
    live.recost(cost)
    if not live.solve():
        raise ValueError("no point is that good")
    x, y = live.solution()
    proof = certify_optimal(program.with_cost(cost), x, y)
    if not proof.holds:
        raise NotCertified(f"the end of a range does not check: {proof}")
    return x, proof.worst


def distances(points: Vector, origin: Vector) -> Vector:
    """Percentage points that change hands between each point and the origin: half the sum of |x_i - o_i|, times 100.

    Args:
        points: mass fractions, shape (points, columns).
        origin: mass fractions, shape (columns,).
    """
    return np.asarray(50 * np.abs(points - origin).sum(axis=1), dtype=np.float64)


def apart(points: Sequence[Vector] | NDArray[np.float64], most: int) -> list[int]:
    """Up to `most` of the points, as far apart as possible, the first one given and then by falling distance.

    Greedy: each next one is the point whose nearest chosen neighbour is farthest (Gonzalez 1985). The least distance
    among the chosen is at least half of the best that any choice of as many from this pool could reach. It says nothing
    about points outside the pool. Distances as in `distances`; points that nobody could weigh apart count as one.
    """
    pool = np.asarray(points)
    chosen, nearest = [0], distances(pool, pool[0])
    while len(chosen) < most:
        farthest = int(np.argmax(nearest))
        if nearest[farthest] < UNLIKE:
            break
        chosen.append(farthest)
        nearest = np.minimum(nearest, distances(pool, pool[farthest]))
    return chosen
