"""A map of bases: what it knows it tells without a solver, proven from the numbers as they stand."""

import numpy as np
import pytest

from optiform.design.sheet import Sheet, positions
from optiform.program.bases import answer_by
from optiform.program.linear import Program, Row, Sense
from optiform.program.live import Live, Now
from optiform.program.region import Known
from tests.design.test_sheet import of_demo


def numbers(at_most: float) -> Now:
    """The least x + 2 y with x + y = 1 and x at most so much."""
    rows = (
        Row("balance", np.array([1.0, 1.0]), Sense.EQUAL, 1.0),
        Row("limit", np.array([1.0, 0.0]), Sense.AT_MOST, at_most),
    )
    program = Program(("x", "y"), np.array([1.0, 2.0]), np.zeros(2), np.ones(2), rows)
    return Now(
        program.matrix, program.rhs, program.at_least, program.at_most, program.cost, program.low, program.high
    )  # fmt: skip


BOTH = Known(basic=(0, 1), at_high=())  #: x and y are used, and both rows bind


def test_a_basis_answers_where_it_is_still_optimal() -> None:
    for limit in (0.25, 0.75, 1.0):
        answer = answer_by(BOTH, numbers(limit))
        assert answer is not None
        assert answer.x == pytest.approx([limit, 1 - limit])
        assert answer.value == pytest.approx(2 - limit)


def test_a_basis_is_refused_where_it_is_infeasible_not_optimal_or_no_basis() -> None:
    assert answer_by(BOTH, numbers(1.1)) is None  # y would be below 0
    assert answer_by(BOTH, numbers(-1e-8)) is None  # it fits within rounding only: that is the solver's to tell
    assert answer_by(Known(basic=(0, 3), at_high=()), numbers(0.5)) is None  # x alone: beyond its limit
    assert answer_by(Known(basic=(1, 3), at_high=()), numbers(0.5)) is None  # y alone: x would be cheaper
    assert answer_by(Known(basic=(2, 3), at_high=()), numbers(0.5)) is None  # nothing: no balance


def test_a_position_is_answered_again_without_a_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    made = of_demo()
    assert isinstance(made, Sheet)

    def refused(_: Live) -> bool:
        raise AssertionError("the solver was asked")

    answered = 0
    for position in positions(made.sliders, 30, seed=5):
        first = made.map.visit(position)
        with monkeypatch.context() as patch:
            patch.setattr(Live, "solve", refused)
            again = made.map.visit(position)
        assert (first and first.value) == pytest.approx(again and again.value, abs=1e-12)
        answered += first is not None
    assert answered > 5
