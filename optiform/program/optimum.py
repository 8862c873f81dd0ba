"""The best formula over all branches of what a brief asks: `best_formula`, by branch and bound (see tree.py).

`best_branch` is the same search for jobs that answer a set of demands in their own way, such as in whole steps.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Generic

import numpy as np

from optiform.brief.brief import Brief
from optiform.program.boxes import as_asked, root_of
from optiform.program.build import Branch, Requirements
from optiform.program.search import STARTS, BestFormula, Infeasible, Search, Shape, straight_goal
from optiform.program.solver import SolverName
from optiform.program.tree import Effort, F, InfeasibleNode, N, Node, Solve, SolvedNode, Tree, UndecidedNode
from optiform.reading.faults import Unproven, Unsettled
from optiform.reading.frozen import frozen

MOST_NODES = 300
MOST_BOXES = 4000  # nodes where limits bend
PROVEN = 1e-6  # relative: how near the bound must come to an answer whose limits bend

__all__ = ["InfeasibleNode", "Outcome", "SolvedNode", "best_branch", "best_formula", "searched"]


@frozen
class Cover:
    """The nodes that a search for what is `needed` ended with, which together hold every formula that keeps it.

    No formula in a node has less than its bound. `bounds` runs parallel to `nodes`.
    """

    needed: Requirements
    nodes: tuple[Node, ...]
    bounds: tuple[float, ...]

    def of_more(self, needed: Requirements) -> "Cover | None":
        """The same nodes with what is needed besides, in each still open; None where something is not needed any more.

        Who keeps more has no less, so that the bounds hold on.
        """
        if needed.rest != self.needed.rest or any(limit not in needed.limits for limit in self.needed.limits):
            return None
        more = replace(needed, limits=tuple(limit for limit in needed.limits if limit not in self.needed.limits))
        parts = root_of(more, boxes=False)
        return Cover(needed, tuple((*node, *parts) for node in self.nodes), self.bounds)


@frozen
class Outcome(Generic[F, N]):
    """The best answer with its branch, None if there is none; what is infeasible; why a branch is undecided.

    `cover`: what the search ended with. `bound`: no formula has less.
    """

    best: tuple[Branch, F] | None
    infeasible: tuple[tuple[Branch, N], ...]
    undecided: str
    cover: Cover | None = None
    bound: float = -np.inf

    @property
    def nodes(self) -> tuple[Node, ...]:
        """The nodes the search ended with; none where it branched on what bends."""
        return self.cover.nodes if self.cover else ()


def best_branch(
    needed: Requirements,
    solve_node: Solve[F, N],
    cover: Sequence[Node] = (),
    bound: Callable[[Node], float] = lambda _: -np.inf,
    most: int | None = None,
    any_way: bool = False,
) -> Outcome[F, N]:
    """The best answer over all branches of what is needed; limits that bend are left to `solve_node`.

    Args:
        needed: the requirements.
        solve_node: answers a set of demands, or tells that nothing fits; may raise Unsettled.
        cover: nodes to begin with, which together hold every formula; the root where there are none.
        bound: what is known before to be below everything in one of these.
        most: as many nodes as may be looked at besides those of the cover; `MOST_NODES` where it is not said.
        any_way: whether an answer to fewer demands that keeps all is the best as it stands; see `Tree`.

    Raises:
        Unsettled: when it would take more.
        Exception: whatever else `solve_node` raises.
    """
    effort = Effort(nodes=(MOST_NODES if most is None else most) + len(cover))
    tree = Tree(needed.rest, solve_node, effort, any_way=any_way)
    tree.search(*(cover or [root_of(needed, boxes=False)]), bound=bound)
    if not tree.done:
        raise Unsettled(_too_many(needed))
    best = None if tree.incumbent is None else (tree.incumbent[1], tree.incumbent[2].answer)
    bounds, nodes = zip(*tree.cover, strict=True)
    return Outcome(best, tuple(tree.infeasible), tree.undecided, Cover(needed, nodes, bounds), tree.bound)


def best_formula(
    brief: Brief,
    needed: Requirements,
    solver: SolverName = "highs",
    starts: int = STARTS,
    before: Cover | None = None,
) -> Outcome[BestFormula, Infeasible]:
    """The best formula for the brief's goal over all branches of what is needed.

    `before`: what a search for the same goal ended with, of less or as much; this one goes on from there where nothing
    is branched on that bends.

    Limits that bend in a known way are branched on, so that the answer is proven best of all but for its gap;
    others, and a goal that bends, are searched from several starts. A node of which no solver's claim checks is left
    with its bound, so that the answer may have a gap.

    Raises:
        Unsettled: when no answer was reached by `MOST_BOXES` nodes.
        NotCertified: as in `search`, where there is no answer at all.
    """
    among, lies = Search(brief, solver, None, starts), list[Unproven]()

    def solve_node(branch: Branch) -> SolvedNode[BestFormula] | InfeasibleNode[Infeasible] | UndecidedNode:
        try:
            return _node(among, branch)
        except Unsettled:
            raise
        except Unproven as lie:
            lies.append(lie)
            return UndecidedNode(str(lie), among.bound(branch))

    boxes = straight_goal(brief) and any(demand.bends and demand.bent for demand in needed.demands)
    if boxes:
        outcome = _in_boxes(among, needed, solve_node)
    else:
        cover = before and before.of_more(needed)
        nodes, bounds = (cover.nodes, dict(zip(map(id, cover.nodes), cover.bounds, strict=True))) if cover else ((), {})
        outcome = best_branch(needed, solve_node, nodes, lambda node: bounds.get(id(node), -np.inf))
    if outcome.best is None and outcome.undecided and lies:
        raise lies[0]
    if outcome.best is None or not (boxes or outcome.undecided):
        return outcome
    branch, best = outcome.best
    return replace(outcome, best=(branch, _proven(brief, best, outcome.bound)))


def _in_boxes(
    among: Search, needed: Requirements, solve_node: Solve[BestFormula, Infeasible]
) -> Outcome[BestFormula, Infeasible]:
    """The best with limits that bend branched on."""
    tree = Tree(
        needed.rest,
        solve_node,
        Effort(PROVEN, MOST_BOXES),
        lambda node, solved, near: _at_rest(among, solved, as_asked(node, solved.x), needed.rest, near),
    )
    tree.search(root_of(needed, boxes=True))
    if tree.incumbent is None and not tree.done:
        raise Unsettled(_too_many(needed))
    best = None if tree.incumbent is None else (tree.incumbent[1], tree.incumbent[2].answer)
    return Outcome(best, tuple(tree.infeasible), tree.undecided, bound=tree.bound)


def _at_rest(
    among: Search, box: SolvedNode[BestFormula], asked: Branch | None, rest: Branch, near: bool
) -> tuple[Branch, SolvedNode[BestFormula]] | None:
    """The answer of a box by its limits as they stand, where the search from it, or `near` it, comes to rest."""
    branch = None if asked is None else (*asked, *rest)
    place = None if branch is None else (among.near(branch, box.x) if near else among.soon(branch, box.x))
    return None if branch is None or place is None else (branch, _valued(among.brief, place))


def _proven(brief: Brief, best: BestFormula, bound: float) -> BestFormula:
    """The answer with what is proven of it: local only where the bound stays away from it."""
    value = brief.goal.sign * best.value
    gap = max(0.0, value - bound)
    return replace(best, gap=gap, local=gap > 2 * PROVEN * (1 + abs(value)))


def searched(
    brief: Brief, branch: Branch, solver: SolverName = "highs", shape: Shape | None = None, starts: int = STARTS
) -> SolvedNode[BestFormula] | InfeasibleNode[Infeasible]:
    """A branch solved by `search`, for the brief's goal.

    Raises:
        Unsettled: when the search does not come to rest, or only where the goal has no value.
        NotCertified: as in `search`.
    """
    return _node(Search(brief, solver, shape, starts), branch)


def _node(among: Search, branch: Branch) -> SolvedNode[BestFormula] | InfeasibleNode[Infeasible]:
    place, goal = among.best(branch), among.brief.goal
    if isinstance(place, Infeasible):
        return InfeasibleNode(place, place.proven)
    if np.isnan(place.value):
        words = f"{goal.words} is a mean over something that the brief lets go to nothing: ask for some of it"
        raise Unsettled(words)
    return _valued(among.brief, place)


def _valued(brief: Brief, place: BestFormula) -> SolvedNode[BestFormula]:
    return SolvedNode(place, place.x, brief.goal.sign * place.value, bound_of(brief, place), _prices(place))


def bound_of(brief: Brief, place: BestFormula) -> float:
    """What no formula of these demands is below, in the goal's sign; minus infinity where it is only best near here."""
    slack = abs(place.certificate.gap) * (1 + abs(place.objective)) / place.scale
    return -np.inf if place.local else brief.goal.sign * place.value - slack


def _prices(place: BestFormula) -> dict[str, float]:
    """What one unit of each limit that binds costs, as the program's duals have it."""
    prices: dict[str, float] = {}
    for row, dual in zip(place.program.rows, place.y, strict=True):
        if row.key is not None and dual:
            size = row.per_target + (0.0 if row.group is None else float(row.group @ place.point))
            prices[row.words] = max(prices.get(row.words, 0.0), abs(float(dual)) * size / place.scale)
    return prices


def _too_many(needed: Requirements) -> str:
    bends = [demand.words for demand in needed.demands if demand.bends]
    names = dict.fromkeys([*(needed.limits[place][0][0].words for place in needed.disjunctions), *bends])
    return f"too many ways to keep these limits together: {'; '.join(names)}; ask fewer of them at a time"
