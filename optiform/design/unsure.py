"""Limits that the best formula could miss because the figures behind them are ranges, and what being sure costs.

The protection is that of `program/robust.py`, for these limits only. It is looked for where the answer lies: in the way
the answer keeps what can be kept in several ways, and near it where something bends. There it is one more search, which
begins at the answer.
"""

from collections.abc import Container, Iterator, Sequence

from optiform.brief.brief import Brief
from optiform.design.answer import Unsure
from optiform.program.build import Demand
from optiform.program.linear import Program
from optiform.program.robust import doubts, protected, worst_value
from optiform.program.search import BestFormula, Infeasible, Search, Shape
from optiform.properties.base import Vector
from optiform.reading.faults import Unproven


def unsure(
    brief: Brief, asked: Sequence[Demand], solution: BestFormula, x: Vector, several: bool, priced: bool = True
) -> Unsure | None:
    """What the answer x could miss, and the price of being sure of it; None where every limit holds at its worst.

    Args:
        brief: what was asked.
        asked: the demands as the answer keeps them.
        solution: the search that gave the answer.
        x: its mass fractions.
        several: whether some limit can be kept in other ways too, so that another way may be cheaper.
        priced: whether the price is asked for; else it stays undecided.
    """
    missable = dict(_missable(asked, x))
    limits = tuple((asked[key], worst) for key, worst in missable.items())
    unguarded = tuple(_unguarded(brief, asked, x))
    at_most = several or any(demand.bends for demand in asked)
    if missable and not priced:
        return Unsure(limits, None, None, at_most, False, unguarded)
    for budget in (None, 1) if missable else ():
        try:
            best = Search(brief, shape=_guard(asked, budget, missable)).beside(asked, x)
        except Unproven:
            return Unsure(limits, budget, None, at_most, False, unguarded)
        if not isinstance(best, Infeasible):
            price = max(0.0, brief.goal.sign * (best.value - solution.value))
            return Unsure(limits, budget, price, at_most, unguarded=unguarded)
    return Unsure(limits, None, None, at_most, unguarded=unguarded) if limits or unguarded else None


def _guard(asked: Sequence[Demand], budget: int | None, only: Container[int]) -> Shape:
    def guarded(program: Program, at: Vector) -> Program:
        return protected(program, asked, at, budget, only)

    return guarded


def _missable(asked: Sequence[Demand], x: Vector) -> Iterator[tuple[int, float]]:
    """Places of the limits that are missed with every figure at its worse end, and their value then."""
    for key, demand in enumerate(asked):
        worst = worst_value(demand, x) if doubts(demand, x).any() else None
        if worst is None:
            continue
        if _short(demand, worst):
            yield key, worst


def _unguarded(brief: Brief, asked: Sequence[Demand], x: Vector) -> Iterator[tuple[Demand, float]]:
    """The limits that are missed at the worse end of a range that no figure brings, which only holds at x."""
    bending = {limit.property.name: limit.property for limit in brief.limits if limit.property.bends}
    for demand in {(demand.name, demand.side): demand for demand in asked}.values():  # one for each smooth piece
        if demand.kind != "limit" or demand.name not in bending or doubts(demand, x).any():
            continue
        span = bending[demand.name].at(brief.mix, x).span(x)
        if span is not None and _short(demand, worst := min(span) if demand.side == "low" else max(span)):
            yield demand, worst


def _short(demand: Demand, value: float) -> bool:
    off = demand.target - value if demand.side == "low" else value - demand.target
    return off > 1e-6 * (1 + abs(demand.target))
