"""Several formulas made from one shelf, and the whole packs that are bought for them, in one program.

    minimise  sum_o (landed_o - worth_i pack_o) n_o + sum_s charge_s u_s + sum_i worth_i l_i

    A_p z_p >= b_p,   sum_j z_pj = 1                     for every product p: its brief (disjunctive.py)
    sum_p kg_p z_pi - l_i <= stock_i                     for every ingredient i, of which l_i lacks
    sum_{o of i} pack_o n_o >= l_i                       and the rows of orders of purchase.py

z are mass fractions, kg_p what is weighed of a product, n_o whole packs.

Where the jars of a product are open its columns stand for kg, w_p = K_p z_p with K_p the kg of m_p jars, and so do
those of its rows' ends, A_p w_p >= b_p K_p. Of a switch u, 0 or 1, the product v = K u is exact by

    v <= K^ u,   v <= K,   v >= K - K^ (1 - u)           K^ the most that K can be

(McCormick, Mathematical Programming 10:147, 1976).
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.purchase import Pack, Postage, Shopping, program_of
from optiform.program.usage import ceilings
from optiform.reading.frozen import frozen


@frozen
class Made:
    """A product: its program, whose first columns are fractions and whose first row is their balance.

    Attributes:
        ingredients: the number of each candidate on the shelf.
        kg: weighed of it; of one jar where its jars are open.
        jars: the fewest and the most, where they are open.
    """

    program: Program
    ingredients: tuple[int, ...]
    kg: float
    jars: tuple[int, int] | None = None

    @property
    def unit(self) -> float:
        """Kg that one unit of each of the first columns stands for."""
        return 1.0 if self.jars else self.kg

    @cached_property
    def block(self) -> Program:
        """Its columns in the one program, which cost nothing by themselves; the jars last where they are open."""
        if self.jars is not None:
            return _by_mass(self.program, self.kg, *self.jars)
        return replace(self.program, high=_tightened(self), cost=np.zeros(len(self.program.columns)))


@frozen
class Shelf:
    """What is there and what can be bought: kg in stock of each ingredient, packs, suppliers and `worth` as there."""

    stock: tuple[float, ...]
    packs: tuple[Pack, ...]
    suppliers: tuple[Postage, ...]
    worth: tuple[float, ...]


@frozen
class Joined:
    """The one program, the column at which each product begins, and the first of those of kg that lack."""

    program: Program
    starts: tuple[int, ...]
    made: tuple[Made, ...]
    lacking: int = 0

    def shares(self, x: Vector, product: int) -> Vector:
        """The mass fractions of a product at a point; shape (candidates,)."""
        start, made = self.starts[product], self.made[product]
        masses = x[start : start + len(made.ingredients)]
        jars = self.jars(x, product)
        return masses if jars is None else masses / (jars * made.kg)

    def jars(self, x: Vector, product: int) -> int | None:
        """The jars of a product at a point; None where they are not open."""
        column = self.jar_column(product)
        return None if column is None else round(x[column])

    def jar_column(self, product: int) -> int | None:
        """The column of a product's jars; None where they are not open."""
        made = self.made[product]
        return self.starts[product] + len(made.block.columns) - 1 if made.jars else None

    def uses(self, ingredient: int) -> dict[int, float]:
        """Kg of an ingredient that one unit of each column takes."""
        return {
            start + place: made.unit
            for start, made in zip(self.starts, self.made, strict=True)
            for place, number in enumerate(made.ingredients)
            if number == ingredient
        }


def joined(made: Sequence[Made], shelf: Shelf) -> Joined:
    """The program of these products on this shelf, for the least money."""
    blocks = [product.block for product in made]
    starts = np.concatenate([[0], np.cumsum([len(block.columns) for block in blocks])]).astype(int)
    program = _side_by_side(blocks)
    together = Joined(program, tuple(int(start) for start in starts[:-1]), tuple(made))
    most = [float(sum(program.high[j] * kg for j, kg in together.uses(i).items())) for i in range(len(shelf.stock))]
    lacking = tuple(max(0.0, need - stock) for need, stock in zip(most, shelf.stock, strict=True))
    shopping = program_of(Shopping(lacking, shelf.packs, shelf.suppliers, shelf.worth))
    covered = sum(kg > 0 for kg in lacking)  # its first rows: they cover a need that is known beforehand
    orders = shopping.with_rows(shopping.rows[covered:])
    names = [f"lacking of ingredient {i}" for i in range(len(lacking))]
    lack = Program(tuple(names), np.array(shelf.worth), np.zeros(len(lacking)), np.array(lacking), ())
    whole = _side_by_side([program, orders, lack])
    width, first = len(whole.columns), len(program.columns)
    rows = list(whole.rows)
    for i, stock in enumerate(shelf.stock):
        short = {width - len(lacking) + i: -1.0}
        rows.append(Row.of(f"need of ingredient {i}", width, {**together.uses(i), **short}, Sense.AT_MOST, stock))
        if lacking[i] > 0:
            packs = {first + o: pack.kg for o, pack in enumerate(shelf.packs) if pack.ingredient == i}
            rows.append(Row.of(f"enough of ingredient {i}", width, {**packs, **short}, Sense.AT_LEAST))
    return replace(together, program=whole.with_rows(rows), lacking=width - len(lacking))


def _tightened(made: Made) -> Vector:
    """Upper bounds of the columns, those of the fractions as small as single rows make them."""
    count = len(made.ingredients)
    return np.concatenate([ceilings(made.program)[:count], made.program.high[count:]])


def _by_mass(program: Program, jar: float, fewest: int, most: int) -> Program:
    """The block of a product with its columns in kg; behind them its switches as they are, and its jars."""
    width, switches = len(program.columns), sorted(program.whole)
    jars, high = width + len(switches), most * jar
    wide = Program(
        (*program.columns, *(f"{program.columns[j]}, yes" for j in switches), "jars"),
        np.zeros(jars + 1),
        np.concatenate([np.zeros(jars), [float(fewest)]]),
        np.concatenate([high * ceilings(program), np.ones(len(switches)), [float(most)]]),
        (),
        frozenset(range(width, jars + 1)),
    )
    rows = [_per_jar(row.words, row.coefficients, row.sense, row.rhs * jar, jars) for row in program.rows]
    for j in range(width):
        single = np.eye(width)[j]
        rows.append(_per_jar(f"{program.columns[j]} at most", single, Sense.AT_MOST, program.high[j] * jar, jars))
        if program.low[j] > 0:
            rows.append(_per_jar(f"{program.columns[j]} at least", single, Sense.AT_LEAST, program.low[j] * jar, jars))
    for place, j in enumerate(switches):
        words, switch = program.columns[j], width + place
        rows.append(Row.of(f"{words}: none", jars + 1, {j: 1.0, switch: -high}, Sense.AT_MOST))
        rows.append(Row.of(f"{words}: all", jars + 1, {j: 1.0, jars: -jar, switch: -high}, Sense.AT_LEAST, -high))
    return wide.with_rows(rows)


def _per_jar(words: str, coefficients: Vector, sense: Sense, each: float, width: int) -> Row:
    """A row over kg whose end is so much for each jar, the last of `width` columns and one."""
    wide = np.zeros(width + 1)
    wide[: len(coefficients)] = coefficients
    wide[width] = -each
    return Row(words, wide, sense, 0.0)


def _side_by_side(blocks: Sequence[Program]) -> Program:
    """Programs that share nothing, as one."""
    widths = [len(block.columns) for block in blocks]
    rows: list[Row] = []
    for place, block in enumerate(blocks):
        before, after = sum(widths[:place]), sum(widths[place + 1 :])
        rows += [replace(row, coefficients=np.pad(row.coefficients, (before, after)), key=None) for row in block.rows]
    whole = frozenset(sum(widths[:place]) + j for place, block in enumerate(blocks) for j in block.whole)
    return Program(
        tuple(name for block in blocks for name in block.columns),
        np.concatenate([block.cost for block in blocks]),
        np.concatenate([block.low for block in blocks]),
        np.concatenate([block.high for block in blocks]),
        tuple(rows),
        whole,
    )
