"""Questions about the best answer over every branch of a brief, not only the one that the answer lies in.

A limit that any one of several ways keeps divides the formulas into branches, each convex, all of them together not.
What a neighbour of the answer tells of a price holds in its own branch only. Three questions are put to all of them,
each by branch and bound over programs that stay alive in the solver:

* `beside`: which branch is the best where one target has moved a little;
* `reach`: how far a price holds before a formula of another branch is better;
* `entry_price`: the greatest price at which a candidate the answer leaves out would still pay,

      max over x with x_j > 0 of  (best cost without j - cost of the other lines in x) / x_j,

  a linear-fractional program in every branch (`prices.greatest_price`).
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optiform.program.build import Branch, Demand, Requirements, program_at
from optiform.program.certificate import NotCertified, certify_infeasible, signed
from optiform.program.crossings import gain_of, overtaken
from optiform.program.curve import residual, trade_off
from optiform.program.linear import NoPoint, Program, Vector
from optiform.program.live import Basis, Live, Optimum
from optiform.program.many_pieces import AnyPiece
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch
from optiform.program.pieces import joined, limit_of, same_limit
from optiform.program.prices import Segment, follow, gained, greatest_price, least_beside, numbers_beside
from optiform.program.tree import Disjunction, Node, OneOf, asked_of
from optiform.reading.faults import Unsettled

#: Nodes that a search may take before prices are told as those of the answer's own branch. Ordinary briefs take a few;
#: a shelf of nine waxes and fatty alcohols has hundreds of ways to be firm, each asked twice for each limit.
MOST_COVER = 60


@dataclass(frozen=True)
class LiveNode:
    """One branch, or several together with some choices open.

    `live` and `optimum` are those of the brief as it is; None where nothing fits it, which `weights` of the rows prove
    where they are known.
    """

    program: Program
    asked: Branch
    live: Live | None
    optimum: Optimum | None
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
            return LiveNode(program, asked, None, None, empty.weights)
        live.solve()
        return LiveNode(program, asked, live, live.optimum)

    @cached_property
    def _basis(self) -> Basis | None:
        """The basis of the optimum, proven optimal; None where there is none."""
        try:
            return self.live.basis() if self.live is not None and self.live.solve() else None
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

    def least_beside(self, demand: Demand, change: float) -> float:
        """The same as `bound_beside`, by one step from the basis it has; minus infinity where that does not tell."""
        row = self.row(demand)
        if self._basis is None or row is None:
            return -np.inf
        return least_beside(self._basis, self.program, row, change)

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


class Sensitivity:
    """Every branch of a brief near the point `at`, solved as far as questions ask."""

    def __init__(self, base: Program, needed: Requirements, at: Vector) -> None:
        """Nothing is solved yet.

        Args:
            base: the program's frame and objective, without demands.
            needed: what is asked for.
            at: where limits that bend are held; fractions.
        """
        self._base, self._needed, self._at = base, needed, at
        self._nodes: dict[tuple[int, ...], LiveNode] = {}

    @property
    def _cover(self) -> tuple[tuple[Node, LiveNode], ...]:
        """Nodes that together hold every formula, as a search for the best one ends with them, and solved.

        Raises:
            Unsettled: when they are too many to be asked of each limit.
        """
        if self._searched is None:
            raise Unsettled("there are too many ways to keep the limits to look at each for every price")
        return self._searched

    @cached_property
    def _searched(self) -> tuple[tuple[Node, LiveNode], ...] | None:
        """These nodes; None where they are too many."""

        def solve_node(branch: Branch) -> SolvedNode[None] | InfeasibleNode[None]:
            optimum = self._node(branch).optimum
            if optimum is None:
                return _NOTHING
            return SolvedNode(None, optimum.x[: len(self._at)], optimum.value, optimum.bound)

        try:
            cover = best_branch(self._needed, solve_node, most=MOST_COVER).cover
        except Unsettled:
            return None
        return tuple((node, self._node(asked_of(node, self._needed.rest))) for node in cover)

    @cached_property
    def _branched(self) -> frozenset[tuple[str, str, str, float]]:
        """The limits that are a way to keep something which can be kept in several."""
        ways = (self._needed.limits[place] for place in self._needed.disjunctions)
        return frozenset(limit_of(demand) for branches in ways for branch in branches for demand in branch)

    def beside(self, demand: Demand, change: float, below: float) -> Segment | None:
        """Where the target of a demand has moved by `change`: the best branch, if it is below `below` there.

        The segment on which its basis lasts, counted as in prices.py.

        Raises:
            Unsettled: when it takes too many branches to tell.
            NotCertified: when a proof does not check.
        """
        known = [live.bound_beside(demand, change) for _, live in self._cover]
        if min(known, default=np.inf) >= below:
            return None
        cover, before = self._moved(demand, change)
        bounds = {id(node): bound for (node, _), bound in zip(cover, known, strict=True)}
        nodes = [node for node, _ in cover]

        def solve_node(branch: Branch) -> SolvedNode[LiveNode] | InfeasibleNode[None]:
            node = self._node(before(branch))
            if node.bound_beside(demand, change) >= below or node.least_beside(demand, change) >= below:
                return _NOTHING
            optimum = node.beside(demand, change)
            if optimum is None or optimum.bound >= below:
                return _NOTHING
            return SolvedNode(node, optimum.x[: len(self._at)], optimum.value, optimum.bound)

        best = best_branch(self._needed, solve_node, nodes, lambda node: bounds[id(node)]).best
        return None if best is None else best[1].segment(demand, change)

    def reach(self, demand: Demand, along: Segment, end: float) -> float:
        """How far from 0 towards `end` a segment stays the best of all branches, as a change of the demand's target.

        Args:
            demand: whose target moves.
            along: the best where it starts.
            end: the last change of interest; finite.

        Raises:
            Unsettled: when it takes too many branches to tell.
            NotCertified: when a proof does not check.
        """
        if all(live.never(demand, along, end) for _, live in self._cover):
            return end
        easier = end if (end > 0) == (demand.side == "high") else 0.0
        cover, before = self._moved(demand, easier)

        def solve_node(branch: Branch) -> SolvedNode[float] | InfeasibleNode[None]:
            node = self._node(before(branch))
            crossing = None if node.never(demand, along, end) else node.crossing(demand, along, end)
            if crossing is None:
                return _NOTHING
            change, x = crossing
            return SolvedNode(change, x[: len(self._at)], abs(change), abs(change))

        best = best_branch(self._needed, solve_node, [node for node, _ in cover]).best
        return end if best is None else best[1]

    def entry_price(self, column: int, now: float, without: float, start: float) -> float:
        """The greatest price of a column at which a formula with it costs what `without` does.

        Args:
            column: number of the column.
            now: what it costs in the programs as they stand, in the objective's unit per unit of the column.
            without: the best objective without it.
            start: a price known to be no greater than the answer.

        Raises:
            Unsettled: when it takes too many branches to tell.
            NotCertified: when a proof does not check.
        """
        below = gained(without)
        return greatest_price(
            start, without, lambda price: self._paying(column, price - now, below), self._base.columns[column]
        )

    def _paying(self, column: int, change: float, below: float) -> tuple[float, float] | None:
        """Cost of the best formula where the column's price has changed, and its share; None if nothing is below."""

        def solve_node(branch: Branch) -> SolvedNode[tuple[float, float]] | InfeasibleNode[None]:
            node = self._node(branch)
            if node.bound_at(column, change) >= below:
                return _NOTHING
            optimum = node.repriced(column, change)
            if optimum is None or optimum.bound >= below:
                return _NOTHING
            share = float(optimum.x[column])
            return SolvedNode((optimum.value, share), optimum.x[: len(self._at)], optimum.value, optimum.bound)

        bounds = {id(node): live.bound_at(column, change) for node, live in self._cover}
        nodes = [node for node, _ in self._cover]
        best = best_branch(self._needed, solve_node, nodes, lambda node: bounds[id(node)]).best
        return None if best is None else best[1]

    def _node(self, branch: Branch) -> LiveNode:
        """The node of a branch, known by which demands it has: each lives as long as what is needed does."""
        key = tuple(map(id, branch))
        if key not in self._nodes:
            self._nodes[key] = LiveNode.of(joined(program_at(self._base, branch, self._at), branch), branch)
        return self._nodes[key]

    def _moved(
        self, demand: Demand, change: float
    ) -> tuple[tuple[tuple[Node, LiveNode], ...], Callable[[Branch], Branch]]:  # fmt: skip
        """The cover with the target of a demand moved where it is open, and the way back to the demands before."""
        if limit_of(demand) not in self._branched:
            return self._cover, lambda branch: branch
        before: dict[int, Demand] = {}
        kept: list[Demand] = []  # what is known by its id has to live

        def moved(other: Demand) -> Demand:
            if not same_limit(other, demand):
                return other
            after = other.moved(other.target + change)
            kept.append(after)
            before[id(after)] = other
            return after

        def part(old: Disjunction) -> Disjunction:
            if isinstance(old, AnyPiece):
                return replace(old, change=moved)
            if not isinstance(old, OneOf):
                return old
            return OneOf(tuple(tuple(map(moved, branch)) for branch in old.disjuncts))

        def back(branch: Branch) -> Branch:
            return tuple(before.get(id(asked), asked) for asked in branch)

        return tuple((tuple(map(part, node)), live) for node, live in self._cover), back


_NOTHING: InfeasibleNode[None] = InfeasibleNode(None)
