"""Programs in which something is used or not, or comes in whole steps.

Small ones are solved here, by a branch and bound over one linear program that stays alive in the solver: each node is
pruned by a bound or a proof of emptiness that is recomputed, so that the answer is proven from the program's numbers
alone (`_branched`). Where that takes too many nodes, a solver's own branch and bound does it, to a gap of zero, and its
bound is part of the claim. What is checked of it: the point keeps every row and is whole where it must be, and with its
whole values fixed the rest is a linear program whose optimum is proven as any other (certificate.py). That no other
whole values are better is then the word of two solvers that share no code: the second may not have a verified point
that is better, or any where the first has none; it has as long as `PATIENCE` says, and where it comes to no verdict by
then the word is that of the first alone. Small cases are checked against full enumeration in the tests.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from heapq import heappop, heappush
from itertools import count

import numpy as np
from numpy.typing import NDArray

from optiform.program.arrays import SolverName, lean, ran
from optiform.program.certificate import Certificate, NotCertified, certify_optimal, signed
from optiform.program.learned import Learned, Raises
from optiform.program.linear import NoPoint, Program, Row, Sense, Vector
from optiform.program.live import Live, Optimum
from optiform.program.solver import solve_near
from optiform.reading.faults import Unproven
from optiform.reading.frozen import frozen

ROUNDING = 1e-6
EXACT = 1e-12  # of a whole value: what is as good as none
#: The tolerance of the branch and bound, on rows and on what is whole: far below that of the linear program that is
#: left (1e-7), so that whole values it takes for possible are possible there too.
STRICT = 1e-9
NODES = 100  # of the branch and bound that is a proof: together about as dear as starting a second solver
MORE = 2000  # of a small program: about as dear as a solver's own branch and bound
SIZE = 40_000  # rows times columns of what is as small as that
LARGE = 200  # whole columns: with more it takes more nodes than that
STEPS = 30  # of the same over whole steps, of which there are too many for it but in small programs
AS_GOOD = 1e-9  # relative: what a node must promise beyond the incumbent to be looked into
PATIENCE = 10.0  # seconds for the second opinion


@frozen
class WholeSolution:
    """The best point with whole values where asked.

    Attributes:
        x: shape (columns,); the whole columns are exactly whole.
        value: the objective at x.
        bound: no point is better than this, by the solver's branch and bound.
        certificate: of the linear program that is left when the whole columns are fixed.
        proven: whether the bound is our own, with a proof at every node; else it is a solver's word.
    """

    x: Vector
    value: float
    bound: float
    certificate: Certificate
    proven: bool = False

    @property
    def gap(self) -> float:
        """Objective less bound, relative; 0 is proven best."""
        return (self.value - self.bound) / (1 + abs(self.value))


def solve_whole(
    program: Program,
    solver: SolverName = "highs",
    below: float = np.inf,
    twice: bool = True,
    learned: Learned | None = None,
) -> WholeSolution | None:
    """The best point of a program with whole columns; None if there is none.

    Args:
        program: what is solved.
        solver: whose branch and bound it is where ours takes too many nodes; with CBC always.
        below: what a point must cost less than to matter; with it, None also where it is proven that none does.
        twice: whether a solver's point is checked by the other; else that is left to `second_opinion`.
        learned: what to branch on, from programs like this one; what this one teaches is added.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when its point does not stand up to checking, or the second opinion has a better one.
    """
    small = _switched(program) and len(program.whole) <= LARGE
    branched = _branched(program, below, learned=learned) if solver == "highs" and small else None
    if branched is not None:
        best = None if branched.x is None else at_whole_values(program, branched.x, branched.bound)
        return best and replace(best, proven=True)
    claim = _claimed(program, solver)
    return second_opinion(program, claim, solver) if twice or claim is None else claim


def second_opinion(program: Program, incumbent: WholeSolution | None, solver: SolverName) -> WholeSolution | None:
    """The incumbent that `solver` calls best, where neither a proof nor the other solver speaks against it.

    Raises:
        NotCertified: when the other solver has a better one.
    """
    if incumbent is not None and incumbent.proven:
        return incumbent
    if _none_better(program, np.inf if incumbent is None else _cutoff(incumbent)):
        return incumbent
    asked = program if incumbent is None else _better(program, incumbent)
    try:
        second = _claimed(asked, "cbc" if solver == "highs" else "highs", PATIENCE)
    except Unproven:
        return incumbent
    if second is not None and (incumbent is None or second.value < _cutoff(incumbent)):
        raise NotCertified("two solvers do not agree on what is best in whole numbers")
    return incumbent


def _cutoff(incumbent: WholeSolution) -> float:
    """What a point must cost less than to be better by more than rounding."""
    return incumbent.value - ROUNDING * (1 + abs(incumbent.value))


def _better(program: Program, incumbent: WholeSolution) -> Program:
    """The program of what is better than an incumbent, which is looked through sooner than for its best."""
    return program.with_rows([*program.rows, Row("better", program.cost, Sense.AT_MOST, _cutoff(incumbent))])


def _none_better(program: Program, cutoff: float) -> bool:
    """Whether it is proven that no whole point costs less than `cutoff`; False where that takes too many nodes."""
    branched = _branched(program, cutoff, NODES) if len(program.whole) <= LARGE else None
    return branched is not None and branched.x is None


def _switched(program: Program) -> bool:
    """Whether whole columns are switches, 0 or 1, and not counts of steps."""
    whole = list(program.whole)
    return bool(np.all(program.high[whole] - program.low[whole] <= 1))


@frozen
class _Branched:
    """What a branch and bound ended with: the best point below its cutoff, None if none is; and what none is below."""

    x: Vector | None
    bound: float


def _branched(program: Program, cutoff: float, most: int = MORE, learned: Learned | None = None) -> _Branched | None:
    """The best whole point that costs less than `cutoff`, proven at every node; None where that takes too many."""
    whole, left = np.array(sorted(program.whole), dtype=int), lean(replace(program, whole=frozenset()))
    try:
        search = _Search(Live(left), whole, cutoff, (learned or Learned()).of(program.columns))
        search.begin(left.low, left.high)
        return search.result() if search.finished(min(most, _most(program, left)) - 1) else None
    except NoPoint:
        return _Branched(None, np.inf)
    except Unproven:
        return None


@frozen
class _Open:
    """Bounds of a node that is still to be looked into.

    Attributes:
        bound: of the node it comes from.
        column, up: what it was branched on, and which way; no column for the root, nor for what tries have set.
        part: of a whole unit, how far that is from there.
    """

    low: Vector
    high: Vector
    bound: float = -np.inf
    column: int = -1
    up: bool = False
    part: float = 1.0


def _most(program: Program, left: Program) -> int:
    """As many nodes as may be looked at: so that a large program does not take longer than it takes a solver."""
    size = len(left.rows) * len(left.columns)
    return max(NODES, min(MORE, MORE * SIZE // size)) if _switched(program) else STEPS


def _parted(node: _Open, optimum: Optimum, column: int) -> tuple[_Open, _Open]:
    """What of a node is below the value that a column has, and what is above it."""
    value = float(optimum.x[column])
    below, above, part = node.high.copy(), node.low.copy(), value - float(np.floor(value))
    below[column], above[column] = np.floor(value), np.ceil(value)
    down = _Open(node.low, below, optimum.bound, column, False, part)
    return down, _Open(above, node.high, optimum.bound, column, True, 1 - part)


@dataclass
class _Search:
    """Down to the nearer whole value as long as that promises more, then on from the least bound that is open.

    `bound` is the least bound of what was pruned. What is branched on raises it most, by what is `learned`.
    """

    live: Live
    whole: NDArray[np.intp]
    cutoff: float
    learned: Raises
    next: _Open | None = None
    waiting: list[tuple[float, int, _Open]] = field(default_factory=list)
    best: Optimum | None = None
    bound: float = np.inf
    _number: Iterator[int] = field(default_factory=count)

    def begin(self, low: Vector, high: Vector) -> None:
        """Look at the root, which a live program has solved already."""
        root = self.live.optimum or self._solved(low, high)
        if root is not None:
            self._answered(_Open(low, high), root)

    def finished(self, most: int) -> bool:
        """Search, so many nodes at most; whether none is left."""
        for _ in range(most):
            if self.next is None and not self.waiting:
                break
            node = self.next or heappop(self.waiting)[2]
            self.next = None
            self._visit(node)
        return self.next is None and not self.waiting

    def result(self) -> _Branched:
        return (
            _Branched(None, self.bound)
            if self.best is None
            else _Branched(self.best.x, min(self.bound, self.best.value))
        )

    def _visit(self, node: _Open) -> None:
        if node.bound >= self.cutoff:
            self.bound = min(self.bound, node.bound)
            return
        optimum = self._looked(node)
        if optimum is not None:
            self._answered(node, optimum)

    def _looked(self, node: _Open) -> Optimum | None:
        """The optimum of a node, with what it teaches."""
        optimum = self._solved(node.low, node.high)
        if optimum is not None and node.column >= 0:
            self.learned.learn(node.column, node.up, max(0.0, optimum.bound - node.bound) / node.part)
        return optimum

    def _answered(self, node: _Open, optimum: Optimum) -> None:
        """Prune a node, or take a whole point near its own, if that may be better, and branch."""
        values = optimum.x[self.whole]
        broken = np.abs(values - np.round(values))
        worst = float(broken.max(initial=0.0))
        if optimum.bound < self.cutoff:
            if worst <= EXACT:
                self._take(optimum)
            elif worst <= ROUNDING or (self.best is None and not self.waiting):
                self._take(self._with(np.round(values) if worst <= ROUNDING else np.ceil(values - ROUNDING)))
        if worst <= EXACT or optimum.bound >= self.cutoff:
            self.bound = min(self.bound, optimum.bound)
        else:
            self._branch(self._narrowed(node, optimum), optimum, broken)

    def _narrowed(self, node: _Open, optimum: Optimum) -> _Open:
        """With those switches set that nothing better has the other way, as the duals prove."""
        now, whole = self.live.now(), self.whole
        room = (node.high - node.low)[whole]
        reduced = (now.cost - signed(now, optimum.y) @ now.matrix)[whole] * room
        least = optimum.bound + np.abs(reduced)  # of what a switch set the other way costs
        far = (least >= self.cutoff) & (room <= 1)
        if not far.any():
            return node
        self.bound = min(self.bound, float(least[far].min()))
        low, high = node.low.copy(), node.high.copy()
        on, off = whole[far & (reduced < 0)], whole[far & (reduced > 0)]
        low[on], high[off] = high[on], low[off]
        return replace(node, low=low, high=high)

    def _branch(self, node: _Open, optimum: Optimum, broken: Vector) -> None:
        """Two nodes of one column; that with the nearer whole value is looked into next.

        Switches of which little is known are tried first. One that has nothing better one way is set the other way.
        """
        values, narrow = optimum.x[self.whole], node
        switches = (broken > EXACT) & (node.high - node.low <= 1)[self.whole]
        for column in self.whole[self.learned.unsure(self.whole, values, switches)]:
            left = [way for way in _parted(narrow, optimum, int(column)) if self._promises(way)]
            if not left:
                return
            narrow = narrow if len(left) > 1 else replace(left[0], column=-1)
        if narrow is not node:
            self.next = narrow
            return
        column = int(self.whole[self.learned.dearest(self.whole, values, broken > EXACT)])
        down, up = _parted(node, optimum, column)
        self.next, other = (down, up) if down.part < up.part else (up, down)
        heappush(self.waiting, (other.bound, next(self._number), other))

    def _promises(self, node: _Open) -> bool:
        """Whether a node may have something better, as its optimum says."""
        optimum = self._looked(node)
        if optimum is not None and optimum.bound >= self.cutoff:
            self.bound = min(self.bound, optimum.bound)
        return optimum is not None and optimum.bound < self.cutoff

    def _solved(self, low: Vector, high: Vector) -> Optimum | None:
        self.live.enclose(low, high)
        self.live.solve()
        return self.live.optimum

    def _take(self, point: Optimum | None) -> None:
        """Take a whole point for the incumbent, if it is better; what is not better than it is pruned."""
        if point is not None and point.value < self.cutoff:
            self.best, self.cutoff = point, point.value - AS_GOOD * (1 + abs(point.value))

    def _with(self, values: Vector) -> Optimum | None:
        """The best point of the node at hand with these whole values, if there is any."""
        now = self.live.now()
        low, high = now.low.copy(), now.high.copy()
        low[self.whole] = high[self.whole] = np.clip(values, low[self.whole], high[self.whole])
        return None if self._miscounted(low) else self._solved(low, high)

    def _miscounted(self, x: Vector) -> bool:
        """Whether whole values break a row of nothing but whole columns, such as of how many lines may change."""
        rows, now = self._counts, self.live.now()
        left = now.matrix[np.ix_(rows, self.whole)] @ x[self.whole] - now.rhs[rows]
        return bool(np.any(now.at_least[rows] & (left < -ROUNDING) | now.at_most[rows] & (left > ROUNDING)))

    @cached_property
    def _counts(self) -> NDArray[np.intp]:
        """The rows of nothing but whole columns."""
        fractions = np.ones(len(self.live.program.columns), dtype=bool)
        fractions[self.whole] = False
        return np.flatnonzero(~self.live.program.matrix[:, fractions].any(axis=1))


def _claimed(program: Program, solver: SolverName, seconds: float | None = None) -> WholeSolution | None:
    """What a solver calls best, its point verified and its bound believed; None where it says that there is none."""
    claim = _branch_and_bound(program, solver, seconds)
    if claim is None:
        return None
    best = at_whole_values(program, *claim, solver)
    if not program.whole:
        gap = best.certificate.gap * (1 + abs(best.value))
        return replace(best, bound=best.value - gap)  # nothing to branch on: what the duals prove
    if abs(best.gap) > ROUNDING:
        raise NotCertified(f"the solver's point is not at its bound: {best.gap:.2g}")
    return best


def at_whole_values(program: Program, claimed: Vector, bound: float, solver: SolverName = "highs") -> WholeSolution:
    """The best point with the whole values that a solver claims, proven; its bound is taken at its word.

    Raises:
        NotCertified: when a column that must be whole is not, or the proof does not close.
    """
    fixed = _fixed(program, claimed)
    left = solve_near(fixed, solver)
    if not left.feasible:
        raise NotCertified("the whole values the solver gave leave no feasible point")
    certificate = certify_optimal(fixed, left.x, left.y)
    if not certificate.holds:
        raise NotCertified(f"the solver's point does not check: {certificate}")
    return WholeSolution(left.x, float(program.cost @ left.x), bound, certificate)


def _branch_and_bound(program: Program, solver: SolverName, seconds: float | None) -> tuple[Vector, float] | None:
    """What a solver calls best, and what it says that nothing is below; None where it says that there is none."""
    if solver == "highs":
        return _by_highs(program, seconds)
    from optiform.program.stated import by_cbc

    return by_cbc(program, STRICT, seconds)


def _by_highs(program: Program, seconds: float | None) -> tuple[Vector, float] | None:
    """Where nothing fits, once more without presolve, which divides rounding by the smallest coefficients."""
    exact = {"mip_rel_gap": 0.0, "mip_abs_gap": 1e-9, "mip_feasibility_tolerance": STRICT}
    limit = np.inf if seconds is None else seconds
    for presolve in ("choose", "off"):
        highs = ran(program, presolve=presolve, time_limit=limit, **exact)
        if highs is not None:
            return np.array(highs.getSolution().col_value), float(highs.getInfo().mip_dual_bound)
    return None


def _fixed(program: Program, claimed: Vector) -> Program:
    """The linear program left when every whole column stands at its nearest whole value."""
    whole = np.array(sorted(program.whole), dtype=int)
    nearest = np.round(claimed[whole])
    if np.abs(nearest - claimed[whole]).max(initial=0.0) > ROUNDING:
        raise NotCertified("a column that must be whole is not")
    low, high = program.low.copy(), program.high.copy()
    low[whole] = high[whole] = nearest
    return replace(program, low=low, high=high, whole=frozenset())
