"""Limits that hold in so many lots of an ingredient out of so many, by a model of how figures vary from lot to lot.

All figures of one lot of an ingredient move together, as one factor z that is standard normal: its solid fat at every
temperature, its share of fatty acids of a class. Ingredients vary by themselves. A figure lies z times half the way to
the high end of its range above its typical one, or to the low end below it, so that 95 lots of 100 lie in the range.
With a_j half the way to the worse end for a limit, what a lot of ingredient j may take from it is a_j x_j z, and

    sum(p_j x_j) >= L sum(g_j x_j) + K |A x|,   A x the a_j x_j of each ingredient

is a second-order cone. If ranges reach as far to both sides, K is the normal quantile of the chance. As they need not,
K is what the lots of a fixed net say at the answer: of 4,096 points, spread evenly for each ingredient, the share of
the chance lies within K |A x|. It is set anew until it rests; for the K that it rests at the answer is the best.

The cone is kept by cuts from outside: at a point x0 that breaks it, |A x| >= (A x0)' A x / |A x0|, which is a row. No
cut takes a point away that keeps the cone, so that the optimum over the cuts is no worse than the best; where it keeps
the cone it is the best (Kelley 1960; chance as a cone: Charnes and Cooper 1959).

For all limits together each is kept with the chance 1 - (1 - P) / M, M their number: whatever they have to do with each
other, all of them then hold at least with P (Bonferroni).
"""

from collections.abc import Container, Iterator, Sequence
from dataclasses import replace
from functools import cache

import numpy as np

from optiform.program.build import Demand
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve_near
from optiform.properties.base import Mix
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable

ROUNDS = 60
SETTINGS = 60  # of K
SETTLED = 1e-6
KEPT = 1e-8  # relative to the row: a cone broken by less is kept
NET = 4_096  # lots


@frozen
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

    def of_one(self, limits: int) -> float:
        """The chance with which one of so many limits has to hold.

        Example:
            >>> [round(Chance(19, 20, together).of_one(5), 3) for together in (False, True)]
            [0.95, 0.99]
        """
        return 1 - (1 - self.share) / (max(1, limits) if self.together else 1)

    def __str__(self) -> str:
        if self.together:
            return f"all limits hold together in {self.good} lots of {self.of} or more"
        return f"each limit holds in {self.good} lots of {self.of}"


@frozen
class Lots(Comparable):
    """A chance over the lots of a mix's ingredients. `parts` says which lines come from one lot: (lots, lines)."""

    chance: Chance
    parts: Vector

    @staticmethod
    def of(chance: Chance, mix: Mix) -> "Lots":
        """Lines of the same ingredient come from one lot."""
        items = list(dict.fromkeys(mix.ingredients))
        return Lots(chance, np.array([[float(item == line) for line in mix.ingredients] for item in items]))

    def taken(self, sides: tuple[Vector, Vector], x: Vector, limits: int) -> float:
        """What lots take from the numerator of a limit at x in no more of them than the chance says; not below 0.

        Args:
            sides: `halves` of the limit.
            x: mass fractions, shape (lines,).
            limits: how many there are, if all have to hold together.
        """
        worse, better = (self.parts @ (side * x) for side in sides)
        net = _net(len(self.parts))
        losses = np.maximum(net, 0) @ worse + np.minimum(net, 0) @ better
        return max(0.0, float(np.quantile(losses, self.chance.of_one(limits), method="hazen")))

    def worst_value(self, demand: Demand, x: Vector, limits: int) -> float | None:
        """The value at x that is missed in no more lots than the chance says."""
        terms, sign = demand.terms(x), -1.0 if demand.side == "low" else 1.0
        value, group = terms.at(x), float(terms.denominator @ x)
        return None if value is None else value + sign * self.taken(halves(demand, x), x, limits) / group


def halves(demand: Demand, at: Vector) -> tuple[Vector, Vector]:
    """Half the way from the typical figure of each line to its worse end for a limit, and to its better one.

    In the property's unit, shape (lines,) each; zero for what is no limit of the brief.
    """
    terms = demand.terms(at)
    p = terms.numerator
    if demand.kind != "limit":
        return np.zeros_like(p), np.zeros_like(p)
    below = (p - np.minimum(p, np.minimum(terms.low, terms.high))) / 2
    above = (np.maximum(p, np.maximum(terms.low, terms.high)) - p) / 2
    return (below, above) if demand.side == "low" else (above, below)


def _normal_below(chance: float) -> float:
    """The standard normal figure below which a draw lies with this chance."""
    from statistics import NormalDist  # what most briefs do not ask is not loaded

    return NormalDist().inv_cdf(chance)


@cache
def _net(width: int) -> Vector:
    """Standard normal factors of so many ingredients: each column evenly spread, in an order of its own; shape (N, n).

    The orders are those of the multiples of the roots of primes, less their whole parts (Kronecker, Weyl).
    """
    even = np.array([_normal_below((k + 0.5) / NET) for k in range(NET)])
    steps = np.arange(1, NET + 1)[:, None] * np.sqrt(_primes(width))
    return np.asarray(even[np.argsort(np.argsort(steps % 1.0, axis=0), axis=0)])


def _primes(count: int) -> Vector:
    primes: list[int] = []
    number = 2
    while len(primes) < count:
        if all(number % prime for prime in primes):
            primes.append(number)
        number += 1
    return np.array(primes, dtype=float)


@frozen
class _Cone:
    """A row that has to keep away from its limit by K |A x|.

    Attributes:
        sides: `halves` of its limit.
        row: without that distance.
        spread: A in the row's unit, shape (lots, columns).
        factor: K.
    """

    sides: tuple[Vector, Vector]
    row: Row
    spread: Vector
    factor: float

    @property
    def _sign(self) -> float:
        return 1.0 if self.row.sense is Sense.AT_LEAST else -1.0

    def broken(self, x: Vector) -> bool:
        short = self._sign * (self.row.rhs - self.row.coefficients @ x)
        size = 1 + abs(self.row.rhs) + np.abs(self.row.coefficients) @ np.abs(x)
        return bool(short + self.factor * np.linalg.norm(self.spread @ x) > KEPT * size)

    def cut(self, x: Vector) -> Row:
        apart = self.spread @ x
        normal = self.factor * self.spread.T @ apart / max(float(np.linalg.norm(apart)), 1e-300)
        return replace(self.row, coefficients=self.row.coefficients - self._sign * normal)

    def at(self, x: Vector, lots: Lots, limits: int) -> "_Cone":
        """With the factor that lots ask for at a point."""
        lines = x[: lots.parts.shape[1]]
        apart = float(np.linalg.norm(lots.parts @ (self.sides[0] * lines)))
        return self if apart <= 0 else replace(self, factor=lots.taken(self.sides, lines, limits) / apart)


def kept_by_cuts(
    program: Program, asked: Sequence[Demand], at: Vector, lots: Lots, only: Container[int] | None = None
) -> Program:
    """The program near the fractions `at` with cuts, so that its optimum keeps every limit with the chance.

    The cuts have the key of their limit. `only`: the places in `asked` of the limits to keep; all without it.

    Raises:
        NotCertified: when the optimum of a round is not proven.
    """
    cones = list(_cones(program, asked, at, lots, only))
    points: list[list[Vector]] = [[] for _ in cones]
    for _ in range(SETTINGS if cones else 1):
        cut, x = _cut(program, cones, points)
        if x is None:
            return cut
        again = [cone.at(x, lots, len(cones)) for cone in cones]
        moved = max((abs(new.factor - old.factor) for new, old in zip(again, cones, strict=True)), default=0.0)
        if moved <= SETTLED:
            break
        cones = again
    return cut


def _cut(program: Program, cones: Sequence[_Cone], points: list[list[Vector]]) -> tuple[Program, Vector | None]:
    """The program with cuts of each cone at its points and at what breaks it still, which joins them; its optimum."""
    earlier = [cone.cut(x) for cone, at in zip(cones, points, strict=True) for x in at]
    program = program.with_rows([*program.rows, *earlier])
    for _ in range(ROUNDS):
        best = solve_near(program)
        if not best.feasible:
            return program, None
        broken = [(cone, at) for cone, at in zip(cones, points, strict=True) if cone.broken(best.x)]
        if not broken:
            break
        for _, at in broken:
            at.append(best.x)
        program = program.with_rows([*program.rows, *(cone.cut(best.x) for cone, _ in broken)])
    return program, best.x


def _cones(
    program: Program, asked: Sequence[Demand], at: Vector, lots: Lots, only: Container[int] | None
) -> Iterator[_Cone]:
    limits = [
        (row, asked[row.key], halves(asked[row.key], at))
        for row in program.rows
        if row.key is not None and (only is None or row.key in only) and asked[row.key].kind == "limit"
    ]
    doubtful = [(row, demand, sides) for row, demand, sides in limits if sides[0].any()]
    normal = _normal_below(lots.chance.of_one(len(doubtful)))
    for row, demand, sides in doubtful:
        unit = row.per_target if row.group is None else float(row.group.max() / demand.terms(at).denominator.max())
        wide = np.zeros((len(lots.parts), len(program.columns) - len(sides[0])))
        yield _Cone(sides, row, np.hstack([lots.parts * (unit * sides[0]), wide]), normal)
