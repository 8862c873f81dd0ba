"""The best point under many cost vectors: all of them go from basis to basis together as long as they go the same way.

Only costs change from scenario to scenario, so a basis that is feasible stays so, and it is optimal wherever no reduced
cost has the wrong sign (Chvatal, Linear Programming, 1983, chapter 10). Where one has, its variable enters, and what
leaves for it hangs on bounds only: scenarios that enter the same variable have the same next basis (tableau.py). So one
pivot serves them all, and scenarios that meet again at a basis go on together. Where nearly every scenario has a basis
of its own that pays nothing, and a solver goes faster. It is counted, not timed: once more pivots are made than `WORTH`
for each scenario that has come to rest, `GRACE` aside, what is left is solved alone; so is one that makes
`MOST_PIVOTS`, as where corners are degenerate.

Each scenario's point and duals are proven from the program's own numbers at the end, whatever led to them.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from optiform.program.certificate import TOLERANCE, NotCertified
from optiform.program.linear import Program, Vector
from optiform.program.live import Live
from optiform.program.solver import SolverFailed
from optiform.program.tableau import Tableau
from optiform.program.tolerances import SHARP
from optiform.reading.frozen import frozen

Progress = Callable[[int, int], None]
Places = NDArray[np.intp]
NEGATIVE = 1e-9  # relative to the costs: a reduced cost times the whole reach of its variable that counts as rounding
DIGITS = 7  # points are told apart at this many digits of a mass fraction
MOST_PIVOTS = 300  # on the way of one scenario
GRACE, WORTH = 200, 1.5  # pivots: a solve alone, from the basis of another scenario, takes as long as two or three
AFRESH = 25  # pivots after which rounding is cleared
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
        self.program, self._costs, self._progress = program, costs, progress
        self._live = Live(program)
        self._points: list[Vector] = []
        self._which = np.zeros(len(costs), dtype=np.intp)
        self._bounds = np.full(len(costs), -np.inf)
        self._floor = -NEGATIVE * (1 + np.abs(costs).max(axis=1, initial=0.0))
        self._reach = _reach(program)
        self._solved = self._done = self._told = 0

    def go_together(self) -> Places:
        """Go from basis to basis with all that enter the same variables; those that do not come to rest are left."""
        try:
            waiting = _Waiting(Tableau.of(self._live.basis()), np.arange(len(self._costs)))
        except (NotCertified, np.linalg.LinAlgError):
            return np.arange(len(self._costs))
        left, made = [np.zeros(0, dtype=np.intp)], 0
        while waiting.groups:
            tableau, scenarios, pivots = waiting.pop()
            if pivots > MOST_PIVOTS or made > GRACE + WORTH * self._done:
                left.append(scenarios)
                continue
            for place, going in self._visit(tableau, scenarios):
                after = _entered(tableau, place, pivots)
                made += 1
                if after is None:
                    left.append(going)
                else:
                    waiting.add(after, going, pivots + 1)
        return np.sort(np.concatenate(left))

    def _visit(self, tableau: Tableau, scenarios: Places) -> Iterator[tuple[int, Places]]:
        """Close the scenarios that a basis is optimal in; the others by the place of what promises most to enter."""
        reduced = tableau.reduced(self._costs[scenarios])
        free = tableau.low[tableau.nonbasic] < tableau.high[tableau.nonbasic]
        gains = reduced * np.where(tableau.at_high, -1.0, 1.0) * self._reach[tableau.nonbasic] * free
        entering = gains.argmin(axis=1)
        fine = gains[np.arange(len(scenarios)), entering] >= self._floor[scenarios]
        if fine.any():
            rows = np.flatnonzero(tableau.nonbasic >= len(self.program.columns))
            numbers = tableau.nonbasic[rows] - len(self.program.columns)
            self._close(scenarios[fine], tableau.point, reduced[fine][:, rows], numbers)
        entering, going = entering[~fine], scenarios[~fine]
        for place in np.flatnonzero(np.bincount(entering)).tolist():
            yield place, going[entering == place]

    def go_alone(self, scenarios: Places) -> None:
        """Solve each scenario on its own, from the last basis; what does not stand up to its proof, once more."""
        every = np.arange(len(self.program.rows))
        self._live.sharpen(SHARP)
        for scenario in scenarios:
            self._live.recost(self._costs[scenario])
            self._live.highs.run()
            solution = self._live.highs.getSolution()
            point, duals = np.array(solution.col_value), np.array(solution.row_dual)
            if len(point) != self._costs.shape[1] or len(duals) != len(self.program.rows):
                point, duals = np.full(self._costs.shape[1], np.nan), np.zeros(len(self.program.rows))
            self._close(scenario[None], point, duals[None], every)
        self._solved += len(scenarios)
        for scenario in self._unproven():
            self._live.recost(self._costs[scenario])
            if not self._live.solve():
                raise SolverFailed("a scenario ended without an optimum")
            self._points[self._which[scenario]], duals = self._live.solution()
            self._bounds[scenario] = _bounds(self.program, self._costs[scenario][None], duals[None], every)[0]

    def _close(self, scenarios: Places, point: Vector, duals: Vector, rows: Places) -> None:
        """Note a point, and for each scenario the bound that its duals of some rows prove."""
        self._bounds[scenarios] = _bounds(self.program, self._costs[scenarios], duals, rows)
        self._which[scenarios] = len(self._points)
        self._points.append(point)
        self._done += len(scenarios)
        if self._progress is not None and (self._done - self._told >= REPORT or self._done == len(self._costs)):
            self._told = self._done
            self._progress(self._done, len(self._costs))

    def _proof(self) -> tuple[Vector, Vector, Vector, Vector]:
        """The points, and of each scenario the objective, how far its bound is from that, and the breach of its point.

        Recomputed from the program's own numbers; the last two relative.
        """
        points = np.clip(np.array(self._points), self.program.low, self.program.high)
        objectives = np.einsum("kn,kn->k", self._costs, points[self._which])
        gaps = np.abs(objectives - self._bounds) / (1 + np.abs(objectives))
        return points, objectives, gaps, _breaches(self.program, points)[self._which]

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


class _Waiting:
    """Groups of scenarios, each at a basis; the last to come is the first to go on, so that few wait."""

    def __init__(self, tableau: Tableau, scenarios: Places) -> None:
        self.groups: dict[bytes, tuple[Tableau, list[Places], int]] = {tableau.key: (tableau, [scenarios], 0)}

    def add(self, tableau: Tableau, scenarios: Places, pivots: int) -> None:
        """Let scenarios wait at a basis; where others wait there already, they go on together."""
        known = self.groups.get(tableau.key)
        if known is None:
            self.groups[tableau.key] = tableau, [scenarios], pivots
        else:
            self.groups[tableau.key] = known[0], [*known[1], scenarios], max(known[2], pivots)

    def pop(self) -> tuple[Tableau, Places, int]:
        """A basis, who waits there, and how many pivots led to it."""
        tableau, scenarios, pivots = self.groups.popitem()[1]
        return tableau, np.concatenate(scenarios), pivots


def _entered(tableau: Tableau, place: int, pivots: int) -> Tableau | None:
    """The next tableau, from time to time afresh; None where there is none."""
    after = tableau.entered(place)
    try:
        return after.afresh() if after is not None and pivots % AFRESH == AFRESH - 1 else after
    except np.linalg.LinAlgError:
        return None


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


def _bounds(program: Program, costs: Vector, duals: Vector, rows: Places) -> Vector:
    """The lower bound that each scenario's duals of these rows prove (see certificate.py). Shape (scenarios,)."""
    at_least, at_most = program.at_least[rows], program.at_most[rows]
    proper = np.where(at_least, np.maximum(duals, 0), 0) + np.where(at_most, np.minimum(duals, 0), 0)
    reduced = costs - proper @ program.matrix[rows]
    bounds: Vector = proper @ program.rhs[rows] + np.minimum(reduced * program.low, reduced * program.high).sum(axis=1)
    return bounds


def _breaches(program: Program, points: Vector) -> Vector:
    """The worst violation of a row by each point, relative to the size of the row. Shape (points,)."""
    slack = points @ program.matrix.T - program.rhs
    size = 1 + np.abs(program.rhs) + np.abs(points) @ np.abs(program.matrix.T)
    breach = np.maximum(np.where(program.at_least, -slack, 0), np.where(program.at_most, slack, 0)) / size
    breaches: Vector = breach.max(axis=1, initial=0.0)
    return breaches
