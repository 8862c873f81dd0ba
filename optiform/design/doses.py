"""What the tool would warn of it does not propose: lines too little to weigh, and products that run in the heat.

A program of fractions knows no least dose, and asking for one of every candidate would take as many choices. So a job
is done without; of each line that then stands at too little, none or enough is asked (`Brief.doses`), and the job is
done again until no line does. Usual ranges that can be kept in several ways, such as the solids of a stick at 35 degC,
are asked likewise. What keeps a choice that it was not asked for is the best of all that keep it.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.ingredients.formula import Formula
from optiform.program.certificate import NotCertified
from optiform.program.tolerances import UNUSED
from optiform.properties.base import Piecewise
from optiform.reading.faults import Unsettled

A = TypeVar("A")
ROUNDS = 6
SHORT = 1e-6  # relative: what rounding takes from a dose


def dosed(
    brief: Brief,
    job: Callable[[Brief, A | None], A],
    formulas: Callable[[A], Iterable[Formula]],
    holds: Callable[[A, A], bool] = lambda answer, before: True,
) -> A:
    """What a job answers where no line of its formulas stands below its least dose, as far as that can be.

    Args:
        brief: that it works on.
        job: answers a brief; what it answered before, with fewer doses asked, may serve it to begin with.
        formulas: that an answer proposes.
        holds: whether an answer with doses stands beside the one without them; one without a formula never does.
    """
    answer, given_up = job(brief, None), set[str]()
    for _ in range(ROUNDS):
        made = tuple(formulas(answer))
        short = [name for name in (*too_little(brief, made), *_unusual(brief, made)) if name not in given_up]
        if not short:
            break
        for names in [short, *([name] for name in short if len(short) > 1)]:
            asked = replace(brief, doses=(*brief.doses, *names))
            try:
                again = job(asked, answer)
            except (Unsettled, NotCertified):  # too many ways for one answer, or for its proof
                return answer
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


def _unusual(brief: Brief, formulas: Sequence[Formula]) -> Iterator[str]:
    """Properties whose usual range can be kept in several ways and some formula does not; none that is asked yet."""
    several = (x for x in brief.usual if isinstance(x.property, Piecewise) and x.property.name not in brief.doses)
    for limit in several:
        values = [limit.property.of(formula) for formula in formulas]
        if any(value is not None and limit.misses(value) for value in values):
            yield limit.property.name
