"""Why the best formula is not the one a maker has in mind, and the least that would have to change.

For an ingredient that is not used: the price at which it would be (program/sensitivity.py, over every branch), and each
limit that would let it in if it alone moved, with the target nearest to today's (explore.py). For a whole formula: the
limits it misses, the least change of prices that makes it the cheapest (program/inverse.py), and each limit that would
make it the best if it alone were as tight as the formula meets it; where no one does, some that do together and of
which none can be left out. Every figure that is told has been designed with again, and the ingredient was used there,
or the formula the best.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import floor

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.usual import advised
from optiform.design.answer import NoFormula
from optiform.design.changes import (
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
from optiform.design.design import Best, best
from optiform.design.explore import TradeOff, curve_near
from optiform.design.facts import Fact
from optiform.design.mine import why_not_formula
from optiform.design.why import Why
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.program.build import OWN_KINDS, Demand
from optiform.program.certificate import NotCertified
from optiform.program.tolerances import UNUSED
from optiform.program.usual import refuse_most, requirements
from optiform.properties.base import Mix
from optiform.reading.faults import BadInput, Unsettled

FAR = 3.0  # times its target: how far a limit that is no share is looked at
DEAR = 1e3  # times the dearest candidate: the price of one that has none, at which it is used only where it must be
IN_USE = 1e-7  # mass fraction: a line on a curve, whose points are rounded
DIGITS = (2, 3, 4, 6)  # of a target that is told, the fewest that will do


Subject = Ingredient | Formula


def why_not(brief: Brief, subject: Subject) -> WhyNot | NoFormula:
    """What would have to change for an ingredient to be used, or for a formula to be the best; see the two above."""
    return why_not_formula(brief, subject) if isinstance(subject, Formula) else why_not_ingredient(brief, subject)


def why_not_ingredient(brief: Brief, item: Ingredient) -> WhyNot | NoFormula:
    """What would have to change for an ingredient to be used.

    Raises:
        BadInput: a figure of it lacks that a limit or the goal needs.
        Unsettled: when a search does not come to rest.
        NotCertified: when a proof does not check.
    """
    refuse_most(brief)
    reasons = dict(brief.left_out)
    foreign = item not in brief.mix.ingredients
    brings_in = ((item.name, reasons.get(item.name, Fact.NOT_AMONG_CANDIDATES)),) if foreign else ()
    unpriced = by_cost(brief) and item.price_in(brief.currency) is None
    item = _dear(brief, item) if unpriced else item
    brief = with_candidate(brief, item) if foreign else brief
    answer = best(brief)
    if isinstance(answer, NoFormula):
        return answer
    brief = answer.brief
    column = brief.mix.ingredients.index(item)
    share, used = float(answer.x[column]), bool(answer.x[column] > UNUSED)
    moves, unlooked = ([], ()) if used else _letting_in(brief, item.name, column)
    prices = () if used or not by_cost(brief) else tuple(_entry_price(answer, column))
    prices = tuple(replace(move, now=None) for move in prices) if unpriced else prices
    return WhyNot(
        brief, item.name, None, brings_in, 100 * share if used else 0.0, used, None, None, (), prices,
        tuple(moves), (), tuple(unlooked),
    )  # fmt: skip


def _dear(brief: Brief, item: Ingredient) -> Ingredient:
    """An ingredient without a price, at one so high that it is used only where nothing else will do."""
    price = DEAR * (1.0 + float(prices_of(brief).max(initial=0.0)))
    value = Value(None, price, None, f"{brief.currency}/kg", "", Evidence.ASSUMED)
    return replace(item, values={**item.values, ("price", None): value})


def with_candidate(brief: Brief, item: Ingredient) -> Brief:
    """The brief with one candidate more.

    Raises:
        BadInput: a figure of it lacks that a limit or the goal needs.
    """
    mix = Mix((*brief.mix.ingredients, item), (*brief.mix.phases, item.phase))
    return judged(replace(brief, mix=mix, ranges=(*brief.ranges, advised(item, brief.kind))), item.name)


def _entry_price(answer: Best, column: int) -> Iterator[PriceMove]:
    """The price below which an unused candidate is used, rounded down, where it is used at that price."""
    item, prices = answer.brief.mix.ingredients[column], prices_of(answer.brief)
    entry = Why(answer.brief, answer.asked, answer.solution).entry(column)
    price = 0.0 if entry.below is None else _rounded_down(entry.below)
    if price <= 0:
        return
    repriced = priced(answer.brief, np.where(np.arange(len(prices)) == column, price, prices))
    again = solve_with(repriced, requirements(repriced))
    if again is not None and again.x[column] > UNUSED:
        yield PriceMove(item.name, float(prices[column]), price)


def _rounded_down(price: float) -> float:
    """A price a little below one, in whole hundredths where there are some."""
    hundredths = floor(100 * price * (1 - MOVED))
    return hundredths / 100 if hundredths >= 1 else price * 0.99


def _letting_in(brief: Brief, name: str, column: int) -> tuple[list[LimitMove], list[str]]:
    """Each limit that would let a candidate in, the least change first; and those that could not be followed.

    The brief's own limits, and whatever bounds the candidate itself; what is usual only where none of these does.
    """
    sides = [demand for demand in own_sides(requirements(brief)) if (demand.name, demand.side) != (name, "low")]
    first = [demand for demand in sides if demand.kind in OWN_KINDS or demand.name == name]
    moves, unlooked = _entering_by(brief, first, column)
    if not moves:
        moves, more = _entering_by(brief, [demand for demand in sides if demand not in first], column)
        unlooked += more
    return sorted(moves, key=size_of), unlooked


def _entering_by(brief: Brief, demands: Sequence[Demand], column: int) -> tuple[list[LimitMove], list[str]]:
    moves, unlooked = [], []
    for demand in demands:
        try:
            move = _entering(brief, demand, column)
        except (BadInput, Unsettled, NotCertified):
            unlooked.append(demand.words)
            continue
        moves += [move] if move else []
    return moves, unlooked


def _entering(brief: Brief, demand: Demand, column: int) -> LimitMove | None:
    """The target of one limit nearest to today's, looser or tighter, at which a candidate is used, if any."""
    start, end = (0.0, 100.0) if demand.unit == "%" else sorted((0.0, FAR * demand.target))
    curve = curve_near(brief, demand.name, demand.side, start, end)
    if isinstance(curve, NoFormula):
        return None
    targets = sorted(_using(curve, column, demand.target), key=lambda target: abs(target - demand.target))
    for target in targets[:2]:
        share = _share_at(brief, demand, target, column)
        if share > UNUSED:
            return LimitMove(demand, demand.target, target, 100 * share)
    return None


def _using(curve: TradeOff, column: int, now: float) -> Iterator[float]:
    """On either side of today's target the first stretch where a candidate is used: a round target just inside."""
    for way in (-1, 1):
        for piece in curve.curve.pieces[::way]:
            near, far = (piece.start, piece.end)[::way]
            near = way * max(way * near, way * now)
            if way * (far - near) > 0 and _fraction(curve, (near + far) / 2, column) > IN_USE:
                yield _inside(near, far)
                break


def _fraction(curve: TradeOff, target: float, column: int) -> float:
    return float(curve.scale.fractions(curve.curve.point_at(target))[column])


def _inside(near: float, far: float) -> float:
    """The roundest number beyond `near` and not beyond `far`.

    Example:
        >>> _inside(7.9123, 9.0), _inside(0.5, 0.2)
        (8.0, 0.49)
    """
    for digits in DIGITS:
        step = 10.0 ** (floor(np.log10(max(abs(near), abs(far)))) + 1 - digits) * np.sign(far - near)
        number = round((floor(near / step + MOVED) + 1) * step, 12)
        if (number - near) * step > 0 and (far - number) * step >= 0:
            return float(number)
    return (near + far) / 2


def _share_at(brief: Brief, demand: Demand, target: float, column: int) -> float:
    """How much of a candidate the best formula has where one limit is another."""
    answer = solve_with(brief, moved_to(requirements(brief), {(demand.name, demand.side): target}))
    return 0.0 if answer is None else float(answer.x[column])
