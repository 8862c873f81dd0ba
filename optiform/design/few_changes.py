"""The cheapest formula in which few lines change, by one program with a switch for each line and for each way.

Each line goes up, down or stays (switches.py); each way of what can be kept in several is taken or not
(program/disjunctive.py).
"""

from dataclasses import field, replace
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.design.around import as_kept_by
from optiform.design.design import formula_of
from optiform.design.doses import too_little
from optiform.design.switches import Switches, smallest_move
from optiform.ingredients.formula import Formula
from optiform.program.build import Branch, Requirements, frame, program_at
from optiform.program.disjunctive import with_ways
from optiform.program.integer import WholeSolution, second_opinion, solve_whole
from optiform.program.learned import Learned
from optiform.program.linear import Program, Vector
from optiform.program.solver import SolverName
from optiform.program.spans import spans
from optiform.program.usual import requirements
from optiform.program.ways import Ways
from optiform.properties.cost import cost
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen

MOST_ROUNDS = 6
WHOLE = 1e-7  # mass fraction: rounding in a sum that makes up 100 %
LEAST = 1e-6  # per kg: no saving at all


def start_of(brief: Brief, today: Formula, balance: str) -> Vector:
    """Today's fraction of each candidate. One that misses its range by less than the scale shows is put there."""
    names = [item.name for item in brief.mix.ingredients]
    written = brief.mix.vector(today)
    ranged = np.clip(written, [span.low for span in brief.ranges], [span.high for span in brief.ranges])
    start = np.where(np.abs(ranged - written) < smallest_move(brief) / 2, ranged, written)
    if balance in names:
        start[names.index(balance)] += written.sum() - start.sum()
    return start


def needed_of(brief: Brief, start: Vector) -> Requirements:
    """What is asked; where today's formula can be made at all, rounding in it does not count as a miss."""
    needed = requirements(brief)
    return as_kept_by(needed, start) if abs(start.sum() - 1) < WHOLE else needed


@frozen
class Step:
    """The best of a number of lines, with its limits in the way that it keeps them.

    Attributes:
        whole: the solution, with its cost for a value.
        lines: how many it moves.
        branch: what it keeps.
        base: the program of that over the fractions alone.
        claim: the program with its switches, and what a solver says of it.
    """

    whole: WholeSolution
    lines: int
    branch: Branch
    base: Program
    claim: tuple[Program, WholeSolution]


@frozen
class Search:
    """One brief around one formula, solved for any number of changing lines.

    What can be kept in several ways is asked as far as answers miss it, in `ways`; the next number of lines begins with
    that, and with what is `learned` of its switches.
    """

    brief: Brief
    today: Formula
    start: Vector
    needed: Requirements
    balance: str
    most_change: float
    solver: SolverName
    ways: Ways = field(default_factory=Ways, compare=False)
    learned: Learned = field(default_factory=Learned, compare=False)

    def solve(self, lines: int, below: float = np.inf, fee: float = 0.0) -> tuple[Step | None, str]:
        """The best with at most so many lines changed; and why it is not known, where it is not.

        None where nothing fits, or nothing costs less than `below`.

        Args:
            lines: those of today's formula that are gone among them.
            below: per kg; an answer that is not below it may be given all the same.
            fee: what each changed line counts beside the cost, per kg.
        """
        try:
            return self._settled(lines, below, fee), ""
        except Unsettled as unsettled:
            return None, str(unsettled)

    def saves(self, before: float) -> bool:
        """Whether any number of lines saves anything."""
        _, step, _ = self.dosed(self.most, fee=LEAST)
        return step is not None and step.whole.value < before - LEAST

    def _settled(self, lines: int, below: float, fee: float) -> Step | None:
        """Limits that bend are taken anew at each answer until one keeps them."""
        at, rounds = self.start, 0
        bends = any(demand.bends for demand in self.needed.demands)
        while rounds < MOST_ROUNDS:
            program = self._program(lines, at, fee)
            most = np.inf if bends or fee else below
            solution = solve_whole(program, self.solver, most, twice=False, learned=self.learned)
            if solution is None:
                if not bends or not solve_whole(self._program(lines, at, fee, bent=False), self.solver, twice=False):
                    return None
                break  # near here nothing fits, which says nothing of elsewhere
            x = solution.x[: len(self.start)]
            if self.ways.part(self.needed, x):
                continue
            at, rounds = x, rounds + 1
            branch = self.needed.near(x)
            if all(demand.met(x) for demand in branch if demand.bends):
                return self._step(program, solution, branch, fee)
        words = "; ".join(demand.words for demand in self.needed.near(at) if demand.bends)
        raise Unsettled(f"the search did not come to rest on: {words}")

    def _step(self, program: Program, solution: WholeSolution, branch: Branch, fee: float) -> Step:
        moves = 2 * len(self.switches.free)
        lines = round(float(solution.x[len(solution.x) - moves :].sum()))
        cost = replace(solution, value=solution.value - fee * lines, bound=solution.bound - fee * lines)
        return Step(cost, lines, branch, self.base(branch, solution.x[: len(self.start)]), (program, solution))

    def dosed(self, lines: int, below: float = np.inf, fee: float = 0.0) -> tuple["Search", Step | None, str]:
        """As `solve`, with no line below its least dose; and the search that asks that, from which the next goes on.

        None or enough is asked only of a line that stood at too little.
        """
        search = self
        while True:
            step, restless = search.solve(lines, below, fee)
            made = step.whole.x[: len(search.start)] if step else None
            short = () if made is None else tuple(too_little(search.brief, [formula_of(search.brief, made, "")]))
            if made is None or not short:
                if step is not None:
                    second_opinion(*step.claim, self.solver)
                return search, step, restless
            asked = replace(search.brief, doses=(*search.brief.doses, *short))
            search = replace(search, brief=asked, needed=needed_of(asked, search.start))
            search.ways.part(search.needed, made)  # what it misses, before it is worked out once more

    @cached_property
    def gone(self) -> frozenset[str]:
        """Lines of today's formula that are no candidates: each is one that changes, whatever else does."""
        left = {item.name for item in self.brief.mix.ingredients} | {self.balance}
        return frozenset(line.ingredient.name for line in self.today.lines if line.ingredient.name not in left)

    @property
    def most(self) -> int:
        """As many lines as can change, the balance among them."""
        return len(self.brief.mix.ingredients) + len(self.gone)

    def _program(self, lines: int, at: Vector, fee: float, bent: bool = True) -> Program:
        """The program with at most so many lines changing, those of today's formula that are gone among them."""
        narrow = self._frame.with_bounds(*self.switches.spans)
        kept = with_ways(narrow, self.ways.few(self.needed), at, bent, self.ways.asked(self.needed))
        program = self.switches.added(kept, lines - len(self.gone))
        cost, switches = program.cost.copy(), 2 * len(self.switches.free)
        cost[len(cost) - switches :] = fee
        return program.with_cost(cost) if fee else program

    @cached_property
    def switches(self) -> Switches:
        """A line that changes moves by a step of the scale (or to nothing), a new one by its least dose."""
        brief, before = self.brief, self.start
        pinned = [span.pinned and span.low == r for span, r in zip(brief.ranges, before, strict=True)]
        names = tuple(item.name for item in brief.mix.ingredients)
        free = tuple(j for j, name in enumerate(names) if name != self.balance and not pinned[j])
        reach = spans(self.base(self.needed.branch({}), before, bent=False))
        least = smallest_move(brief)
        doses = np.maximum(least, np.where(before > 0, 0.0, least_doses(brief)))
        return Switches(names, before, free, least, doses, self.most_change, reach)

    def base(self, branch: Branch, at: Vector, bent: bool = True) -> Program:
        """The fractions alone, any of them free to change; rows near the fractions `at`, those that bend if `bent`."""
        return program_at(self._frame, branch, at, bent)

    @cached_property
    def _frame(self) -> Program:
        prices = cost(self.brief.currency).everywhere(self.brief.mix).numerator
        return frame(self.brief, prices)
