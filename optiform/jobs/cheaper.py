"""Cheaper: the formula sold today at less cost, changing few lines, holding what customers notice."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from optiform.brief import Brief, Goal
from optiform.faults import BadInput, Fault
from optiform.formula import Formula
from optiform.jobs.answer import Report
from optiform.jobs.around import NOTICED, Held, balance_of, held, holding, only, today_of
from optiform.jobs.design import formula_of, setting_of
from optiform.jobs.report import report
from optiform.program.build import Demand, cases, frame, program_at
from optiform.program.certificate import Certificate
from optiform.program.integer import WholeSolution, solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.prices import Pricer
from optiform.program.solver import SolverName
from optiform.properties.base import Mix
from optiform.properties.cost import cost

MOST_ROUNDS = 6
UNMOVED = 1e-9  # mass fraction: a line pinned this near to today's amount has no switch
Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Move:
    """One line that changes, in % of the whole."""

    ingredient: str
    before: float
    after: float

    @property
    def points(self) -> float:
        """The change in percentage points."""
        return self.after - self.before


@dataclass(frozen=True)
class Rung:
    """The cheapest formula that changes at most this many lines, the balance line not counted.

    Attributes:
        lines: how many lines change.
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


@dataclass(frozen=True)
class Ladder:
    """From one line changed to as many as help. `note` says why it ends where it does."""

    brief: Brief
    today: Report
    cost: float
    balance: str
    held: tuple[Held, ...]
    rungs: tuple[Rung, ...]
    note: str


def cheaper(
    brief: Brief,
    tolerances: Mapping[str, float] = NOTICED,
    least_saving: float = 0.0,
    most_change: float = 1.0,
    new_ingredients: bool = True,
    solver: SolverName = "highs",
    progress: Progress | None = None,
) -> Ladder:
    """A ladder of cheaper formulas, each changing one line more than the one before.

    The brief's own limits and law hold; everything in `tolerances` stays near today's value.

    Args:
        brief: with a reference formula and prices; its goal is not used.
        tolerances: how far each noticed property may move, in its unit.
        least_saving: a rung that saves less than this per kg over the one before is not made.
        most_change: how far one line may change, mass fraction; the balance line is free.
        new_ingredients: whether candidates outside today's formula may enter (an assessed list stays closed if not).
        solver: see `program.solver`.
        progress: called with the number of lines just tried and the most there can be.

    Raises:
        BadInput: without a reference formula, or when a line of it has no price.
    """
    today = today_of(brief)
    closed = brief if new_ingredients else only(brief, frozenset(line.ingredient.name for line in today.lines))
    kept = held(brief, tolerances)
    wanted = replace(holding(closed, kept), goal=Goal("lowest", cost(brief.currency)))
    before = _price(today, brief.currency)
    balance = balance_of(today).name
    ladder = _Ladder(wanted, today, cases(wanted)[0], balance, most_change, solver)
    climb = _climb(ladder, before, max(least_saving, 1e-6), progress)
    rungs = tuple(ladder.rung(lines, found, before, brief) for lines, found in climb)
    note = _ending(least_saving, brief.currency) if rungs else "nothing on the shelf makes it cheaper in these limits"
    told = replace(brief, left_out=wanted.left_out)
    return Ladder(told, report(today, setting_of(brief)), before, balance, kept, rungs, note)


def _climb(ladder: "_Ladder", spent: float, worth: float, progress: Progress | None) -> Iterator[tuple[int, "_Step"]]:
    """Each number of lines that saves `worth` over the rung before.

    One line more may save nothing where two more together do, so it goes on until the free answer is that near. A
    number of lines whose answers do not come to rest on a limit that bends is passed over.
    """
    most = len(ladder.brief.mix.ingredients)
    free = ladder.solve(most)
    floor = free.whole.value if free is not None else -np.inf
    for lines in range(1, most):
        if spent - floor < worth:
            return
        found = ladder.solve(lines)
        if progress is not None:
            progress(lines, most - 1)
        if found is not None and spent - found.whole.value >= worth:
            yield lines, found
            spent = found.whole.value


def _ending(least_saving: float, currency: str) -> str:
    if least_saving > 0:
        return f"all further lines together save less than {least_saving:g} {currency}/kg"
    return "no further line saves anything"


def smallest_move(brief: Brief) -> float:
    """The least a changed line changes, mass fraction: what one step of the scale is of the batch."""
    return max(1e-5, brief.step / (1000 * brief.batch))


def _price(formula: Formula, currency: str) -> float:
    value = cost(currency).of(formula)
    if value is None:
        lacking = [line.ingredient.name for line in formula.lines if line.ingredient.value("price") is None]
        raise BadInput(
            [Fault("own file", "price", f"none in {currency}/kg for {', '.join(lacking)}", "a price for every line")]
        )
    return value


def _near(mix: Mix, formula: Formula) -> Vector:
    return np.array([formula.fraction(item.name) for item in mix.ingredients])


@dataclass(frozen=True)
class _Step:
    """A solved number of lines, with the program of its fractions alone."""

    whole: WholeSolution
    base: Program


@dataclass(frozen=True)
class _Ladder:
    """One brief around one formula, solved for any number of changing lines."""

    brief: Brief
    today: Formula
    asked: tuple[Demand, ...]
    balance: str
    most_change: float
    solver: SolverName

    def solve(self, lines: int) -> _Step | None:
        """The best for so many lines; limits that bend are taken anew at each answer until one keeps them."""
        at = _near(self.brief.mix, self.today)
        for _ in range(MOST_ROUNDS):
            base, found = self.base(at), solve_whole(self.program(lines, at), self.solver)
            if found is None:
                return None
            at = found.x[: len(at)]
            if all(demand.met(at) for demand in self.asked if demand.bends):
                return _Step(found, base)
        return None

    def program(self, lines: int, at: Vector) -> Program:
        """Fractions, and for each line but the balance whether it goes up or down: 0 or 1, at most `lines` in all.

        A line that changes moves by at least one step of the scale (or to nothing) and at most `most_change`.
        """
        base = self.base(at)
        names = [f"{base.columns[j]} {way}" for way in ("up", "down") for j in self._free]
        none = np.zeros(len(names))
        wide = base.widened(names, none, none, np.ones(len(names)), whole=True)
        return wide.with_rows([*wide.rows, *self._switches(len(base.columns), len(wide.columns), lines)])

    def base(self, at: Vector) -> Program:
        """The fractions alone, any of them free to change; rows near the fractions `at`."""
        mix = self.brief.mix
        prices = cost(self.brief.currency).terms(mix, np.zeros(len(at))).numerator
        return program_at(frame(self.brief, prices), self.asked, at)

    @cached_property
    def _free(self) -> list[int]:
        """Lines with switches: neither the balance nor pinned where they are."""
        lines = zip(self.brief.mix.ingredients, self.brief.ranges, _near(self.brief.mix, self.today), strict=True)
        pinned = [span.pinned and abs(span.low - r) < UNMOVED for _, span, r in lines]
        return [j for j, item in enumerate(self.brief.mix.ingredients) if item.name != self.balance and not pinned[j]]

    def _switches(self, count: int, width: int, lines: int) -> Iterator[Row]:
        """Rows that tie each fraction to its switches: r - down D <= x <= r + up U, and least moves."""
        before, free, least = _near(self.brief.mix, self.today), self._free, smallest_move(self.brief)
        for k, j in enumerate(free):
            up, down, r = count + k, count + len(free) + k, float(before[j])
            name = self.brief.mix.ingredients[j].name
            most_up, most_down = min(self.most_change, 1 - r), min(self.most_change, r)
            least_up, least_down = min(least, most_up), min(least, most_down)
            yield _row(width, {j: 1.0, up: -most_up, down: least_down}, Sense.AT_MOST, r, f"{name} up")
            yield _row(width, {j: 1.0, up: -least_up, down: most_down}, Sense.AT_LEAST, r, f"{name} down")
            yield _row(width, {up: 1.0, down: 1.0}, Sense.AT_MOST, 1.0, f"{name} one way")
        switches = {count + k: 1.0 for k in range(2 * len(free))}
        yield _row(width, switches, Sense.AT_MOST, float(lines), "lines that change")

    def rung(self, lines: int, step: _Step, before: float, brief: Brief) -> Rung:
        found = step.whole
        x = found.x[: len(self.brief.mix.ingredients)]
        saving = before - found.value
        return Rung(
            lines=lines,
            report=report(formula_of(self.brief, x, f"{lines} changed"), setting_of(brief)),
            cost=found.value,
            saving=saving,
            saving_per_jar=saving * brief.jar if brief.jar else None,
            moves=tuple(self._moves(x)),
            stops=tuple(self._stops(step)),
            certificate=found.certificate,
            gap=found.gap,
        )

    def _moves(self, x: Vector) -> list[Move]:
        names = [item.name for item in self.brief.mix.ingredients]
        after = dict(zip(names, 100 * x, strict=True))
        gone = [line.ingredient.name for line in self.today.lines if line.ingredient.name not in after]
        moves = [Move(name, 100 * self.today.fraction(name), float(after.get(name, 0.0))) for name in [*names, *gone]]
        return sorted((move for move in moves if abs(move.points) > 1e-4), key=lambda move: -abs(move.points))

    def _stops(self, step: _Step) -> list[Demand]:
        """What binds, with the changing lines as found, by what one unit looser would save."""
        count, whole = len(self.brief.mix.ingredients), step.whole.x
        x, before = whole[:count], _near(self.brief.mix, self.today)
        up, down = (np.zeros(count) for _ in range(2))
        up[self._free], down[self._free] = np.split(whole[count:], 2)
        low, high = np.maximum(0, before - down * self.most_change), np.minimum(1, before + up * self.most_change)
        balance = np.array([item.name == self.balance for item in self.brief.mix.ingredients])
        low, high = np.where(balance, 0.0, np.minimum(low, x)), np.where(balance, 1.0, np.maximum(high, x))
        base = step.base.with_bounds(low, high)
        pricer = Pricer(base)
        priced = []
        for index, row in enumerate(base.rows):
            tight = abs(float(row.coefficients @ x) - row.rhs) <= 1e-7 * (1 + abs(row.rhs))
            if row.key is not None and tight and (price := abs(pricer.looser(index).price_at(0.0))) > 1e-7:
                priced.append((price, self.asked[row.key]))
        return [demand for _, demand in sorted(priced, key=lambda pair: -pair[0])]


def _row(width: int, entries: Mapping[int, float], sense: Sense, rhs: float, words: str) -> Row:
    coefficients = np.zeros(width)
    for column, value in entries.items():
        coefficients[column] += value
    return Row(words, coefficients, sense, rhs)
