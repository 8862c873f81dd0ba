"""Branch and bound over disjunctions: things that a formula may keep in one of several ways.

A node holds one disjunction for everything that is asked in several ways, each somewhere between open and settled. Its
relaxation asks only what every formula below it keeps, so that none of them is better than the relaxation's bound.
Where the answer to the relaxation keeps the disjunctions too, it is the best below. Else the disjunction that it misses
most is branched on, which cuts this answer off. Nodes are taken by their bounds, the most promising first; those no
better than the incumbent are pruned. Dead ends, where nothing fits the relaxation, keep their proof: without an
incumbent they cover all formulas, and together prove that there is none. (Land and Doig 1960, Econometrica 28:497; over
intervals of continuous quantities Falk and Soland 1969, Management Science 15:550.)
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count
from typing import Generic, Protocol, TypeVar

import numpy as np

from optiform.program.build import Way
from optiform.program.linear import Vector
from optiform.reading.faults import Unsettled

F = TypeVar("F")  # an answer
N = TypeVar("N")  # what is told where nothing fits
KEPT = 1e-9  # relative miss that is no miss


class Disjunction(Protocol):
    """Something asked in several ways, or a branch of it."""

    @property
    def words(self) -> str:
        """What is asked, in the brief's words."""
        ...

    @property
    def settled(self) -> bool:
        """Whether `relaxation` is all that is asked: nothing is left to branch on."""
        ...

    @property
    def continuous(self) -> bool:
        """Whether its branches go on without end, so that an incumbent comes from `restriction` only."""
        ...

    def relaxation(self) -> Way:
        """Straight demands that every formula keeps which keeps this."""
        ...

    def restriction(self, x: Vector) -> Way:
        """Demands that are enough to keep this, chosen as x comes nearest to it."""
        ...

    def miss(self, x: Vector) -> float:
        """By how much x misses this, relative; not above 0 where x keeps it."""
        ...

    def worth(self, x: Vector, prices: Mapping[str, float]) -> float:
        """What not missing it would cost, at `prices` of one unit of each demand by its words: what to branch on."""
        ...

    def branches(self, x: Vector) -> Sequence["Disjunction"]:
        """Disjunctions that together cover this one and cut x off; none where they would be too small to matter."""
        ...


@dataclass(frozen=True)
class Looked(Generic[F]):
    """The answer to one set of demands.

    Attributes:
        told: the answer itself.
        x: its mass fractions.
        value: to be made small.
        bound: no formula that keeps these demands has less; minus infinity where that is not known.
        prices: what one unit of each demand that binds costs, by its words.
    """

    told: F
    x: Vector
    value: float
    bound: float = -np.inf
    prices: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class DeadEnd(Generic[N]):
    """That nothing fits one set of demands, as it is told; not `proven`: as far as was looked."""

    told: N
    proven: bool = True


Look = Callable[[Way], Looked[F] | DeadEnd[N]]
Node = tuple[Disjunction, ...]
#: Makes more of an answer that keeps all of a node, if it can.
Polish = Callable[[Node, Looked[F]], tuple[Way, Looked[F]] | None]


@dataclass(frozen=True)
class Effort:
    """When a tree is done: its incumbent within `gap` (relative) of the bound, or after so many looks."""

    gap: float = 1e-9
    looks: int = 300
    between: int = 8  # looks from one restriction to the next, once there is an incumbent

    def room(self, value: float) -> float:
        """How much better than `value` a node must promise to be."""
        return self.gap * (1 + abs(value))


@dataclass
class Tree(Generic[F, N]):
    """A search over disjunctions, with `common` demands in every node.

    Attributes:
        incumbent: the node, the demands and the answer that are best so far.
        ends: the demands that nothing fits, as told.
        bound: no formula has less; minus infinity where that is not known.
        restless: why some node was left undecided; empty where none was.
    """

    common: Way
    look: Look[F, N]
    effort: Effort = Effort()
    polish: Polish[F] | None = None
    incumbent: tuple[Node, Way, Looked[F]] | None = None
    ends: list[tuple[Way, N]] = field(default_factory=list)
    restless: str = ""
    looks: int = 0
    _open: list[tuple[float, int, Node]] = field(default_factory=list)
    _left: float = np.inf  # least bound of what was pruned or left undecided
    _number: Iterator[int] = field(default_factory=count)

    def grow(self, root: Node) -> None:
        """Search below `root`."""
        self._wait(-np.inf, root)
        while self._open and self._promises(self._open[0][0]) and self.looks < self.effort.looks:
            bound, _, node = heappop(self._open)
            self._visit(bound, node)

    @property
    def bound(self) -> float:
        """No formula has less."""
        waiting = self._open[0][0] if self._open else np.inf
        return min(waiting, self._left, np.inf if self.incumbent is None else self.incumbent[2].value)

    @property
    def done(self) -> bool:
        """Whether nothing is left that promises more."""
        return not (self._open and self._promises(self._open[0][0]))

    def offer(self, node: Node, way: Way, looked: Looked[F]) -> None:
        """Take an answer that keeps everything for the incumbent, if it is better."""
        if self.incumbent is not None and looked.value >= self.incumbent[2].value:
            return
        better = self.polish(node, looked) if self.polish and self._promises(looked.value) else None
        if better is not None and better[1].value <= looked.value + self.effort.room(looked.value):
            way, looked = better
        self.incumbent = node, way, looked

    def _promises(self, bound: float) -> bool:
        if self.incumbent is None:
            return True
        value = self.incumbent[2].value
        return bound < value - self.effort.room(value)

    def _visit(self, bound: float, node: Node) -> None:
        way = (*(demand for part in node for demand in part.relaxation()), *self.common)
        found = self._looked(way)
        if found is None:
            self._undecided(bound, node)
        elif isinstance(found, DeadEnd):
            self.ends.append((way, found.told))
            self._left = self._left if found.proven else min(self._left, bound)
        else:
            self._answered(max(bound, found.bound), node, way, found)

    def _undecided(self, bound: float, node: Node) -> None:
        """The relaxation has no answer: branch on the first thing that is finite, in the order of the brief."""
        place = next((i for i, part in enumerate(node) if not (part.settled or part.continuous)), None)
        if place is None:
            self._left = min(self._left, bound)
        else:
            self._branch(bound, node, place, np.zeros(0))

    def _answered(self, bound: float, node: Node, way: Way, found: Looked[F]) -> None:
        """Settle what is open as the answer settles it; where it does not, or not quite, branch."""
        misses = [-np.inf if part.settled else part.miss(found.x) for part in node]
        worst = int(np.argmax(misses)) if misses else 0
        if all(part.settled for part in node):
            self.offer(node, way, found)
            return
        if not self._promises(bound):
            self._left = min(self._left, bound)
            return
        kept = misses[worst] <= KEPT
        if kept and all(part.settled or part.continuous for part in node):
            self.offer(node, way, found)
        elif kept or (any(part.continuous for part in node) and self._due()):
            self._restrict(node, found.x)
        if (
            kept
            and self.incumbent is not None
            and self.incumbent[2].value <= found.value + self.effort.room(found.value)
        ):
            self._left = min(self._left, bound)
            return
        self._branch(bound, node, self._place(node, misses, found), found.x)

    def _place(self, node: Node, misses: Sequence[float], found: Looked[F]) -> int:
        """What to branch on: of what is finite the worst miss, then what would cost most."""
        finite = [i for i, part in enumerate(node) if not (part.settled or part.continuous)]
        missed = [i for i, miss in enumerate(misses) if miss > KEPT]
        if any(i in finite for i in missed) or not missed:
            return max(finite, key=lambda i: misses[i])
        return max(missed, key=lambda i: (node[i].worth(found.x, found.prices), misses[i]))

    def _due(self) -> bool:
        """Whether an answer that is sure to keep everything is worth a look."""
        return self.incumbent is None or self.looks % self.effort.between == 0

    def _restrict(self, node: Node, x: Vector) -> None:
        """An answer that is sure to keep everything, near x."""
        if self.looks >= self.effort.looks:
            return
        parts = [part.relaxation() if part.settled else part.restriction(x) for part in node]
        way = (*(demand for part in parts for demand in part), *self.common)
        found = self._looked(way)
        if isinstance(found, Looked):
            self.offer(node, way, found)

    def _branch(self, bound: float, node: Node, place: int, x: Vector) -> None:
        branches = node[place].branches(x)
        if not branches:
            self._left = min(self._left, bound)
            self.restless = self.restless or f"{node[place].words} could not be decided to the last digit"
        for branch in branches:
            self._wait(bound, (*node[:place], branch, *node[place + 1 :]))

    def _wait(self, bound: float, node: Node) -> None:
        heappush(self._open, (bound, next(self._number), node))

    def _looked(self, way: Way) -> Looked[F] | DeadEnd[N] | None:
        """The answer to these demands; None where the search does not come to rest."""
        self.looks += 1
        try:
            return self.look(way)
        except Unsettled as unsettled:
            self.restless = str(unsettled)
            return None


# -- several ways ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Settled:
    """One of several ways, chosen."""

    way: Way
    settled: bool = True
    continuous: bool = False

    @property
    def words(self) -> str:
        """What is asked."""
        return "; ".join(demand.words for demand in self.way)

    def relaxation(self) -> Way:
        """The demands of this way."""
        return self.way

    def restriction(self, x: Vector) -> Way:  # noqa: ARG002
        """The same."""
        return self.way

    def miss(self, x: Vector) -> float:
        """The worst of its demands."""
        return max((demand.miss(x) for demand in self.way), default=-np.inf)

    def worth(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Its miss."""
        return self.miss(x)

    def branches(self, x: Vector) -> Sequence[Disjunction]:  # noqa: ARG002
        """None."""
        return ()


@dataclass(frozen=True)
class Choice:
    """Any one of several ways does."""

    ways: tuple[Way, ...]
    settled: bool = False
    continuous: bool = False

    @property
    def words(self) -> str:
        """What is asked, as the first way says it."""
        return Settled(self.ways[0]).words

    def relaxation(self) -> Way:
        """Nothing yet."""
        return ()

    def restriction(self, x: Vector) -> Way:
        """The way that x keeps with most room, or misses least."""
        return self.ways[int(np.argmin([Settled(way).miss(x) for way in self.ways]))]

    def miss(self, x: Vector) -> float:
        """That of the best way."""
        return min(Settled(way).miss(x) for way in self.ways)

    def worth(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Its miss."""
        return self.miss(x)

    def branches(self, x: Vector) -> Sequence[Disjunction]:  # noqa: ARG002
        """Each way in turn."""
        return [Settled(way) for way in self.ways]
