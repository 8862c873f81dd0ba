"""Several formulas made from one shelf, and the whole packs that are bought for them, in one program.

    minimise  sum_o (landed_o - worth_i pack_o) n_o + sum_s charge_s u_s + sum_i worth_i l_i

    A_p z_p >= b_p,   sum_j z_pj = 1                     for every product p: its brief (disjunctive.py)
    sum_p kg_p z_pi - l_i <= stock_i                     for every ingredient i, of which l_i lacks
    sum_{o of i} pack_o n_o >= l_i                       and the rows of orders of purchase.py

z are mass fractions, kg_p what is weighed of a product, n_o whole packs.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.purchase import Pack, Postage, Shopping, program_of
from optiform.program.usage import ceilings


@dataclass(frozen=True)
class Made:
    """A product: its program, whose first columns are fractions and whose first row is their balance.

    Attributes:
        ingredients: the number of each candidate on the shelf.
        kg: weighed of it.
    """

    program: Program
    ingredients: tuple[int, ...]
    kg: float


@dataclass(frozen=True)
class Shelf:
    """What is there and what can be bought: kg in stock of each ingredient, packs, suppliers and `worth` as there."""

    stock: tuple[float, ...]
    packs: tuple[Pack, ...]
    suppliers: tuple[Postage, ...]
    worth: tuple[float, ...]


@dataclass(frozen=True)
class Joined:
    """The one program, and the column at which each product begins; kg that lack of each ingredient stand last."""

    program: Program
    starts: tuple[int, ...]
    made: tuple[Made, ...]

    def shares(self, x: Vector, product: int) -> Vector:
        """The mass fractions of a product at a point; shape (candidates,)."""
        start, count = self.starts[product], len(self.made[product].ingredients)
        return x[start : start + count]

    def uses(self, ingredient: int) -> dict[int, float]:
        """Kg of an ingredient that one unit of each column takes."""
        return {
            start + place: made.kg
            for start, made in zip(self.starts, self.made, strict=True)
            for place, number in enumerate(made.ingredients)
            if number == ingredient
        }


def joined(made: Sequence[Made], shelf: Shelf) -> Joined:
    """The program of these products on this shelf, for the least money."""
    blocks = [_opened(product) for product in made]
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
    return replace(together, program=whole.with_rows(rows))


def _opened(made: Made) -> Program:
    """The block of a product, which costs nothing by itself."""
    return replace(made.program, high=_tightened(made), cost=np.zeros(len(made.program.columns)))


def _tightened(made: Made) -> Vector:
    """Upper bounds of the columns, those of the fractions as small as single rows make them."""
    count = len(made.ingredients)
    return np.concatenate([ceilings(made.program)[:count], made.program.high[count:]])


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
