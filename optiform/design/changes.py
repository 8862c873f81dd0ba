"""What would have to change for another answer to a brief: prices and limits moved, and the brief solved with them."""

from collections.abc import Hashable
from dataclasses import replace

from optiform.brief.brief import Brief
from optiform.brief.goal import Lowest
from optiform.brief.limits import judge
from optiform.ingredients.formula import Formula
from optiform.program.build import OWN_KINDS, Demand, Requirements
from optiform.program.optimum import best_formula
from optiform.program.search import BestFormula
from optiform.properties.base import Mix, Ratio, Terms, Vector
from optiform.properties.cost import cost
from optiform.reading.answer import Answer
from optiform.reading.faults import Inspection, Unsettled
from optiform.reading.frozen import frozen
from optiform.reading.order import ranked
from optiform.reading.values import Bound

MOVABLE = (*OWN_KINDS, "advice", "usual")  #: kinds of demand that a maker may set otherwise
MOVED = 1e-6  # relative: a figure that is another


@frozen
class PriceMove:
    """A price per kg today, None where there is none, and the one it would have to be."""

    ingredient: str
    now: float | None
    to: float


@frozen
class LimitMove:
    """One side of a limit: its target today, the one it would have to be.

    Attributes:
        demand: which limit, and on which side.
        now: None where the brief does not limit that side.
        percent: how much of the jar the ingredient would then be; None where a whole formula is asked about.
    """

    demand: Demand
    now: float | None
    to: float
    percent: float | None = None


@frozen
class WhyNot(Answer):
    """The least that would have to change for an ingredient to be used, or for a formula to be the best.

    Attributes:
        subject: the ingredient's or the formula's name.
        formula: the formula asked about; None where it is an ingredient.
        brings_in: what had to be taken as a candidate to look at it at all, each with why it is none.
        percent: how much of it the best formula has already, in % of the jar; None of a formula.
        already: whether nothing has to change.
        value, best: what the formula reaches of the goal and what the best one does; None of an ingredient.
        misses: what the brief asks and the formula misses, each with its value; where some of it is no limit of the
            maker's own, nothing is looked for.
        prices: that have to change together; none where prices do not help or do not decide.
        limits: each of which alone would do, the least change first.
        together: of a formula that no one limit makes the best: some that do together, none of which can be left out.
        unlooked: limits of which it could not be told.
    """

    brief: Brief
    subject: str
    formula: Formula | None
    brings_in: tuple[tuple[str, Hashable], ...]
    percent: float | None
    already: bool
    value: float | None
    best: float | None
    misses: tuple[tuple[Demand, float], ...]
    prices: tuple[PriceMove, ...]
    limits: tuple[LimitMove, ...]
    together: tuple[LimitMove, ...]
    unlooked: tuple[str, ...]


def judged(brief: Brief, place: str) -> Brief:
    """The brief, if its candidates have the figures that its limits and its goal need."""
    inspection = Inspection(brief.title)
    wanted = [limit.property for limit in brief.limits] + ([brief.goal.wanted] if brief.goal.wanted else [])
    for of in wanted:
        judge(of, brief.mix, f"{of.name}, to look at {place}", inspection)
    inspection.finish()
    return brief


def by_cost(brief: Brief) -> bool:
    """Whether the goal is the lowest cost, so that prices decide."""
    return isinstance(brief.goal, Lowest) and brief.goal.wanted.name == "cost"


def own_sides(needed: Requirements) -> list[Demand]:
    """Each side of each limit and line that a maker may move, once."""
    own = (demand for demand in needed.demands if demand.kind in MOVABLE)
    return list({(demand.name, demand.side): demand for demand in own}.values())


def size_of(move: LimitMove) -> tuple[float, str]:
    """What to sort by for the least change against its target first, and of equal ones the first by name."""
    return ranked(abs(move.to - (move.now or 0.0)) / max(abs(move.now or 0.0), 1.0)), move.demand.words


def moved_to(needed: Requirements, targets: dict[tuple[str, str], float]) -> Requirements:
    """What is needed with other targets of the maker's own limits."""

    def moved(demand: Demand) -> Demand:
        own = demand.kind in MOVABLE
        return demand.moved(targets.get((demand.name, demand.side), demand.target)) if own else demand

    return needed.each(moved)


def solve_with(brief: Brief, needed: Requirements) -> BestFormula | None:
    """The best formula; None where nothing fits.

    Raises:
        Unsettled: when the search does not come to rest.
    """
    outcome = best_formula(brief, needed)
    if outcome.best is None and outcome.undecided:
        raise Unsettled(outcome.undecided)
    return None if outcome.best is None else outcome.best[1]


def prices_of(brief: Brief) -> Vector:
    """The price per kg of each candidate, in the brief's currency. Shape (candidates,)."""
    return cost(brief.currency).everywhere(brief.mix).numerator


def priced(brief: Brief, prices: Vector) -> Brief:
    """The brief for the lowest cost at other prices."""
    terms = Terms.exact(prices)
    return replace(brief, goal=Lowest(Ratio("cost", brief.goal.unit, "whole", Bound(_always, (terms,)))))


def _always(_: Mix, terms: Terms) -> Terms:
    return terms
