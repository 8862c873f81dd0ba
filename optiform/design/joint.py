"""The formulas of a plan and the packs for them as one program: what each product may become, and the best of it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.costs.buy import Balance, shopping_of
from optiform.costs.plan import Plan, Product
from optiform.design.around import as_kept_by, balance_of, held, holding, with_lines_of
from optiform.design.design import formula_of
from optiform.design.shared import Sharer, base_rows
from optiform.ingredients.formula import Formula
from optiform.program.build import OWN_KINDS, Demand, Requirements, frame
from optiform.program.disjunctive import with_ways
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.purchase import CENT, MG
from optiform.program.shelf import Joined, Made, Shelf, joined
from optiform.program.timed import Timed, Watch, solve_within
from optiform.program.usage import ceilings
from optiform.program.usual import requirements
from optiform.properties.cost import cost
from optiform.reading.faults import Unsettled
from optiform.reading.frozen import frozen
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf, usable

MOST_ROUNDS = 6
MAY_BE_BROKEN = (*OWN_KINDS, "usual")  # what a formula that is made today is not asked for, where it breaks it


@frozen
class Candidate:
    """A product whose formula is open: what its brief asks, around the formula of the plan where there is one.

    What customers notice of that formula stays within the tolerances of `cheaper`. What it breaks of the brief's own
    limits and lines is not asked.

    `of_base`: on a base that is fixed for another product, how much of it is in this one against that one. What the
    brief fixes of a line of the base then differs as much.
    """

    product: Product
    of_base: float = 1.0

    @cached_property
    def today(self) -> Formula | None:
        """The formula of the plan."""
        return self.product.formula if self.product.formula.lines else None

    @cached_property
    def brief(self) -> Brief:
        """The brief, with every line of the plan's formula a candidate and what customers notice as limits."""
        if self.today is None:
            return replace(self.product.brief, doses=tuple(item.name for item in self.product.brief.mix.ingredients))
        around = with_lines_of(replace(self.product.brief, reference=self.today), self.today)
        kept = holding(around, held(around))
        return replace(kept, doses=tuple(_may_run_short(kept, self.today, self.product.move)))

    @cached_property
    def start(self) -> Vector:
        """The fractions of the plan's formula; zeros where it has none."""
        return self.brief.mix.vector(self.today) if self.today else np.zeros(len(self.brief.mix.ingredients))

    @cached_property
    def needed(self) -> Requirements:
        """What is asked of the formula."""
        asked = requirements(self.brief)
        asked = asked if self.of_base == 1.0 else asked.each(self._as_in_base)
        return as_kept_by(asked, self.start).without_broken(self.start, MAY_BE_BROKEN) if self.today else asked

    def _as_in_base(self, demand: Demand) -> Demand:
        """A line of the base as loose as the base differs; anything else as it is."""
        if demand.kind != "line" or demand.name in self.sharer.doses:
            return demand
        differs = min(1.0, self.of_base) if demand.side == "low" else max(1.0, self.of_base)
        return demand.moved(demand.target * differs)

    @property
    def broken(self) -> tuple[Demand, ...]:
        """What the plan's formula breaks already, so that it is not asked."""
        if self.today is None:
            return ()
        near = requirements(self.brief).near(self.start)
        return tuple(demand for demand in near if demand.kind in MAY_BE_BROKEN and not demand.met(self.start))

    @property
    def sharer(self) -> Sharer:
        """What it brings to a base that it shares."""
        return Sharer(self.product, self.brief, self.today)

    def stays_possible(self) -> bool:
        """Whether the plan's formula keeps all that is asked."""
        return self.today is not None and self.needed.kept_by(self.start)

    def program(self, at: Vector, bent: bool) -> Program:
        """The fractions with all that is asked near `at`, and behind them what moves."""
        program = with_ways(self._frame, self.needed, at, bent)
        if self.today is None:
            return program
        doses = np.where(self.start > 0, 0.0, np.minimum(least_doses(self.brief), self.product.move))
        return _with_moves(program, [item.name for item in self.brief.mix.ingredients], self.start, doses)

    @cached_property
    def _frame(self) -> Program:
        """The fractions, none further from the plan's formula than it may move."""
        base, move = frame(self.brief, np.zeros(len(self.start))), self.product.move
        if self.today is None:
            return base
        free = [move > 0 and item.name == balance_of(self.today).name for item in self.brief.mix.ingredients]
        low, high = np.maximum(0.0, self.start - move), np.minimum(1.0, self.start + move)
        return base.with_bounds(np.where(free, 0.0, low), np.where(free, 1.0, high))

    def effort(self, width: int) -> Vector:
        """What is made small once the money is least: % points that change hands and lines that change, each as much
        as a point; of a new formula its cost per kg.
        """
        weights, count = np.zeros(width), len(self.start)
        if self.today is None:
            weights[:count] = cost(self.brief.currency).terms(self.brief.mix, self.start).numerator
        else:
            weights[width - 3 * count : width - count], weights[width - count :] = 50.0, 1.0
        return weights


def _may_run_short(brief: Brief, today: Formula, move: float) -> Iterator[str]:
    """Lines of today's formula that could end below their least dose: there is none of them then, or enough."""
    balance = balance_of(today).name
    for item, dose in zip(brief.mix.ingredients, least_doses(brief), strict=True):
        share = today.fraction(item.name)
        if move > 0 and dose > 0 and share > 0 and (item.name == balance or share - move < dose):
            yield item.name


def _with_moves(program: Program, names: Sequence[str], start: Vector, doses: Vector) -> Program:
    """The program with three columns more for each line: how far it goes up, how far down, and whether it moves.

    What moves has at least its dose.
    """
    first, count = len(program.columns), len(start)
    high = ceilings(program)[:count]
    none, most = np.zeros(count), np.concatenate([np.maximum(0.0, high - start), start])
    wide = program.widened(
        [f"{name} {way}" for way in ("up", "down") for name in names], np.zeros(2 * count), np.zeros(2 * count), most
    ).widened([f"{name} moves" for name in names], none, none, np.ones(count), whole=True)
    width, rows = len(wide.columns), list(wide.rows)
    for j, name in enumerate(names):
        up, down, moves = first + j, first + count + j, first + 2 * count + j
        change = {j: 1.0, up: -1.0, down: 1.0}
        rows.append(Row.of(f"change of {name}", width, change, Sense.EQUAL, float(start[j])))
        room = {up: 1.0, down: 1.0, moves: -float(max(most[j], most[count + j]))}
        rows.append(Row.of(f"{name} changes only if it moves", width, room, Sense.AT_MOST))
        if doses[j] > 0:
            enough = {j: 1.0, moves: -float(doses[j])}
            rows.append(Row.of(f"{name} at its least dose if it moves", width, enough, Sense.AT_LEAST))
    return wide.with_rows(rows)


@frozen
class Formulas:
    """The formulas of least money, and the jars of each product.

    `bound`: no choice of formulas and packs has a lower value, money less leftovers. Not `finished`: it was stopped, by
    the keyboard where `stopped` says so.
    """

    formulas: tuple[Formula, ...]
    jars: tuple[int, ...]
    bound: float
    finished: bool
    stopped: bool


@frozen
class Joint:
    """Products on one shelf.

    Attributes:
        use_up: an ingredient, of whose stock as much goes in as can, whatever it costs; jars that the plan leaves open
            are chosen for it.
        shared: places of the products that share a base; none has open jars then.
    """

    plan: Plan
    candidates: tuple[Candidate, ...]
    offers: tuple[Offer, ...]
    lots: tuple[OnShelf, ...]
    use_up: str = ""
    shared: tuple[int, ...] = ()

    def best(self, seconds: float, watch: Watch | None = None) -> Formulas | None:
        """The formulas of least money, of these the least changed; None where no formulas can be made.

        Raises:
            Unsettled: when it was stopped before there was any answer, or limits that bend do not come to rest.
            NotCertified: as in `program.timed`.
        """
        points = [candidate.start for candidate in self.candidates]
        bends = any(demand.bends for candidate in self.candidates for demand in candidate.needed.demands)
        bound = -np.inf
        if bends:
            relaxed = solve_within(self._joined(points, False, seconds, watch).program, seconds, watch)
            if relaxed.best is None:
                return None
            bound = relaxed.best.bound
        for _ in range(MOST_ROUNDS if bends else 1):
            together = self._joined(points, True, seconds, watch)
            cheapest = solve_within(together.program, seconds, watch)
            if cheapest.best is None and not bends:
                return None
            if cheapest.best is None:
                break
            x = self._least_changed(together, cheapest, seconds, watch)
            points = [together.shares(x, p) for p in range(len(self.candidates))]
            if all(c.needed.kept_by(point) for c, point in zip(self.candidates, points, strict=True)):
                formulas = [
                    formula_of(c.brief, point, c.product.name) for c, point in zip(self.candidates, points, strict=True)
                ]
                proven = bound if bends else cheapest.best.bound
                jars = tuple(self._jars(together, x))
                return Formulas(tuple(formulas), jars, proven, cheapest.finished, cheapest.stopped)
        raise Unsettled("the formulas did not come to rest on limits that bend")

    def _jars(self, together: Joined, x: Vector) -> Iterator[int]:
        for place, candidate in enumerate(self.candidates):
            open_jars = together.jars(x, place)
            yield candidate.product.jars if open_jars is None else open_jars

    def _joined(self, points: Sequence[Vector], bent: bool, seconds: float, watch: Watch | None) -> Joined:
        """The program near these points, with what is to be used up as a row of it."""
        together = self._in_goes(self._side_by_side(points, bent))
        if self.shared:
            sharers = {place: self.candidates[place].sharer for place in self.shared}
            rows = base_rows(together, sharers, self._names)
            together = replace(together, program=together.program.with_rows([*together.program.rows, *rows]))
        if not self.use_up:
            return together
        program, number = together.program, self._names.index(self.use_up)
        used = np.zeros(len(program.columns))
        for column, kg in together.uses(number).items():
            used[column] = kg
        used[together.lacking + number] = -1.0  # what lacks is bought, and not of the stock
        most = solve_within(program.with_cost(-used), seconds, watch, checked=False).best
        if most is None:
            return together
        row = Row(f"{self.use_up} used up", used, Sense.AT_LEAST, -most.value - MG)
        return replace(together, program=program.with_rows([*program.rows, row]))

    def _side_by_side(self, points: Sequence[Vector], bent: bool) -> Joined:
        made = [
            self._made(candidate, candidate.program(point, bent))
            for candidate, point in zip(self.candidates, points, strict=True)
        ]
        return joined(made, self._shelf)

    def _made(self, candidate: Candidate, program: Program) -> Made:
        product, names = candidate.product, [item.name for item in candidate.brief.mix.ingredients]
        numbers = tuple(map(self._names.index, names))
        if not self.use_up or self.shared or product.fewest is None:
            return Made(program, numbers, product.weighed)
        return Made(program, numbers, product.each, (product.fewest, product.jars))

    def _in_goes(self, together: Joined) -> Joined:
        """With the goes of every product whose jars are open, so many in all as the plan allows."""
        vessel, most = self.plan.vessel, self.plan.most_goes
        columns = [(place, together.jar_column(place)) for place in range(len(self.candidates))]
        jars = [(column, self.candidates[place].product) for place, column in columns if column is not None]
        if vessel is None or most is None or not jars:
            return together
        fixed = sum(self.candidates[place].product.goes(vessel) for place, column in columns if column is None)
        first, count = len(together.program.columns), len(jars)
        names = [f"goes of {product.name}" for _, product in jars]
        high = np.array([float(product.goes(vessel)) for _, product in jars])
        wide = together.program.widened(names, np.zeros(count), np.zeros(count), high, whole=True)
        width = len(wide.columns)
        rows = [
            Row.of(f"{name} hold it", width, {first + k: vessel, column: -product.each}, Sense.AT_LEAST)
            for k, (name, (column, product)) in enumerate(zip(names, jars, strict=True))
        ]
        goes = dict.fromkeys(range(first, width), 1.0)
        rows.append(Row.of("goes", width, goes, Sense.AT_MOST, float(most - fixed)))
        return replace(together, program=wide.with_rows([*wide.rows, *rows]))

    def _least_changed(self, together: Joined, cheapest: Timed, seconds: float, watch: Watch | None) -> Vector:
        """Of all points of that money one that changes formulas least; the cheapest itself where none comes in time."""
        assert cheapest.best is not None
        if cheapest.stopped:
            return cheapest.best.x
        program = together.program
        effort = np.zeros(len(program.columns))
        for start, made, candidate in zip(together.starts, together.made, self.candidates, strict=True):
            width = len(made.program.columns)
            effort[start : start + width] = candidate.effort(width)
        held_money = Row("the least money", program.cost, Sense.AT_MOST, cheapest.best.value + CENT)
        try:
            nearest = solve_within(
                program.with_rows([*program.rows, held_money]).with_cost(effort), seconds, watch, checked=False
            )
        except Unsettled:
            return cheapest.best.x
        return cheapest.best.x if nearest.best is None else nearest.best.x

    @cached_property
    def _names(self) -> list[str]:
        """Every ingredient that some product may have."""
        return list(dict.fromkeys(item.name for c in self.candidates for item in c.brief.mix.ingredients))

    @cached_property
    def _shelf(self) -> Shelf:
        there = usable(self.lots, self.plan.date)
        on_offer = [o for o in self.offers if o.currency == self.plan.currency and o.ingredient in self._names]
        shopping = shopping_of(self.plan, [Balance(name, (), 0.0, 0.0, 0.0) for name in self._names], on_offer)
        stock = tuple(there.get(name, 0.0) for name in self._names)
        return Shelf(stock, shopping.packs, shopping.suppliers, shopping.worth)
