"""A living sheet: the best formula of a brief as its limits are moved by hand, from a map of bases (program/bases.py).

What it holds is worked out once, here; the page that shows it (telling/living.py) needs no solver and no network.
"""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.goal import Nearest, NearestUsual
from optiform.design.answer import NoFormula
from optiform.design.design import Best, unrounded
from optiform.program.atlas import UNKNOWN
from optiform.program.bases import Key, Map, Position
from optiform.program.build import Demand
from optiform.program.pieces import limit_of
from optiform.program.region import Answer
from optiform.program.usual import requirements
from optiform.reading.faults import BadInput, Fault
from optiform.reading.frozen import frozen
from optiform.reading.progress import Progress

PARTS = 24  # of a limit's travel that are looked at, whatever the bases
HALVES = 9  # how often a part is halved where the basis at its ends is not the same
TOGETHER = 400  # positions with two or three limits moved at once
SEED = 1


@frozen
class Slider:
    """One end of a limit that the hand moves.

    Attributes:
        demand: as the brief has it.
        low, high: the ends of its travel, targets in the demand's unit.
        ends_low, ends_high: whether no formula fits beyond, with all else as in the brief.
    """

    demand: Demand
    low: float
    high: float
    ends_low: bool
    ends_high: bool


@frozen
class Sheet:
    """Everything the page shows and reckons with; `start` is the answer at the brief's own limits."""

    brief: Brief
    start: Best
    sliders: tuple[Slider, ...]
    map: Map


def sheet(brief: Brief, progress: Progress = lambda done, total: None) -> Sheet | NoFormula:
    """The map of a brief's limits, or why there is no formula to begin with.

    Args:
        brief: whose limits are to be moved.
        progress: called with the parts of the work that are done, and how many there are: one for each limit, and two.

    Raises:
        BadInput: a limit or a goal that bends, or a goal that is a mean: a map of bases does not hold for those.
        Unsettled: when there are too many ways to keep what is asked.
        NotCertified: when a proof does not check.
    """
    _refuse(brief)
    start = unrounded(brief)
    if isinstance(start, NoFormula):
        return start
    brief = start.brief
    needed = requirements(brief)
    demands = {limit_of(demand): demand for demand in needed.demands if demand.kind == "limit"}
    program = start.solution.program
    frame = program.with_rows([row for row in program.rows if row.key is None])
    bases = Map(frame, needed, len(brief.mix.ingredients), tuple(demands))
    sliders: list[Slider] = []
    for number, demand in enumerate(demands.values()):
        sliders.append(_slider(bases, number, demand))
        progress(len(sliders), len(demands) + 2)
    _together(bases, sliders)
    progress(len(sliders) + 1, len(demands) + 2)
    bases.settle()
    return Sheet(brief, start, tuple(sliders), bases)


def _refuse(brief: Brief) -> None:
    """See whether a map of bases holds for this brief."""
    goal = brief.goal
    if not isinstance(goal, Nearest | NearestUsual):
        bends = goal.wanted.bends
        if bends or not goal.wanted.everywhere(brief.mix).whole:
            words = (
                'a goal over the whole formula, such as lowest = "cost": a sheet cannot follow a mean, or what bends'
            )
            raise BadInput([Fault(brief.title, "[goal]", goal.words, words)])
    bending = [demand.words for demand in requirements(brief).demands if demand.bends]
    if bending:
        words = "limits without a bend: a sheet cannot follow this one; take it out of the brief for the sheet"
        raise BadInput([Fault(brief.title, "[limits]", name, words) for name in dict.fromkeys(bending)])


def _slider(bases: Map, number: int, demand: Demand) -> Slider:
    """The travel of one limit with all others as in the brief, every basis on it noted."""
    reach = max(abs(demand.target) / 2, 1.0)
    low = max(0.0, demand.target - reach) if demand.target >= 0 else demand.target - reach
    high = demand.target + reach if demand.unit != "%" or demand.target > 100 else min(100.0, demand.target + reach)
    low, ends_low = _end(bases, number, low - demand.target)
    high, ends_high = _end(bases, number, high - demand.target)
    _along(bases, _single(bases, number), low, high)
    return Slider(demand, demand.target + low, demand.target + high, ends_low, ends_high)


def _single(bases: Map, number: int) -> Callable[[float], Position]:
    return lambda change: change * np.eye(len(bases.limits))[number]


def _end(bases: Map, number: int, change: float) -> tuple[float, bool]:
    """How far a limit can go towards a change with something that fits, and whether it is stopped before it."""
    at = _single(bases, number)
    if bases.visit(at(change)) is not None:
        return change, False
    fits, fails = 0.0, change
    for _ in range(30):
        middle = (fits + fails) / 2
        fits, fails = (middle, fails) if bases.visit(at(middle)) is not None else (fits, middle)
    return fits, True


def _along(bases: Map, at: Callable[[float], Position], low: float, high: float) -> None:
    """Visit a straight way in parts, and each part in halves as long as its ends have not the same basis."""
    stops = np.linspace(low, high, PARTS + 1).tolist()
    answers = [bases.visit(at(stop)) for stop in stops]
    for k in range(PARTS):
        _between(bases, at, (stops[k], answers[k]), (stops[k + 1], answers[k + 1]), HALVES)


def _between(
    bases: Map, at: Callable[[float], Position], one: tuple[float, Answer | None], two: tuple[float, Answer | None],
    halves: int,
) -> None:  # fmt: skip
    if not halves or (one[1] and one[1].basis) == (two[1] and two[1].basis):
        return
    middle = (one[0] + two[0]) / 2
    between = middle, bases.visit(at(middle))
    _between(bases, at, one, between, halves - 1)
    _between(bases, at, between, two, halves - 1)


def _together(bases: Map, sliders: Sequence[Slider]) -> None:
    """Visit positions at which two or three limits have moved; the same ones at each run."""
    if not sliders:
        return
    drawn = np.array([*positions(sliders, TOGETHER, SEED)])
    for position in drawn[bases.atlas.many(drawn).regions == UNKNOWN]:
        bases.visit(position)


def positions(sliders: Sequence[Slider], count: int, seed: int) -> Iterator[Position]:
    """Positions drawn evenly, with one to three limits moved within their travel."""
    draw = np.random.default_rng(seed)
    for _ in range(count if sliders else 0):
        position = np.zeros(len(sliders))
        for number in draw.choice(len(sliders), min(len(sliders), int(draw.integers(1, 4))), replace=False):
            slider = sliders[number]
            position[number] = draw.uniform(slider.low, slider.high) - slider.demand.target
        yield position


__all__ = ["Key", "Sheet", "Slider", "positions", "sheet"]
