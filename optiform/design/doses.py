"""Nothing that a job proposes stands at less than any maker weighs: a line is used at its least dose, or not at all.

A program of fractions knows no least dose, and asking for one of every candidate would take as many choices. So a job
is done without; of each line that then stands at too little, none or enough is asked (`Brief.doses`), and the job is
done again until no line does. What keeps a choice that it was not asked for is the best of all that keep it.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.ingredients.formula import Formula
from optiform.program.tolerances import UNUSED

A = TypeVar("A")
ROUNDS = 6
SHORT = 1e-6  # relative: what rounding takes from a dose


def dosed(
    brief: Brief,
    job: Callable[[Brief], A],
    formulas: Callable[[A], Iterable[Formula]],
    holds: Callable[[A, A], bool] = lambda answer, before: True,
) -> A:
    """What a job answers where no line of its formulas stands below its least dose, as far as that can be.

    Args:
        brief: that it works on.
        job: answers a brief.
        formulas: that an answer proposes.
        holds: whether an answer with doses stands beside the one without them; one without a formula never does.
    """
    answer, given_up = job(brief), set[str]()
    for _ in range(ROUNDS):
        short = [name for name in too_little(brief, formulas(answer)) if name not in given_up]
        if not short:
            break
        for names in [short, *([name] for name in short if len(short) > 1)]:
            asked = replace(brief, doses=(*brief.doses, *names))
            again = job(asked)
            if any(True for _ in formulas(again)) and holds(again, answer):
                brief, answer = asked, again
                break
        else:
            given_up |= set(short)
    return answer


def too_little(brief: Brief, formulas: Iterable[Formula]) -> Iterator[str]:
    """The candidates that a formula has less of than their least dose, each once; none of which doses are asked yet."""
    least = dict(zip((item.name for item in brief.mix.ingredients), least_doses(brief), strict=True))
    lines = ((line.ingredient.name, line.fraction) for formula in formulas for line in formula.lines)
    short = (name for name, share in lines if UNUSED < share < least.get(name, 0.0) * (1 - SHORT))
    yield from (name for name in dict.fromkeys(short) if name not in brief.doses)
