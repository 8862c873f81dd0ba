"""The best point under many cost vectors: solve once, and let that basis answer for every scenario it is optimal in.

Only costs change from scenario to scenario, so a basis that is feasible stays so, and it is optimal wherever no reduced
cost has the wrong sign (Chvatal, Linear Programming, 1983, chapter 10). The reduced costs d = c_N - c_B B^-1 N are
linear in c: one matrix per basis gives them for all open scenarios at once. Scenarios are taken in their order, so a
basis that serves many is met early, and what is left gets small fast.

Where every scenario has a basis of its own, looking around pays nothing. It is counted, not timed: after each look in a
row that served too few, as many more scenarios are solved alone, from the last basis, as the look cost solves. In a
thousand scenarios without any gain that makes some thirty looks at most.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import TOLERANCE, NotCertified, signed
from optiform.program.linear import Program, Vector
from optiform.program.live import Basis, Live
from optiform.program.solver import SolverFailed
from optiform.program.tolerances import SAME_POINT

Progress = Callable[[int, int], None]
NEGATIVE = 1e-9  # relative to the costs: a reduced cost times the whole reach of its variable that counts as rounding
DIGITS = 7  # points are told apart at this many digits of a mass fraction
WORTH = 1_000_000  # multiplications that take about as long as one warm solve
LOOK = 2.0  # warm solves that take as long as reading a basis
BLOCK = 200_000  # multiplications at a time
SAMPLE = 64  # scenarios
FEW = 4  # variables at a time
REPORT = 100  # solves between two words of progress


@dataclass(frozen=True)
class Scenarios:
    """The optimum of each scenario.

    Attributes:
        objectives: optimal objective of each scenario, shape (scenarios,).
        which: the number of its optimal point, shape (scenarios,).
        points: distinct optimal points, the most frequent first, shape (points, columns).
        solved: how many scenarios the solver was run for.
        gap: worst distance from an objective to its proven bound, relative; recomputed, not the solver's.
    """

    objectives: Vector
    which: NDArray[np.intp]
    points: Vector
    solved: int
    gap: float

    def promise(self, best: "Scenarios | None") -> Vector | None:
        """Its point in the scenario where it is cheaper than another by most; None where it is nowhere cheaper."""
        rival = np.full_like(self.objectives, np.inf) if best is None else best.objectives
        gains = (rival - self.objectives) / (1 + np.abs(self.objectives))
        most = int(np.argmax(gains))
        point: Vector = self.points[self.which[most]]
        return point if gains[most] > TOLERANCE else None

    def lower(self, other: "Scenarios") -> "Scenarios":
        """The cheaper of two in each scenario."""
        return merged([self, other])

    @property
    def shares(self) -> Vector:
        """In what share of the scenarios each point is the best. Shape (points,)."""
        return np.bincount(self.which, minlength=len(self.points)) / len(self.which)


def best_under(program: Program, costs: Vector, progress: Progress | None = None, pool: bool = True) -> Scenarios:
    """The optimum of `program` under each row of `costs`, shape (scenarios, columns).

    Without `pool`, every scenario is solved on its own, warm; the answer is the same.

    Raises:
        ValueError: when the program has no feasible point.
        SolverFailed: when the solver stops without an optimum.
        NotCertified: when an optimum does not stand up to recomputation.
    """
    sweep = _Sweep(program, np.ascontiguousarray(costs, dtype=np.float64), progress)
    skip = wait = 0
    while sweep.left:
        sweep.solve_next()
        if wait or not pool or not sweep.left:
            wait -= 1
            continue
        price = LOOK + sweep.left * sweep.effort / WORTH
        skip = 0 if sweep.look_around() >= price else skip + round(price)
        wait = skip
    return sweep.result()


def merged(parts: Sequence[Scenarios]) -> Scenarios:
    """The better of several programs in each scenario, for a brief with more than one branch."""
    objectives = np.array([part.objectives for part in parts])
    best = objectives.argmin(axis=0)
    starts = np.cumsum([0, *(len(part.points) for part in parts)])
    which = np.array([part.which + start for part, start in zip(parts, starts[:-1], strict=True)])
    everyone = np.arange(len(best))
    points = np.concatenate([part.points for part in parts])
    solved, gap = sum(part.solved for part in parts), max(part.gap for part in parts)
    return _ordered(objectives[best, everyone], which[best, everyone], points, solved, gap)


class _Sweep:
    """Scenarios still open, and what is known of the others."""

    def __init__(self, program: Program, costs: Vector, progress: Progress | None) -> None:
        self.program, self._costs, self._progress = program, costs, progress
        self._live = Live(program)
        self._open, self._open_costs, self._next = np.arange(len(costs)), costs, 0
        self.left = len(costs)
        self._points: list[Vector] = []
        self._alone: list[int] = []
        self._duals: list[Vector] = []
        self._which = np.zeros(len(costs), dtype=np.intp)
        self._gap = 0.0
        self._floor = -NEGATIVE * (1 + np.abs(costs).max(axis=1))
        self._reach = _reach(program)
        self.effort = 2 * FEW * len(program.columns)  # multiplications to look at one scenario, for most of them

    def solve_next(self) -> None:
        """Solve the first open scenario, from the last basis."""
        scenario = self._open[self._next]
        self._live.recost(self._costs[scenario])
        if not self._live.solve():
            raise SolverFailed("a scenario ended without an optimum")
        point, duals = self._live.solution()
        self._which[scenario] = len(self._points)
        self._points.append(point)
        self._alone.append(int(scenario))
        self._duals.append(duals)
        self._next += 1
        self.left -= 1
        if len(self._alone) % REPORT == 0 or not self.left:
            self._tell()

    def look_around(self) -> int:
        """Close every open scenario that the last basis is optimal in; how many."""
        point = self._points[-1]
        try:
            reduced = _reduced_costs(self._live.basis(), point, self._reach)
        except NotCertified:
            reduced = None
        if reduced is None:
            return 0
        rest, costs = self._open[self._next :], self._open_costs[self._next :]
        served, short = _optimal_in(reduced, costs, self._floor[rest])
        if len(served):
            self._gap = max(self._gap, float((short / (1 + np.abs(costs[served] @ point))).max()))
            self._which[rest[served]] = len(self._points) - 1
            kept = np.ones(len(rest), dtype=bool)
            kept[served] = False
            self._open, self._open_costs, self._next = rest[kept], costs[kept], 0
            self.left = len(self._open)
            self._tell()
        return len(served)

    def result(self) -> Scenarios:
        """Everything, with the proof of the scenarios that were solved alone.

        Raises:
            NotCertified: when an optimum does not stand up to recomputation.
        """
        points = np.clip(np.array(self._points), self.program.low, self.program.high)
        objectives = np.einsum("kn,kn->k", self._costs, points[self._which])
        alone = np.array(self._alone, dtype=np.intp)
        bounds = _bounds(self.program, self._costs[alone], np.array(self._duals))
        gaps = np.abs(objectives[alone] - bounds) / (1 + np.abs(objectives[alone]))
        gap = max(self._gap, float(gaps.max(initial=0.0)))
        outside = _worst_breach(self.program, points)
        if not max(gap, outside) <= TOLERANCE:
            raise NotCertified(f"scenarios do not check: gap {gap:.2g}, breach {outside:.2g}")
        _, first, same = np.unique(np.round(points, DIGITS) + 0.0, axis=0, return_index=True, return_inverse=True)
        return _ordered(objectives, same.reshape(-1)[self._which], points[first], len(alone), gap)

    def _tell(self) -> None:
        if self._progress is not None:
            self._progress(len(self._costs) - self.left, len(self._costs))


def _ordered(objectives: Vector, which: NDArray[np.intp], points: Vector, solved: int, gap: float) -> Scenarios:
    """Points that are the best somewhere, the most frequent first, equals in the order of their numbers."""
    counts = np.bincount(which, minlength=len(points))
    order = np.lexsort((np.arange(len(points)), -counts))[: int((counts > 0).sum())]
    place = np.zeros(len(points), dtype=np.intp)
    place[order] = np.arange(len(order))
    return Scenarios(objectives, place[which], points[order], solved, gap)


def _reduced_costs(basis: Basis, point: Vector, reach: Vector) -> Vector | None:
    """The matrix that takes column costs to what moving each nonbasic variable could lose, shape (columns, nonbasic).

    An entry of c @ matrix is a reduced cost times the whole reach of its variable, counted so that optimal is >= 0.
    None where the basis does not give the solver's point: rounding, and nothing to build on.
    """
    width = len(point)
    if not float(np.abs(basis.z[:width] - point).max()) <= SAME_POINT:
        return None
    free = basis.low < basis.high
    free[basis.basic] = False
    priced = basis.basic < width
    matrix = np.zeros((width, int(free.sum())))
    matrix[basis.basic[priced]] = -basis.inverse[priced] @ basis.matrix[:, free]
    own = np.flatnonzero(free)
    columns = np.flatnonzero(own < width)
    matrix[own[columns], columns] += 1.0
    losses: Vector = matrix * (reach * np.where(_at_high(basis), -1.0, 1.0))[free]
    return losses


def _at_high(basis: Basis) -> NDArray[np.bool_]:
    high: NDArray[np.bool_] = basis.at_high | ~np.isfinite(basis.low)
    return high


def _reach(program: Program) -> Vector:
    """How far each column and each row's activity can move within the column bounds. Shape (columns + rows,)."""
    span = program.high - program.low
    return np.concatenate([span, np.abs(program.matrix) @ span])


def _optimal_in(reduced: Vector, costs: Vector, floor: Vector) -> tuple[NDArray[np.intp], Vector]:
    """In which scenarios nothing can be gained, and for those the sum that rounding leaves open.

    A sample tells which variables gain most often; they are looked at first, and only the scenarios that pass are
    looked at in full.
    """
    often = (_gains(reduced, costs[:SAMPLE]) < floor[:SAMPLE]).sum(axis=1)
    first = np.argsort(-often, kind="stable")[:FEW]
    passed = np.flatnonzero((_gains(reduced[:, first], costs) >= floor).all(axis=0))
    gains = _gains(reduced, costs[passed])
    fine = (gains >= floor[passed]).all(axis=0)
    return passed[fine], -np.minimum(gains[:, fine], 0.0).sum(axis=0)


def _gains(reduced: Vector, costs: Vector) -> Vector:
    """The product costs @ reduced, transposed, in blocks so small that no second thread is woken for them."""
    size = max(1, BLOCK // max(1, reduced.size))
    starts = range(0, max(1, len(costs)), size)
    return np.concatenate([reduced.T @ costs[start : start + size].T for start in starts], axis=1)


def _bounds(program: Program, costs: Vector, duals: Vector) -> Vector:
    """The lower bound that each scenario's row duals prove (see certificate.py). Shape (scenarios,)."""
    duals = duals.reshape(len(costs), len(program.rows))
    duals = signed(program, duals)
    reduced = costs - duals @ program.matrix
    bounds: Vector = duals @ program.rhs + np.minimum(reduced * program.low, reduced * program.high).sum(axis=1)
    return bounds


def _worst_breach(program: Program, points: Vector) -> float:
    """The worst violation of a row by any point, relative to the size of the row."""
    slack = points @ program.matrix.T - program.rhs
    size = 1 + np.abs(program.rhs) + np.abs(points) @ np.abs(program.matrix.T)
    breach = np.maximum(np.where(program.at_least, -slack, 0), np.where(program.at_most, slack, 0)) / size
    return float(breach.max(initial=0.0))
