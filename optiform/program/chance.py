"""Limits that hold in so many lots of an ingredient out of so many, by a model of how figures vary from lot to lot.

All figures of one lot of an ingredient move together, as one factor z that is standard normal: its solid fat at every
temperature, its share of fatty acids of a class. Ingredients vary by themselves. A figure lies z times half the way to
the high end of its range above its typical one, or to the low end below it, so that 95 lots of 100 lie in the range.
What a lot brings to one line of a limit has then the mean m_j and the standard deviation s_j of those two halves,

    m_j = (b - a) / sqrt(2 pi),   s_j^2 = (a^2 + b^2) / 2 - m_j^2,   a and b half the way to the low and the high end

and the limit sum(p_j x_j) >= L sum(g_j x_j) holds with the chance P of a normal with that mean and deviation where

    sum((p_j + m_j - L g_j) x_j) >= K |S x|,   K the normal quantile of P,   S x the deviation of each ingredient's part

a second-order cone. It is kept by cuts from outside: at a point x0 that breaks it, |S x| >= (S x0)' S x / |S x0|, which
is a row. No cut takes a point away that keeps the cone, so that the optimum over the cuts is no worse than the best;
where it keeps the cone it is the best (Kelley 1960; chance as a cone: Charnes and Cooper 1959).

For all limits together each is kept with the chance 1 - (1 - P) / M, M their number: whatever they have to do with each
other, all of them then hold at least with P (Bonferroni).
"""

from collections.abc import Container, Iterator, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np

from optiform.program.build import Demand
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.properties.base import Mix
from optiform.reading.values import Comparable

ROUNDS = 60
KEPT = 1e-9  # relative to the row: a cone broken by less is kept


@dataclass(frozen=True)
class Chance:
    """So many lots out of so many; of every limit by itself, or of all of them together.

    Example:
        >>> str(Chance(19, 20)), Chance(19, 20).share
        ('each limit holds in 19 lots of 20', 0.95)
    """

    good: int
    of: int
    together: bool = False

    @property
    def share(self) -> float:
        """The lots in which limits hold, as a fraction."""
        return self.good / self.of

    def quantile(self, limits: int) -> float:
        """K for one of so many limits.

        Example:
            >>> [round(Chance(19, 20, together).quantile(5), 3) for together in (False, True)]
            [1.645, 2.326]
        """
        missed = (1 - self.share) / (max(1, limits) if self.together else 1)
        return NormalDist().inv_cdf(1 - missed)

    def __str__(self) -> str:
        if self.together:
            return f"all limits hold together in {self.good} lots of {self.of} or more"
        return f"each limit holds in {self.good} lots of {self.of}"


@dataclass(frozen=True, eq=False, repr=False)
class Lots(Comparable):
    """A chance over the lots of a mix's ingredients. `parts` says which lines come from one lot: (lots, lines)."""

    chance: Chance
    parts: Vector

    @staticmethod
    def of(chance: Chance, mix: Mix) -> "Lots":
        """Lines of the same ingredient come from one lot."""
        items = list(dict.fromkeys(mix.ingredients))
        return Lots(chance, np.array([[float(item == line) for line in mix.ingredients] for item in items]))

    def deviation(self, demand: Demand, x: Vector) -> tuple[float, float]:
        """Mean and standard deviation of what lots add to the numerator of a limit at x, in its unit."""
        mean, deviation = moments(demand, x)
        return float(mean @ x), float(np.linalg.norm(self.parts @ (deviation * x)))

    def worst_value(self, demand: Demand, x: Vector, limits: int) -> float | None:
        """The value at x that is only missed in one lot too many: on the side of the limit."""
        terms, (mean, deviation) = demand.terms(x), self.deviation(demand, x)
        value, group = terms.at(x), float(terms.denominator @ x)
        away = self.chance.quantile(limits) * deviation * (-1.0 if demand.side == "low" else 1.0)
        return None if value is None else value + (mean + away) / group


def moments(demand: Demand, at: Vector) -> tuple[Vector, Vector]:
    """The m and s of each line of a limit, in its unit; zero for what is no limit of the brief. Shape (lines,) each."""
    terms = demand.terms(at)
    p = terms.numerator
    if demand.kind != "limit":
        return np.zeros_like(p), np.zeros_like(p)
    below = (p - np.minimum(p, np.minimum(terms.low, terms.high))) / 2
    above = (np.maximum(p, np.maximum(terms.low, terms.high)) - p) / 2
    mean = (above - below) / np.sqrt(2 * np.pi)
    return mean, np.sqrt(np.maximum(0.0, (below**2 + above**2) / 2 - mean**2))


@dataclass(frozen=True)
class _Cone:
    """A row that has to keep away from its limit by K |S x|: `row` has the means, `spread` is K S, (lots, columns)."""

    row: Row
    spread: Vector

    def broken(self, x: Vector) -> bool:
        short = self.row.rhs - self.row.coefficients @ x
        short = short if self.row.sense is Sense.AT_LEAST else -short
        size = 1 + abs(self.row.rhs) + np.abs(self.row.coefficients) @ np.abs(x)
        return bool(short + np.linalg.norm(self.spread @ x) > KEPT * size)

    def cut(self, x: Vector) -> Row:
        apart = self.spread @ x
        normal = self.spread.T @ apart / max(float(np.linalg.norm(apart)), 1e-300)
        sign = -1.0 if self.row.sense is Sense.AT_LEAST else 1.0
        return replace(self.row, coefficients=self.row.coefficients + sign * normal)


def kept_by_cuts(
    program: Program, asked: Sequence[Demand], at: Vector, lots: Lots, only: Container[int] | None = None
) -> Program:
    """The program near the fractions `at` with cuts, so that its optimum keeps every limit with the chance.

    The cuts have the key of their limit. `only`: the places in `asked` of the limits to keep; all without it.

    Raises:
        NotCertified: when the optimum of a round is not proven.
    """
    cones = list(_cones(program, asked, at, lots, only))
    for _ in range(ROUNDS if cones else 0):
        solution = solve(program)
        cuts = [cone.cut(solution.x) for cone in cones if solution.feasible and cone.broken(solution.x)]
        if not cuts:
            break
        program = program.with_rows([*program.rows, *cuts])
    return program


def _cones(
    program: Program, asked: Sequence[Demand], at: Vector, lots: Lots, only: Container[int] | None
) -> Iterator[_Cone]:
    places = [
        (i, row.key)
        for i, row in enumerate(program.rows)
        if row.key is not None and (only is None or row.key in only) and moments(asked[row.key], at)[1].any()
    ]
    factor = lots.chance.quantile(len(places))
    for i, key in places:
        row, (mean, deviation) = program.rows[i], moments(asked[key], at)
        unit = row.per_target if row.group is None else float(row.group.max() / asked[key].terms(at).denominator.max())
        wide = np.zeros(len(program.columns) - len(mean))
        shifted = row.coefficients + np.concatenate([mean * unit, wide])
        spread = np.hstack([lots.parts * (factor * unit * deviation), np.zeros((len(lots.parts), len(wide)))])
        yield _Cone(replace(row, coefficients=shifted), spread)
