"""The answer for a whole plan: formulas and packs chosen together, or the products that cannot be made."""

from optiform.costs.buy import Purchases
from optiform.costs.plan import Plan, Product
from optiform.design.answer import NoFormula
from optiform.design.cheaper import Move
from optiform.design.shared import CommonBase
from optiform.program.build import Demand
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen

SAME_MONEY = 1e-4  # money: rounding of masses to the milligram may cost no more


@frozen
class RangeProduct:
    """One product of the answer.

    Attributes:
        product: with its new formula.
        moves: what changes against the plan's formula, the largest change first.
        kept_as_is: limits of its brief that the plan's formula breaks already, and that were not asked.
        alone: the least money for this product by itself, with the whole shelf; None where that is not known.
        new: whether the plan has no formula for it.
    """

    product: Product
    moves: tuple[Move, ...]
    kept_as_is: tuple[Demand, ...]
    alone: float | None
    new: bool = False


@frozen
class UsedUp:
    """An ingredient of which as much of the stock goes in as can, kg: what is there, and what each product takes."""

    ingredient: str
    there: float
    used: float
    products: tuple[tuple[str, float], ...]


@frozen
class RangeAnswer(Answer):
    """Formulas and packs for a whole plan.

    Attributes:
        plan: as it was given.
        products: in the plan's order.
        purchases: what to buy for the new formulas.
        today: money for the plan's own formulas; None where it has not all of them or they cannot be made.
        in_turn: money for one product after the other; None where that cannot be done or was not worked out.
        bound: no choice of formulas and packs has less, money less what leftovers count for.
        finished: whether it is proven best; else it was stopped.
        used_up: what was to be used up, if anything was: money then comes after that.
        common: the base that was asked for, if one was.
    """

    plan: Plan
    products: tuple[RangeProduct, ...]
    purchases: Purchases
    today: float | None
    in_turn: float | None
    bound: float
    finished: bool
    used_up: UsedUp | None = None
    common: CommonBase | None = None

    @property
    def money(self) -> float:
        """To pay for all of it."""
        return self.purchases.money

    @property
    def gap(self) -> float:
        """How much less it could cost at most; rounding is none."""
        short = self.purchases.proof.value - self.bound
        return short if short > SAME_MONEY else 0.0


@frozen
class NoRange(Answer):
    """The plan cannot be made: products that no formula serves, each with why.

    `impossible` where the brief itself has none beside what is held; None where its formulas cannot all be made from
    what is in stock and on offer.
    """

    plan: Plan
    products: tuple[tuple[str, NoFormula | None], ...]
