"""One node of a search, asked again and again where a target or a price has moved (see sensitivity.py).

What its proof tells, or one dual step from its basis, is not put to the solver.
"""

from functools import cached_property

import numpy as np

from optiform.program.build import Branch, Demand
from optiform.program.certificate import NotCertified, certify_infeasible, signed
from optiform.program.crossings import gain_of, overtaken
from optiform.program.curve import residual, trade_off
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.live import Basis, Live, Optimum
from optiform.program.pieces import limit_of
from optiform.program.prices import Segment, follow, least_beside, numbers_beside
from optiform.reading.frozen import frozen


@frozen
class LiveNode:
    """One branch, or several together with some choices open.

    `live`, `optimum` and `claimed`, the basis as the solver says it, are of the brief as it is; None where nothing
    fits it, which `weights` of the rows prove where they are known.
    """

    program: Program
    asked: Branch
    live: Live | None
    optimum: Optimum | None
    claimed: Basis | None = None
    weights: Vector | None = None

    @staticmethod
    def of(program: Program, asked: Branch) -> "LiveNode":
        """Solve a node once.

        Raises:
            NotCertified: when a proof does not check.
        """
        try:
            live = Live(program)
        except NoPoint as empty:
            return LiveNode(program, asked, None, None, weights=empty.weights)
        if live.optimum is None:
            live.solve()
        return LiveNode(program, asked, live, live.optimum, live.claimed_basis())

    @cached_property
    def _basis(self) -> Basis | None:
        """The basis of the optimum, proven optimal; None where there is none."""
        if self.live is None or (self.claimed is not None and self.claimed.optimal):
            return self.claimed
        try:
            return self.live.basis() if self.live.solve() else None
        except NotCertified:
            return None

    @cached_property
    def reduced(self) -> Vector:
        """The reduced costs that prove the optimum; all 0 where there is none. Shape (columns,)."""
        y = np.zeros(len(self.program.rows)) if self.optimum is None else self.optimum.y
        return self.program.cost - self.program.matrix.T @ y

    @cached_property
    def proof(self) -> Vector:
        """The row duals that prove the optimum, none of a wrong sign; all 0 where there is none. Shape (rows,)."""
        return signed(self.program, np.zeros(len(self.program.rows)) if self.optimum is None else self.optimum.y)

    @cached_property
    def _rows(self) -> dict[tuple[str, str, str, float], int]:
        """The number of the first row of each limit."""
        rows = reversed(list(enumerate(self.program.rows)))
        return {limit_of(self.asked[row.key]): i for i, row in rows if row.key is not None}

    def row(self, demand: Demand) -> int | None:
        """The number of the row of a demand's limit; None where the node leaves it open."""
        return self._rows.get(limit_of(demand))

    def beside(self, demand: Demand, change: float) -> Optimum | None:
        """The optimum where the target of a demand has moved."""
        row = self.row(demand)
        if self.live is None or row is None:
            return self.optimum
        self.live.move(row, change)
        try:
            self.live.solve()
            return self.live.optimum
        finally:
            self.live.move(row, 0.0)

    def segment(self, demand: Demand, change: float) -> Segment | None:
        """The segment on which the basis lasts that is optimal where the target of a demand has moved."""
        row = self.row(demand)
        if self.live is None or row is None:
            return None
        self.live.move(row, change)
        try:
            return follow(self.live.basis(), self.program, row, change) if self.live.solve() else None
        finally:
            self.live.move(row, 0.0)

    def bound_beside(self, demand: Demand, change: float) -> float:
        """What nothing in the node costs less than where the target of a demand has moved, by the proof it has."""
        if self.optimum is None:
            return np.inf
        row = self.row(demand)
        return self.optimum.bound if row is None else self._bound_moved(row, change)

    def no_better(self, demand: Demand, change: float, below: float) -> bool:
        """Whether nothing in it is below `below` where the target has moved, as far as its proof or one step tells."""
        if self.bound_beside(demand, change) >= below:
            return True
        row = self.row(demand)
        if row is None or self._basis is None:
            return False
        return least_beside(self._basis, self.program, row, change) >= below

    def _bound_moved(self, row: int, change: float) -> float:
        program, limit, dual = self.program, self.program.rows[row], float(self.proof[row])
        fixed, reduced, least = self._proved
        fixed += dual * change * limit.per_target
        if limit.group is None:
            return fixed + least
        reduced = reduced + dual * change * limit.group
        return fixed + float(np.minimum(reduced * program.low, reduced * program.high).sum())

    @cached_property
    def _proved(self) -> tuple[float, Vector, float]:
        """What the proof adds up of the right-hand sides, the reduced costs it leaves, and the least they come to."""
        program, reduced = self.program, self.program.cost - self.program.matrix.T @ self.proof
        least = float(np.minimum(reduced * program.low, reduced * program.high).sum())
        return float(self.proof @ program.rhs), reduced, least

    def bound_at(self, column: int, change: float) -> float:
        """What nothing in the node costs less than where the price of a column has changed."""
        if self.optimum is None:
            return np.inf
        lost = min(0.0, float(self.reduced[column]) + change) - min(0.0, float(self.reduced[column]))
        return self.optimum.bound + lost * float(self.program.high[column])

    def repriced(self, column: int, change: float) -> Optimum | None:
        """The optimum where the price of a column has changed."""
        return None if self.live is None else self.live.repriced(column, change)

    def crossing(self, demand: Demand, along: Segment, end: float) -> tuple[float, Vector] | None:
        """The change nearest to 0, up to `end`, from where on this node is better than a segment, and its point there.

        None where it is not.
        """
        row = self.row(demand)
        if row is None:
            return self._level_crossing(along, end)
        if (own := self._own(row)) is not None:  # needs no walk as far as the optimum's own basis lasts
            lasts = min(max(end, own.start), own.end)
            change = overtaken(along, own, 0.0, lasts) if lasts else None
            if change is not None:
                return change, own.point_at(change)
            if lasts == end:
                return None
        first, last = sorted((0.0, end))
        target = self.program.rows[row].target
        curve = trade_off(self.program, row, target + first, target + last)
        residual(self.program, curve)
        for piece in curve.pieces if end > 0 else reversed(curve.pieces):
            near, far = (piece.start - target, piece.end - target)[:: 1 if end > 0 else -1]
            change = overtaken(along, piece.segment, near, far)
            if change is not None:
                return change, piece.segment.point_at(change)
        return None

    def _own(self, row: int) -> Segment | None:
        """The segment of the optimum's own basis along a row's target."""
        return None if self._basis is None else follow(self._basis, self.program, row, 0.0)

    def _level_crossing(self, along: Segment, end: float) -> tuple[float, Vector] | None:
        """The same where the node leaves the demand open, and its optimum does not move."""
        if self.optimum is None:
            return None
        x = self.optimum.x
        level = Segment(0.0, min(0.0, end), max(0.0, end), self.optimum.value, 0.0, x, np.zeros_like(x), 0.0)
        change = overtaken(along, level, 0.0, end)
        return None if change is None else (change, x)

    def never(self, demand: Demand, along: Segment, end: float) -> bool:
        """Whether the proof of this node as it stands tells already that it is nowhere better than a segment.

        For an amount bound and segment are straight, so both ends settle it; for a ratio the bound is concave.
        """
        if self.optimum is None:
            return self._empty_beside(demand, end)
        bounds = [self.bound_beside(demand, change) for change in (0.0, end)]
        costs = [along.objective_at(change) - gain_of(along) for change in (0.0, end)]
        if (row := self.row(demand)) is not None and self.program.rows[row].group is not None:
            return min(bounds) >= max(costs)
        return bounds[0] >= costs[0] and bounds[1] >= costs[1]

    def _empty_beside(self, demand: Demand, end: float) -> bool:
        """Whether what proves that nothing fits proves it where the target has moved too, and on the way there.

        By how much the proof holds is concave in the target, so that both ends settle it.
        """
        row = self.row(demand)
        if row is None or self.weights is None:
            return row is None
        moved = numbers_beside(self.program, row, self.program.rows[row].moved(end))
        return certify_infeasible(moved, self.weights).holds
