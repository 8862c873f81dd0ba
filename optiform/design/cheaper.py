"""Cheaper: the formula sold today at less cost, changing few lines, holding what customers notice."""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.brief.goal import Lowest
from optiform.design.answer import NoFormula
from optiform.design.around import NOTICED, Held, as_kept_by, balance_of, closed_to, held, holding, today_of
from optiform.design.design import best, formula_of
from optiform.design.doses import too_little
from optiform.design.endings import ending
from optiform.design.facts import Fact, LittleToSave, MovesTooSmall, Undecided
from optiform.design.switches import Switches
from optiform.design.switches import smallest_move as smallest_move
from optiform.ingredients.formula import Formula
from optiform.program.build import Branch, Demand, Requirements, frame, program_at
from optiform.program.certificate import Certificate
from optiform.program.integer import WholeSolution, solve_whole
from optiform.program.linear import Program, Vector
from optiform.program.optimum import InfeasibleNode, Relaxed, SolvedNode, best_branch, kept_already
from optiform.program.prices import Pricer
from optiform.program.solver import SolverName
from optiform.program.spans import spans
from optiform.program.usual import requirements
from optiform.properties.cost import cost
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.review.answer import Formulated, Report
from optiform.review.measures import setting_of
from optiform.review.report import report

MOST_ROUNDS = 6
SHOWN = 1e-6  # mass fraction: a change of less is none
SAME_COST = 1e-9  # per kg: rounding in a cost
WHOLE = 1e-7  # mass fraction: rounding in a sum that makes up 100 %
Progress = Callable[[int, int], None]


@frozen
class Move:
    """One line that changes, in % of the whole."""

    ingredient: str
    before: float
    after: float

    @property
    def points(self) -> float:
        """The change in percentage points."""
        return self.after - self.before


@frozen
class CheaperOption(Formulated):
    """The cheapest formula that changes at most this many lines, the balance line not counted.

    Attributes:
        lines: how many lines change, those of today's formula that are no candidates any more among them.
        saving: per kg, in the brief's currency; `saving_per_jar` likewise where the brief has a jar.
        moves: what changes, the largest change first; the balance line is among them.
        stops: the demands that keep it from going further, dearest first.
        gap: proven distance from the best for this many lines, relative.
    """

    lines: int
    report: Report
    cost: float
    saving: float
    saving_per_jar: float | None
    moves: tuple[Move, ...]
    stops: tuple[Demand, ...]
    certificate: Certificate
    gap: float


@frozen
class CheaperOptions(Ranked[CheaperOption]):
    """From one line changed to as many as help. `note` says why it ends where it does.

    Attributes:
        gone: lines of today's formula that are no candidates any more, each with the reason: they change in any case.
        impossible: why nothing fits, where the brief cannot be met at all, or not together with what is held.
        decided: false where it is not known, for some number of lines, whether there is more to save.
    """

    brief: Brief
    today: Report
    cost: float
    balance: str
    held: tuple[Held, ...]
    rungs: tuple[CheaperOption, ...]
    note: Fact | LittleToSave | MovesTooSmall | Undecided
    gone: tuple[tuple[str, Hashable], ...] = ()
    impossible: NoFormula | None = None
    decided: bool = True

    def ranked(self) -> tuple[CheaperOption, ...]:
        """The cheapest first."""
        return self.rungs[::-1]


def cheaper(
    brief: Brief,
    tolerances: Mapping[str, float] = NOTICED,
    least_saving: float = 0.0,
    most_change: float = 1.0,
    new_ingredients: bool = True,
    solver: SolverName = "highs",
    progress: Progress | None = None,
) -> CheaperOptions:
    """Cheaper options, each changing more lines than the one before.

    The brief's own limits and law hold; everything in `tolerances` stays near today's value.

    Args:
        brief: with a reference formula and prices; its goal is not used.
        tolerances: how far each noticed property may move, in its unit.
        least_saving: an option that saves less than this per kg over the one before is not made.
        most_change: how far one line may change, mass fraction; the balance line is free.
        new_ingredients: whether candidates outside today's formula may enter (an assessed list stays closed if not).
        solver: see `program.solver`.
        progress: called with the number of lines just tried and the most there can be.

    Raises:
        BadInput: without a reference formula, when a line of it has no price, or when nothing new may enter but the
            brief asks for some of an ingredient that is not in it.
    """
    today = today_of(brief)
    closed = brief if new_ingredients else closed_to(brief, today)
    noticed = held(brief, tolerances)
    wanted = replace(holding(closed, noticed), goal=Lowest(cost(brief.currency)))
    before = _price(today, brief.currency)
    balance = balance_of(today).name
    start = _start(wanted, today, balance)
    search = _Search(wanted, today, start, _needed(wanted, start), balance, most_change, solver)
    free, restless = search.solve(search.most)
    nothing_fits = free is None and not restless
    undecided: dict[int, str] = {}
    least = max(least_saving, 1e-6)
    climb = () if nothing_fits else _climb(search, None if restless else free, before, least, progress, undecided)
    rungs = tuple(search.option(lines, step, before, brief) for lines, step in climb)
    judged = replace(brief, left_out=wanted.left_out)
    impossible = _impossible(brief, wanted, solver) if nothing_fits else None
    end = ending(bool(rungs), least_saving, brief.currency, undecided)
    no_formula = Fact.NO_FORMULA if impossible else MovesTooSmall(100 * most_change)
    return CheaperOptions(
        brief=judged,
        today=report(today, setting_of(brief)),
        cost=before,
        balance=balance,
        held=noticed,
        rungs=rungs,
        note=no_formula if nothing_fits else end,
        gone=tuple(_gone(judged, today)),
        impossible=impossible,
        decided=impossible.decided if impossible else not undecided,
    )


def _impossible(brief: Brief, wanted: Brief, solver: SolverName) -> NoFormula | None:
    """Why the brief has no formula, or why it has none with what is held; None where it has one."""
    for asked in (replace(brief, goal=wanted.goal), wanted):
        answer = best(asked, solver)
        if isinstance(answer, NoFormula):
            return answer
    return None


def _gone(brief: Brief, today: Formula) -> Iterator[tuple[str, Hashable]]:
    """Lines of today's formula that cannot be used any more, each with the reason."""
    usable, reasons = {item.name for item in brief.mix.ingredients}, dict(brief.left_out)
    for line in today.lines:
        name = line.ingredient.name
        if name not in usable or name in reasons:
            yield name, reasons.get(name, Fact.NO_CANDIDATE)


def _climb(
    search: "_Search",
    free: "_Step | None",
    spent: float,
    worth: float,
    progress: Progress | None,
    undecided: dict[int, str],
) -> Iterator[tuple[int, "_Step"]]:
    """Each number of lines that saves `worth` over the option before.

    One line more may save nothing where two more together do, so it goes on until the free answer is that near. A
    number of lines whose answers do not come to rest is passed over and noted in `undecided`, with the reason.
    """
    most = search.most
    floor = free.whole.value if free is not None else -np.inf
    for lines in range(max(1, len(search.gone)), most):
        if spent - floor < worth:
            return
        search, step, restless = search.dosed(lines, spent - worth)
        if restless:
            undecided[lines] = restless
        if progress is not None:
            progress(lines, most - 1)
        if step is not None and spent - step.whole.value >= worth:
            yield lines, step
            spent = step.whole.value


def _price(formula: Formula, currency: str) -> float:
    value = cost(currency).of(formula)
    if value is None:
        lacking = [line.ingredient.name for line in formula.lines if line.ingredient.price_in(currency) is None]
        none = f"none in {currency}/kg for {', '.join(lacking)}"
        raise BadInput([Fault("own file", "price", none, "a price for every line")])
    return value


def _start(brief: Brief, today: Formula, balance: str) -> Vector:
    """Today's fraction of each candidate. One that misses its range by less than the scale shows is put there."""
    names = [item.name for item in brief.mix.ingredients]
    written = brief.mix.vector(today)
    ranged = np.clip(written, [span.low for span in brief.ranges], [span.high for span in brief.ranges])
    start = np.where(np.abs(ranged - written) < smallest_move(brief) / 2, ranged, written)
    if balance in names:
        start[names.index(balance)] += written.sum() - start.sum()
    return start


def _needed(brief: Brief, start: Vector) -> Requirements:
    """What is asked; where today's formula can be made at all, rounding in it does not count as a miss."""
    needed = requirements(brief)
    return as_kept_by(needed, start) if abs(start.sum() - 1) < WHOLE else needed


@frozen
class _Step:
    """A solved number of lines, with the way its limits are kept and the program of its fractions alone."""

    whole: WholeSolution
    branch: Branch
    base: Program


@frozen
class _Search:
    """One brief around one formula, solved for any number of changing lines."""

    brief: Brief
    today: Formula
    start: Vector
    needed: Requirements
    balance: str
    most_change: float
    solver: SolverName

    def solve(self, lines: int, below: float = np.inf) -> tuple[_Step | None, str]:
        """The best for so many lines, over all ways to keep the limits; and why it is not known, where it is not.

        None where nothing costs as little as `below`.
        """
        relaxed: Relaxed[_Step] = []
        ceiling, kept = below + SAME_COST, list[_Step]()

        def solve_node(branch: Branch) -> SolvedNode[_Step] | InfeasibleNode[None]:
            nonlocal ceiling
            node = self._again(branch, relaxed) or self._node(branch, lines, relaxed, ceiling)
            if isinstance(node, SolvedNode) and node.value < ceiling and self.needed.kept_by(node.x):
                ceiling = node.value + SAME_COST  # what it splits into may cost as much
                kept.append(node.answer)
            return node

        try:
            outcome = best_branch(self.needed, solve_node)
        except Unsettled as unsettled:
            return None, str(unsettled)
        return (outcome.best[1] if outcome.best else next(reversed(kept), None)), outcome.undecided

    def dosed(self, lines: int, below: float) -> tuple["_Search", _Step | None, str]:
        """As `solve`, with no line below its least dose; and the search that asks that, from which the next goes on.

        None or enough is asked only of a line that stood at too little.
        """
        search = self
        while True:
            step, restless = search.solve(lines, below)
            made = step.whole.x[: len(search.start)] if step else None
            short = () if made is None else tuple(too_little(search.brief, [formula_of(search.brief, made, "")]))
            if not short:
                return search, step, restless
            asked = replace(search.brief, doses=(*search.brief.doses, *short))
            search = replace(search, brief=asked, needed=_needed(asked, search.start))

    def _again(self, branch: Branch, relaxed: Relaxed[_Step]) -> SolvedNode[_Step] | None:
        """The answer to fewer demands, where it keeps this whole branch."""
        node = kept_already(branch, relaxed)
        return node and replace(node, answer=_Step(node.answer.whole, branch, self.base(branch, node.x)))

    def _node(
        self, branch: Branch, lines: int, relaxed: Relaxed[_Step], below: float
    ) -> SolvedNode[_Step] | InfeasibleNode[None]:
        """The best that keeps limits in one way; those that bend are taken anew at each answer until one keeps them."""
        at = self.start
        bending = [demand for demand in branch if demand.bends]
        for _ in range(MOST_ROUNDS):
            base = self.base(branch, at)
            solution = solve_whole(self._switched(base, lines), self.solver, np.inf if bending else below)
            if solution is None and bending and solve_whole(self._switched(self.base(branch, at, bent=False), lines)):
                break  # near here nothing fits, which says nothing of elsewhere
            if solution is None:
                return InfeasibleNode(None)
            at = solution.x[: len(at)]
            if all(demand.met(at) for demand in bending):
                node = SolvedNode(
                    _Step(solution, branch, base), at, solution.value, -np.inf if bending else solution.bound
                )
                relaxed += [] if bending else [(branch, node)]
                return node
        raise Unsettled(f"the search did not come to rest on: {'; '.join(demand.words for demand in bending)}")

    @cached_property
    def gone(self) -> frozenset[str]:
        """Lines of today's formula that are no candidates: each is one that changes, whatever else does."""
        left = {item.name for item in self.brief.mix.ingredients} | {self.balance}
        return frozenset(line.ingredient.name for line in self.today.lines if line.ingredient.name not in left)

    @property
    def most(self) -> int:
        """As many lines as can change, the balance among them."""
        return len(self.brief.mix.ingredients) + len(self.gone)

    def _switched(self, base: Program, lines: int) -> Program:
        """The program with at most so many lines changing, those of today's formula that are gone among them."""
        return self._switches.added(base, lines - len(self.gone))

    @cached_property
    def _switches(self) -> Switches:
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
        mix = self.brief.mix
        prices = cost(self.brief.currency).terms(mix, np.zeros(len(at))).numerator
        return program_at(frame(self.brief, prices), branch, at, bent)

    def option(self, lines: int, step: _Step, before: float, brief: Brief) -> CheaperOption:
        solution = step.whole
        x = solution.x[: len(self.brief.mix.ingredients)]
        saving = before - solution.value
        return CheaperOption(
            lines=lines,
            report=report(formula_of(self.brief, x, f"{lines} changed"), setting_of(brief)),
            cost=solution.value,
            saving=saving,
            saving_per_jar=saving * brief.jar if brief.jar else None,
            moves=tuple(self._moves(x)),
            stops=tuple(self._stops(step)),
            certificate=solution.certificate,
            gap=solution.gap,
        )

    def _moves(self, x: Vector) -> list[Move]:
        """Lines that differ from today's, but for what the scale does not show of a line that stays."""
        names, was = [item.name for item in self.brief.mix.ingredients], self.today.fraction
        changed = [j for j, name in enumerate(names) if abs(x[j] - self.start[j]) > SHOWN]
        moves = [Move(names[j], 100 * was(names[j]), 100 * float(x[j])) for j in changed]
        moves += [Move(name, 100 * was(name), 0.0) for name in sorted(self.gone - set(names))]
        return sorted(moves, key=lambda move: largest_first(abs(move.points), move.ingredient))

    def _stops(self, step: _Step) -> list[Demand]:
        """What binds, with the changing lines as found, by what one unit looser would save."""
        count, whole = len(self.brief.mix.ingredients), step.whole.x
        x, before = whole[:count], self.start
        up, down = (np.zeros(count) for _ in range(2))
        free = list(self._switches.free)
        up[free], down[free] = np.split(whole[count:], 2)
        low, high = np.maximum(0, before - down * self.most_change), np.minimum(1, before + up * self.most_change)
        balance = np.array([item.name == self.balance for item in self.brief.mix.ingredients])
        low, high = np.where(balance, 0.0, np.minimum(low, x)), np.where(balance, 1.0, np.maximum(high, x))
        base = step.base.with_bounds(low, high)
        pricer = Pricer(base)
        priced = []
        for index, row in enumerate(base.rows):
            tight = abs(float(row.coefficients @ x) - row.rhs) <= 1e-7 * (1 + abs(row.rhs))
            if row.key is not None and tight and (price := abs(pricer.looser(index).price_at(0.0))) > 1e-7:
                priced.append((price, step.branch[row.key]))
        return [demand for _, demand in sorted(priced, key=lambda pair: largest_first(pair[0], pair[1].words))]
