"""A living sheet's map: what it holds, how far it reaches, and what it refuses."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.brief.brief import Brief
from optiform.brief.doses import least_doses
from optiform.brief.file import read_brief
from optiform.brief.goal import Lowest
from optiform.design.answer import NoFormula
from optiform.design.design import unrounded
from optiform.design.doses import SHORT
from optiform.design.sheet import Sheet, positions
from optiform.program.arrays import claim_of
from optiform.program.build import Demand, program_at
from optiform.program.optimum import InfeasibleNode, SolvedNode, best_branch
from optiform.program.pieces import limit_of
from optiform.program.tolerances import UNUSED
from optiform.program.usual import requirements
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.reading.paths import DEMO
from tests.answers import sheet
from tests.builders import Vector


@cache
def demo() -> Brief:
    """The demo's brief."""
    return read_brief(DEMO / "brief.toml")


@cache
def of_demo() -> Sheet:
    """The demo's sheet."""
    answer = sheet(demo())
    assert isinstance(answer, Sheet)
    return answer


def solved_anew(made: Sheet, position: Vector) -> float | None:
    """The best objective at a position by a search of its own, over every branch; None where nothing fits."""
    needed, program = requirements(made.brief), made.start.solution.program
    frame = program.with_rows([row for row in program.rows if row.key is None])

    def moved(demand: Demand) -> Demand:
        number = made.map.limits.get(limit_of(demand))
        return demand if number is None else demand.moved(demand.target + float(position[number]))

    def solve(branch: tuple[Demand, ...]) -> SolvedNode[float] | InfeasibleNode[None]:
        claim = claim_of(program_at(frame, branch, np.zeros(made.map.count)))
        assert claim is None or claim.certificate.holds
        if claim is None or not claim.feasible:
            return InfeasibleNode(None)
        value = float(frame.cost @ claim.x)
        return SolvedNode(value, claim.x[: made.map.count], value, value)

    best = best_branch(needed.each(moved), solve).best
    return None if best is None else best[1]


def test_it_begins_with_the_formula_of_design() -> None:
    made = of_demo()
    answer = made.map.visit(np.zeros(len(made.sliders)))
    assert answer is not None
    assert answer.x[: made.map.count] == pytest.approx(made.start.x, abs=1e-9)


def test_every_limit_of_the_brief_can_be_moved_and_no_further_than_something_fits() -> None:
    made = of_demo()
    ends = sum((limit.low is not None) + (limit.high is not None) for limit in demo().limits)
    assert len(made.sliders) == ends
    for number, slider in enumerate(made.sliders):
        assert slider.low <= slider.demand.target <= slider.high
        beyond = np.zeros(len(made.sliders))
        beyond[number] = slider.high - slider.demand.target
        assert solved_anew(made, beyond) is not None
        if slider.ends_high:
            beyond[number] += 1e-3
            assert solved_anew(made, beyond) is None


def test_the_best_of_the_map_is_the_best_of_a_search_from_nothing() -> None:
    made = of_demo()
    for position in positions(made.sliders, 40, seed=3):
        answer, other = made.map.visit(position), solved_anew(made, position)
        assert (answer is None) == (other is None)
        if answer is not None:
            assert answer.value == pytest.approx(other, abs=1e-9)


def test_where_every_line_is_enough_to_weigh_it_is_what_design_answers() -> None:
    """Elsewhere `design` asks for none or enough of such a line, which the sheet says."""
    made, least, same = of_demo(), least_doses(of_demo().brief), 0
    for position in positions(made.sliders, 30, seed=11):
        answer = made.map.visit(position)
        if answer is None:
            continue
        x = answer.x[: made.map.count]
        own = unrounded(moved(demo(), made, position))
        assert not isinstance(own, NoFormula)
        little = bool(np.any((x > UNUSED) & (x < least * (1 - SHORT))))
        assert little or own.value == pytest.approx(answer.value, abs=1e-6)
        same += not little
    assert same > 15


def moved(brief: Brief, made: Sheet, position: Vector) -> Brief:
    """The brief with its limits as at a position."""
    ends = {limit.property.name: {"low": limit.low, "high": limit.high} for limit in brief.limits}
    for slider, change in zip(made.sliders, position, strict=True):
        if change:
            ends[slider.demand.name][slider.demand.side] = slider.demand.target + float(change)
    for name, both in ends.items():
        brief = brief.with_limit(name, low=both["low"], high=both["high"])
    return brief


def test_a_brief_without_limits_has_its_formula_alone() -> None:
    made = sheet(replace(demo(), limits=()))
    assert isinstance(made, Sheet)
    assert made.sliders == ()
    own = unrounded(made.brief)
    assert not isinstance(own, NoFormula)
    assert made.start.x == pytest.approx(own.x)


def test_a_brief_that_cannot_be_met_has_no_sheet() -> None:
    assert isinstance(
        sheet(demo().with_limit("oil phase", low="27.9 %").with_limit("share of oil", low="20 %")), NoFormula
    )


def test_a_goal_that_is_a_mean_and_a_limit_that_bends_are_refused_in_words() -> None:
    with pytest.raises(BadInput, match="over the whole formula"):
        sheet(replace(demo(), goal=Lowest(find_property("iodine value", "EUR"))))
    with pytest.raises(BadInput, match="without a bend"):
        sheet(demo().with_limit("water activity", high=0.9))
