"""Solving a brief: one linear program where everything is linear, a short row of them where something bends.

Ratios as a goal: Dinkelbach (1967). Limits that bend: successive linear programs, each with the terms that hold near
the last answer, and a box around it that shrinks when the answers do not settle. At a settled point the last program
has that very point as its optimum, and the true values are checked once more.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from functools import cached_property
from zlib import crc32

import numpy as np

from optiform.brief.brief import Brief
from optiform.program.arrays import Claim, claim_of
from optiform.program.build import Demand, frame, program_at
from optiform.program.certificate import Certificate, NotCertified, certify_optimal, proven_bound
from optiform.program.claim import claim
from optiform.program.elastic import Breach, least_breach
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.objective import Objective
from optiform.program.solver import SolverName
from optiform.program.tolerances import SAME_POINT
from optiform.properties.solubility import OutOfRange
from optiform.reading.faults import Unproven, Unsettled
from optiform.reading.frozen import frozen

ROUNDS = 120
PATIENCE = 10  # rounds before the box closes in
SHRINK = 0.6  # of the last move
SOON = 5  # rounds before the box closes in where a search need not go far
CLOSING = 30  # rounds in which a box of `CLOSE` closes to a point
STRAIGHT_BACK = 0.99  # cosine of the angle between two steps of which one takes the other back
NARROW = 0.1  # of the last move: the box after a secant
CLOSE = 0.02  # mass fraction: the first step of a search that begins close to its end
STARTS = 8  # places to go down from
ROUNDED = 1e-7  # mass fraction: the rounding of a solver that hands its point over in a file
AT_REST = 1e-9  # relative gap
LOOSER = (1e-9, 1e-8, 1e-7)  # relative: demands that no solver settles are looked at so much looser, for a bound
NEARER = 1e-3  # of the least breach: what a round must take away of it to count


#: What is done to the program near the given fractions before it is solved (see robust.py).
Shape = Callable[[Program, Vector], Program]


@frozen
class BestFormula:
    """The best formula: its program at rest, fractions, row duals, proof and objective.

    `x` has the candidates only; `point` also the helper columns. `value` is the goal's, in its unit. `scale` turns
    the program's objective into that unit (the size of the group a ratio is over). `local`: something bends, so the
    proof is of being best near here. `gap`: no formula is better by more than this, in the goal's unit; None where
    that is not known of a local answer, or where the certificate says it.
    """

    program: Program
    x: Vector
    point: Vector
    y: Vector
    certificate: Certificate
    value: float
    scale: float
    local: bool = False
    gap: float | None = None

    @property
    def objective(self) -> float:
        """The objective of the program at rest."""
        return float(self.program.cost @ self.point)


@frozen
class Infeasible:
    """No formula satisfies the demands; `program` holds the rows that say so, as they stand near `at`.

    Only what is `proven` holds everywhere: with limits that bend, it says that none was found near `at`. `weights` of
    the rows prove it (Farkas), where the program was solved once.
    """

    program: Program
    at: Vector
    proven: bool = False
    weights: Vector | None = None


def search(
    brief: Brief,
    asked: Sequence[Demand],
    solver: SolverName = "highs",
    shape: Shape | None = None,
    starts: int = STARTS,
) -> BestFormula | Infeasible:
    """The best formula for the brief's goal that meets every demand, proven; or that there is none.

    With everything linear, one program and a proof for good. With something that bends, the search goes down from
    several starts and takes the best place it comes to rest: proven best near there, not best of all (`local` of it).
    With `shape`, every program is reshaped before it is solved; the candidates stay its first columns.

    Raises:
        NotCertified: when the solver's claim does not stand up to recomputation.
        Unsettled: when limits that bend do not let the search come to rest from any start.
    """
    return Search(brief, solver, shape, starts).best(asked)


@frozen
class Search:
    """`search` for one brief and goal, of one set of demands after another. Attributes as there."""

    brief: Brief
    solver: SolverName = "highs"
    shape: Shape | None = None
    starts: int = STARTS

    @cached_property
    def _objective(self) -> Objective:
        return Objective.of(self.brief)

    def _descent(self, asked: Sequence[Demand], objective: Objective) -> "_Descent":
        return _Descent(self.brief, objective, tuple(asked), self.solver, self.shape)

    def best(self, asked: Sequence[Demand]) -> BestFormula | Infeasible:
        """The best formula that meets every demand. Raises as `search` does."""
        objective = self._objective
        descent, bends = self._descent(asked, objective), any(demand.bends for demand in asked)
        if objective.fixed and not bends:
            return descent.straight()
        first = self._descent(asked, objective.free()).straight()
        if isinstance(first, Infeasible):
            return first
        if objective.linear and not bends:
            return descent.down(np.zeros(len(first.x)))
        return self._best_of_several(asked, descent, first.x)

    def _best_of_several(self, asked: Sequence[Demand], descent: "_Descent", first: Vector) -> BestFormula | Infeasible:
        places: list[BestFormula | Infeasible] = []
        unsettled: list[Unproven] = []
        for start in _starts(self.brief, asked, first, self.starts, self.solver):
            try:
                places.append(descent.down(start))
            except Unproven as error:
                unsettled.append(error)
        best = [place for place in places if isinstance(place, BestFormula)]
        if best:
            return min(best, key=lambda place: descent.objective.goal.sign * place.value)
        if places:
            return places[0]
        raise unsettled[0]

    def near(self, asked: Sequence[Demand], x: Vector) -> BestFormula | None:
        """Where the search comes to rest when it begins close to its end, at x; None where it does not."""
        return self._rest(asked, x, CLOSE, CLOSING)

    def soon(self, asked: Sequence[Demand], x: Vector) -> BestFormula | None:
        """Where a few rounds from anywhere come to rest; None where they do not."""
        return self._rest(asked, x, 1.0, SOON)

    def _rest(self, asked: Sequence[Demand], x: Vector, box: float, rounds: int) -> BestFormula | None:
        try:
            place = self._descent(asked, self._objective).down(x, box, SOON, rounds)
        except Unproven:
            return None
        return place if isinstance(place, BestFormula) else None

    def bound(self, asked: Sequence[Demand]) -> float:
        """What no formula that keeps the demands is below, in the goal's sign, where no solver's claim of them checks.

        By duals of the same demands a little looser, which have a point: any duals bound (see certificate.py).
        """
        if not self._objective.fixed:
            return -np.inf
        program = self._descent(asked, self._objective).straight_program
        claims = [claim_of(program.with_rows([_looser(row, by) for row in program.rows])) for by in LOOSER]
        return max((self._bound(program, near) for near in claims if near and _stands(near)), default=-np.inf)

    def _bound(self, program: Program, near: Claim) -> float:
        """What the duals of a claim of looser demands prove of these."""
        x = near.x[: len(self.brief.mix.ingredients)]
        below = (float(program.cost @ near.x) - proven_bound(program, near.y)) / self._objective.scale(x)
        return self.brief.goal.sign * self._objective.value(x) - below

    def beside(self, asked: Sequence[Demand], x: Vector) -> BestFormula | Infeasible:
        """The best formula that meets every demand; with something that bends, where a short search from x ends.

        Raises as `search` does.
        """
        if self._objective.linear and not any(demand.bends for demand in asked):
            return self.best(asked)
        straight = self._descent(asked, self._objective.free()).straight()
        if isinstance(straight, Infeasible):
            return straight
        return self._descent(asked, self._objective).down(x, patience=SOON, rounds=CLOSING)


def straight_goal(brief: Brief) -> bool:
    """Whether the brief's goal does not bend, so that the best value of a straight program is the best of all."""
    return brief.goal.wanted is None or not brief.goal.wanted.bends


def _starts(brief: Brief, asked: Sequence[Demand], first: Vector, count: int, solver: SolverName) -> Iterator[Vector]:
    """Where to begin: with terms as they open, at the best that keeps what is straight, and at corners all over it.

    The corners are those of fixed arbitrary goals, so that the same brief has the same starts.
    """
    yield np.zeros(len(first))
    yield first
    names = [item.name for item in brief.mix.ingredients]
    for number in range(count - 2):
        weights = np.array([crc32(f"{number} {name}".encode()) / 2**32 for name in names])
        with suppress(Unproven):
            claimed = claim(program_at(frame(brief, weights), asked, first, bent=False), solver)
            if claimed.feasible:
                yield claimed.x


@frozen
class _Descent:
    """One search: the brief, its goal, what is asked, and by which solver."""

    brief: Brief
    objective: Objective
    asked: tuple[Demand, ...]
    solver: SolverName
    shape: Shape | None

    @property
    def count(self) -> int:
        return len(self.brief.mix.ingredients)

    def program(self, x: Vector, bent: bool = True) -> Program:
        """The program that holds near x; without `bent`, the part of it that holds anywhere."""
        try:
            program = program_at(self.objective.base(x), self.asked, x, bent)
            return self.shape(program, x) if self.shape else program
        except OutOfRange as error:
            raise Unsettled(str(error)) from None

    @property
    def straight_program(self) -> Program:
        """The program of what holds anywhere."""
        return self.program(np.zeros(self.count), bent=False)

    def straight(self) -> BestFormula | Infeasible:
        """The best by what holds anywhere: settled by one program."""
        program = self.straight_program
        claimed = claim(program, self.solver)
        if not claimed.feasible:
            return Infeasible(program, np.zeros(self.count), claimed.certificate.holds, claimed.y)
        if not claimed.certificate.holds:
            raise NotCertified(f"the solver's optimum does not check: {claimed.certificate}")
        return self.at_rest(program, claimed.x, claimed.y, claimed.certificate)

    def down(
        self, start: Vector, box: float = 1.0, patience: int = PATIENCE, rounds: int = ROUNDS
    ) -> BestFormula | Infeasible:
        """From one start to a point that is a proven optimum of the program that holds near that very point.

        No step goes beyond `box` (mass fraction), which closes in after `patience` rounds; faster where the steps go to
        and fro over a curved optimum, which a secant finds.
        """
        point, count, misses, last = start, self.count, _Misses(), _Step.none()
        for round_number in range(1, rounds + 1):
            program = self.program(point[:count])
            claimed = claim(program if box >= 1 else _boxed(program, point[:count], box), self.solver)
            if not claimed.feasible and box < 1:  # the box may be in the way, not the brief
                box = min(1.0, 4 * box)
                continue
            if not claimed.feasible:
                nearest = _nearest_miss(program, self.asked, self.solver)
                if nearest is None or misses.no_nearer(nearest.total):
                    return Infeasible(program, point[:count])
                if float(np.abs(nearest.x[:count] - point[:count]).max()) <= SAME_POINT:
                    return Infeasible(program, point[:count])
                point = nearest.x
                continue
            moved = float(np.abs(claimed.x[:count] - point[:count]).max())
            certificate = certify_optimal(program, point, claimed.y) if len(point) == len(claimed.x) else None
            still = certificate is not None and (abs(certificate.gap) <= AT_REST or moved <= ROUNDED)
            if certificate is not None and certificate.holds and still:
                return self.at_rest(program, point, claimed.y, certificate)
            step = _Step.of(program, point, claimed.x, claimed.y, count)
            point = claimed.x
            if round_number >= patience:
                box, turn = SHRINK * min(box, max(moved, SAME_POINT)), last.turn(step)
                if turn is not None:
                    point, box = turn, min(box, NARROW * max(last.length, SAME_POINT))
            last = step
        raise Unsettled(_not_at_rest(self.asked, point[:count]))

    def at_rest(self, program: Program, point: Vector, y: Vector, proof: Certificate) -> BestFormula:
        """The answer at rest."""
        x = point[: self.count]
        bends = not self.objective.linear or any(demand.bends for demand in self.asked)
        value, scale = self.objective.value(x), self.objective.scale(x)
        return BestFormula(program, x, point, y, proof, value, scale, local=bends)


@frozen
class _Step:
    """A step of a descent: from where to where, and what it was to save for each unit of its length, by the duals."""

    start: Vector
    end: Vector
    rate: float

    @staticmethod
    def none() -> "_Step":
        """Before the first."""
        return _Step(np.zeros(0), np.zeros(0), 0.0)

    @staticmethod
    def of(program: Program, start: Vector, end: Vector, y: Vector, count: int) -> "_Step":
        """The step between two points of which the first `count` numbers are fractions."""
        if len(start) != len(end):
            return _Step.none()
        saved = float((program.matrix.T @ y - program.cost) @ (end - start))
        length = float(np.abs(end[:count] - start[:count]).max())
        return _Step(start, end, saved / length if length > 0 else 0.0)

    @property
    def length(self) -> float:
        """The most that any number moves."""
        return float(np.abs(self.end - self.start).max(initial=0.0))

    def turn(self, back: "_Step") -> Vector | None:
        """Where neither saves anything, if the next step leads back: the optimum is curved, and lies between (secant).

        None where it does not lead back.
        """
        if not (self.rate > 0 and back.rate > 0 and len(self.end) == len(back.end)):
            return None
        there, here = self.end - self.start, back.end - back.start
        if float(there @ here) > -STRAIGHT_BACK * float(np.linalg.norm(there) * np.linalg.norm(here)):
            return None
        return np.asarray(self.end + (self.start - self.end) * back.rate / (self.rate + back.rate))


class _Misses:
    """The least breach that a search has met, and for how many rounds it has come no nearer than that."""

    def __init__(self) -> None:
        self.least, self.rounds = np.inf, 0

    def no_nearer(self, breach: float) -> bool:
        """Whether this one and those before it, `PATIENCE` of them, are no less."""
        nearer = breach < self.least * (1 - NEARER)
        self.least, self.rounds = min(self.least, breach), 0 if nearer else self.rounds + 1
        return self.rounds >= PATIENCE


def _nearest_miss(program: Program, asked: Sequence[Demand], solver: SolverName) -> Breach | None:
    """The point that breaks only limits that bend, and those least; None if the others already cannot hold.

    Terms that hold near one formula may rule out all formulas though others do exist: go where the miss is least and
    look again from there.
    """
    bending = {i: 1.0 for i, row in enumerate(program.rows) if row.key is not None and asked[row.key].bends}
    if not bending:
        return None
    breach = least_breach(program, bending, solver)
    return breach if breach.feasible else None


def _stands(near: Claim) -> bool:
    return near.feasible and near.certificate.holds


def _looser(row: Row, by: float) -> Row:
    """A limit that gives way by so much, relative; the frame as it is."""
    room = by * (1 + abs(row.rhs)) if row.key is not None else 0.0
    return replace(row, rhs=row.rhs - room if row.sense is Sense.AT_LEAST else row.rhs + room)


def _boxed(program: Program, x: Vector, box: float) -> Program:
    low, high = program.low.copy(), program.high.copy()
    low[: len(x)], high[: len(x)] = np.maximum(0, x - box), np.minimum(1, x + box)
    return program.with_bounds(low, high)


def _not_at_rest(asked: Sequence[Demand], x: Vector) -> str:
    names = [demand.words for demand in asked if demand.bends and not demand.met(x, 1e-4)]
    names = names or [demand.words for demand in asked if demand.bends] or ["the goal"]
    return f"the search did not come to rest on: {'; '.join(names)}"
