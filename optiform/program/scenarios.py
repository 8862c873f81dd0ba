"""The best point under many cost vectors: all of them go from basis to basis together, a pivot of each at a time.

Only costs change from scenario to scenario, so a basis that is feasible stays so, and it is optimal wherever no reduced
cost has the wrong sign (Chvatal, Linear Programming, 1983, chapter 10). Where one has, its variable enters, and what
leaves for it hangs on bounds only: scenarios that enter the same variable have the same next basis (tableau.py). So one
pivot serves them all, scenarios that meet again at a basis go on as one, and all pivots that are made at once are a few
products of arrays. Where nearly every scenario has a basis of its own that pays nothing, and a solver goes faster. It
is counted, not timed: before more pivots are made than `WORTH` for each scenario that has come to rest, `GRACE` aside,
what is left is solved alone; so is what takes more than `MOST_PIVOTS`, as where corners are degenerate.

Each scenario's point and duals are proven from the program's own numbers at the end, whatever led to them.
"""

from collections.abc import Callable, Sequence
from functools import partial

import numpy as np
from numpy.typing import NDArray

from optiform.program.arrays import lean
from optiform.program.certificate import TOLERANCE, NotCertified
from optiform.program.linear import Program, Vector
from optiform.program.live import Live
from optiform.program.solver import SolverFailed
from optiform.program.tableau import Places, Tableaus
from optiform.program.tolerances import SHARP
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress

NEGATIVE = 1e-9  # relative to the costs: a reduced cost times the whole reach of its variable that counts as rounding
DIGITS = 7  # points are told apart at this many digits of a mass fraction
MOST_PIVOTS = 300  # on the way of one scenario
GRACE, WORTH = 200, 1.5  # pivots: a solve alone, from the basis of another scenario, takes as long as some ten
MOST_NUMBERS = 10_000_000  # of all tableaus that are under way at once: 80 MB
PRODUCT = 250_000  # multiplications of a product of two matrices: about where BLAS goes over to threads
REPORT = 100  # scenarios between two words of progress


@frozen
class Scenarios:
    """The optimum of each scenario.

    Attributes:
        objectives: optimal objective of each scenario, shape (scenarios,).
        which: the number of its optimal point, shape (scenarios,).
        points: distinct optimal points, the most frequent first, shape (points, columns).
        solved: how many scenarios the solver was run for alone.
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
    sweep.go_alone(sweep.go_together() if pool else np.arange(len(costs)))
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
    """Scenarios on their way to their bases, and what is known of those that have come to rest."""

    def __init__(self, program: Program, costs: Vector, progress: Progress | None) -> None:
        self.program, self._lean, self._costs, self._progress = program, lean(program), costs, progress
        self._live = Live(self._lean)
        self._points: list[Vector] = []
        self._which = np.zeros(len(costs), dtype=np.intp)
        self._bounds = np.full(len(costs), -np.inf)
        self._solved = self._done = self._told = self._known = 0
        self._proven: tuple[Vector, Vector, Vector, Vector] | None = None  # of all that is closed

    def go_together(self) -> Places:
        """Go from basis to basis with all that enter the same variables; those that do not come to rest are left."""
        try:
            return self._together(Tableaus.of(self._live.basis()))
        except (NotCertified, np.linalg.LinAlgError):
            return np.flatnonzero(np.isinf(self._bounds))

    def _together(self, tableaus: Tableaus) -> Places:
        """The same from one basis; `on` are the scenarios under way, `at` the numbers of their bases."""
        on, at = np.arange(len(self._costs)), np.zeros(len(self._costs), dtype=np.intp)
        reduced, made = self._by_blocks(tableaus.reduced, self._costs), 0
        floor, reach = -NEGATIVE * (1 + np.abs(self._costs).max(axis=1, initial=0.0)), _reach(self._lean)
        for _ in range(MOST_PIVOTS):
            gains = reduced * (tableaus.ways_up * reach[tableaus.nonbasic])[at]
            enters = gains.argmin(axis=1)
            rests = gains[np.arange(len(on)), enters] >= floor[on]
            if rests.any():
                self._rest(tableaus, on[rests], at[rests], reduced[rests])
                on, at, reduced, enters = (part[~rests] for part in (on, at, reduced, enters))
            pairs, at = np.unique(at * reduced.shape[1] + enters, return_inverse=True)
            made += len(pairs)
            if not len(on) or made > GRACE + WORTH * self._done or len(pairs) * tableaus.table[0].size > MOST_NUMBERS:
                break
            pivots = tableaus.entering(*np.divmod(pairs, reduced.shape[1]))
            if not np.isfinite(pivots.step).all():
                break
            gain = reduced[np.arange(len(on)), enters]
            reduced += gain[:, None] * pivots.turn()[at]
            first, which = pivots.distinct()
            tableaus = pivots.of(first).made()
            reduced, at = np.take_along_axis(reduced, pivots.order(tableaus, which)[at], axis=1), which[at]
        return on

    def _rest(self, tableaus: Tableaus, scenarios: Places, at: Places, reduced: Vector) -> None:
        """Close scenarios, each at a basis that is optimal in it; the duals are the activities' reduced costs."""
        bases, which = np.unique(at, return_inverse=True)
        self._close(scenarios, tableaus.points(bases), tableaus.duals(at, reduced), which)

    def go_alone(self, scenarios: Places) -> None:
        """Solve each scenario on its own, from the last basis; what does not stand up to its proof, once more."""
        self._live.sharpen(SHARP)
        for start in range(0, len(scenarios), REPORT):
            some = scenarios[start : start + REPORT]
            claims = [self._claimed(scenario) for scenario in some]
            self._close(some, np.array([x for x, _ in claims]), np.array([y for _, y in claims]))
        self._solved += len(scenarios)
        for scenario in self._unproven():
            self._live.recost(self._costs[scenario])
            if not self._live.solve():
                raise SolverFailed("a scenario ended without an optimum")
            point, duals = self._live.solution()
            self._close(scenario[None], point[None], duals[None])

    def _claimed(self, scenario: int) -> tuple[Vector, Vector]:
        """The point and the duals that the solver says; no numbers where it has none."""
        self._live.recost(self._costs[scenario])
        self._live.highs.run()
        solution = self._live.highs.getSolution()
        point, duals = np.array(solution.col_value), np.array(solution.row_dual)
        if len(point) == self._costs.shape[1] and len(duals) == len(self._lean.rows):
            return point, duals
        return np.full(self._costs.shape[1], np.nan), np.zeros(len(self._lean.rows))

    def _close(self, scenarios: Places, points: Vector, duals: Vector, which: Places | None = None) -> None:
        """Note points, and for each scenario the number of its own and the bound that its duals prove.

        Without `which` each has a point of its own, in its order.
        """
        self._bounds[scenarios] = self._by_blocks(partial(_bounds, self._lean), self._costs[scenarios], duals)
        self._which[scenarios] = self._known + (np.arange(len(points)) if which is None else which)
        self._points.append(points)
        self._proven = None
        self._known += len(points)
        self._done = min(self._done + len(scenarios), len(self._costs))
        new = self._done - self._told
        if self._progress is not None and (new >= REPORT or (new and self._done == len(self._costs))):
            self._told = self._done
            self._progress(self._done, len(self._costs))

    def _by_blocks(self, job: Callable[..., Vector], *parts: Vector | Places) -> Vector:
        """A job on arrays of scenarios, so many at a time that they stay in the cache and a product on one thread.

        Threads that a product wakes wait for the next one for longer than all of it takes.
        """
        block = max(1, PRODUCT // self._lean.matrix.size)
        starts = range(0, max(1, len(parts[0])), block)
        return np.concatenate([job(*(part[start : start + block] for part in parts)) for start in starts])

    def _proof(self) -> tuple[Vector, Vector, Vector, Vector]:
        """The points, and of each scenario the objective, how far its bound is from that, and the breach of its point.

        Recomputed from the program's own numbers; the last two relative.
        """
        if self._proven is None:
            points = np.clip(np.concatenate(self._points), self.program.low, self.program.high)
            objectives = np.einsum("kn,kn->k", self._costs, points[self._which])
            gaps = np.abs(objectives - self._bounds) / (1 + np.abs(objectives))
            breaches = self._by_blocks(partial(_breaches, self.program), points)
            self._proven = points, objectives, gaps, breaches[self._which]
        return self._proven

    def _unproven(self) -> Places:
        _, _, gaps, breaches = self._proof()
        return np.flatnonzero(~(np.maximum(gaps, breaches) <= TOLERANCE))

    def result(self) -> Scenarios:
        """Everything, each scenario with its proof.

        Raises:
            NotCertified: when an optimum does not stand up to recomputation.
        """
        points, objectives, gaps, breaches = self._proof()
        gap, outside = float(gaps.max(initial=0.0)), float(breaches.max(initial=0.0))
        if not max(gap, outside) <= TOLERANCE:
            raise NotCertified(f"scenarios do not check: gap {gap:.2g}, breach {outside:.2g}")
        _, first, same = np.unique(np.round(points, DIGITS) + 0.0, axis=0, return_index=True, return_inverse=True)
        return _ordered(objectives, same.reshape(-1)[self._which], points[first], self._solved, gap)


def _ordered(objectives: Vector, which: NDArray[np.intp], points: Vector, solved: int, gap: float) -> Scenarios:
    """Points that are the best somewhere, the most frequent first, equals in the order of their numbers."""
    counts = np.bincount(which, minlength=len(points))
    order = np.lexsort((np.arange(len(points)), -counts))[: int((counts > 0).sum())]
    place = np.zeros(len(points), dtype=np.intp)
    place[order] = np.arange(len(order))
    return Scenarios(objectives, place[which], points[order], solved, gap)


def _reach(program: Program) -> Vector:
    """How far each column and each row's activity can move within the column bounds. Shape (columns + rows,)."""
    span = program.high - program.low
    return np.concatenate([span, np.abs(program.matrix) @ span])


def _bounds(program: Program, costs: Vector, duals: Vector) -> Vector:
    """The lower bound that each scenario's row duals prove (see certificate.py). Shape (scenarios,)."""
    proper = np.clip(duals, np.where(program.at_most, -np.inf, 0.0), np.where(program.at_least, np.inf, 0.0))
    reduced = costs - proper @ program.matrix
    span = program.high - program.low
    bounds: Vector = proper @ program.rhs + reduced @ program.low + np.minimum(reduced, 0.0) @ span
    return bounds


def _breaches(program: Program, points: Vector) -> Vector:
    """The worst violation of a row by each point, relative to the size of the row. Shape (points,)."""
    slack = points @ program.matrix.T - program.rhs
    size = 1 + np.abs(program.rhs) + np.abs(points) @ np.abs(program.matrix.T)
    breach = np.maximum(np.where(program.at_least, -slack, 0), np.where(program.at_most, slack, 0)) / size
    breaches: Vector = breach.max(axis=1, initial=0.0)
    return breaches
