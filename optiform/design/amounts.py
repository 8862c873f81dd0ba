"""The amounts in which parts take the place of what goes: a linear program over the moves of all properties."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from optiform.design.exchange import LEAST_PART, MISSED, MOVED, Exchange
from optiform.design.function import BUTTER, SOLIDS_AT
from optiform.design.task import met
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import solve
from optiform.program.tolerances import UNUSED
from optiform.properties.oil_phase import solid_fat_value


@dataclass(frozen=True, eq=False)
class Weighed:
    """One substitution with its amounts, before everything is said of it.

    Attributes:
        parts: what comes in, % of the whole. `x` is the mass fraction of every column.
        moves: how far each property moves, in its unit of distance; to cost less is no distance.
        distance: of all properties and new names together. `unpriced` without what the cost adds.
        rank: what decides between two that both keep the limits, or both miss some; limits missed are in it.
        broken: limits it misses and today's formula keeps.
        u, v: what its linear program says of others (see blends.py).
    """

    parts: tuple[tuple[str, float], ...]
    x: Vector
    moves: tuple[float, ...]
    distance: float
    unpriced: float
    rank: float
    broken: tuple[str, ...]
    u: Vector
    v: float

    @property
    def order(self) -> tuple[bool, float, tuple[str, ...]]:
        """Those that keep the limits first, then the nearest; of as near ones the first by name.

        Rounded, so that equal answers do not hang on the last digit of a solver.
        """
        return bool(self.broken), round(self.rank, 6), tuple(name for name, _ in self.parts)

    @property
    def real(self) -> bool:
        """Whether it is a blend at all; one of which a part is all but nothing is a smaller one again."""
        return len(self.parts) == 1 or all(percent > LEAST_PART for _, percent in self.parts)


def weighed(exchange: Exchange, places: Sequence[int]) -> Weighed | None:
    """The amounts of these parts that move the product least; None where no amounts do what has gone did."""
    blend = np.zeros(len(exchange.before), dtype=bool)
    blend[list(places)] = True
    columns = np.flatnonzero(blend | (exchange.before > 0) | (exchange.dose(places) > 0))
    solution = solve(_program(exchange, blend, columns))
    if not solution.feasible:
        return None
    x = np.zeros(len(exchange.before))
    x[columns] = np.round(solution.x[: len(columns)], 9)  # the solver's last digits are no amounts
    x[x < UNUSED] = 0.0
    x /= x.sum()
    count = len(exchange.rows)
    return _judged(exchange, places, x, (-solution.y[:count], float(solution.y[count])))


def _judged(exchange: Exchange, places: Sequence[int], x: Vector, duals: tuple[Vector, float]) -> Weighed:
    moves, wanted = tuple(_moves(exchange, x)), exchange.task.wanted
    distance = sum(map(abs, moves)) + float(exchange.shelf.new_names(np.array([places]))[0])
    spent = sum(move for move, kept in zip(moves, wanted, strict=True) if kept.property.name == "cost")
    missed = exchange.rows[2 * len(wanted) :] @ x
    return Weighed(
        parts=tuple((exchange.able[j].name, 100 * float(x[j] - exchange.before[j])) for j in places),
        x=x,
        moves=moves,
        distance=distance,
        unpriced=distance - spent,
        rank=distance + MISSED * float(missed[missed > 0].sum()),
        broken=broken(exchange, x),
        u=duals[0],
        v=duals[1],
    )


def broken(exchange: Exchange, x: Vector) -> tuple[str, ...]:
    """The limits that today's formula keeps and these mass fractions miss, in words. Shape of x: (columns,)."""
    asked = exchange.needed.near(x)
    return tuple(demand.words for demand in asked if exchange.counts(demand) and not met(demand, x))


def _moves(exchange: Exchange, x: Vector) -> Iterator[float]:
    """How far each property is known to move, in its unit of distance."""
    for k, kept in enumerate(exchange.task.wanted):
        ends = exchange.ends(k, x)
        move = 0.0 if ends is None else ends.known_move(kept.value) / kept.unit
        yield max(0.0, move) if kept.property.name == "cost" else move


# -- the linear program ------------------------------------------------------------------------------------------------


def _program(exchange: Exchange, blend: NDArray[np.bool_], columns: NDArray[np.intp]) -> Program:
    """Least sum of what moves and is missed, over the lines that stay and these parts.

    After their columns come helpers: one for each row of the exchange, above 0 by as much as it is, and two for each
    line that makes room, by how much it goes up and down.
    """
    rows, room = exchange.rows[:, columns], np.flatnonzero(exchange.room[columns])
    width, count, ways = len(columns), len(rows), 2 * len(room)
    dose = exchange.least if blend.sum() > 1 else 0.0  # with less it is a smaller blend, and a line nobody weighs
    along = exchange.dose(np.flatnonzero(blend).tolist())
    low = np.maximum(np.where(blend, exchange.before + dose, exchange.band[0]), along)[columns]
    high = np.maximum(np.where(blend, 1.0, exchange.band[1]), along)[columns]
    names = [exchange.mix.ingredients[j].name for j in columns]
    frame = Program(
        (*names, *(f"helper {k}" for k in range(count + ways))),
        np.concatenate([np.zeros(width), exchange.price, np.full(ways, MOVED)]),
        np.concatenate([low, np.zeros(count + ways)]),
        np.concatenate([high, 1 + np.abs(rows).max(axis=1, initial=0), np.ones(ways)]),
        (),
    )
    moved = [
        Row(f"row {k}", row, Sense.AT_MOST, 0.0)
        for k, row in enumerate(np.hstack([rows, -np.eye(count), np.zeros((count, ways))]))
    ]
    asked = [
        replace(row, coefficients=row.coefficients[columns]).widened(count + ways) for row in _asked(exchange, blend)
    ]
    follows = [
        Row.of("makes room", width + count + ways, {int(j): 1.0, up: -1.0, up + 1: 1.0}, Sense.EQUAL,
               float(exchange.before[columns[j]]))
        for up, j in zip(range(width + count, width + count + ways, 2), room, strict=True)
    ]  # fmt: skip
    return frame.with_rows([*moved, *asked, *follows])


def _asked(exchange: Exchange, blend: NDArray[np.bool_]) -> Iterator[Row]:
    """Over all columns: that everything sums to 100 %, then that what has gone is brought again by its family."""
    yield Row("everything sums to 100 %", np.ones(len(blend)), Sense.EQUAL, 1.0)
    for family, makeup in zip(exchange.task.families, exchange.makeups, strict=True):
        strength = np.zeros(len(blend))
        strength[: len(exchange.able)] = makeup.strength
        yield from _between("made up for", strength * blend, exchange.before, makeup.least, makeup.most)
        if family is BUTTER:
            yield from _solids(exchange, blend)


def _between(words: str, row: Vector, before: Vector, least: float, most: float) -> Iterator[Row]:
    """Rows that keep what comes in between two ends; one where they are the same."""
    there = float(row @ before)
    if least == most:
        yield Row(words, row, Sense.EQUAL, there + least)
        return
    yield Row(words, row, Sense.AT_LEAST, there + least)
    yield Row(words, row, Sense.AT_MOST, there + most)


def _solids(exchange: Exchange, blend: NDArray[np.bool_]) -> Iterator[Row]:
    """A butter's solids at 20 degC as far as figures go: the most of what comes is no less than the least that goes."""
    low, high = np.zeros(len(blend)), np.zeros(len(blend))
    for j in np.flatnonzero(blend):
        item = exchange.mix.ingredients[j]
        value = solid_fat_value(item, SOLIDS_AT) if item.functions[0] in BUTTER.functions else None
        low[j], high[j] = (value.least, value.most) if value else (0.0, 0.0)
    least = most = 0.0
    for item in exchange.task.gone:
        value = solid_fat_value(item, SOLIDS_AT) if item.functions[0] in BUTTER.functions else None
        share = exchange.task.today.fraction(item.name)
        least, most = (least + share * value.least, most + share * value.most) if value else (least, most)
    yield Row("solids at 20 degC again", high, Sense.AT_LEAST, least + float(high @ exchange.before))
    yield Row("solids at 20 degC again", low, Sense.AT_MOST, most + float(low @ exchange.before))
