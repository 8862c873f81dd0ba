"""What all nodes prove where the ratio of one limit has moved, and amounts as they like.

Each basis has a stretch of that ratio on which its duals are right (turning.py). There what it costs is a bound of its
node, wherever the amounts stand: as straight in them as where no ratio has moved, and besides by what the ratio brings.
So the bounds of all nodes are again one product, and where the basis of the least of them holds, it is the best.
"""

from bisect import bisect
from collections.abc import Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.part import Bound, Part
from optiform.program.region import NEAR, Region
from optiform.reading.frozen import frozen

Numbers = NDArray[np.intp]
Seen = tuple[Region, Vector]  #: a region that holds at a position, and what it says there


@frozen
class _Stretch:
    """The bounds that hold on a stretch of the ratio, node after node.

    Attributes:
        lines: of all of them, and behind them the groups of those that feel the ratio.
        feel: which these are; `own`, `inner` as in `Bound`.
        starts: the first of each node.
        regions: of each.
    """

    lines: Vector
    feel: Numbers
    own: Vector
    inner: Vector
    starts: Numbers
    regions: Sequence[Sequence[Region]]

    @staticmethod
    def of(nodes: Sequence[Sequence[Bound]]) -> "_Stretch":
        bounds = [*chain.from_iterable(nodes)]
        groups = {number: bound.group for number, bound in enumerate(bounds) if bound.group is not None}
        return _Stretch(
            lines=np.array([*(bound.line for bound in bounds), *groups.values()]),
            feel=np.array([*groups], dtype=np.intp),
            own=np.array([bounds[number].own for number in groups]),
            inner=np.array([bounds[number].inner for number in groups]),
            starts=np.cumsum([0, *(len(node) for node in nodes[:-1])]),
            regions=[bound.regions for bound in bounds],
        )

    def bounds(self, place: Vector, moved: float) -> Vector:
        """Each of them at a position."""
        seen, count = self.lines.dot(place), len(self.regions)
        bounds: Vector = seen[:count]
        if len(self.feel):
            bounds[self.feel] += seen[count:] * (moved * self.own / (1 - moved * self.inner))
        return bounds


class OneRatio:
    """All nodes where the ratio of one limit has moved."""

    def __init__(self, parts: Sequence[Part], limit: int, most: float) -> None:
        """Put the nodes together; `most`: what no formula costs more than."""
        self._most = most
        self._nodes = [part.alone(limit) for part in parts]
        ends = {end for node in self._nodes for bound in node for end in (bound.low, bound.high) if np.isfinite(end)}
        self._ends = sorted(ends)
        self._stretches: dict[int, _Stretch] = {}
        self._last: dict[int, Sequence[Region]] = {}  # that held last on each, where there is one node, without a rival

    def at(self, place: Vector, moved: float) -> tuple[bool, Seen | None] | None:
        """That it is known what the best is, and the region that says it, none where nothing fits; None if it is not.

        Args:
            place: a position with a 1 behind it.
            moved: the change of the ratio there.
        """
        number = bisect(self._ends, moved)
        last = self._last.get(number)
        if last is not None and (seen := held(last, place, np.inf)) is not None:
            return True, seen
        told = self._by_bounds(self._stretch(number), place, moved)
        if told is not None and told[1] is not None and len(self._nodes) == 1:
            self._last[number] = (told[1][0],)
        return told

    def bounds(self, place: Vector, moved: float) -> list[float]:
        """What nothing in each node costs less than; `place` and `moved` as in `at`."""
        stretch = self._stretch(bisect(self._ends, moved))
        bounds: list[float] = np.maximum.reduceat(stretch.bounds(place, moved), stretch.starts).tolist()
        return bounds

    def _by_bounds(self, stretch: _Stretch, place: Vector, moved: float) -> tuple[bool, Seen | None] | None:
        """The same by the least over the nodes of their bounds."""
        bounds, starts = stretch.bounds(place, moved), stretch.starts
        node = int(np.maximum.reduceat(bounds, starts).argmin()) if len(starts) > 1 else 0
        first, last = starts.item(node), starts.item(node + 1) if node + 1 < len(starts) else len(bounds)
        number = first + int(bounds[first:last].argmax())
        top = bounds.item(number)
        if top > self._most:
            return True, None
        near = top + NEAR * (1 + abs(top))
        seen = held(stretch.regions[number], place, near)
        if seen is None:  # several bases may cost the same, and only some of them hold
            others = np.flatnonzero(bounds[first:last] >= 2 * top - near).tolist()
            tried = (held(stretch.regions[first + other], place, near) for other in others)
            seen = next((other for other in tried if other is not None), None)
        return None if seen is None else (True, seen)

    def _stretch(self, number: int) -> _Stretch:
        """That between two ends next to each other."""
        if number not in self._stretches:
            low = self._ends[number - 1] if number else -np.inf
            high = self._ends[number] if number < len(self._ends) else np.inf
            nodes = [[bound for bound in node if bound.low <= low and high <= bound.high] for node in self._nodes]
            self._stretches[number] = _Stretch.of(nodes)
        return self._stretches[number]


def held(regions: Sequence[Region], place: Vector, most: float) -> Seen | None:
    """The region of a basis that holds at a position and costs no more than this."""
    for region in regions:
        seen = region.turned(place)
        if seen is None:
            break  # the others are of the same basis, and hold other ways
        if region.held(seen) and seen.item(region.checks) <= most:
            return region, seen
    return None
