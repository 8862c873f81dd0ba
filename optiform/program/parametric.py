"""A question asked at many values of a parameter, over every branch of what is needed: the best answer at each.

A node is solved for all values at once: a trade-off curve for the targets of a limit, a set of scenarios for price
lists. With disjunctions left open that is a lower bound at each value, so a node that promises nothing below the best
so far at any value is pruned. Where it promises most, its own point says what to settle: if the point keeps every
disjunction, the branch that it keeps is solved and joins the best; else the one it misses most is split. This is the
branch and bound of tree.py with a function in place of a number.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Protocol, Self, TypeVar

import numpy as np

from optiform.program.boxes import root_of
from optiform.program.build import Branch, Requirements
from optiform.program.linear import Vector
from optiform.program.tree import SATISFIED, Node
from optiform.reading.faults import Unsettled

MOST = 300  # nodes


class Profile(Protocol):
    """The best answer at each value of a parameter."""

    def promise(self, best: Self | None) -> Vector | None:
        """The point where it lies below `best` by most; None where it is nowhere below by more than rounding."""
        ...

    def lower(self, other: Self) -> Self:
        """The lower of both at each value."""
        ...


P = TypeVar("P", bound=Profile)


def lowest(
    needed: Requirements, solve: Callable[[Branch], P | None], fractions: Callable[[Vector], Vector] = lambda x: x
) -> P | None:
    """The lowest profile over all branches; None where nothing fits any of them.

    Args:
        needed: what is asked for; what bends in it is left to `solve`.
        solve: the profile of a set of demands, None where nothing fits them.
        fractions: the mass fractions of a point of a profile.

    Raises:
        Unsettled: when it would take more than `MOST` nodes.
        Exception: whatever else `solve` raises.
    """
    search = _Search(needed, solve, fractions)
    while search.open:
        search.visit(search.open.pop())
    return search.best


@dataclass
class _Search(Generic[P]):
    needed: Requirements
    solve: Callable[[Branch], P | None]
    fractions: Callable[[Vector], Vector]
    best: P | None = None
    nodes: int = 0

    def __post_init__(self) -> None:
        self.open: list[Node] = [root_of(self.needed, boxes=False)]

    def visit(self, node: Node) -> None:
        """Take what a node has below the best so far, or put its branches in its place."""
        bound = self._profile(tuple(demand for part in node for demand in part.relaxation()))
        while bound is not None and (point := bound.promise(self.best)) is not None:
            x = self.fractions(point)
            place = _missed(node, x)
            if place is not None:
                self._split(node, place, x)
                return
            if all(part.settled for part in node):
                self._take(bound)
                return
            branch = self._profile(tuple(demand for part in node for demand in part.restriction(x)))
            if branch is None or branch.promise(self.best) is None:  # by rounding only
                self._split(node, next(i for i, part in enumerate(node) if not part.settled), x)
                return
            self._take(branch)

    def _profile(self, demands: Branch) -> P | None:
        self.nodes += 1
        if self.nodes > MOST:
            raise Unsettled("there are too many ways to keep these limits and rules together; ask fewer at a time")
        return self.solve((*demands, *self.needed.rest))

    def _take(self, profile: P) -> None:
        self.best = profile if self.best is None else self.best.lower(profile)

    def _split(self, node: Node, place: int, x: Vector) -> None:
        self.open += [(*node[:place], part, *node[place + 1 :]) for part in node[place].split(x)]


def _missed(node: Node, x: Vector) -> int | None:
    """The number of the disjunction that x misses most; None where it keeps all."""
    misses = [-np.inf if part.settled else part.miss(x) for part in node]
    worst = int(np.argmax(misses)) if misses else 0
    return worst if misses and misses[worst] > SATISFIED else None
