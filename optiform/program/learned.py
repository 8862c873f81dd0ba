"""What a branch and bound learns of the columns it branches on: by how much a unit of each has raised the bound so far.

A column is worth the more, the more both its branches raise the bound (Benichou and others, Mathematical Programming
1:76, 1971). Of one that was branched on seldom that says little: it is tried first, both ways (Achterberg, Koch and
Martin, Operations Research Letters 33:42, 2005). Programs that are alike, such as of one line more that may change,
teach the same, so what one has taught is kept for the next.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from optiform.program.linear import Vector

SURE = 4  # branches each way, from which on a column is not tried before it is branched on
TRIED = 12  # of the columns that promise most: those of them that are not sure are tried
LITTLE = 1e-7  # of a bound that is raised: what is as good as nothing


@dataclass
class Raises:
    """By how much branches down and up of each column of one program have raised the bound per unit.

    Attributes:
        raised: the sums. Shape (2, columns).
        seen: of how many branches. Shape (2, columns).
    """

    raised: Vector
    seen: Vector

    def learn(self, column: int, up: bool, raised: float) -> None:
        """Add one branch, which has raised the bound so much per unit."""
        self.raised[int(up), column] += raised
        self.seen[int(up), column] += 1

    def unsure(self, columns: NDArray[np.intp], x: Vector, broken: NDArray[np.bool_]) -> NDArray[np.intp]:
        """Those to be tried, by their places in `columns`, what promises most first. Arguments as in `dearest`."""
        promise = self._promise(columns, x, broken)
        first = np.argsort(-promise, kind="stable")[: min(TRIED, int(broken.sum()))]
        unsure: NDArray[np.intp] = first[self.seen[:, columns[first]].min(axis=0) < SURE]
        return unsure

    def dearest(self, columns: NDArray[np.intp], x: Vector, broken: NDArray[np.bool_]) -> int:
        """The place of the column whose branches raise the bound most, both together.

        Args:
            columns: that may be branched on.
            x: their values.
            broken: which of these are not whole.
        """
        return int(np.argmax(self._promise(columns, x, broken)))

    def _promise(self, columns: NDArray[np.intp], x: Vector, broken: NDArray[np.bool_]) -> Vector:
        """What raises the bound down times what raises it up; an average unit is taken for what was not seen."""
        usual = self.raised.sum(axis=1, keepdims=True) / np.maximum(self.seen.sum(axis=1, keepdims=True), 1)
        unit = np.where(self.seen > 0, self.raised / np.maximum(self.seen, 1), usual)[:, columns]
        part = x - np.floor(x)
        both = np.maximum(unit[0] * part, LITTLE) * np.maximum(unit[1] * (1 - part), LITTLE)
        return np.where(broken, both, -1.0)


@dataclass
class Learned:
    """What programs have taught so far, by the names of their columns."""

    _known: dict[str, Vector] = field(default_factory=dict)

    def of(self, columns: tuple[str, ...]) -> Raises:
        """What is known of these columns. What is learned of them from then on is known here too."""
        sums = np.zeros((2, 2, len(columns)))
        for column, name in enumerate(columns):
            if name in self._known:
                sums[:, :, column] = self._known[name]
            self._known[name] = sums[:, :, column]  # a view, not a copy
        return Raises(*sums)
