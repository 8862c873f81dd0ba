"""The best formula over all ways to keep what a brief asks: `best_formula`, by branch and bound (see `branch.py`).

`best_way` is the same search for jobs that answer a set of demands in their own way, such as in whole steps.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Generic

import numpy as np

from optiform.brief.brief import Brief
from optiform.program.boxes import as_asked, root_of
from optiform.program.branch import DeadEnd, Effort, F, Looked, N, Tree
from optiform.program.build import Picks, Requirements, Way, frame, program_at
from optiform.program.certificate import NotCertified
from optiform.program.linear import Program, Row, Sense
from optiform.program.search import STARTS, Found, NothingFits, Search, Shape, straight_goal
from optiform.program.solver import SolverName, solve
from optiform.reading.faults import Unsettled

MOST_LOOKS = 300
MOST_BOXES = 4000  # looks where limits bend
PROVEN = 1e-6  # relative: how near the bound must come to an answer whose limits bend

__all__ = ["DeadEnd", "Looked", "Sought", "best_formula", "best_way", "every_way", "searched"]


@dataclass(frozen=True)
class Sought(Generic[F, N]):
    """The best answer and the way it keeps, None if there is none; dead ends; why some way was left undecided."""

    best: tuple[Way, F] | None
    ends: tuple[tuple[Way, N], ...]
    restless: str


def best_way(needed: Requirements, look: Callable[[Way], Looked[F] | DeadEnd[N]]) -> Sought[F, N]:
    """The best answer over all ways to keep what is needed; limits that bend are left to `look`.

    Args:
        needed: the requirements.
        look: answers a set of demands, or tells that nothing fits; may raise Unsettled.

    Raises:
        Unsettled: when it would take more than `MOST_LOOKS` looks.
        Exception: whatever else `look` raises.
    """
    tree = Tree(needed.rest, look, Effort(looks=MOST_LOOKS))
    tree.grow(root_of(needed, boxes=False))
    if not tree.done:
        raise Unsettled(_too_many(needed))
    best = None if tree.incumbent is None else (tree.incumbent[1], tree.incumbent[2].told)
    return Sought(best, tuple(tree.ends), tree.restless)


def best_formula(
    brief: Brief, needed: Requirements, solver: SolverName = "highs", starts: int = STARTS
) -> Sought[Found, NothingFits]:
    """The best formula for the brief's goal over all ways to keep what is needed.

    Limits that bend in a known way are branched on, so that the answer is proven best of all but for `Found.gap`;
    others, and a goal that bends, are searched from several starts.

    Raises:
        Unsettled: when no answer was reached by `MOST_BOXES` looks.
        NotCertified: as in `search`.
    """
    among = Search(brief, solver, None, starts)
    if not (straight_goal(brief) and any(demand.bends and demand.bent for demand in needed.demands)):
        return best_way(needed, lambda way: _looked(among, way))
    tree = Tree(
        needed.rest,
        lambda way: _looked(among, way),
        Effort(PROVEN, MOST_BOXES),
        lambda node, found: _at_rest(among, found, as_asked(node, found.x), needed.rest),
    )
    tree.grow(root_of(needed, boxes=True))
    if tree.incumbent is None:
        if not tree.done:
            raise Unsettled(_too_many(needed))
        return Sought(None, tuple(tree.ends), tree.restless)
    _, way, looked = tree.incumbent
    return Sought((way, _proven(brief, looked.told, tree.bound)), tuple(tree.ends), tree.restless)


def _at_rest(among: Search, found: Looked[Found], asked: Way | None, rest: Way) -> tuple[Way, Looked[Found]] | None:
    """The answer of a box by its limits as they stand, where the search near it comes to rest."""
    way = None if asked is None else (*asked, *rest)
    place = None if way is None else among.near(way, found.x)
    return None if way is None or place is None else (way, _valued(among.brief, place))


def _proven(brief: Brief, found: Found, bound: float) -> Found:
    """The answer with what is proven of it: local only where the bound stays away from it."""
    value = brief.goal.sign * found.value
    gap = max(0.0, value - bound)
    return replace(found, gap=gap, local=gap > 2 * PROVEN * (1 + abs(value)))


def searched(
    brief: Brief, way: Way, solver: SolverName = "highs", shape: Shape | None = None, starts: int = STARTS
) -> Looked[Found] | DeadEnd[NothingFits]:
    """A look by `search`, for the brief's goal.

    Raises:
        Unsettled: when the search does not come to rest, or only where the goal has no value.
        NotCertified: as in `search`.
    """
    return _looked(Search(brief, solver, shape, starts), way)


def _looked(among: Search, way: Way) -> Looked[Found] | DeadEnd[NothingFits]:
    place, goal = among.best(way), among.brief.goal
    if isinstance(place, NothingFits):
        return DeadEnd(place, place.proven)
    if np.isnan(place.value):
        words = f"{goal.words} is a mean over something that the brief lets go to nothing: ask for some of it"
        raise Unsettled(words)
    return _valued(among.brief, place)


def _valued(brief: Brief, place: Found) -> Looked[Found]:
    value = brief.goal.sign * place.value
    slack = abs(place.certificate.gap) * (1 + abs(place.objective)) / place.scale
    return Looked(place, place.x, value, -np.inf if place.local else value - slack, _prices(place))


def _prices(place: Found) -> dict[str, float]:
    """What one unit of each limit that binds costs, as the program's duals have it."""
    prices: dict[str, float] = {}
    for row, dual in zip(place.program.rows, place.y, strict=True):
        if row.key is not None and dual:
            size = row.per_target + (0.0 if row.group is None else float(row.group @ place.point))
            prices[row.words] = max(prices.get(row.words, 0.0), abs(float(dual)) * size / place.scale)
    return prices


def _too_many(needed: Requirements) -> str:
    bends = [demand.words for demand in needed.demands if demand.bends]
    names = dict.fromkeys([*(needed.limits[place][0][0].words for place in needed.choices), *bends])
    return f"too many ways to keep these limits together: {'; '.join(names)}; ask fewer of them at a time"


def every_way(brief: Brief, needed: Requirements, solver: SolverName = "highs") -> list[Way]:
    """Ways that together leave out no formula: those that are the easiest of all for some formula that fits.

    For a question that is asked again and again of the same formulas, where the best way may change.

    Raises:
        Unsettled: when it would take more than `MOST_LOOKS` looks.
    """
    base, none = frame(brief, np.zeros(len(brief.mix.ingredients))), np.zeros(len(brief.mix.ingredients))
    found: list[Picks] = [{}]
    looks = 0
    for place in needed.choices:
        wider = [{**picks, place: number} for picks in found for number in range(len(needed.limits[place]))]
        looks += len(wider)
        if looks > MOST_LOOKS:
            raise Unsettled(_too_many(needed))
        programs = [program_at(base, needed.way(picks), none, bent=False) for picks in wider]
        ahead = [[row for i, k in picks.items() for row in _easiest(needed.limits[i], k)] for picks in wider]
        fits = [_fits(p.with_rows([*p.rows, *rows]), solver) for p, rows in zip(programs, ahead, strict=True)]
        found = [picks for picks, fit in zip(wider, fits, strict=True) if fit]
    return [needed.way(picks) for picks in found]


def _fits(program: Program, solver: SolverName) -> bool:
    """Whether a program has a point; one that rounding decides counts as one that has."""
    try:
        return solve(program, solver).feasible
    except NotCertified:
        return True


def _easiest(ways: Sequence[Way], number: int) -> Iterator[Row]:
    """Rows that say that of several straight pieces of one property this one makes its limit easiest to keep.

    A rule has none: its ways may hold together.
    """
    if ways[0][0].kind == "rule":
        return
    pieces = [way[0].terms(np.zeros(0)).numerator for way in ways]
    sense = Sense.AT_LEAST if ways[0][0].side == "low" else Sense.AT_MOST
    for other in pieces[:number] + pieces[number + 1 :]:
        yield Row(f"{ways[number][0].name} by this piece", pieces[number] - other, sense, 0.0)
