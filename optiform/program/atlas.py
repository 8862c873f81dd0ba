"""The critical regions of all nodes together: what the best is at a position, and what proves it, in a few products.

The proofs of all nodes give each a bound, and the node of the least is where the best can be. Where the basis of that
bound holds there (region.py), it attains it, so that no node has better: while only amounts move, three products tell
the best and prove it. Where a ratio has moved bounds lie below, and each node that still promises more is read off by
a region of its own. What no region tells is not told: that is for the solver.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.one_ratio import OneRatio, Seen, held
from optiform.program.part import Part
from optiform.program.positions import Box
from optiform.program.proofs import Proofs, joined
from optiform.program.region import NEAR, Answer, Region
from optiform.reading.frozen import frozen

SOME = 50  # positions before it pays to see which proofs differ
MOST_READ = 30  # regions of a node at one position; the solver takes far longer than all of these
UNKNOWN, NOTHING = -1, -2  # in place of a region: none is known that holds, nothing fits

Numbers = NDArray[np.intp]


@frozen
class Table:
    """The best at many positions.

    Attributes:
        values: the objective; no number where none is known. Shape (positions,).
        regions: whose it is, by its number; UNKNOWN or NOTHING. Shape (positions,).
    """

    values: Vector
    regions: Numbers


class Atlas:
    """What is known of all nodes. It notes what held last, to ask that first: for one thread at a time."""

    def __init__(self, parts: Sequence[Part]) -> None:
        """Put the nodes together."""
        self._parts, self._proofs = parts, joined([part.proofs for part in parts])
        self._most, self._ratios = self._proofs.most, np.array([*self._proofs.turns], dtype=np.intp)
        self._starts = np.cumsum([0, *(len(part.by) for part in parts[:-1])])
        self._nodes = np.cumsum([0, *(len(part.of) for part in parts[:-1])])
        self._bounds = np.concatenate([part.bounds for part in parts])
        self._alone: dict[int, OneRatio] = {}
        self._looked = 0  # at so many positions, all proofs
        self._asked = [*parts[0].bases] if len(parts) == 1 else []
        self._place = np.ones(self._bounds.shape[1])
        every = chain.from_iterable(chain.from_iterable(part.by) for part in parts)
        self.regions = [*{id(region): region for region in every}.values()]

    def at(self, position: Vector) -> tuple[bool, Answer | None]:
        """Whether it is known what the best at a position is, and the best; None where nothing fits.

        Args:
            position: the change of each limit's target. Shape (limits,).
        """
        place = self._place
        place[:-1] = position
        moved = position[self._ratios].tolist()
        known, seen = self._turned(place, moved) if any(moved) else self._straight(place)
        return known, None if seen is None else seen[0].answer(seen[1])

    @cached_property
    def _once(self) -> tuple[Proofs, Numbers]:
        """The proofs that differ, and of each proof of a node which of them it is: nodes have most in common."""
        return self._proofs.once()

    def _straight(self, place: Vector) -> tuple[bool, Seen | None]:
        """The same where only amounts have moved."""
        bounds = self._bounds.dot(place)
        tops = np.maximum.reduceat(bounds, self._nodes)
        node = int(tops.argmin())
        top, first, of = tops.item(node), self._nodes[node], self._parts[node].of
        if top > self._most:
            return True, None
        for region in of[bounds[first : first + len(of)].argmax()]:
            seen = region.at(place)
            if seen is not None and abs(seen.item(region.checks) - top) <= NEAR * (1 + abs(top)):
                return True, (region, seen)
        return False, None

    def _turned(self, place: Vector, moved: Sequence[float]) -> tuple[bool, Seen | None]:
        """The same where ratios have moved, each of them by so much."""
        of = [k for k, change in enumerate(moved) if change]
        if len(of) == 1:  # almost always
            told = self._one_ratio(of[0]).at(place, moved[of[0]])
        else:
            told = self._recent(place) if len(self._parts) == 1 else None
        return self._read_off(place) if told is None else told

    def _recent(self, place: Vector) -> tuple[bool, Seen] | None:
        """The region that holds of the only node, which has no rival: those that held last are asked first."""
        for number, regions in enumerate(self._asked[:MOST_READ]):
            seen = held(regions, place, np.inf)
            if seen is not None:
                self._asked.insert(0, self._asked.pop(number))
                return True, seen
        return None

    def _one_ratio(self, number: int) -> OneRatio:
        """What the nodes prove where this one of the ratios alone has moved."""
        known = self._alone.get(number)
        if known is None:
            known = self._alone[number] = OneRatio(self._parts, int(self._ratios[number]), self._most)
        return known

    def _read_off(self, place: Vector) -> tuple[bool, Seen | None]:
        """The same node by node, the most promising first."""
        bounds = self._bounds_at(place[:-1])
        tops = np.maximum.reduceat(bounds, self._starts)
        best, ceiling = None, np.inf
        for node in tops.argsort().tolist():
            if tops[node] >= ceiling:
                break
            read = self._read(node, bounds, place, ceiling)
            if read is None:
                return False, None
            value = float(read[1][read[0].checks])
            if value < ceiling:
                best, ceiling = read, value - NEAR * (1 + abs(value))
        return True, best

    def _bounds_at(self, position: Vector) -> Vector:
        """What each proof says; where many are asked, those that differ once. Shape (proofs,)."""
        self._looked += 1
        if self._looked <= SOME:
            return self._proofs.at(position)
        proofs, number = self._once
        return proofs.at(position)[number]

    def _read(self, node: int, bounds: Vector, place: Vector, ceiling: float) -> Seen | None:
        """The best of a node, by the likeliest of its regions that hold.

        One that is not below `ceiling` need not keep what the node leaves open.
        """
        by, start, tried = self._parts[node].by, self._starts[node], set[int]()
        for number in (-bounds[start : start + len(by)]).argsort().tolist():
            regions = by[number]
            if not regions or id(regions) in tried:
                continue
            tried.add(id(regions))
            for region in regions:
                seen = region.turned(place)
                if seen is None:
                    break  # the others are of the same basis, and hold other ways
                if seen[region.checks] >= ceiling or region.held(seen):
                    return region, seen
            if len(tried) == MOST_READ:
                break
        return None

    def bounds(self, position: Vector) -> list[float]:
        """What nothing in each node costs less than at a position, by the proofs at hand."""
        bounds: list[float] = np.maximum.reduceat(self._proofs.at(position), self._starts).tolist()
        return bounds

    def many(self, positions: Vector) -> Table:
        """The best at many positions, told as `at` tells it of one. Shape (positions, limits)."""
        values, regions = np.full(len(positions), np.nan), np.full(len(positions), UNKNOWN, dtype=np.intp)
        turned = np.zeros(len(positions), dtype=bool)
        for limit in self._ratios:
            turned |= positions[:, limit] != 0
        if not turned.any():
            return Table(*self._all_straight(positions))
        if not turned.all():
            values[~turned], regions[~turned] = self._all_straight(positions[~turned])
        numbers = {id(region): number for number, region in enumerate(self.regions)}
        for number in np.flatnonzero(turned).tolist():
            known, seen = self._turned(np.append(positions[number], 1.0), positions[number, self._ratios].tolist())
            if seen is not None:
                values[number], regions[number] = seen[1][seen[0].checks], numbers[id(seen[0])]
            elif known:
                regions[number] = NOTHING
        return Table(values, regions)

    def _all_straight(self, positions: Vector) -> tuple[Vector, Numbers]:
        """The objectives and whose they are where only amounts have moved.

        No formula costs less than the least over the nodes of their bounds; a region that holds and costs no more has
        the best. Those of the basis that gave the bound are asked first; then, where none of them holds, all that
        would cost as much somewhere: most cost less, so that they cannot hold.
        """
        box = Box.around(positions)
        values, which = self._least(box)
        regions = np.where(values > self._most, NOTHING, UNKNOWN)
        owners = [*chain.from_iterable(part.of for part in self._parts)]
        numbers = {id(region): number for number, region in enumerate(self.regions)}
        near = NEAR * (1 + np.abs(values))

        def ask(left: Numbers, asked: Iterable[Region]) -> None:
            for region in asked:
                if not len(left):
                    break
                holds = box.of(left).holds(region, values[left] + near[left])
                regions[left[holds]], left = numbers[id(region)], left[~holds]

        fits = regions == UNKNOWN
        for bound in np.flatnonzero(np.bincount(which[fits])).tolist():
            ask(np.flatnonzero(fits & (which == bound)), owners[bound])
        if len(left := np.flatnonzero(regions == UNKNOWN)):
            costs = box.lines(np.array([region.line[region.checks] for region in self.regions])) @ box.moved[:, left]
            some = np.flatnonzero((np.abs(costs - values[left]) <= near[left]).any(axis=1))
            ask(left, [self.regions[number] for number in some])
        values[regions < 0] = np.nan
        return values, regions

    def _least(self, box: Box) -> tuple[Vector, Numbers]:
        """At each position the least over the nodes of their bounds, and the number of a bound that is there.

        What cannot count anywhere in the box is not looked at: a bound that lies below another of its node.
        """
        bounds = box.lines(self._bounds)
        least, most = box.ends(bounds)
        tops = np.maximum.reduceat(least, self._nodes)
        some = np.flatnonzero(most >= np.repeat(tops, np.diff(self._nodes, append=len(bounds))))
        starts, bounds = np.searchsorted(some, self._nodes), bounds[some]
        values, which = np.empty(box.moved.shape[1]), np.empty(box.moved.shape[1], dtype=np.intp)
        for here in box.blocks(bounds.size):
            block = bounds @ box.moved[:, here]
            of_nodes = [of_node.max(axis=0) for of_node in np.split(block, starts[1:])]  # ten times reduceat's speed
            values[here] = np.min(of_nodes, axis=0)
            which[here] = some[(block == values[here]).argmax(axis=0)]
        return values, which
