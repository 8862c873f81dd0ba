"""Branch and bound over disjunctions: what a formula may satisfy in one of several ways.

A node holds one disjunction for everything that is asked as a disjunction, each somewhere between open and settled. Its
relaxation asks only what every formula below it keeps, so that none of them is better than the relaxation's bound.
Where the answer to the relaxation keeps the disjunctions too, it is the best below. Else the disjunction that it misses
most is branched on, which cuts this answer off. Nodes are taken by their bounds, the most promising first; those no
better than the incumbent are pruned. Where nothing fits the relaxation the node keeps its proof: without an
incumbent these nodes cover all formulas, and together prove that there is none. (Land and Doig 1960, Econometrica
28:497; over intervals of continuous quantities Falk and Soland 1969, Management Science 15:550.)
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import chain, count
from typing import Generic, Protocol, TypeVar

import numpy as np

from optiform.program.build import Branch
from optiform.program.linear import Vector
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen

F = TypeVar("F")  # an answer
N = TypeVar("N")  # what shows that nothing fits
SATISFIED = 1e-9  # relative miss that is no miss
REAL = 1e-3  # of the worst miss: what is branched on
PARTS = (0.25, 0.5, 0.75)  # of what something can be: where it is held at first


class Disjunction(Protocol):
    """Something asked as a disjunction, or a branch of it."""

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

    @property
    def case(self) -> object:
        """What tells one kind of answer from another, where there are several kinds; else None."""
        ...

    def relaxation(self) -> Branch:
        """Straight demands that every formula keeps which keeps this."""
        ...

    def restriction(self, x: Vector, part: float | None = None) -> Branch:
        """Demands that are enough to keep this, chosen as x comes nearest to it.

        `part`: what has to be held for it, held at that part of what it can be, and not where x has it.
        """
        ...

    def miss(self, x: Vector) -> float:
        """By how much x misses this, relative; not above 0 where x keeps it."""
        ...

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:
        """What not missing it would cost, at `prices` of one unit of each demand by its words: what to branch on."""
        ...

    def split(self, x: Vector, best: Vector | None = None) -> Sequence["Disjunction"]:
        """Disjunctions that together cover this one and cut x off; none where they would be too small to matter.

        `best`: an answer that keeps everything. Where it lies inside, a split at it makes bounds right just there.
        """
        ...


@frozen
class SolvedNode(Generic[F]):
    """The answer to one set of demands.

    Attributes:
        answer: the answer itself.
        x: its mass fractions.
        value: to be made small.
        bound: no formula that keeps these demands has less; minus infinity where that is not known.
        prices: what one unit of each demand that binds costs, by its words.
    """

    answer: F
    x: Vector
    value: float
    bound: float = -np.inf
    prices: Mapping[str, float] = field(default_factory=dict)


@frozen
class InfeasibleNode(Generic[N]):
    """That nothing fits one set of demands, with what shows it; not `proven`: as far as was looked."""

    proof: N
    proven: bool = True


@frozen
class UndecidedNode:
    """That no answer to one set of demands is shown, and why; no formula that keeps them has less than `bound`."""

    words: str
    bound: float = -np.inf


Solve = Callable[[Branch], SolvedNode[F] | InfeasibleNode[N] | UndecidedNode]
Node = tuple[Disjunction, ...]
#: What a search from an answer to a node comes to that keeps everything, if anything; `near` where it does almost.
Polish = Callable[[Node, SolvedNode[F], bool], tuple[Branch, SolvedNode[F]] | None]


def asked_of(node: Node, common: Branch) -> Branch:
    """The straight demands that every formula in a node keeps, with those that all nodes have in common."""
    return (*chain.from_iterable([part.relaxation() for part in node]), *common)


@frozen
class Effort:
    """When a tree is done: its incumbent within `gap` (relative) of the bound, or after so many nodes."""

    gap: float = 1e-9
    nodes: int = 300
    between: int = 8  # nodes from one restriction to the next, once there is an incumbent

    def room(self, value: float) -> float:
        """How much better than `value` a node must promise to be."""
        return self.gap * (1 + abs(value))


@dataclass
class Tree(Generic[F, N]):
    """A search over disjunctions, with `common` demands in every node.

    Attributes:
        any_way: whether an answer that keeps every disjunction is one as it stands; else it is asked for anew with the
            ways it keeps them in among its demands, which then have prices.
        incumbent: the node, the demands and the answer that are best so far.
        infeasible: branches that nothing fits, each with its proof.
        bound: no formula has less; minus infinity where that is not known.
        undecided: why some node was left undecided; empty where none was.
    """

    common: Branch
    solve: Solve[F, N]
    effort: Effort = field(default_factory=Effort)
    polish: Polish[F] | None = None
    any_way: bool = False
    incumbent: tuple[Node, Branch, SolvedNode[F]] | None = None
    infeasible: list[tuple[Branch, N]] = field(default_factory=list)
    undecided: str = ""
    visited: int = 0
    _open: list[tuple[float, int, Node]] = field(default_factory=list)
    _closed: list[tuple[float, Node]] = field(default_factory=list)  # each with its bound
    _pruned: float = np.inf  # least bound of what was pruned or left undecided
    _number: Iterator[int] = field(default_factory=count)
    _cases: set[tuple[int, ...]] = field(default_factory=set)  # in which an answer was looked for

    def search(self, *roots: Node, bound: Callable[[Node], float] = lambda _: -np.inf) -> None:
        """Search below `roots`; `bound`: what is known before to be below everything in one of them."""
        for root in roots:
            self._push(bound(root), root)
        while self._open and self._promises(self._open[0][0]) and self.visited < self.effort.nodes:
            least, _, node = heappop(self._open)
            self._visit(least, node)

    @property
    def bound(self) -> float:
        """No formula has less."""
        waiting = self._open[0][0] if self._open else np.inf
        return min(waiting, self._pruned, np.inf if self.incumbent is None else self.incumbent[2].value)

    @property
    def cover(self) -> tuple[tuple[float, Node], ...]:
        """The nodes that were not branched on, each with what no formula in it is below.

        Together they hold every formula below the roots.
        """
        return (*self._closed, *((bound, node) for bound, _, node in self._open))

    @property
    def done(self) -> bool:
        """Whether nothing is left that promises more."""
        return not (self._open and self._promises(self._open[0][0]))

    def offer(self, node: Node, branch: Branch, solved: SolvedNode[F]) -> None:
        """Take an answer that keeps everything for the incumbent, if it is better."""
        if self.incumbent is not None and solved.value >= self.incumbent[2].value:
            return
        better = self.polish(node, solved, True) if self.polish and self._promises(solved.value) else None
        if better is not None and better[1].value <= solved.value + self.effort.room(solved.value):
            branch, solved = better
        self.incumbent = node, branch, solved

    def _promises(self, bound: float) -> bool:
        if self.incumbent is None:
            return True
        value = self.incumbent[2].value
        return bound < value - self.effort.room(value)

    def _visit(self, bound: float, node: Node) -> None:
        branch = asked_of(node, self.common)
        solution, branched = self._solution(branch), False
        if isinstance(solution, InfeasibleNode):
            self.infeasible.append((branch, solution.proof))
            bound = np.inf if solution.proven else bound
            self._pruned = min(self._pruned, bound)
        elif isinstance(solution, UndecidedNode):
            bound = max(bound, solution.bound)
            branched = self._undecided(bound, node, solution.words)
        else:
            bound = max(bound, solution.bound)
            branched = self._answered(bound, node, branch, solution)
        if not branched:
            self._closed.append((bound, node))

    def _undecided(self, bound: float, node: Node, words: str) -> bool:
        """The relaxation has no answer: branch on the first thing that is finite, in the order of the brief.

        Whether there was any. Where there is none the node is left with its bound.
        """
        place = next((i for i, part in enumerate(node) if not (part.settled or part.continuous)), None)
        if place is None or not self._promises(bound):
            self.undecided = words if self._promises(bound) else self.undecided
            self._pruned = min(self._pruned, bound)
            return False
        return self._branch(bound, node, place, np.zeros(0))

    def _answered(self, bound: float, node: Node, branch: Branch, solution: SolvedNode[F]) -> bool:
        """Settle what is open as the answer settles it; where it does not, or not quite, branch. Whether it did."""
        misses = [-np.inf if part.settled else part.miss(solution.x) for part in node]
        worst = int(np.argmax(misses)) if misses else 0
        if all(part.settled for part in node):
            self.offer(node, branch, solution)
            return False
        if not self._promises(bound):
            self._pruned = min(self._pruned, bound)
            return False
        kept = misses[worst] <= SATISFIED
        if kept and (self.any_way or all(part.settled or part.continuous for part in node)):
            self.offer(node, branch, solution)
        elif kept or any(part.continuous for part in node):
            self._attempt(node, solution, kept, node[self._place(node, misses, solution)])
        if (
            kept
            and self.incumbent is not None
            and self.incumbent[2].value <= solution.value + self.effort.room(solution.value)
        ):
            self._pruned = min(self._pruned, bound)
            return False
        return self._branch(bound, node, self._place(node, misses, solution), solution.x)

    def _place(self, node: Node, misses: Sequence[float], solution: SolvedNode[F]) -> int:
        """What to branch on: of what is finite the worst miss, then what would cost most."""
        finite = [i for i, part in enumerate(node) if not (part.settled or part.continuous)]
        missed = [i for i, miss in enumerate(misses) if miss > SATISFIED]
        if any(i in finite for i in missed) or not missed:
            return max(finite, key=lambda i: misses[i])
        real = [i for i in missed if misses[i] >= REAL * max(misses)]  # beside it the others may be rounding
        return max(real, key=lambda i: (node[i].score(solution.x, solution.prices), misses[i]))

    def _attempt(self, node: Node, solution: SolvedNode[F], kept: bool, missed: Disjunction) -> None:
        """Look for an answer that is sure to keep everything: where the relaxation's keeps it, and now and then.

        At once in each case, as a good one prunes most; but not before there is a case.
        """
        undecided = missed.continuous and missed.case is None
        case = tuple(id(part.case) for part in node if part.continuous)
        first = missed.continuous and not undecided and case not in self._cases
        if first:
            self._cases.add(case)
            if self._descend(node, solution):
                return
        due = self.incumbent is None or self.visited % self.effort.between == 0
        if kept or first or (due and not undecided):
            self._restrict(node, solution.x, (None, *PARTS) if first else (None,))

    def _descend(self, node: Node, solution: SolvedNode[F]) -> bool:
        """Go down from the answer to a relaxation; whether that came to rest."""
        rest = self.polish(node, solution, False) if self.polish else None
        if rest is not None and (self.incumbent is None or rest[1].value < self.incumbent[2].value):
            self.incumbent = node, *rest
        return rest is not None

    def _restrict(self, node: Node, x: Vector, parts: Sequence[float | None]) -> None:
        """The best of some answers that are sure to keep everything, near x or elsewhere."""
        answers: list[tuple[Branch, SolvedNode[F]]] = []
        for part in parts:
            if self.visited >= self.effort.nodes:
                break
            held = (one.relaxation() if one.settled else one.restriction(x, part) for one in node)
            branch = (*(demand for demands in held for demand in demands), *self.common)
            solution = self._solution(branch)
            if isinstance(solution, SolvedNode):
                answers.append((branch, solution))
        if answers:
            self.offer(node, *min(answers, key=lambda answer: answer[1].value))

    def _branch(self, bound: float, node: Node, place: int, x: Vector) -> bool:
        branches = node[place].split(x, None if self.incumbent is None else self.incumbent[2].x)
        if not branches:
            self._pruned = min(self._pruned, bound)
            self.undecided = self.undecided or f"{node[place].words} could not be decided to the last digit"
        for branch in branches:
            self._push(bound, (*node[:place], branch, *node[place + 1 :]))
        return bool(branches)

    def _push(self, bound: float, node: Node) -> None:
        heappush(self._open, (bound, next(self._number), node))

    def _solution(self, branch: Branch) -> SolvedNode[F] | InfeasibleNode[N] | UndecidedNode:
        """The answer to these demands; undecided where the search does not come to rest."""
        self.visited += 1
        try:
            return self.solve(branch)
        except Unsettled as unsettled:
            return UndecidedNode(str(unsettled))


# -- finite disjunctions -----------------------------------------------------------------------------------------------


@frozen
class Settled:
    """One branch, taken."""

    branch: Branch
    settled: bool = True
    continuous: bool = False
    case: object = None

    @property
    def words(self) -> str:
        """What is asked."""
        return "; ".join(demand.words for demand in self.branch)

    def relaxation(self) -> Branch:
        """The demands of this branch."""
        return self.branch

    def restriction(self, x: Vector, part: float | None = None) -> Branch:  # noqa: ARG002
        """The same."""
        return self.branch

    def miss(self, x: Vector) -> float:
        """The worst of its demands."""
        return max((demand.miss(x) for demand in self.branch), default=-np.inf)

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Its miss."""
        return self.miss(x)

    def split(self, x: Vector, best: Vector | None = None) -> Sequence[Disjunction]:  # noqa: ARG002
        """None."""
        return ()


@frozen
class OneOf:
    """One of several sets of demands is enough."""

    disjuncts: tuple[Branch, ...]
    settled: bool = False
    continuous: bool = False
    case: object = None

    @property
    def words(self) -> str:
        """What is asked, as the first branch says it."""
        return Settled(self.disjuncts[0]).words

    def relaxation(self) -> Branch:
        """Nothing yet."""
        return ()

    def restriction(self, x: Vector, part: float | None = None) -> Branch:  # noqa: ARG002
        """The branch that x keeps with most room, or misses least."""
        return self.disjuncts[int(np.argmin([Settled(branch).miss(x) for branch in self.disjuncts]))]

    def miss(self, x: Vector) -> float:
        """That of the best branch."""
        return min(Settled(branch).miss(x) for branch in self.disjuncts)

    def score(self, x: Vector, prices: Mapping[str, float]) -> float:  # noqa: ARG002
        """Its miss."""
        return self.miss(x)

    def split(self, x: Vector, best: Vector | None = None) -> Sequence[Disjunction]:  # noqa: ARG002
        """Each branch in turn."""
        return [Settled(branch) for branch in self.disjuncts]
