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

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.program.build import Branch, Demand, Requirements, program_at
from optiform.program.linear import Program, Vector
from optiform.program.many_pieces import AnyPiece
from optiform.program.node import LiveNode
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch
from optiform.program.pieces import joined, limit_of, same_limit
from optiform.program.prices import Segment, gained, greatest_price
from optiform.program.tree import Disjunction, Node, OneOf, asked_of
from optiform.reading.faults import Unsettled

#: Nodes that a search may take before prices are told as those of the answer's own branch. Ordinary briefs take a few;
#: a shelf of nine waxes and fatty alcohols has hundreds of ways to be firm, each asked twice for each limit.
MOST_COVER = 60


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
            nodes = best_branch(self._needed, solve_node, most=MOST_COVER).nodes
        except Unsettled:
            return None
        return tuple((node, self._node(asked_of(node, self._needed.rest))) for node in nodes)

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
        promising = [part for part in self._cover if not part[1].no_better(demand, change, below)]
        if not promising:
            return None
        cover, before = self._moved(promising, demand, change)
        bounds = {id(node): live.bound_beside(demand, change) for node, live in cover}
        asked = {id(live) for _, live in promising}

        def solve_node(branch: Branch) -> SolvedNode[LiveNode] | InfeasibleNode[None]:
            node = self._node(before(branch))
            if id(node) not in asked and node.no_better(demand, change, below):
                return _NOTHING
            optimum = node.beside(demand, change)
            if optimum is None or optimum.bound >= below:
                return _NOTHING
            return SolvedNode(node, optimum.x[: len(self._at)], optimum.value, optimum.bound)

        best = best_branch(
            self._needed, solve_node, [node for node, _ in cover], lambda node: bounds.get(id(node), -np.inf)
        ).best
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
        promising = [part for part in self._cover if not part[1].never(demand, along, end)]
        if not promising:
            return end
        easier = end if (end > 0) == (demand.side == "high") else 0.0
        cover, before = self._moved(promising, demand, easier)

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
        promising = [node for node, _ in self._cover if bounds[id(node)] < below]
        if not promising:
            return None
        best = best_branch(self._needed, solve_node, promising, lambda node: bounds[id(node)]).best
        return None if best is None else best[1]

    def _node(self, branch: Branch) -> LiveNode:
        """The node of a branch, known by which demands it has: each lives as long as what is needed does."""
        key = tuple(map(id, branch))
        if key not in self._nodes:
            self._nodes[key] = LiveNode.of(joined(program_at(self._base, branch, self._at), branch), branch)
        return self._nodes[key]

    def _moved(
        self, nodes: Sequence[tuple[Node, LiveNode]], demand: Demand, change: float
    ) -> tuple[Sequence[tuple[Node, LiveNode]], Callable[[Branch], Branch]]:  # fmt: skip
        """The nodes with the target of a demand moved where it is open, and the way back to the demands before."""
        if limit_of(demand) not in self._branched:
            return nodes, lambda branch: branch
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

        return tuple((tuple(map(part, node)), live) for node, live in nodes), back


_NOTHING: InfeasibleNode[None] = InfeasibleNode(None)
