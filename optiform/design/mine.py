"""What would have to change for a formula that a maker brings to be the best answer to a brief; see entry.py."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.around import as_kept_by, with_lines_of
from optiform.design.changes import (
    MOVABLE,
    MOVED,
    LimitMove,
    PriceMove,
    WhyNot,
    by_cost,
    judged,
    moved_to,
    own_sides,
    priced,
    prices_of,
    size_of,
    solve_with,
)  # fmt: skip
from optiform.design.design import best
from optiform.design.facts import Fact
from optiform.ingredients.formula import Formula
from optiform.program.build import Demand, Requirements, constant
from optiform.program.inverse import SAME, least_price_change
from optiform.program.tolerances import UNUSED
from optiform.program.usual import refuse_most, requirements
from optiform.properties.base import Side, Terms, Vector
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen

SIDES: tuple[Side, Side] = ("low", "high")


def why_not_formula(brief: Brief, formula: Formula) -> WhyNot:
    """What would have to change for a formula to be the best.

    Raises:
        BadInput: a figure of one of its lines lacks that a limit or the goal needs.
        Unsettled: when a search does not come to rest.
        NotCertified: when a proof does not check.
    """
    refuse_most(brief)
    reasons, names = dict(brief.left_out), {item.name for item in brief.mix.ingredients}
    foreign = dict.fromkeys(line.ingredient.name for line in formula.lines if line.ingredient.name not in names)
    brief = judged(with_lines_of(brief, formula), formula.name)
    answer, x = best(brief), brief.mix.vector(formula)
    brief = brief if isinstance(answer, NoFormula) else answer.brief
    asked = as_kept_by(requirements(brief), x)
    misses = tuple(_misses(asked, x))
    own = all(demand.kind in MOVABLE for demand, _ in misses)
    eased = moved_to(asked, {(demand.name, demand.side): value for demand, value in misses})
    case = _Case(brief, as_kept_by(eased, x), x)
    value, reached = case.value, case.best() if own else None
    already = reached is not None and case.as_good(reached)
    looking = own and not already
    limits = tuple(sorted(case.limit_moves(), key=size_of)) if looking else ()
    return WhyNot(
        brief=brief,
        subject=formula.name,
        formula=formula,
        brings_in=tuple((name, reasons.get(name, Fact.NOT_AMONG_CANDIDATES)) for name in foreign),
        percent=None,
        already=already and not misses,
        value=value,
        best=reached,
        misses=misses,
        prices=tuple(case.price_moves()) if looking and by_cost(brief) else (),
        limits=limits,
        together=tuple(case.together()) if looking and not limits else (),
        unlooked=(),
    )


def _misses(needed: Requirements, x: Vector) -> Iterator[tuple[Demand, float]]:
    """What a formula misses, each side of a limit once, with its worst value."""
    worst: dict[tuple[str, str], tuple[Demand, float]] = {}
    for demand in needed.near(x):
        value = demand.value(x)
        if value is None or demand.met(x):
            continue
        key = demand.name, demand.side
        if key not in worst or demand.miss(x) > worst[key][0].miss(x):
            worst[key] = demand, value
    yield from worst.values()


@frozen
class _Case:
    """A formula that keeps what is needed, against the best that does."""

    brief: Brief
    needed: Requirements
    x: Vector

    @property
    def value(self) -> float:
        """What the formula reaches of the goal."""
        value = self.brief.goal.value_at(self.brief.mix, self.x)
        if value is None:
            words = f"{self.brief.goal.words} has no value for this formula"
            inspection = Inspection(self.brief.title)
            inspection.fault("why not", words, "a formula that has some of what it is a mean of")
            inspection.finish()
        return float(value or 0.0)

    def best(self, needed: Requirements | None = None) -> float | None:
        """What the best formula reaches; None where nothing fits."""
        answer = solve_with(self.brief, self.needed if needed is None else needed)
        return None if answer is None else answer.value

    def as_good(self, reached: float) -> bool:
        """Whether the formula reaches as much."""
        return self.brief.goal.sign * (self.value - reached) <= SAME * (1 + abs(reached))

    def price_moves(self) -> Iterator[PriceMove]:
        """The least change of prices that makes the formula the cheapest."""
        now = prices_of(self.brief)
        for item, price, to in zip(
            self.brief.mix.ingredients, now, least_price_change(now, self.x, self._cheapest), strict=True
        ):
            if abs(to - price) > MOVED * (1 + price):
                yield PriceMove(item.name, float(price), float(to))

    def _cheapest(self, prices: Vector) -> Vector:
        answer = solve_with(priced(self.brief, prices), self.needed)
        return self.x if answer is None else answer.x

    def limit_moves(self) -> Iterator[LimitMove]:
        """Each limit and line that makes the formula the best where it alone asks for what the formula has."""
        yield from (move for demand, move in self._tight if self._makes_best([demand]))

    def together(self) -> Iterator[LimitMove]:
        """Limits and lines that make it the best together, and would not without any one of them."""
        left = dict(enumerate(self._tight))
        if not self._makes_best([demand for demand, _ in left.values()]):
            return
        for place in sorted(left, reverse=True):
            demand = left.pop(place)
            if not self._makes_best([other for other, _ in left.values()]):
                left[place] = demand
        yield from (left[place][1] for place in sorted(left))

    def _makes_best(self, tight: Sequence[Demand]) -> bool:
        reached = self.best(replace(self.needed, rest=(*self.needed.rest, *tight)))
        return reached is not None and self.as_good(reached)

    @cached_property
    def _tight(self) -> list[tuple[Demand, LimitMove]]:
        """What could be asked as tight as the formula has it: lines at least, limits, lines at most."""
        low, high = (list(self._lines(side)) for side in SIDES)
        limits = [(demand, demand.target) for demand in own_sides(self.needed) if demand.kind == "limit"]
        tight = []
        for demand, now in (*low, *limits, *high):
            value = demand.value(self.x)
            if value is not None and not demand.bends and (now is None or abs(value - now) > MOVED * (1 + abs(now))):
                tight.append((demand.moved(value), LimitMove(demand, now, value)))
        return tight

    def _lines(self, side: Side) -> Iterator[tuple[Demand, float | None]]:
        """Each candidate on one side, with the target that the brief sets there."""
        targets = {demand.name: demand.target for demand in self.needed.rest if demand.side == side}
        for j in np.flatnonzero((self.x > UNUSED) | (side == "high")):
            name, single = self.brief.mix.ingredients[j].name, Terms.exact(100.0 * np.eye(len(self.x))[j])
            yield Demand(name, "%", side, 0.0, "line", constant(single)), targets.get(name)
