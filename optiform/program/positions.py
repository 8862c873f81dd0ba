"""Many positions of limits at once, and what need not be looked at anywhere among them."""

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector
from optiform.program.region import Region
from optiform.program.scenarios import PRODUCT
from optiform.program.tolerances import SHARP
from optiform.reading.frozen import frozen


@frozen
class Box:
    """Positions, and the box that holds them.

    Attributes:
        on: the limits that are not at one and the same place in all of them.
        at: the position that they start from, with a 1 behind it; 0 for these limits.
        low, high: the ends of the box for these limits, with a 1 behind.
        moved: where these limits are, with a 1 behind. Shape (limits that move + 1, positions).
    """

    on: NDArray[np.intp]
    at: Vector
    low: Vector
    high: Vector
    moved: Vector

    @staticmethod
    def around(positions: Vector) -> "Box":
        """The smallest box around positions. Shape (positions, limits)."""
        across = np.ascontiguousarray(positions.T)
        low, high = across.min(axis=1), across.max(axis=1)
        on = np.flatnonzero(low < high)
        at = np.append(low, 1.0)
        at[on] = 0.0
        moved = np.ones((len(on) + 1, across.shape[1]))
        moved[:-1] = across[on]
        return Box(on, at, np.append(low[on], 1.0), np.append(high[on], 1.0), moved)

    def of(self, some: NDArray[np.intp]) -> "Box":
        """Some of the positions, in the same box."""
        return Box(self.on, self.at, self.low, self.high, self.moved[:, some])

    def lines(self, lines: Vector) -> Vector:
        """What is straight in the limits, over those that move. Shape (lines, limits that move + 1)."""
        return np.column_stack([lines[:, self.on], lines @ self.at])

    def ends(self, lines: Vector) -> tuple[Vector, Vector]:
        """The least and the most of each line in the box."""
        up, down = np.maximum(lines, 0.0), np.minimum(lines, 0.0)
        up[:, -1], down[:, -1] = lines[:, -1], 0.0
        return up @ self.low + down @ self.high, up @ self.high + down @ self.low

    def blocks(self, numbers: int) -> list[slice]:
        """The positions in parts, whose product with so many numbers stays on one thread: others wake up for longer."""
        block = max(1, PRODUCT // max(1, numbers))
        return [slice(first, first + block) for first in range(0, self.moved.shape[1], block)]

    def holds(self, region: Region, most: Vector) -> NDArray[np.bool_]:
        """At which positions a region holds and its objective is no more than this."""
        value = self.lines(region.line[region.checks : region.checks + 1])[0]
        holds: NDArray[np.bool_] = value @ self.moved <= most
        if not holds.any():
            return holds
        checks = self.lines(region.line[: region.checks])
        checks = checks[self.ends(checks)[0] < -SHARP]
        for here in self.blocks(checks.size) if len(checks) else ():
            holds[here] &= (checks @ self.moved[:, here]).min(axis=0) >= -SHARP
        return holds
