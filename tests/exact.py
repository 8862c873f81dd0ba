"""A linear program solved without rounding, as a judge that shares nothing with the solvers.

Simplex on whole numbers: every row is brought to integers, and each pivot divides exactly by the pivot before it
(Edmonds 1967, Journal of Research of the National Bureau of Standards 71B, 241; Bareiss 1968, Mathematics of
Computation 22, 565; recalled). Bland's rule (1977, Mathematics of Operations Research 2, 103; recalled) keeps it from
going in circles. For a handful of columns only.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

Row = Sequence[Fraction]


@dataclass(frozen=True)
class Exact:
    """The least breach of the rows, each relative to its size; 0 if all hold. Then also the optimum."""

    breach: Fraction
    value: Fraction | None

    @property
    def feasible(self) -> bool:
        return self.breach == 0


def solve(rows: Sequence[Row], sizes: Sequence[Fraction], cost: Row) -> Exact:
    """Minimise cost x over x >= 0 with sum x = 1 and row x >= 0 for every row.

    `sizes` are what a breach of each row is measured by, above 0.

    The last column is left out by the sum, so that every row is an inequality and the slacks are a first basis.
    """
    tableau = _Tableau.of(rows, sizes, cost)
    tableau.open()
    tableau.descend(tableau.breach)
    breach = Fraction(-tableau.matrix[tableau.breach][-1], tableau.scale)
    if breach > 0:
        return Exact(breach, None)
    tableau.close()
    tableau.descend(tableau.goal)
    return Exact(Fraction(0), cost[-1] + Fraction(-tableau.matrix[tableau.goal][-1], tableau.scale * tableau.unit))


@dataclass
class _Tableau:
    """Integer rows over all columns: x but the last, the breach t, one slack each, the right-hand side.

    The last two rows are what is minimised, t and the cost; every entry stands over the common `scale`.
    """

    matrix: list[list[int]]
    basis: list[int]
    free: int  # columns before t
    unit: int  # the cost row is multiplied by this
    scale: int = 1
    closed: bool = False

    @staticmethod
    def of(rows: Sequence[Row], sizes: Sequence[Fraction], cost: Row) -> "_Tableau":
        """a x >= 0 with x_n = 1 - the others: sum (a_n - a_j) x_j - size t + slack = a_n."""
        free, count = len(cost) - 1, len(rows) + 1
        lines = [[*(row[-1] - a for a in row[:-1]), -size, row[-1]] for row, size in zip(rows, sizes, strict=True)]
        lines.append([*[Fraction(1)] * free, Fraction(0), Fraction(1)])
        whole = [_whole(line)[0] for line in lines]
        goal, unit = _whole([*(c - cost[-1] for c in cost[:-1]), Fraction(0), Fraction(0)])
        slack = [[int(i == k) for k in range(count)] for i in range(count)]
        matrix = [[*line[:-1], *slack[i], line[-1]] for i, line in enumerate(whole)]
        matrix.append([*[0] * free, 1, *[0] * count, 0])
        matrix.append([*goal[:-1], *[0] * count, 0])
        return _Tableau(matrix, list(range(free + 1, free + 1 + count)), free, unit)

    @property
    def breach(self) -> int:
        return len(self.basis)

    @property
    def goal(self) -> int:
        return len(self.basis) + 1

    def open(self) -> None:
        """Bring t in where it is needed most, so that every right-hand side is at least 0."""
        worst = [(Fraction(row[-1], row[self.free]), i) for i, row in self._needy()]
        if worst:
            _, i = max(worst)
            self.matrix[i] = [-entry for entry in self.matrix[i]]
            self.pivot(i, self.free)

    def _needy(self) -> list[tuple[int, list[int]]]:
        return [(i, row) for i, row in enumerate(self.matrix[:-2]) if row[-1] < 0]

    def close(self) -> None:
        """Put t, which is 0, out of the basis and never take it in again."""
        self.closed = True
        if self.free not in self.basis:
            return
        i = self.basis.index(self.free)
        j = next(j for j, entry in enumerate(self.matrix[i][:-1]) if entry and j != self.free)
        if self.matrix[i][j] < 0:
            self.matrix[i] = [-entry for entry in self.matrix[i]]
        self.pivot(i, j)

    def descend(self, goal: int) -> None:
        """Pivot until no column makes the goal smaller. It is bounded: x is, and t is at least 0."""
        while True:
            row = self.matrix[goal]
            entering = (j for j, entry in enumerate(row[:-1]) if entry < 0 and not (self.closed and j == self.free))
            j = next(entering, None)
            if j is None:
                return
            ratios = [
                (Fraction(row[-1], row[j]), self.basis[i], i) for i, row in enumerate(self.matrix[:-2]) if row[j] > 0
            ]
            self.pivot(min(ratios)[2], j)

    def pivot(self, i: int, j: int) -> None:
        """Bring column j into the basis in row i. Its entry there must be positive."""
        chosen, pivot, scale = self.matrix[i], self.matrix[i][j], self.scale
        for k, row in enumerate(self.matrix):
            if k != i:
                factor = row[j]
                self.matrix[k] = [(pivot * a - factor * b) // scale for a, b in zip(row, chosen, strict=True)]
        self.basis[i], self.scale = j, pivot


def _whole(row: Row) -> tuple[list[int], int]:
    """The row times its common denominator, and that denominator."""
    unit = lcm(*(entry.denominator for entry in row))
    return [int(entry * unit) for entry in row], unit
