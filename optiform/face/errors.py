"""The error of a brief that cannot be met, which carries the answer that says why."""

from optiform.costs.buy import Unobtainable
from optiform.design.answer import Change, NoFormula
from optiform.design.planned import NoRange
from optiform.design.steps import Unweighable
from optiform.program.build import Demand
from optiform.reading.answer import words_of
from optiform.reading.faults import Error
from optiform.telling.usual import lacking

Why = NoFormula | NoRange | Unweighable | Unobtainable


class Impossible(Error):
    """What is asked for cannot be met.

    Attributes:
        answer: why not, as a value: it can be told, saved and pickled.
    """

    def __init__(self, answer: Why) -> None:
        self.answer = answer
        super().__init__(_words(answer))

    @property
    def conflict(self) -> tuple[Demand, ...]:
        """Demands that cannot hold together; without any one of them the rest can. Empty where that is not proven."""
        return self.answer.conflict if isinstance(self.answer, NoFormula) else ()

    @property
    def repairs(self) -> tuple[tuple[Change, ...], ...]:
        """Ways to a brief that can be met, each the targets that it moves."""
        return self.answer.repairs if isinstance(self.answer, NoFormula) else ()

    def __reduce__(self) -> tuple[type, tuple[Why]]:
        """As a pickle rebuilds it."""
        return type(self), (self.answer,)


def _words(answer: Why) -> str:
    if isinstance(answer, Unobtainable):
        return f"not to be had: {', '.join(balance.ingredient for balance in answer.missing)}"
    if isinstance(answer, NoRange):
        return f"no formula that can be made: {', '.join(name for name, _ in answer.products)}"
    if isinstance(answer, NoFormula) and answer.conflict:
        return f"no formula meets the brief; together these cannot hold: {'; '.join(d.words for d in answer.conflict)}"
    if isinstance(answer, NoFormula) and answer.lacking:
        return " ".join(sentence.text for sentence in lacking(answer.lacking, answer.brief.kind))
    return words_of(answer.reason) or "no formula meets the brief"
