"""What the last jars of a plan cost: every number of jars at which the money to pay falls, and the packs behind it."""

from collections.abc import Callable, Sequence

from optiform.costs.buy import Bought, Terms, needs_of, shopping_of
from optiform.costs.plan import Plan
from optiform.program.solver import SolverName
from optiform.program.staircase import Stair, staircase
from optiform.reading.answer import Answer
from optiform.reading.frozen import frozen
from optiform.workshop.records import Offer
from optiform.workshop.supplies import OnShelf

Progress = Callable[[int, int], None]


@frozen
class Cliff:
    """A number of jars and the least money they can be made for; a jar more costs what the cliff before does.

    Attributes:
        jars: of each product of the plan, in its order.
        money: with postage.
        packs: what is bought.
        gone, come: packs of the cliff before that are not bought any more, and packs that are bought in their place.
    """

    jars: tuple[int, ...]
    money: float
    packs: tuple[Bought, ...]
    gone: tuple[Bought, ...] = ()
    come: tuple[Bought, ...] = ()

    @property
    def total(self) -> int:
        """Jars of all products."""
        return sum(self.jars)


@frozen
class Cliffs(Answer):
    """The cliffs of a plan, the most jars first.

    `whole`: down to what costs nothing; else the search was stopped, and what is there is proven as far as it goes.
    """

    plan: Plan
    steps: tuple[Cliff, ...]
    whole: bool
    terms: Terms


def cliffs(
    plan: Plan,
    offers: Sequence[Offer],
    lots: Sequence[OnShelf],
    solver: SolverName = "highs",
    progress: Progress | None = None,
) -> Cliffs:
    """Every number of jars at which the least money falls, from the most that can be made to what costs nothing.

    The plan's jars are the most of each product; which product has fewer is chosen so that money is least. What is left
    over of packs counts nothing. Stopped by the keyboard it answers with the cliffs found by then.

    Args:
        plan: what is made, when, and the suppliers' terms.
        offers: packs that can be bought.
        lots: what is on the shelf.
        solver: HiGHS, or CBC as the second opinion.
        progress: called with the jars left out so far, and the jars of the plan.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when an answer does not stand up to recomputation.
    """
    needs = needs_of(plan, offers, lots)
    jars = [product.jars for product in plan.products]
    shopping = shopping_of(plan, needs.balances, needs.offers)
    steps: list[Cliff] = []
    whole = True
    try:
        for stair in staircase(shopping, _uses(plan, [x.ingredient for x in needs.balances]), jars, solver):
            steps.append(_cliff(jars, needs.offers, stair, steps[-1] if steps else None))
            if progress:
                progress(sum(stair.left_out), sum(jars))
    except KeyboardInterrupt:
        if not steps:
            raise
        whole = False
    return Cliffs(plan, tuple(steps), whole, needs.terms)


def _uses(plan: Plan, names: Sequence[str]) -> list[list[float]]:
    """Kg of each ingredient in a jar of each product, loss included."""
    return [
        [product.formula.fraction(name) * product.weighed / product.jars for product in plan.products] for name in names
    ]


def _cliff(jars: Sequence[int], offers: Sequence[Offer], stair: Stair, before: Cliff | None) -> Cliff:
    packs = tuple(Bought(offer, count) for offer, count in zip(offers, stair.counts, strict=True) if count)
    left = tuple(most - fewer for most, fewer in zip(jars, stair.left_out, strict=True))
    if before is None:
        return Cliff(left, stair.money, packs)
    return Cliff(left, stair.money, packs, _less(before.packs, packs), _less(packs, before.packs))


def _less(some: Sequence[Bought], others: Sequence[Bought]) -> tuple[Bought, ...]:
    """The packs of some that others have not."""
    counts = {pack.offer: pack.count for pack in others}
    fewer = (Bought(pack.offer, pack.count - counts.get(pack.offer, 0)) for pack in some)
    return tuple(pack for pack in fewer if pack.count > 0)
