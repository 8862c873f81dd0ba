"""Questions about the best answer over every branch of a brief, not only the one that the answer lies in.

A limit that any one of several ways keeps divides the formulas into branches, each convex, all of them together not.
What a neighbour of the answer tells of a price holds in its own branch only. Three questions are put to all of them,
each by branch and bound over programs that stay alive in the solver:

* `beside`: which branch is the best where one target has moved by a hair;
* `reach`: how far a price holds before a formula of another branch is better;
* `worth`: the greatest price at which a candidate the answer leaves out would still pay,

      max over x with x_j > 0 of  (best cost without j - cost of the other lines in x) / x_j,

  a linear-fractional program in every branch, by Dinkelbach (1967): j is given a price, and as long as some formula
  with it is cheaper than the best without, the price at which that formula would cost the same is the next one.
"""

from dataclasses import dataclass

from optiform.program.build import Demand, Requirements, Way
from optiform.program.linear import Program, Vector
from optiform.program.live import Live
from optiform.program.prices import Pricer
from optiform.program.ways import DeadEnd, Looked, best_way

BETTER = 1e-8  # relative: what another branch must gain to count; rounding is well below
ROUNDS = 30  # of Dinkelbach; three or four are usual


@dataclass(frozen=True)
class Node:
    """One branch, or several together with some choices open: its program alive, and its proof at the brief as it is.

    `value` is a proven bound: nothing in it costs less. `reduced` are the reduced costs that prove it.
    """

    program: Program
    asked: Way
    live: Live
    value: float
    reduced: Vector
    y: Vector

    def row(self, demand: Demand) -> int | None:
        """The number of a demand's row; None where the node leaves it open."""
        rows = (i for i, row in enumerate(self.program.rows) if row.key is not None and self.asked[row.key] == demand)
        return next(rows, None)


class Branches:
    """Every branch of a brief near the point `at`, solved as far as questions ask."""

    def __init__(self, base: Program, needed: Requirements, at: Vector) -> None:
        """Nothing is solved yet.

        Args:
            base: the program's frame and objective, without demands.
            needed: what is asked for.
            at: where limits that bend are held; fractions.
        """
        self._base, self._needed, self._at = base, needed, at
        self._nodes: dict[Way, Node | None] = {}

    def beside(self, demand: Demand, change: float, below: float) -> Pricer | None:
        """The best branch where the target of a demand has moved by `change`, if it is below `below`.

        Raises:
            Unsettled: when it takes too many branches to tell.
        """
        needed, before = self._moved(demand, change)

        def look(way: Way) -> Looked[Node] | DeadEnd[None]:
            node = self._node(tuple(map(before, way)))
            row = None if node is None else node.row(demand)
            if node is None or (row is None and node.value >= below):
                return DeadEnd(None)
            if row is not None:
                node.live.move(row, change)
            try:
                optimum = node.live.optimum()
            finally:
                if row is not None:
                    node.live.move(row, 0.0)
            if optimum is None or optimum.bound >= below:
                return DeadEnd(None)
            return self._looked(node, optimum.x, optimum.value, optimum.bound)

        best = best_way(needed, look).best
        return None if best is None else Pricer(best[1].program)
