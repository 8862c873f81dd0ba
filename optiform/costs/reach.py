"""What a formula can move of a jar's cost: the brief's cheapest, and the one nearest to today's that hits a cost.

Everything is reckoned at landed prices and with what is lost on the way, as in the cost sheet: a jar takes so many kg
weighed, and every kg of a formula costs sum(landed price x share).
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

from optiform.brief.brief import Brief
from optiform.brief.goal import Goal, Lowest, Nearest, points_moved
from optiform.brief.limits import Limit
from optiform.costs.file import Costs
from optiform.costs.landed import landed_price
from optiform.costs.sheet import Hit, Landed, Reach, Unpriced
from optiform.design.answer import NoFormula
from optiform.design.design import best
from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.cost import cost
from optiform.reading.frozen import frozen
from optiform.workshop.records import Offer

SAME = 1e-6  # relative: what rounding may make of a cost


@frozen
class LandedBrief:
    """A brief whose candidates have their landed prices; `weighed` kg go into a jar."""

    brief: Brief
    costs: Costs
    offers: Sequence[Offer]
    weighed: float

    @cached_property
    def landed(self) -> dict[str, Landed]:
        """The landed price of each candidate, by name."""
        items = self.brief.mix.ingredients
        return {item.name: landed_price(item, self.brief.currency, self.costs, self.offers) for item in items}

    @property
    def unpriced(self) -> Unpriced | None:
        """Why no formula can be looked for; None where one can."""
        names = tuple(name for name, price in self.landed.items() if price.per_kg is None)
        return Unpriced(names) if names else None

    def best(self, goal: Goal, name: str, *limits: Limit) -> Formula | NoFormula:
        """The best formula at these prices, its ingredients as the brief has them; else why there is none."""
        items = tuple(_at(item, self.landed[item.name], self.brief.currency) for item in self.brief.mix.ingredients)
        mix = replace(self.brief.mix, ingredients=items)
        answer = best(replace(self.brief, mix=mix, goal=goal, limits=(*self.brief.limits, *limits)))
        if isinstance(answer, NoFormula):
            return answer
        own = {item.name: item for item in self.brief.mix.ingredients}
        lines = (replace(line, ingredient=own[line.ingredient.name]) for line in answer.formula.lines)
        return Formula(name, tuple(lines))

    def a_jar(self, formula: Formula) -> float:
        """What a formula of candidates costs in a jar, what is lost of it included."""
        kg = math.fsum(line.fraction * (self.landed[line.ingredient.name].per_kg or 0.0) for line in formula.lines)
        return kg * self.weighed


def reach_of(prices: LandedBrief, full: float, own: float) -> Reach:
    """The share a formula can move, and what the brief's cheapest one would save.

    Args:
        prices: the brief.
        full: cost of a jar.
        own: what of that its ingredients are, with their loss.
    """
    share = own / full if full else 0.0
    cheapest = prices.unpriced or _cheapest(prices)
    if not isinstance(cheapest, Formula):
        return Reach(share, None, None, None, cheapest)
    new = prices.a_jar(cheapest)
    return Reach(share, cheapest, full - own + new, own - new)


def _cheapest(prices: LandedBrief) -> Formula | NoFormula:
    return prices.best(Lowest(cost(prices.brief.currency)), "the brief's cheapest")


def hit(prices: LandedBrief, formula: Formula, fixed: float, own: float, target: float) -> Hit:
    """What a full cost of a jar leaves the ingredients, and the formula nearest to this one that keeps to it.

    Args:
        prices: the brief.
        formula: the one costed.
        fixed: what no formula moves of a jar's cost.
        own: what the ingredients of this one are, with their loss.
        target: full cost a jar should have.
    """
    allowed = target - fixed
    known = Hit(target, fixed, own, allowed)
    if own <= allowed + SAME:
        return replace(known, formula=formula, cost=fixed + own)
    cheapest = prices.unpriced or _cheapest(prices)
    if not isinstance(cheapest, Formula):
        return replace(known, why=cheapest)
    least = prices.a_jar(cheapest)
    if least > allowed + SAME * (1 + allowed):
        return replace(known, least=fixed + least)
    limit = Limit(cost(prices.brief.currency), None, allowed / prices.weighed)
    nearest = prices.best(Nearest(formula), "hits the cost", limit)
    if isinstance(nearest, NoFormula):
        return replace(known, least=fixed + least, why=nearest)
    mix = prices.brief.mix
    moved = points_moved(mix, mix.vector(nearest), formula)
    return replace(known, least=fixed + least, formula=nearest, cost=fixed + prices.a_jar(nearest), moved=moved)


def _at(item: Ingredient, landed: Landed, currency: str) -> Ingredient:
    """The ingredient with its landed price for the price it has."""
    price = Value(None, landed.per_kg, None, f"{currency}/kg", "cost sheet", Evidence.OWN)
    return replace(item, values={**item.values, ("price", None): price})
