"""A map of bases: which simplex basis answers where, as the targets of several limits move together.

A basis says which candidates are used and which limits bind. At any targets its point and its reduced costs follow from
the numbers as they stand there, by one system of as many equations as limits bind, and they prove by themselves whether
it is feasible and optimal there. So a basis, once met, answers wherever it passes that test, and needs no solver.

Rules and limits that can be kept in several ways divide the formulas into nodes (tree.py), each with bases of its own.
A node is no better than an answer where the duals of one of its bases prove that at the moved targets, or where a ray
proves that nothing in it fits. What neither proves is told as not proven, never as best.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from heapq import heapify, heappop, heappush
from itertools import count, islice

import numpy as np

from optiform.program.atlas import Atlas
from optiform.program.boxes import root_of
from optiform.program.build import Branch, Demand, Requirements, program_at
from optiform.program.certificate import certify_infeasible, certify_optimal, signed
from optiform.program.elastic import least_breach
from optiform.program.linear import NoPoint, Program, Row, Vector
from optiform.program.live import Live, Now
from optiform.program.many_pieces import AnyPiece
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch
from optiform.program.part import Part
from optiform.program.pieces import limit_of
from optiform.program.proofs import Proofs, proofs_of
from optiform.program.region import Answer, Known, Region, region_of
from optiform.program.tolerances import SHARP
from optiform.program.tree import SATISFIED, Disjunction, Node, OneOf, Settled, asked_of
from optiform.reading.faults import Unproven

MOST_NODES = 60  # of a map; where rules leave more ways open than that, some positions stay unproven
MOST_BASES = 400  # of one node
MOST_RAYS = 60  # of one node
MOST_ASKED = 2  # bases of one node, before the solver is: few others that the atlas knows hold where it tells nothing
OUTSIDE = 1e-9  # mass fraction: a line that is so far outside its ends is no rounding
ROUNDS = 3  # of visiting again
BETTER = 1e-9  # relative: what a node must promise to count

Ways = tuple[int, ...]  #: the number of the way in which each open disjunction of a node is kept
Key = tuple[str, str, str, float]  #: one side of one limit, see `pieces.limit_of`
Position = Vector  #: the change of each limit's target, shape (limits,)


def answer_by(basis: Known, now: Now) -> Answer | None:
    """The optimum by a basis that was optimal elsewhere; None where it is not optimal here.

    One system of as many equations as limits bind gives the point, another the duals; both are proven from the numbers.

    Args:
        basis: over the columns and rows of `now`.
        now: the numbers as they stand.
    """
    rows, width = now.matrix.shape
    basic = np.array(basis.basic, dtype=np.intp)
    used, tight = basic[basic < width], np.ones(rows, dtype=bool)
    tight[basic[basic >= width] - width] = False
    x, y = now.low.copy(), np.zeros(rows)
    x[list(basis.at_high)] = now.high[list(basis.at_high)]
    x[used] = 0.0
    core = now.matrix[np.ix_(tight, used)]
    try:
        x[used] = np.linalg.solve(core, now.rhs[tight] - now.matrix[tight] @ x)
        if np.any(x < now.low - OUTSIDE) or np.any(x > now.high + OUTSIDE):
            return None
        y[tight] = np.linalg.solve(core.T, now.cost[used])
    except np.linalg.LinAlgError:
        return None
    x = np.clip(x, now.low, now.high)
    proof = certify_optimal(now, x, y)
    sharp = proof.primal <= SHARP  # what fits within rounding only is for the solver to tell
    return Answer(float(now.cost @ x), x, basis) if sharp and proof.holds else None


@dataclass
class Place:
    """One node: its program at the brief's own targets, and what is known of it.

    Attributes:
        node: the disjunctions, each settled or open.
        asked: the demands of its rows.
        moving: for each row the number of the limit whose target it has, -1 for none.
        limits: how many there are.
        bases: those met, with the duals of each where it was met first.
        again: bases met before with their duals elsewhere: where a ratio moves, those they were met with say little.
        rays: row weights that proved somewhere that nothing fits.
        regions: of each basis, one for each set of ways in which its answers kept what the node leaves open.
    """

    node: Node
    asked: Branch
    program: Program
    moving: tuple[int, ...]
    limits: int
    bases: dict[Known, Vector] = field(default_factory=dict)
    again: list[tuple[Known, Vector]] = field(default_factory=list)
    rays: list[Vector] = field(default_factory=list)
    regions: dict[Known, dict[Ways, Region]] = field(default_factory=dict)
    _live: Live | None = None
    _start: Position | None = None  # where the live program began, and
    _now: Position | None = None  # where it is
    _last: Known | None = None  # that was optimal where it was asked last
    _part: Part | None = None  # by the bases, rays and regions, of which there were so many
    _counted: tuple[int, int, int] = (0, 0, 0)

    @cached_property
    def _change(self) -> tuple[Vector, Vector]:
        """What a row's coefficients and right-hand side change by for one unit of its target."""
        none = np.zeros(len(self.program.columns))
        groups = np.array([none if row.group is None else row.group for row in self.program.rows])
        return groups, np.array([row.per_target for row in self.program.rows])

    def moved(self, position: Position) -> Program:
        """The program at a position."""
        rows = zip(self.program.rows, self.moving, strict=True)
        return self.program.with_rows([row if k < 0 else row.moved(float(position[k])) for row, k in rows])

    def numbers(self, position: Position) -> Now:
        """The program's numbers at a position."""
        program, (groups, per_target) = self.program, self._change
        change = np.append(position, 0.0)[list(self.moving)]
        matrix, rhs = program.matrix - change[:, None] * groups, program.rhs + change * per_target
        return Now(matrix, rhs, program.at_least, program.at_most, program.cost, program.low, program.high)

    def note(self, basis: Known, ways: Ways, rows: Callable[[], Sequence[tuple[Row, int]]]) -> None:
        """Note the region of a basis; its duals where no ratio has moved are proofs as well."""
        known = self.regions.setdefault(basis, {})
        if ways in known or self._count >= MOST_BASES:
            return
        region = region_of(self.program, self.moving, self.limits, basis, rows())
        if region is None:
            return
        if not known and basis in self.bases:
            self.again.append((basis, signed(self.program, region.y)))
        known[ways] = region

    def bound(self, position: Position) -> float:
        """What nothing here costs less than at a position, by the proofs at hand: infinite where nothing fits."""
        return float(self.proofs.at(position).max())

    @property
    def proofs(self) -> Proofs:
        """All proofs at hand: that by no weights, those by the bases in their order, then the rays."""
        return self.part.proofs

    @property
    def part(self) -> Part:
        """What is known, ready to be read off."""
        count = len(self.bases) + len(self.again), len(self.rays), self._count
        if self._part is None or self._counted != count:
            duals = (*self.bases.values(), *(duals for _, duals in self.again))
            owners = [None, *self.bases, *(basis for basis, _ in self.again), *(None for _ in self.rays)]
            proofs = proofs_of(self.program, self.moving, self.limits, duals, self.rays)
            regions = {basis: [*of.values()] for basis, of in self.regions.items()}
            self._part, self._counted = Part.made(proofs, owners, regions), count
        return self._part

    @property
    def _count(self) -> int:
        """How many regions."""
        return sum(map(len, self.regions.values()))

    def _likely(self, position: Position) -> Iterator[Known]:
        """The basis that answered last, then those whose duals bound the position best."""
        if self._last is not None:
            yield self._last
        known = (*self.bases, *(basis for basis, _ in self.again))
        order = np.argsort(-self.proofs.at(position)[1 : 1 + len(known)]).tolist()
        likely = dict.fromkeys(known[place] for place in order)
        yield from islice((basis for basis in likely if basis != self._last), MOST_ASKED)

    def solve(self, position: Position) -> Answer | None:
        """The optimum at a position, proven; its basis is noted. None where nothing fits.

        The basis that answered last, and that whose duals bound it best, are asked first: mostly one of them is optimal
        here too, and no solver is needed.

        Raises:
            NotCertified: when a proof does not check.
        """
        now = self.numbers(position)
        for known in self._likely(position):
            if (answer := answer_by(known, now)) is not None:
                self._last = known
                return answer
        try:
            live = self._moved_to(position)
        except NoPoint:
            self._note_nothing(position)
            return None
        if not live.solve() or live.optimum is None:
            self._note_nothing(position)
            return None
        basis, width = live.basis(), len(self.program.columns)
        known = Known(tuple(basis.basic.tolist()), tuple(np.flatnonzero(basis.at_high[:width]).tolist()))
        self._last = known
        if len(self.bases) + len(self.again) < MOST_BASES:
            duals = signed(self.program, live.optimum.y)
            if known in self.bases:
                self.again.append((known, duals))
            else:
                self.bases[known] = duals
        return Answer(live.optimum.value, live.optimum.x, known)

    def _moved_to(self, position: Position) -> Live:
        """The live program with its targets at a position."""
        if self._live is None or self._start is None or self._now is None:
            self._live = Live(self.moved(position))
            self._start = self._now = position
        for row, k in enumerate(self.moving):
            if k >= 0 and position[k] != self._now[k]:
                self._live.move(row, float(position[k] - self._start[k]))
        self._now = position
        return self._live

    def _note_nothing(self, position: Position) -> None:
        """Note the weights that prove that nothing fits there."""
        if len(self.rays) < MOST_RAYS and self.bound(position) < np.inf:
            program = self.moved(position)
            weights = self._live.ray if self._live is not None else None
            if weights is None or not certify_infeasible(program, weights).holds:
                weights = least_breach(program, {i: 1.0 for i, row in enumerate(program.rows) if row.key is not None}).y
            if certify_infeasible(program, weights).holds:
                self.rays.append(signed(program, weights) / np.abs(weights).max())


class Map:
    """The nodes that together hold every formula, with their bases, for limits whose targets move together."""

    def __init__(self, base: Program, needed: Requirements, count: int, limits: Sequence[Key]) -> None:
        """The nodes that a search for the best answer ends with, at the brief's own targets.

        Args:
            base: the program's frame and objective, without demands.
            needed: what is asked for; nothing in it bends.
            count: of the candidates, the first columns.
            limits: those whose targets are to move.

        Raises:
            Unsettled: when there are too many ways to keep what is asked.
            NotCertified: when a proof does not check.
        """
        self._base, self._rest, self.count = base, needed.rest, count
        self.limits: Mapping[Key, int] = {key: number for number, key in enumerate(limits)}
        self.disjunctions = tuple(part for part in root_of(needed, boxes=False) if isinstance(part, OneOf | AnyPiece))
        start = np.zeros(len(limits))

        def solve_node(branch: Branch) -> SolvedNode[None] | InfeasibleNode[None]:
            answer = self._place((), branch).solve(start)
            if answer is None:
                return InfeasibleNode(None)
            return SolvedNode(None, answer.x[:count], answer.value, answer.value)

        self._visited: list[Position] = []
        self._unsettled = 0  # how many of these were visited before a node was split last
        self.places = [self._at(node) for node in best_branch(needed, solve_node).nodes]
        self._atlas: Atlas | None = None  # of the places as they were when the solver was asked last

    def _at(self, node: Node) -> Place:
        return self._place(node, asked_of(node, self._rest))

    def _place(self, node: Node, asked: Branch) -> Place:
        program = program_at(self._base, asked, np.zeros(self.count))
        keys = (None if row.key is None else limit_of(asked[row.key]) for row in program.rows)
        moving = (-1 if key is None else self.limits.get(key, -1) for key in keys)
        return Place(node, asked, program, tuple(moving), len(self.limits))

    def visit(self, position: Position) -> Answer | None:
        """The best at a position, with what proves it noted, so far as the map may grow; None where there is none."""
        self._visited.append(position)
        settled, best = self.atlas.at(position)
        return best if settled else self._search(position)

    def _search(self, position: Position) -> Answer | None:
        """The same by the nodes themselves, and where a basis is new by the solver."""
        best: Answer | None = None
        number = count()
        bounds, self._atlas = self.atlas.bounds(position), None
        waiting = [(bound, next(number), place) for bound, place in zip(bounds, self.places, strict=True)]
        heapify(waiting)
        while waiting:
            bound, _, place = heappop(waiting)
            ceiling = np.inf if best is None else best.value - BETTER * (1 + abs(best.value))
            if bound >= ceiling:  # as are those behind it
                break
            try:
                answer = place.solve(position)
            except Unproven:  # the position stays unproven
                continue
            if answer is not None:
                self._note(place, position, answer)
            if answer is None or answer.value >= ceiling:
                continue
            missed = self._missed(place.node, position, answer.x[: self.count])
            if missed is None:
                best = answer
            elif len(self.places) < MOST_NODES:
                for branch in self._split(place, missed, answer.x[: self.count]):
                    heappush(waiting, (branch.bound(position), next(number), branch))
        return best

    @property
    def atlas(self) -> Atlas:
        """What is known of all places, ready to be read off."""
        if self._atlas is None:
            self._atlas = Atlas([place.part for place in self.places])
        return self._atlas

    def _note(self, place: Place, position: Position, answer: Answer) -> None:
        """Note where a basis is optimal, and in which ways its answer keeps what the place leaves open."""
        x, parts = answer.x[: self.count], [part for part in place.node if not part.settled]
        ways = tuple(_way(self._moved(part, position), x) for part in parts)

        def rows() -> list[tuple[Row, int]]:
            branches = (part.disjuncts[way] for part, way in zip(parts, ways, strict=True))  # type: ignore[attr-defined]
            return [
                (demand.row(x, 0), self.limits.get(limit_of(demand), -1)) for branch in branches for demand in branch
            ]

        place.note(answer.basis, ways, rows)

    def settle(self) -> None:
        """Visit again what was visited before a node was split: what was known of that node went with it."""
        for _ in range(ROUNDS):
            again = self._visited[: self._unsettled]
            self._visited, self._unsettled = self._visited[len(again) :], 0
            for position in again:
                self.visit(position)

    def _split(self, place: Place, part: int, x: Vector) -> list[Place]:
        """Put the branches of a node in its place."""
        node, self._unsettled = place.node, len(self._visited)
        branches = [self._at((*node[:part], branch, *node[part + 1 :])) for branch in node[part].split(x)]
        self.places.remove(place)
        self.places += branches
        return branches

    def _missed(self, node: Node, position: Position, x: Vector) -> int | None:
        """The number of the open disjunction that x misses most at a position; None where it keeps all."""
        misses = [-np.inf if part.settled else self._moved(part, position).miss(x) for part in node]
        worst = int(np.argmax(misses)) if misses else 0
        return worst if misses and misses[worst] > SATISFIED else None

    def _moved(self, part: Disjunction, position: Position) -> Disjunction:
        """An open disjunction with its targets at a position."""
        if isinstance(part, AnyPiece):
            return replace(part, change=lambda demand: self._shifted(demand, position))
        if not isinstance(part, OneOf):
            return part
        return OneOf(tuple(tuple(self._shifted(demand, position) for demand in branch) for branch in part.disjuncts))

    def _shifted(self, demand: Demand, position: Position) -> Demand:
        number = self.limits.get(limit_of(demand))
        return demand if number is None else replace(demand, target=demand.target + float(position[number]))


def _way(part: Disjunction, x: Vector) -> int:
    """The number of the way in which x keeps an open disjunction with most room, or misses it least."""
    if isinstance(part, AnyPiece):
        return part.of.nearest(x)
    assert isinstance(part, OneOf)
    return int(np.argmin([Settled(branch).miss(x) for branch in part.disjuncts]))
