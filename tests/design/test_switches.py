"""Which lines change, as switches: what stays where it is stands still, and solvers agree on it."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.design import cheaper as job
from optiform.design import few_changes
from optiform.design.switches import Switches
from optiform.ingredients.formula import Formula, mixed
from optiform.program import integer
from optiform.program.integer import WholeSolution, second_opinion
from optiform.program.linear import Program, Row, Sense
from tests.builders import figure
from tests.design.test_doses import OILS, lotion

TODAY = {
    "water": 75.0, "glycerin": 3.0, "emulsifying wax NF": 5.0, "cetyl alcohol": 2.0, "shea butter, refined": 4.0,
    "sunflower oil, high oleic": 10.0, "phenoxyethanol + ethylhexylglycerin": 1.0,
}  # fmt: skip


def today() -> Formula:
    formula = mixed(TODAY)
    priced = (
        replace(
            line,
            ingredient=replace(
                line.ingredient,
                values={
                    **line.ingredient.values,
                    ("price", None): figure(OILS.get(line.ingredient.name, 9.0), "EUR/kg"),
                },
            ),
        )
        for line in formula.lines
    )
    return replace(formula, lines=tuple(priced))


def brief() -> Brief:
    """Its preservative stands at its usual maximum and may not fall by more than a thousand millionth."""
    return replace(lotion(**{"sunflower oil, high oleic": 9.0}), reference=today())


def program_of(brief: Brief, monkeypatch: pytest.MonkeyPatch) -> Program:
    """The first program that `cheaper` solves."""
    programs: list[Program] = []

    def solved(program: Program, *_: object, **__: object) -> None:
        programs.append(program)

    monkeypatch.setattr(few_changes, "solve_whole", solved)
    job.cheaper(brief)
    return programs[0]


def test_two_solvers_agree_where_a_line_may_move_by_no_more_than_rounding(monkeypatch: pytest.MonkeyPatch) -> None:
    """One said that nothing fits: it divided a hundred thousand millionth by the least move of a switch."""
    program = program_of(brief(), monkeypatch)
    monkeypatch.setattr("optiform.program.integer._branched", lambda *_: None)  # as where it takes too many nodes
    claims = [integer._claimed(program, solver) for solver in ("highs", "cbc")]
    values = [claim.value for claim in claims if isinstance(claim, WholeSolution)]
    assert len(values) == 2
    assert values[0] == pytest.approx(values[1], abs=1e-7)
    assert second_opinion(program, claims[0], "highs") is claims[0]


def test_no_switch_has_next_to_no_room(monkeypatch: pytest.MonkeyPatch) -> None:
    program = program_of(brief(), monkeypatch)
    ties = program.matrix[:, sorted(program.whole)]
    assert np.abs(ties[ties != 0]).min() >= 1e-5
    place = program.columns.index("phenoxyethanol + ethylhexylglycerin")
    assert program.low[place] == program.high[place] == pytest.approx(0.01)


@pytest.mark.parametrize(
    ("low", "high", "open_ways"),
    [
        (0.2, 0.2, (0, 0)),  # at rest
        (0.1999, 0.3, (1, 0)),  # no way down by a step
        (0.1, 0.2009, (0, 1)),  # no way up by a step
        (0.1, 0.3, (1, 1)),
        (0.0, 0.1, (0, 1)),  # today's is too much: it has to go down
    ],
)
def test_a_way_on_which_a_line_cannot_go_by_its_least_move_is_closed(
    low: float, high: float, open_ways: tuple[int, int]
) -> None:
    whole = Row.of("whole", 2, {0: 1.0, 1: 1.0}, Sense.EQUAL, 1.0)
    base = Program(("water", "oil"), np.zeros(2), np.zeros(2), np.ones(2), (whole,))
    before, doses = np.array([0.8, 0.2]), np.full(2, 0.001)
    switches = Switches(base.columns, before, (1,), 0.001, doses, 1.0, (np.array([0.0, low]), np.array([1.0, high])))
    program = switches.added(base, 1)
    assert tuple(program.high[2:]) == open_ways
    assert (program.low[1] == program.high[1]) == (open_ways == (0, 0))
