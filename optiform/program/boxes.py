"""Limits on a property that bends, as a disjunction: its cases, then ever smaller boxes of the ratios it depends on.

See `properties/bent.py` for the lines between which the property lies in a box. A limit on it becomes a straight row in
each box, kept by every formula of the box that keeps the limit; the same lines the other way round give a row that is
enough to keep it. As a box is halved the two draw together, and the bound with them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import cast

import numpy as np

from optiform.program.branch import Choice, Disjunction, Node, Settled
from optiform.program.build import Demand, Requirements, Way
from optiform.program.linear import Vector
from optiform.program.tolerances import LEAST_GROUP
from optiform.properties.base import Side, Terms
from optiform.properties.bent import Bent, Case, Edge, Interval, Lines, Mean, ratio_at
from optiform.properties.solubility import OutOfRange

NARROW = 1e-9  # of the whole reach: a box no wider than this in any direction is not split any further
MARGIN = 0.1  # of an interval: no split nearer to an end than this
ROUNDING = 1e-8  # relative miss that is rounding: a hundredth of what a limit that bends is checked to


@dataclass(frozen=True)
class Bends:
    """What is asked of one property that bends: in any of its cases."""

    demands: Way
    within: Way
    settled: bool = False
    continuous: bool = True

    @property
    def words(self) -> str:
        """The limits."""
        return "; ".join(demand.words for demand in self.demands)

    def relaxation(self) -> Way:
        """Nothing yet: there are cases in which the property does not apply."""
        return ()

    def restriction(self, x: Vector) -> Way:
        """As the easiest case does; see `Box.restriction`."""
        return min(self.branches(x), key=lambda box: _astray(box.relaxation(), x)).restriction(x)

    def miss(self, x: Vector) -> float:
        """The worst of the limits."""
        return _miss(self.demands, x)

    def branches(self, x: Vector) -> Sequence[Disjunction]:
        """The cases, each with a box of all that the property's ratios can be."""
        return [Box.whole(self, case) for case in _bent(self.demands).cases]


@dataclass(frozen=True)
class Box:
    """One case of a property, its curved ratios and its means between two numbers each; infinite where it is open."""

    of: Bends
    case: Case
    ratios: tuple[Interval, ...]
    means: tuple[tuple[Interval, ...], ...]
    continuous: bool = True

    @staticmethod
    def whole(of: Bends, case: Case) -> "Box":
        """The box that leaves nothing of a case out."""
        ratios = tuple(part.reach for part in case.parts)
        return Box(of, case, ratios, tuple(tuple(mean.reach for mean in part.means) for part in case.parts))

    @property
    def settled(self) -> bool:
        """Whether the property does not apply here."""
        return not self.case.parts

    @property
    def words(self) -> str:
        """The limits."""
        return self.of.words

    def relaxation(self) -> Way:
        """Where the box is, and what its lines make of the limits."""
        return self._relaxation

    @cached_property
    def _relaxation(self) -> Way:
        return (*self._place, *(self._row(demand, enough=False) for demand in self.of.demands if not self.settled))

    def restriction(self, x: Vector) -> Way:
        """The same in a smaller box around x, with lines that are enough, and the means held where x has them."""
        if self.settled:
            return self._relaxation
        smaller = replace(
            self,
            ratios=tuple(
                reach if part.straight else _around(reach, ratio_at(part.numerator, self.case.group, x))
                for part, reach in zip(self.case.parts, self.ratios, strict=True)
            ),
            means=tuple(
                tuple(_held(reach, ratio_at(m.numerator, m.group, x)) for m, reach in zip(part.means, reaches, strict=True))
                for part, reaches in zip(self.case.parts, self.means, strict=True)
            ),
        )
        return (*smaller._place, *(smaller._row(demand, enough=True) for demand in self.of.demands))

    def miss(self, x: Vector) -> float:
        """The worst of the limits, beyond rounding."""
        value = self.case.value(x)
        if value is None:
            return np.inf
        bent, sides = _bent(self.of.demands), {"low": -1.0, "high": 1.0}
        off = [(d, sides[d.side] * (value - bent.inner(d.target)) / bent.slope(d.target)) for d in self.of.demands]
        return max(over / (1 + abs(demand.target)) for demand, over in off) - ROUNDING

    def branches(self, x: Vector) -> Sequence[Disjunction]:
        """Two boxes, split where the lines are furthest from what x really has."""
        places = [(k, None) for k, part in enumerate(self.case.parts) if not part.straight]
        places += [(k, i) for k, part in enumerate(self.case.parts) for i in range(len(part.means))]  # type: ignore[misc]
        splits = [split for k, i in places if (split := self._split(k, i, x))]
        return max(splits, key=lambda split: split[0])[1] if splits else ()

    def _split(self, k: int, i: int | None, x: Vector) -> tuple[float, tuple["Box", "Box"]] | None:
        """How far off the lines of one ratio or mean are at x, and the two boxes that splitting it gives."""
        part = self.case.parts[k]
        mean = None if i is None else part.means[i]
        (low, high), reach = (self.ratios[k], part.reach) if mean is None else (self.means[k][cast(int, i)], mean.reach)
        at = ratio_at(part.numerator, self.case.group, x) if mean is None else ratio_at(mean.numerator, mean.group, x)
        if at is None or high - low <= NARROW * (1 + abs(reach[1] - reach[0])):
            return None
        at = min(max(at, low), high)
        if mean is None:
            off, cut = self._off(k, at), at
        else:
            off, cut = self._off_mean(k, mean, low, high, at)
        cut = min(max(cut, low + MARGIN * (high - low)), high - MARGIN * (high - low))
        return off, (self._with(k, i, (low, cut)), self._with(k, i, (cut, high)))

    def _off(self, k: int, at: float) -> float:
        lines = self.case.parts[k].curve.between(*self._argument(k))
        value = self.case.parts[k].curve.value(at) if not self.case.parts[k].means else None
        if value is None:
            return lines.high - lines.low
        low, high = lines.slope * at + lines.low, lines.slope * at + lines.high
        return max(value - low if self._sides("high") else 0.0, high - value if self._sides("low") else 0.0)

    def _off_mean(self, k: int, mean: Mean, low: float, high: float, at: float) -> tuple[float, float]:
        """By how much the end that the lines take the mean at is off, and half way there."""
        slope = self.case.parts[k].curve.between(*self._argument(k)).slope * mean.times
        ends = [low if (slope > 0) == (side == "high") else high for side in ("low", "high") if self._sides(side)]
        end = max(ends, key=lambda end: abs(end - at))
        return abs(slope) * abs(end - at), (end + at) / 2

    def _sides(self, side: str) -> bool:
        return any(demand.side == side for demand in self.of.demands)

    def _with(self, k: int, i: int | None, reach: Interval) -> "Box":
        if i is None:
            return replace(self, ratios=(*self.ratios[:k], reach, *self.ratios[k + 1 :]))
        means = (*self.means[k][:i], reach, *self.means[k][i + 1 :])
        return replace(self, means=(*self.means[:k], means, *self.means[k + 1 :]))

    def case_of(self) -> Way:
        """The limits themselves, where the case holds, with tangents to it."""
        limits = () if self.settled else tuple(replace(demand, terms=self._tangent) for demand in self.of.demands)
        return (*self._edges, *(self.of.within if limits else ()), *limits)

    def _tangent(self, x: Vector) -> Terms:
        """Terms of the property near x; nothing where it does not apply."""
        tangent = _bent(self.of.demands).tangent(self.case, x)
        if tangent is None:
            return Terms.exact(np.zeros(len(x)), np.zeros(len(x)))
        value, slope = tangent
        return Terms.exact(slope + (value - slope @ x))  # fractions sum to one

    # -- rows ---------------------------------------------------------------------------------------------------------

    @property
    def _edges(self) -> Way:
        there = [Edge(words, 100 * group, "low", 100 * LEAST_GROUP) for words, group in self.case.there]
        return tuple(_edge(edge) for edge in (*self.case.edges, *there))

    @cached_property
    def _place(self) -> Way:
        """Where the box is: the case, and the ends that are narrower than the whole reach."""
        rows = list(self._edges)
        for part, reach, means in zip(self.case.parts, self.ratios, self.means, strict=True):
            rows += _ends(part.words, part.numerator, cast(Vector, self.case.group), reach, part.reach)
            for mean, narrowed in zip(part.means, means, strict=True):
                rows += _ends(mean.words, mean.numerator, mean.group, narrowed, mean.reach)
        return (*rows, *(self.of.within if self.case.parts else ()))

    def _row(self, demand: Demand, enough: bool) -> Demand:
        """A limit by the lines of this box: what it asks at least, or what is `enough`."""
        bent, group = _bent(self.of.demands), cast(Vector, self.case.group)
        lower = (demand.side == "high") != enough
        total, constant = np.zeros(len(group)), 0.0
        for k, part in enumerate(self.case.parts):
            lines = self._lines(k)
            total = total + lines.slope * part.numerator
            constant += lines.low if lower else lines.high
        z, slope = bent.inner(demand.target), bent.slope(demand.target)
        numerator = (total + (constant - z) * group) / slope + demand.target * group
        scale = 2.0 ** round(np.log2(100 / max(float(np.abs(numerator).max()), 1e-9)))
        terms = Terms.exact(scale * numerator, scale * group)
        return replace(demand, terms=lambda _: terms, bends=False)

    def _argument(self, k: int) -> Interval:
        """What the argument of a curve lies between: the ratio and its means."""
        part, (low, high) = self.case.parts[k], self.ratios[k]
        for mean, reach in zip(part.means, self.means[k], strict=True):
            ends = [mean.times * end for end in reach]
            low, high = low + min(ends), high + max(ends)
        return low, high

    def _lines(self, k: int) -> Lines:
        """The lines of one part by its ratio alone, its means taken where they are lowest and highest."""
        part = self.case.parts[k]
        lines = Lines(1.0, 0.0, 0.0) if part.straight else part.curve.between(*self._argument(k))
        low, high = lines.low, lines.high
        for mean, reach in zip(part.means, self.means[k], strict=True):
            ends = [lines.slope * mean.times * end for end in reach]
            low, high = low + min(ends), high + max(ends)
        return Lines(lines.slope, low, high)


def root_of(needed: Requirements, boxes: bool) -> Node:
    """All limits of a brief as disjunctions, in its order; with `boxes`, what bends in a known way is one of cases."""
    parts: dict[object, Disjunction] = {}
    for place, ways in enumerate(needed.limits):
        bends = [demand for demand in ways[0] if demand.bends and demand.bent] if boxes and len(ways) == 1 else []
        if len(ways) > 1:
            parts[place] = Choice(ways)
        elif bends:
            within = tuple(demand for demand in ways[0] if demand not in bends)
            both = parts.get(bends[0].name)
            parts[bends[0].name] = Bends((*both.demands, *bends) if isinstance(both, Bends) else tuple(bends), within)
        else:
            parts[place] = Settled(ways[0])
    return tuple(parts.values())


def as_asked(node: Node) -> Way | None:
    """The demands of a node with every limit that bends as it stands in the brief; None where nothing in it bends."""
    if not any(isinstance(part, Box) and not part.settled for part in node):
        return None
    return tuple(demand for part in node for demand in (part.case_of() if isinstance(part, Box) else part.relaxation()))


def _bent(demands: Way) -> Bent:
    return cast(Bent, demands[0].bent)


def _miss(demands: Way, x: Vector) -> float:
    """The worst miss beyond rounding; where the model does not reach, as good as everything."""
    try:
        return max(demand.miss(x) for demand in demands) - ROUNDING
    except OutOfRange:
        return np.inf


def _astray(way: Way, x: Vector) -> float:
    return max((demand.miss(x) for demand in way), default=-np.inf)


def _held(reach: Interval, at: float | None) -> Interval:
    if at is None:
        return reach
    return (min(max(at, reach[0]), reach[1]),) * 2


def _around(reach: Interval, at: float | None) -> Interval:
    """A quarter of the interval to each side."""
    if at is None:
        return reach
    quarter = (reach[1] - reach[0]) / 4
    return max(reach[0], at - quarter), min(reach[1], at + quarter)


def _edge(edge: Edge) -> Demand:
    terms = Terms.exact(edge.amount)
    return Demand(edge.words, "%", cast(Side, edge.side), edge.target, "model", lambda _: terms)


def _ends(words: str, numerator: Vector, group: Vector, narrowed: Interval, reach: Interval) -> Iterator[Demand]:
    terms = Terms.exact(numerator, group)
    for side, end, widest in zip(("low", "high"), narrowed, reach, strict=True):
        if end != widest:
            yield Demand(words, "", cast(Side, side), end, "model", lambda _, terms=terms: terms)  # type: ignore[misc]
