"""Limits that can be kept in more than one way: the best over all ways, without trying them all.

Branch and bound (Land and Doig 1960). A node has some of the choices settled; the others ask nothing yet, so that no
way below it is better than its own answer. Where that answer keeps the open choices too, it is the best of all ways
below. Else the choice that it misses most is settled in each way in turn, which cuts this answer off. Nodes are taken
by their bounds, the most promising first, and what is no better than an answer at hand is not looked at. Nodes that
nothing fits are dead ends; without an answer, they cover every way and their proofs together prove that there is none.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import count
from typing import Generic, TypeVar

import numpy as np

from optiform.brief.brief import Brief
from optiform.program.build import Picks, Requirements, Way, frame, program_at
from optiform.program.certificate import NotCertified
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.search import STARTS, Found, NothingFits, Shape, search
from optiform.program.solver import SolverName, solve
from optiform.reading.faults import Unsettled

F = TypeVar("F")  # an answer
N = TypeVar("N")  # what is told where nothing fits
MOST_LOOKS = 300
KEPT = 1e-9  # relative miss that is no miss
WORSE = 1e-9  # relative: what cannot be better by more than this is not looked at


@dataclass(frozen=True)
class Looked(Generic[F]):
    """The answer to one set of demands.

    Attributes:
        told: the answer itself.
        x: its mass fractions.
        value: to be made small.
        bound: no formula that keeps these demands has less; minus infinity where that is not known.
    """

    told: F
    x: Vector
    value: float
    bound: float = -np.inf


@dataclass(frozen=True)
class DeadEnd(Generic[N]):
    """That nothing fits one set of demands, as it is told."""

    told: N


@dataclass(frozen=True)
class Sought(Generic[F, N]):
    """The best answer and the way it keeps, None if there is none; dead ends; why some way was left undecided."""

    best: tuple[Way, F] | None
    ends: tuple[tuple[Way, N], ...]
    restless: str


def best_way(needed: Requirements, look: Callable[[Way], Looked[F] | DeadEnd[N]]) -> Sought[F, N]:
    """The best answer over all ways to keep what is needed.

    Args:
        needed: the requirements.
        look: answers a set of demands, or tells that nothing fits; may raise Unsettled.

    Raises:
        Unsettled: when it would take more than `MOST_LOOKS` looks.
        Exception: whatever else `look` raises.
    """
    tree = _Tree(needed, look)
    tree.grow()
    best = None if tree.best is None else (tree.best[0], tree.best[1].told)
    return Sought(best, tuple(tree.ends), tree.restless)


def searched(
    brief: Brief, way: Way, solver: SolverName = "highs", shape: Shape | None = None, starts: int = STARTS
) -> Looked[Found] | DeadEnd[NothingFits]:
    """A look by `search`, for the brief's goal.

    Raises:
        Unsettled: when the search does not come to rest, or only where the goal has no value.
        NotCertified: as in `search`.
    """
    place = search(brief, way, solver, shape, starts)
    if isinstance(place, NothingFits):
        return DeadEnd(place)
    if np.isnan(place.value):
        words = f"{brief.goal.words} is a mean over something that the brief lets go to nothing: ask for some of it"
        raise Unsettled(words)
    value = -place.value if brief.goal.direction == "highest" else place.value
    return Looked(place, place.x, value, -np.inf if place.local else value)


@dataclass
class _Tree(Generic[F, N]):
    needed: Requirements
    look: Callable[[Way], Looked[F] | DeadEnd[N]]
    best: tuple[Way, Looked[F]] | None = None
    ends: list[tuple[Way, N]] = field(default_factory=list)
    restless: str = ""
    waiting: list[tuple[float, int, Picks]] = field(default_factory=list)
    number: Iterator[int] = field(default_factory=count)
    looks: int = 0

    def grow(self) -> None:
        self._wait(-np.inf, {})
        while self.waiting and self._promises(self.waiting[0][0]):
            bound, _, picks = heappop(self.waiting)
            self._node(bound, picks)

    def _promises(self, bound: float) -> bool:
        return self.best is None or bound < self.best[1].value - WORSE * (1 + abs(self.best[1].value))

    def _node(self, bound: float, picks: Picks) -> None:
        way, found = self._looked(picks)
        if found is None:
            self._branch(bound, picks, self._open(picks))
        elif isinstance(found, Looked):
            self._answer(max(bound, found.bound), picks, way, found)
        else:
            self.ends.append((way, found.told))

    def _answer(self, bound: float, picks: Picks, way: Way, found: Looked[F]) -> None:
        """Settle what is open as the answer settles it; where it does not, or not quite, branch."""
        still_open = self._open(picks)
        misses = {place: self.needed.missed(place, found.x) for place in still_open}
        if still_open and max(misses.values()) <= KEPT:
            way, settled = self._looked({**self.needed.picks(found.x), **picks})
            if isinstance(settled, Looked):
                self._keep(way, settled)
                if settled.value <= found.value + WORSE * (1 + abs(found.value)):
                    return
        if not still_open:
            self._keep(way, found)
        self._branch(bound, picks, sorted(still_open, key=lambda place: -misses[place]))

    def _keep(self, way: Way, found: Looked[F]) -> None:
        if self.best is None or found.value < self.best[1].value:
            self.best = way, found

    def _open(self, picks: Picks) -> list[int]:
        return [place for place in self.needed.choices if place not in picks]

    def _branch(self, bound: float, picks: Picks, places: list[int]) -> None:
        for number in range(len(self.needed.limits[places[0]]) if places else 0):
            self._wait(bound, {**picks, places[0]: number})

    def _wait(self, bound: float, picks: Picks) -> None:
        heappush(self.waiting, (bound, next(self.number), picks))

    def _looked(self, picks: Picks) -> tuple[Way, Looked[F] | DeadEnd[N] | None]:
        """The answer with these choices settled; None where the search does not come to rest."""
        self.looks += 1
        if self.looks > MOST_LOOKS:
            raise Unsettled(_too_many(self.needed))
        way = self.needed.way(picks)
        try:
            return way, self.look(way)
        except Unsettled as unsettled:
            self.restless = str(unsettled)
            return way, None


def _too_many(needed: Requirements) -> str:
    names = dict.fromkeys(needed.limits[place][0][0].words for place in needed.choices)
    return f"too many ways to keep these limits together: {'; '.join(names)}; ask fewer of them at a time"


def every_way(brief: Brief, needed: Requirements, solver: SolverName = "highs") -> list[Way]:
    """Ways that together leave out no formula: those that are the easiest of all for some formula that fits.

    For a question that is asked again and again of the same formulas, where the best way may change.

    Raises:
        Unsettled: when it would take more than `MOST_LOOKS` looks.
    """
    base, none = frame(brief, np.zeros(len(brief.mix.ingredients))), np.zeros(len(brief.mix.ingredients))
    found: list[Picks] = [{}]
    looks = 0
    for place in needed.choices:
        wider = [{**picks, place: number} for picks in found for number in range(len(needed.limits[place]))]
        looks += len(wider)
        if looks > MOST_LOOKS:
            raise Unsettled(_too_many(needed))
        programs = [program_at(base, needed.way(picks), none, bent=False) for picks in wider]
        ahead = [[row for i, k in picks.items() for row in _easiest(needed.limits[i], k)] for picks in wider]
        fits = [_fits(p.with_rows([*p.rows, *rows]), solver) for p, rows in zip(programs, ahead, strict=True)]
        found = [picks for picks, fit in zip(wider, fits, strict=True) if fit]
    return [needed.way(picks) for picks in found]


def _fits(program: Program, solver: SolverName) -> bool:
    """Whether a program has a point; one that rounding decides counts as one that has."""
    try:
        return solve(program, solver).feasible
    except NotCertified:
        return True


def _easiest(ways: Sequence[Way], number: int) -> Iterator[Row]:
    """Rows that say that of several straight pieces of one property this one makes its limit easiest to keep."""
    pieces = [way[0].terms(np.zeros(0)).numerator for way in ways]
    sense = Sense.AT_LEAST if ways[0][0].side == "low" else Sense.AT_MOST
    for other in pieces[:number] + pieces[number + 1 :]:
        yield Row(f"{ways[number][0].name} by this piece", pieces[number] - other, sense, 0.0)
