"""All regions together: one position or many, what is told is what a search from nothing finds."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from optiform.design.sheet import Sheet, positions
from optiform.program.atlas import NOTHING, UNKNOWN, Atlas
from optiform.program.claim import claim
from optiform.program.live import Live
from optiform.program.one_ratio import OneRatio
from optiform.program.region import Region
from tests.answers import sheet
from tests.builders import Vector
from tests.design.test_sheet import of_demo, solved_anew
from tests.shelves import random_brief

SAME = 1e-9


@cache
def made(seed: int) -> Sheet:
    """The sheet of a random brief without limits that bend; of the demo for -1."""
    if seed < 0:
        return of_demo()
    answer = sheet(random_brief(seed, 30, 0)[1])
    assert isinstance(answer, Sheet)
    return answer


def at(of: Sheet, count: int) -> Vector:
    """Positions that the sheet was not made of."""
    return np.array([*positions(of.sliders, count, seed=11)])


@pytest.mark.parametrize("seed", range(-1, 6))
def test_what_is_told_at_a_position_is_the_best_of_a_search_from_nothing(seed: int) -> None:
    known = 0
    for position in at(made(seed), 60):
        settled, answer = made(seed).map.atlas.at(position)
        if not settled:
            continue
        known += 1
        fresh = solved_anew(made(seed), position)
        assert (answer is None) == (fresh is None)
        if answer is not None:
            assert answer.value == pytest.approx(fresh, abs=SAME)
            assert answer.x[: made(seed).map.count].sum() == pytest.approx(1.0, abs=SAME)
    assert known >= 50


@pytest.mark.parametrize("seed", range(-1, 6))
def test_many_positions_are_told_as_each_is(seed: int) -> None:
    drawn, regions = at(made(seed), 200), made(seed).map.atlas
    table = regions.many(drawn)
    for position, value, number in zip(drawn, table.values, table.regions, strict=True):
        settled, answer = regions.at(position)
        if settled:
            assert number != UNKNOWN
            assert (number == NOTHING) == (answer is None)
        if answer is not None:
            assert value == pytest.approx(answer.value, abs=SAME)
    assert (table.regions == UNKNOWN).mean() < 0.1


def test_each_of_many_is_told_by_a_region_that_holds_there() -> None:
    drawn, regions = at(made(-1), 300), made(-1).map.atlas
    table = regions.many(drawn)
    for position, number in zip(drawn, table.regions.tolist(), strict=True):
        if number >= 0:
            region = regions.regions[number]
            seen = region.turned(np.append(position, 1.0))
            assert seen is not None
            assert region.held(seen)


def test_a_single_limit_over_its_travel_is_told_in_one_go() -> None:
    of = made(-1)
    number = next(k for k, slider in enumerate(of.sliders) if slider.demand.words.startswith("oil phase at least"))
    slider = of.sliders[number]
    travel = np.zeros((50, len(of.sliders)))
    travel[:, number] = np.linspace(slider.low, slider.high, 50) - slider.demand.target
    values = of.map.atlas.many(travel).values
    assert np.isfinite(values).mean() > 0.95
    rises = np.diff(values[np.isfinite(values)])
    assert (rises >= -SAME).all()  # at least more of it is never cheaper


def test_nothing_of_it_asks_a_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    of, regions = made(-1), made(-1).map.atlas

    def refused(_: Live) -> bool:
        raise AssertionError("the solver was asked")

    monkeypatch.setattr(Live, "solve", refused)
    told = regions.many(at(of, 100)).regions
    assert (told != UNKNOWN).mean() > 0.8  # the others were never visited


def lied(region: Region, by: float) -> Region:
    """The region with an objective that is off by so much everywhere."""
    line, turning = region.line.copy(), region.turning.line.copy()
    line[region.checks, -1] += by
    turning[region.checks, -1] += by
    return replace(region, line=line, turning=replace(region.turning, line=turning))


def lying(of: Sheet, by: float) -> Atlas:
    """The map of a sheet, every region of which lies so."""
    parts = [place.part for place in of.map.places]
    lies = {id(region): lied(region, by) for part in parts for some in (*part.of, *part.bases) for region in some}

    def false(lists: Sequence[Sequence[Region]]) -> list[list[Region]]:
        return [[lies[id(region)] for region in some] for some in lists]

    return Atlas([replace(part, of=false(part.of), by=false(part.by), bases=false(part.bases)) for part in parts])


@pytest.mark.parametrize("by", [-1e-3, 1e-3])
@pytest.mark.parametrize("basis", ["whole", "ratio"])
def test_a_lie_in_a_region_is_not_told(by: float, basis: str) -> None:
    """What a basis says a formula costs is taken where its own duals, or the proofs of all nodes, meet it."""
    of, caught = made(-1), 0
    false = lying(of, by)
    whole = np.array([slider.demand.basis == "whole" for slider in of.sliders])
    for position in at(of, 300):
        moved = np.where(whole, position, 0.0) if basis == "whole" else position
        settled, answer = of.map.atlas.at(moved)
        if settled and answer is not None and (basis == "whole" or moved[~whole].any()):
            caught += 1
            assert false.at(moved) == (False, None)
    assert caught > 50


@pytest.mark.parametrize(("seed", "met_by"), [(-1, 100), (5, 10)])
def test_what_a_basis_proves_where_a_ratio_has_moved_no_formula_of_its_node_is_below(seed: int, met_by: int) -> None:
    of, met = made(seed), 0
    ratios = np.array([slider.demand.basis != "whole" for slider in of.sliders])
    for limit in np.flatnonzero(ratios).tolist():
        alone, slider = OneRatio([place.part for place in of.map.places], limit, np.inf), of.sliders[limit]
        travel = np.linspace(slider.low, slider.high, 12) - slider.demand.target
        for position, change in zip(at(of, 12), travel.tolist(), strict=True):
            moved = np.where(ratios, 0.0, position)
            moved[limit] = change
            bounds = alone.bounds(np.append(moved, 1.0), change)
            for place, bound in zip(of.map.places, bounds, strict=True):
                least = claim(place.moved(moved))
                if least.feasible:
                    value = float(place.program.cost @ least.x)
                    assert bound <= value + SAME
                    met += abs(bound - value) <= SAME
    assert met > met_by
