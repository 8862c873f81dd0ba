"""Cheaper: the formula sold today at less cost, changing few lines, holding what customers notice."""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.design.answer import NoFormula
from optiform.design.around import (
    NOTICED,
    Held,
    NotHeld,
    as_mild,
    balance_of,
    closed_to,
    held,
    holding,
    not_held,
    today_of,
)
from optiform.design.design import best, formula_of
from optiform.design.endings import ending
from optiform.design.facts import Fact, LittleToSave, MovesTooSmall, OtherThickness, Undecided, UnknownThickness
from optiform.design.few_changes import LEAST, Search, Step, needed_of, start_of
from optiform.design.spreading import spreading
from optiform.design.switches import smallest_move as smallest_move
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand
from optiform.program.certificate import Certificate
from optiform.program.linear import Vector
from optiform.program.prices import Pricer
from optiform.program.solver import SolverName
from optiform.properties.cost import cost
from optiform.reading.answer import Ranked
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.order import largest_first
from optiform.reading.progress import Progress
from optiform.review.answer import Formulated, Report
from optiform.review.measures import setting_of
from optiform.review.report import report

#: Of what today's formula costs: a further line that saves less is not worth a trial of its own. Common practice, no
#: source; a maker's own least saving goes before it.
WORTH = 0.01
SHOWN = 1e-6  # mass fraction: a change of less is none
SAME_COST = 1e-9  # per kg: rounding in a cost


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
        thickness: how thick the oils that come in are against those that go; None where none of either does.
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
    thickness: OtherThickness | UnknownThickness | None = None


@frozen
class CheaperOptions(Ranked[CheaperOption]):
    """From one line changed to as many as help. `note` says why it ends where it does.

    Attributes:
        gone: lines of today's formula that are no candidates any more, each with the reason: they change in any case.
        impossible: why nothing fits, where the brief cannot be met at all, or not together with what is held.
        not_held: what customers may notice that is not held, as a figure of today's formula is missing.
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
    not_held: tuple[NotHeld, ...] = ()

    def ranked(self) -> tuple[CheaperOption, ...]:
        """The cheapest first."""
        return self.rungs[::-1]


def cheaper(
    brief: Brief,
    tolerances: Mapping[str, float] = NOTICED,
    least_saving: float | None = None,
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
        least_saving: per kg, what each further line saves at least: an option is made where it saves as many times this
            over the one before as it changes lines more. None: `WORTH` of what today's formula costs.
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
    wanted = replace(holding(as_mild(closed, today), noticed), goal=Lowest(cost(brief.currency)))
    before = _price(today, brief.currency)
    balance = balance_of(today).name
    start = start_of(wanted, today, balance)
    search = Search(wanted, today, start, needed_of(wanted, start), balance, most_change, solver)
    asked = WORTH * before if least_saving is None else least_saving
    worth = max(asked, LEAST)
    search, last, restless = search.dosed(search.most, fee=worth)
    nothing_fits = last is None and not restless
    undecided: dict[int, str] = {}
    climb = () if nothing_fits else _climb(search, last, before, worth, progress, undecided)
    rungs = tuple(_option(search, lines, step, before, brief) for lines, step in climb)
    judged = replace(brief, left_out=wanted.left_out)
    impossible = _impossible(brief, wanted, solver) if nothing_fits else None
    share = WORTH if least_saving is None else None
    some = asked > LEAST and (rungs or search.saves(before))
    little = LittleToSave(asked, brief.currency, share, more=bool(rungs)) if some else None
    end = ending(bool(rungs), little, undecided)
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
        not_held=not_held(brief, tolerances),
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
    search: Search,
    last: Step | None,
    spent: float,
    worth: float,
    progress: Progress | None,
    undecided: dict[int, str],
) -> Iterator[tuple[int, Step]]:
    """Each number of lines up to that of `last` that saves `worth` for each line more than the option before.

    `last` is the best where each line counts `worth` beside the cost, so that no number of further lines saves that
    much for each of them. Where it is not known, every number is tried. A number of lines whose answers do not come to
    rest is passed over and noted in `undecided`, with the reason.
    """
    before = len(search.gone)
    end = before + last.lines if last else search.most - 1
    for lines in range(max(1, before), end + 1):
        enough = spent - worth * max(1, lines - before)
        step, restless = last, ""
        if last is None or lines < end:
            search, step, restless = search.dosed(lines, enough + SAME_COST)
        if restless:
            undecided[lines] = restless
        if progress is not None:
            progress(lines, end)
        if step is not None and step.whole.value <= enough + SAME_COST:
            yield lines, step
            spent, before = step.whole.value, lines


def _price(formula: Formula, currency: str) -> float:
    value = cost(currency).of(formula)
    if value is None:
        lacking = "; ".join(x.ingredient.name for x in formula.lines if x.ingredient.price_in(currency) is None)
        fault = Fault(
            formula.origin or formula.name, "price", "nothing", "a price for every line",
            f"No price in {currency}/kg for {lacking}. Add it to your price table: every line needs one.",
        )  # fmt: skip
        raise BadInput([fault])
    return value


def _option(search: Search, lines: int, step: Step, before: float, brief: Brief) -> CheaperOption:
    solution = step.whole
    x = solution.x[: len(search.brief.mix.ingredients)]
    saving = before - solution.value
    formula = formula_of(search.brief, x, f"{lines} changed")
    return CheaperOption(
        lines=lines,
        report=report(formula, setting_of(brief)),
        cost=solution.value,
        saving=saving,
        saving_per_jar=saving * brief.jar if brief.jar else None,
        moves=tuple(_moves(search, x)),
        stops=tuple(_stops(search, step)),
        certificate=solution.certificate,
        gap=solution.gap,
        thickness=spreading(search.today, formula),
    )


def _moves(search: Search, x: Vector) -> list[Move]:
    """Lines that differ from today's, but for what the scale does not show of a line that stays."""
    names, was = [item.name for item in search.brief.mix.ingredients], search.today.fraction
    changed = [j for j, name in enumerate(names) if abs(x[j] - search.start[j]) > SHOWN]
    moves = [Move(names[j], 100 * was(names[j]), 100 * float(x[j])) for j in changed]
    moves += [Move(name, 100 * was(name), 0.0) for name in sorted(search.gone - set(names))]
    return sorted(moves, key=lambda move: largest_first(abs(move.points), move.ingredient))


def _stops(search: Search, step: Step) -> list[Demand]:
    """What binds, with the changing lines as found, by what one unit looser would save."""
    count, whole = len(search.brief.mix.ingredients), step.whole.x
    x, before = whole[:count], search.start
    up, down = (np.zeros(count) for _ in range(2))
    free = list(search.switches.free)
    up[free], down[free] = np.split(whole[len(whole) - 2 * len(free) :], 2)
    low, high = np.maximum(0, before - down * search.most_change), np.minimum(1, before + up * search.most_change)
    balance = np.array([item.name == search.balance for item in search.brief.mix.ingredients])
    low, high = np.where(balance, 0.0, np.minimum(low, x)), np.where(balance, 1.0, np.maximum(high, x))
    base = step.base.with_bounds(low, high)
    pricer = Pricer(base)
    priced = []
    for index, row in enumerate(base.rows):
        tight = abs(float(row.coefficients @ x) - row.rhs) <= 1e-7 * (1 + abs(row.rhs))
        if row.key is not None and tight and (price := abs(pricer.looser(index).price_at(0.0))) > 1e-7:
            priced.append((price, step.branch[row.key]))
    return [demand for _, demand in sorted(priced, key=lambda pair: largest_first(pair[0], pair[1].words))]
