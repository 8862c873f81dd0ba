"""The linear program in plain arrays, with the words of the brief on every row and bound.

    minimise  c x   subject to   a_r x >= b_r  or  a_r x <= b_r  or  a_r x = b_r,   l <= x <= u

x are mass fractions of the candidates, and after them the helper columns of a `nearest` goal. All bounds are finite,
so the program is never unbounded and every dual bound can be computed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from enum import StrEnum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from optiform.reading.frozen import frozen

Vector = NDArray[np.float64]


NO_GROUP = 1e-12  # mass fraction: a group that is not there


class NoPoint(ValueError):
    """The program has no feasible point. `weights`: row weights that prove it, where they are known."""

    def __init__(self, words: str, weights: Vector | None = None) -> None:
        """Keep the proof."""
        super().__init__(words)
        self.weights = weights


class Sense(StrEnum):
    """How a row's activity stands to its right-hand side."""

    AT_LEAST = ">="
    AT_MOST = "<="
    EQUAL = "="


@frozen  # made by the thousand, which costs more than the class
class Row:
    """One row: a_r, its sense and right-hand side.

    `words` are the brief's. `key` numbers the demand it stands for; rows without one belong to the program's frame
    (the balance) and can neither be dropped nor priced. When the demand's target grows by d, the right-hand side
    grows by d `per_target` and the coefficients shrink by d `group`: one of the two for an amount in the whole, the
    other for a ratio.
    """

    words: str
    coefficients: Vector
    sense: Sense
    rhs: float
    key: int | None = None
    target: float = 0.0
    per_target: float = 0.0
    group: Vector | None = None

    @classmethod
    def of(cls, words: str, width: int, entries: Mapping[int, float], sense: Sense, rhs: float = 0.0) -> "Row":
        """A row of the frame over `width` columns, given by what is not zero in it."""
        coefficients = np.zeros(width)
        coefficients[list(entries)] = list(entries.values())
        return cls(words, coefficients, sense, rhs)

    @property
    def gives(self) -> tuple[float, ...]:
        """The signs of what, added to its activity, would make the row hold."""
        if self.sense is Sense.EQUAL:
            return (1.0, -1.0)
        return (1.0,) if self.sense is Sense.AT_LEAST else (-1.0,)

    def widened(self, extra: int, wide: Vector | None = None) -> "Row":
        """The row with `extra` more columns that it does not touch; `wide`: its coefficients then, if known."""
        if not extra:
            return self
        none = np.zeros(extra)
        group = None if self.group is None else np.concatenate([self.group, none])
        coefficients = np.concatenate([self.coefficients, none]) if wide is None else wide
        return self._with(coefficients, self.rhs, self.target, group)

    def moved(self, change: float) -> "Row":
        """The row of the same demand with its target moved by `change`."""
        coefficients = self.coefficients if self.group is None else self.coefficients - change * self.group
        rhs, target = self.rhs + change * self.per_target, self.target + change
        return self._with(coefficients, rhs, target, self.group)

    def _with(self, coefficients: Vector, rhs: float, target: float, group: Vector | None) -> "Row":
        """The row of the same demand with other numbers; written out, because every node of a search makes hundreds."""
        return Row(self.words, coefficients, self.sense, rhs, self.key, target, self.per_target, group)

    def value(self, x: Vector) -> float | None:
        """The target that x would just keep; None where the group of a ratio is empty."""
        group = 0.0 if self.group is None else float(self.group @ x)
        size = group + self.per_target
        return None if size <= NO_GROUP else (float(self.coefficients @ x) + self.target * group) / size


@frozen
class Program:
    """A linear program over labelled columns. `columns` names them; arrays have shape (columns,).

    Columns numbered in `whole` take whole values only; their certificate is another (see integer.py).
    """

    columns: tuple[str, ...]
    cost: Vector
    low: Vector
    high: Vector
    rows: tuple[Row, ...]
    whole: frozenset[int] = frozenset()

    @cached_property
    def matrix(self) -> Vector:
        """All row coefficients. Shape (rows, columns)."""
        return np.array([row.coefficients for row in self.rows]).reshape(len(self.rows), len(self.columns))

    @cached_property
    def rhs(self) -> Vector:
        """All right-hand sides. Shape (rows,)."""
        return np.array([row.rhs for row in self.rows])

    @cached_property
    def at_least(self) -> NDArray[np.bool_]:
        """Which rows forbid an activity below the right-hand side (`>=` and `=`)."""
        return np.array([row.sense is not Sense.AT_MOST for row in self.rows], dtype=bool)

    @cached_property
    def at_most(self) -> NDArray[np.bool_]:
        """Which rows forbid an activity above the right-hand side (`<=` and `=`)."""
        return np.array([row.sense is not Sense.AT_LEAST for row in self.rows], dtype=bool)

    @property
    def worst_breaches(self) -> Vector:
        """More than any point within the bounds can miss each row by, in the row's unit. Shape (rows,)."""
        reach = np.abs(self.matrix) * np.maximum(np.abs(self.low), np.abs(self.high))
        return np.asarray(reach.sum(axis=1) + np.abs(self.rhs))

    def with_cost(self, cost: Vector) -> "Program":
        """The same program with another objective."""
        return replace(self, cost=cost)

    def with_bounds(self, low: Vector, high: Vector) -> "Program":
        """The same program with other column bounds."""
        return replace(self, low=low, high=high)

    def widened(self, names: Sequence[str], cost: Vector, low: Vector, high: Vector, whole: bool = False) -> "Program":
        """The same program with more columns, which its rows do not touch."""
        count, more = len(self.columns), len(names)
        matrix = np.zeros((len(self.rows), count + more))
        matrix[:, :count] = self.matrix
        return Program(
            columns=(*self.columns, *names),
            cost=np.concatenate([self.cost, cost]),
            low=np.concatenate([self.low, low]),
            high=np.concatenate([self.high, high]),
            rows=tuple(row.widened(more, wide) for row, wide in zip(self.rows, matrix, strict=True)),
            whole=self.whole | (frozenset(range(count, count + more)) if whole else frozenset()),
        )

    def with_rows(self, rows: Sequence[Row]) -> "Program":
        """The same program with other rows."""
        return replace(self, rows=tuple(rows))


def softened(program: Program, prices: Mapping[int, float]) -> tuple[Program, list[tuple[int, float]]]:
    """The program whose rows in `prices` may give way at a price per unit, for nothing else; and what gives way.

    Its extra columns stand behind the program's own, one for each (row, sign) of the second answer.
    """
    width = len(program.columns)
    gives = [(i, side) for i in prices for side in program.rows[i].gives]
    places, sides = [i for i, _ in gives], [side for _, side in gives]
    wide = np.zeros((len(program.rows), width + len(gives)))
    wide[:, :width] = program.matrix
    wide[places, np.arange(width, width + len(gives))] = sides
    rows = tuple(
        row._with(coefficients, row.rhs, row.target, row.group)
        for row, coefficients in zip(program.rows, wide, strict=True)
    )
    # Keeps the program bounded. Twice what is possible, so that no ceiling is met and enters the proof.
    ceilings = 2 * program.worst_breaches[places]
    return Program(
        columns=(*program.columns, *(f"breach {k}" for k in range(len(gives)))),
        cost=np.concatenate([np.zeros(width), [prices[i] for i, _ in gives]]),
        low=np.concatenate([program.low, np.zeros(len(gives))]),
        high=np.concatenate([program.high, ceilings]),
        rows=rows,
    ), gives
