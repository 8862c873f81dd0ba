"""Many tableaus at once, against the basis matrix inverted anew."""

import numpy as np
import pytest

from optiform.program.arrays import lean
from optiform.program.linear import Program, Row, Sense
from optiform.program.live import Live
from optiform.program.solver import solve
from optiform.program.tableau import Tableaus
from tests.program.test_scenarios import briefs, wide


def entered(tableaus: Tableaus) -> Tableaus:
    """Every variable that can move enters at every basis; the bases that this leads to."""
    pivots = tableaus.entering(*np.nonzero(tableaus.ways_up))
    first, _ = pivots.distinct()
    return pivots.of(first).made()


def test_a_tableau_after_pivots_is_that_of_its_basis() -> None:
    tableaus = Tableaus.of(Live(wide(8, 4)).basis())
    for _ in range(3):
        tableaus = entered(tableaus)
    assert len(tableaus) > 20
    for basic, nonbasic, table in zip(tableaus.basic, tableaus.nonbasic, tableaus.table, strict=True):
        anew = -np.linalg.solve(tableaus.matrix[:, basic], tableaus.matrix[:, nonbasic])
        assert table == pytest.approx(anew, rel=1e-9, abs=1e-9)


def test_every_basis_is_reached_once_and_its_point_fits() -> None:
    program = wide(8, 4)
    tableaus = entered(entered(Tableaus.of(Live(program).basis())))
    assert len({tuple(sorted(basic)) + tuple(high) for basic, high in _marks(tableaus)}) == len(tableaus)
    points = tableaus.points(np.arange(len(tableaus)))
    assert points.min() >= -1e-9
    assert points.max() <= 1 + 1e-9
    assert (points @ program.matrix.T - program.rhs)[:, 1:].min() >= -1e-7


def _marks(tableaus: Tableaus) -> list[tuple[tuple[int, ...], tuple[int, ...]]]:
    pairs = zip(tableaus.basic, tableaus.nonbasic, tableaus.at_high, strict=True)
    return [(tuple(basic), tuple(sorted(nonbasic[high] + 100))) for basic, nonbasic, high in pairs]


def test_reduced_costs_go_on_with_the_basis() -> None:
    program = wide(8, 4)
    tableaus, costs = Tableaus.of(Live(program).basis()), np.array([[3.0, 1, 4, 1, 5, 9, 2, 6]])
    reduced = tableaus.reduced(costs)
    pivots = tableaus.entering(*np.nonzero(tableaus.ways_up))
    first, which = pivots.distinct()
    after = pivots.of(first).made()
    going = reduced + reduced[0, pivots.place][:, None] * pivots.turn()
    going = np.take_along_axis(going, pivots.order(after, which), axis=1)
    wide_costs = np.append(costs[0], np.zeros(len(program.rows)))
    for basis, line in zip(which, going, strict=True):
        basic, nonbasic = after.basic[basis], after.nonbasic[basis]
        duals = np.linalg.solve(after.matrix[:, basic].T, wide_costs[basic])
        assert line == pytest.approx((wide_costs - duals @ after.matrix)[nonbasic], rel=1e-9, abs=1e-9)
        told = after.duals(np.array([basis]), line[None])[0]
        assert told == pytest.approx(duals, rel=1e-9, abs=1e-9)


def test_a_lean_program_has_the_same_optimum() -> None:
    fewer = 0
    for _, program in briefs():
        less = lean(program)
        fewer += len(less.rows) < len(program.rows)
        assert solve(less).value == pytest.approx(solve(program).value, rel=1e-9, abs=1e-9)
    assert fewer > len(briefs()) // 2


def test_lines_are_bounds_and_what_cannot_be_missed_is_gone() -> None:
    rows = (
        Row("balance", np.ones(2), Sense.EQUAL, 1.0),
        Row("half at most", np.array([2.0, 0.0]), Sense.AT_MOST, 1.0),
        Row("never missed", np.array([1.0, 1.0]), Sense.AT_MOST, 2.0),
        Row("a fifth at least", np.array([0.0, -1.0]), Sense.AT_MOST, -0.2),
    )
    less = lean(Program(("a", "b"), np.array([1.0, 2.0]), np.zeros(2), np.ones(2), rows))
    assert [row.words for row in less.rows] == ["balance"]
    assert less.low == pytest.approx([0.0, 0.2])
    assert less.high == pytest.approx([0.5, 1.0])


def test_lines_that_cross_are_left_as_they_are() -> None:
    rows = (
        Row("balance", np.ones(2), Sense.EQUAL, 1.0),
        Row("half at most", np.array([1.0, 0.0]), Sense.AT_MOST, 0.5),
        Row("more than half", np.array([1.0, 0.0]), Sense.AT_LEAST, 0.6),
    )
    program = Program(("a", "b"), np.ones(2), np.zeros(2), np.ones(2), rows)
    assert lean(program) is program
