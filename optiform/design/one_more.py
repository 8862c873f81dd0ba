"""The one purchase that would help most: each ingredient that is out of stock, taken as a candidate by itself."""

from collections.abc import Iterator

from optiform.brief.brief import Brief
from optiform.brief.leftout import Out
from optiform.design.answer import NoFormula
from optiform.design.changes import by_cost
from optiform.design.design import Best, best
from optiform.design.entry import with_candidate
from optiform.reading.answer import Answer
from optiform.reading.faults import BadInput
from optiform.reading.frozen import frozen

WORTH = 1e-6  # relative: a gain of less is rounding


@frozen
class Purchase:
    """An ingredient that is not there, and the best value of the goal with it; `percent` of it would be used."""

    ingredient: str
    value: float
    percent: float


@frozen
class OneMore(Answer):
    """What one purchase would do.

    Attributes:
        value: of the goal with what is there; None where no formula can be made of it.
        purchases: those that help, the one that helps most first.
        tried: how many were looked at.
        unlooked: those of which it could not be told, as a figure lacks.
    """

    brief: Brief
    value: float | None
    purchases: tuple[Purchase, ...]
    tried: int
    unlooked: tuple[str, ...]


def one_more(brief: Brief) -> OneMore:
    """Which single ingredient that is out of stock would help most if it were there.

    Raises:
        NotCertified: when a solver's claim does not stand up to recomputation.
    """
    now = best(brief, why=False)
    names = [name for name, why in brief.left_out if why is Out.OUT_OF_STOCK]
    answers, unlooked = [], []
    for name in names:
        item = brief.catalogue.find(name)
        assert item is not None  # the brief's own words
        if by_cost(brief) and item.price_in(brief.currency) is None:
            unlooked.append(name)
            continue
        try:
            answers.append((name, best(with_candidate(brief, item), why=False)))
        except BadInput:
            unlooked.append(name)
    value = now.value if isinstance(now, Best) else None
    helps = sorted(_helping(brief, value, answers), key=lambda purchase: brief.goal.sign * purchase.value)
    return OneMore(brief, value, tuple(helps), len(names) - len(unlooked), tuple(unlooked))


def _helping(brief: Brief, value: float | None, answers: list[tuple[str, Best | NoFormula]]) -> Iterator[Purchase]:
    for name, answer in answers:
        if isinstance(answer, NoFormula):
            continue
        gain = None if value is None else brief.goal.sign * (value - answer.value)
        if gain is None or gain > WORTH * (1 + abs(answer.value)):
            yield Purchase(name, answer.value, 100 * answer.formula.fraction(name))
