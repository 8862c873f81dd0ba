"""Which lines of a formula change, as switches of a program: each line goes up, down, or stays as it is."""

from collections.abc import Iterator, Sequence

import numpy as np

from optiform.brief.brief import Brief
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.reading.frozen import frozen


def smallest_move(brief: Brief) -> float:
    """The least a changed line changes, mass fraction: what one step of the scale is of the batch."""
    return max(1e-5, brief.step / (1000 * brief.batch))


@frozen
class Switches:
    """The switches of a formula's lines.

    Attributes:
        names: of the lines.
        before: their fractions as they are, shape (lines,).
        free: numbers of those with switches: neither the balance nor pinned where they are.
        least: how far a line that goes down goes at least (or to nothing), mass fraction.
        doses: how far one that goes up goes at least, shape (lines,): what is new comes in at its least dose.
        most: how far a line goes at most, either way.
        spans: between which fractions each line stays anyway, shapes (lines,). The nearer the ends that a switch
            opens, the sooner a branch and bound over the switches is done.
    """

    names: tuple[str, ...]
    before: Vector
    free: tuple[int, ...]
    least: float
    doses: Vector
    most: float
    spans: tuple[Vector, Vector]

    def added(self, base: Program, lines: int) -> Program:
        """A program of fractions with, for each free line, whether it goes up or down: 0 or 1, at most `lines` in all.

        The switches up stand behind the program's columns, the switches down behind those.
        """
        names = [f"{self.names[j]} {way}" for way in ("up", "down") for j in self.free]
        none = np.zeros(len(names))
        wide = base.widened(names, none, none, np.ones(len(names)), whole=True)
        moves = [self._reach(j) for j in self.free]
        bounded = wide.with_bounds(*self._bounds(wide, moves))
        return bounded.with_rows([*wide.rows, *self._rows(len(base.columns), len(wide.columns), lines, moves)])

    def _reach(self, j: int) -> "_Reach":
        """How far a line moves at least and at most, where it does; nothing for a way on which it cannot do so much."""
        r, (low, high) = float(self.before[j]), self.spans
        most_up, most_down = min(self.most, 1 - r), min(self.most, r)
        least_up, least_down = min(float(self.doses[j]), most_up), min(self.least, most_down)
        most_up = min(most_up, max(0.0, float(high[j]) - r))
        most_down = min(most_down, max(0.0, r - float(low[j])))
        up = (least_up, most_up) if 0 < least_up <= most_up else (0.0, 0.0)
        down = (least_down, most_down) if 0 < least_down <= most_down else (0.0, 0.0)
        return _Reach(up, down)

    def _bounds(self, wide: Program, moves: Sequence["_Reach"]) -> tuple[Vector, Vector]:
        """Bounds with switches off for ways that are closed, and a line at rest where both are.

        As a fixed number: by switches with next to no room, a line within rounding of where it is counts as moved,
        because a solver divides the rounding by the least move (a preservative that may lose a thousand millionth).
        """
        low, high, ways = wide.low.copy(), wide.high.copy(), len(self.free)
        for k, (j, reach) in enumerate(zip(self.free, moves, strict=True)):
            up, down = len(wide.columns) - 2 * ways + k, len(wide.columns) - ways + k
            high[up], high[down] = float(reach.up[1] > 0), float(reach.down[1] > 0)
            if not (high[up] or high[down]):
                low[j] = high[j] = self.before[j]
        return low, high

    def _rows(self, count: int, width: int, lines: int, moves: Sequence["_Reach"]) -> Iterator[Row]:
        """Rows that tie each fraction to its switches: r - down D <= x <= r + up U, and least moves."""
        for k, (j, reach) in enumerate(zip(self.free, moves, strict=True)):
            up, down, r, name = count + k, count + len(self.free) + k, float(self.before[j]), self.names[j]
            (least_up, most_up), (least_down, most_down) = reach.up, reach.down
            if not (most_up or most_down):
                continue
            yield Row.of(f"{name} up", width, {j: 1.0, up: -most_up, down: least_down}, Sense.AT_MOST, r)
            yield Row.of(f"{name} down", width, {j: 1.0, up: -least_up, down: most_down}, Sense.AT_LEAST, r)
            yield Row.of(f"{name} one way", width, {up: 1.0, down: 1.0}, Sense.AT_MOST, 1.0)
        switches = {count + k: 1.0 for k in range(2 * len(self.free))}
        yield Row.of("lines that change", width, switches, Sense.AT_MOST, float(lines))


@frozen
class _Reach:
    """How far a line goes up, and down: the least and the most, both 0 where that way is closed."""

    up: tuple[float, float]
    down: tuple[float, float]
