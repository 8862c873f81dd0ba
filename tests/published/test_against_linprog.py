"""The optimum of random briefs against scipy.optimize.linprog(method="highs") and against CBC.

Outside references: SciPy's linprog, which carries its own build of HiGHS (Virtanen et al. 2020, Nature Methods 17,
261; Huangfu and Hall 2018, Mathematical Programming Computation 10, 119), on a matrix that `tests.builders.posed`
assembles from the ingredients' figures without optiform.program; and COIN-OR CBC, a different code altogether.
"""

from functools import cache

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design.answer import NoFormula
from optiform.design.design import Best, best
from optiform.review.answer import Measured
from optiform.review.measures import setting_of
from optiform.review.report import report
from tests.builders import Verdict, asked, by_linprog, plain, random_brief
from tests.least import least, least_by_linprog
from tests.program.real_briefs import EveryBranch, Key
from tests.program.real_briefs import random_brief as real_brief
from tests.sweeps import cases

BRIEFS = 500
BLOCK = 50
SECOND_OPINIONS = 120
RELATIVE = 1e-6
SAME_FORMULA = 1e-5  # mass fraction


def brief(number: int) -> Brief:
    """Every third with figures that repeat, every second with limits that often contradict each other."""
    return random_brief(number, coarse=number % 3 == 0, strain=0.6 if number % 2 else 0.1)


@cache
def ours(number: int) -> Best | NoFormula:
    return best(brief(number))


@cache
def theirs(number: int) -> Verdict:
    return by_linprog(brief(number))


def fractions(answer: Best) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    formula = answer.formula
    return np.array([formula.fraction(item.name) for item in answer.brief.mix.ingredients])


def measured(answer: Best) -> tuple[Measured, ...]:
    return report(answer.formula, setting_of(answer.brief)).measures


@pytest.mark.parametrize("start", cases(range(0, BRIEFS, BLOCK), 1, 5))
def test_same_verdict_and_same_cost_as_linprog(start: int) -> None:
    for number in range(start, start + BLOCK):
        answer, reference, second = ours(number), theirs(number), plain(brief(number))
        assert isinstance(answer, Best) == reference.feasible == second.feasible, f"brief {number}"
        if isinstance(answer, Best):
            assert answer.value == pytest.approx(reference.cost, rel=RELATIVE), f"brief {number}"
            assert second.cost == pytest.approx(reference.cost, rel=RELATIVE), f"brief {number}"


@pytest.mark.parametrize("start", cases(range(0, BRIEFS, BLOCK), 1, 5))
def test_every_answer_is_certified_and_keeps_what_was_asked(start: int) -> None:
    """The canonical optimum is not the point the solver first gave: its own certificate counts."""
    for number in range(start, start + BLOCK):
        answer = ours(number)
        assert answer.certificate is not None
        assert answer.certificate.holds, f"brief {number}: {answer.certificate}"
        if isinstance(answer, Best):
            x = fractions(answer)
            prices = np.array([item.values["price", None].figure for item in answer.brief.mix.ingredients])
            assert x.sum() == pytest.approx(1.0, abs=1e-9)
            assert prices @ x == pytest.approx(theirs(number).cost, rel=RELATIVE), f"brief {number}"
            assert not [measure.name for measure in measured(answer) if measure.missed], f"brief {number}"


@pytest.mark.exhaustive
def test_the_briefs_are_worth_the_comparison() -> None:
    """Guard against an empty comparison: both verdicts, tight limits and ties all occur often."""
    answers = [ours(number) for number in range(BRIEFS)]
    designed = [answer for answer in answers if isinstance(answer, Best)]
    assert len(designed) >= 250
    assert len(answers) - len(designed) >= 80
    assert sum(any(abs(demand.miss(answer.x)) < 1e-9 for demand in answer.asked) for answer in designed) >= 200
    assert sum(answer.tie is not None for answer in designed) >= 10
    assert sum(len(asked(answer.brief)) for answer in answers) >= 2500


@pytest.mark.parametrize("number", cases(range(SECOND_OPINIONS), 10, 50))
def test_cbc_gives_the_same_answer(number: int) -> None:
    answer, second = ours(number), best(brief(number), solver="cbc")
    assert isinstance(second, type(answer))
    if isinstance(answer, Best) and isinstance(second, Best):
        assert second.value == pytest.approx(answer.value, rel=RELATIVE)
        assert fractions(second) == pytest.approx(fractions(answer), abs=SAME_FORMULA)


# -- the solver of the sweeps ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", cases([1, 2, 6, 8, *range(1000, 1016)], 4))
def test_what_sweeps_are_held_against_is_what_linprog_says(seed: int) -> None:
    """Every branch of a brief of the real tables, and the same with a target that most branches cannot meet."""
    branches = EveryBranch(real_brief(seed))
    low, high = np.array([(wanted.low, wanted.high) for wanted in branches.brief.ranges]).T
    wanted = branches.brief.limits[0]
    far: dict[Key, float] = {
        (wanted.property.name, "high"): 0.3 * (wanted.high or 0.0),
        (wanted.property.name, "low"): 60.0,
    }
    for rows in (*branches.branches, *branches._branches(far)):
        a, b = np.array([row for row, _ in rows]), np.array([most for _, most in rows])
        quick, reference = (solved(branches.prices, a, b, low, high) for solved in (least, least_by_linprog))
        assert (quick is None) == (reference is None)
        assert quick is None or reference is None or quick[0] == pytest.approx(reference[0], rel=RELATIVE)
