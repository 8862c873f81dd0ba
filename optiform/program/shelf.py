"""Several formulas made from one shelf, and the whole packs that are bought for them, in one program.

    minimise  sum_o (landed_o - worth_i pack_o) n_o + sum_s charge_s u_s + sum_i worth_i l_i

    A_p z_p >= b_p,   sum_j z_pj = 1                     for every product p: its brief (disjunctive.py)
    sum_p kg_p z_pi - l_i <= stock_i                     for every ingredient i, of which l_i lacks
    sum_{o of i} pack_o n_o >= l_i                       and the rows of orders of purchase.py

z are mass fractions, kg_p what is weighed of a product, n_o whole packs. Of a product whose jars are not fixed, z are
shares of what is weighed for the most jars R, and sum_j z_pj = r / R with r whole: every row a z >= b of its brief
stands there as (a - b) z >= 0, which is the same for any number of jars.
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
        kg: weighed for the most jars.
        jars: the fewest and the most.
    """

    program: Program
    ingredients: tuple[int, ...]
    kg: float
    jars: tuple[int, int] = (1, 1)

    @property
    def flexible(self) -> bool:
        """Whether the number of jars is open."""
        return self.jars[0] < self.jars[1]


@dataclass(frozen=True)
class Shelf:
    """What is there and what can be bought: kg in stock of each ingredient, packs, suppliers and `worth` as there."""

    stock: tuple[float, ...]
    packs: tuple[Pack, ...]
    suppliers: tuple[Postage, ...]
    worth: tuple[float, ...]


@dataclass(frozen=True)
class Joined:
    """The one program, and the column at which each product begins; jars of flexible ones stand last in theirs."""

    program: Program
    starts: tuple[int, ...]
    made: tuple[Made, ...]

    def shares(self, x: Vector, product: int) -> Vector:
        """The mass fractions of a product at a point; shape (candidates,)."""
        start, count = self.starts[product], len(self.made[product].ingredients)
        shares = x[start : start + count]
        return shares / shares.sum() if self.made[product].flexible else shares

    def jars(self, x: Vector, product: int) -> int:
        """How many jars of a product are made at a point."""
        made = self.made[product]
        start, count = self.starts[product], len(made.ingredients)
        return round(float(x[start : start + count].sum()) * made.jars[1])

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


def of_the_whole(row: Row, count: int) -> Row:
    """A row over fractions, the first `count` columns, as it stands for any sum of theirs: a x >= b as (a - b) x >= 0.

    Example:
        >>> row = of_the_whole(Row("oil", np.array([1.0, 0.0]), Sense.AT_LEAST, 0.25), 2)
        >>> row.coefficients.tolist(), row.rhs
        ([0.75, -0.25], 0.0)
    """
    coefficients = row.coefficients.copy()
    coefficients[:count] -= row.rhs
    return replace(row, coefficients=coefficients, rhs=0.0)


def _opened(made: Made) -> Program:
    """The block of a product, with a column for its jars and its bounds as rows where their number is open."""
    count = len(made.ingredients)
    program = replace(made.program, high=_tightened(made.program, count), cost=np.zeros(len(made.program.columns)))
    if not made.flexible:
        return program
    none, fewest, most = np.zeros(1), np.array([float(made.jars[0])]), np.array([float(made.jars[1])])
    wide = program.widened(["jars"], none, fewest, most, whole=True)
    width, rows = len(wide.columns), [*wide.rows[1:]]
    balance = {**dict.fromkeys(range(count), 1.0), width - 1: -1.0 / made.jars[1]}
    rows.append(Row.of("everything sums to the jars", width, balance, Sense.EQUAL))
    for j in range(count):
        shares = dict.fromkeys(range(count), 0.0)
        for sense, end in ((Sense.AT_LEAST, program.low[j]), (Sense.AT_MOST, program.high[j])):
            if 0 < end < 1:
                ends = {**dict.fromkeys(shares, -float(end)), j: 1.0 - float(end)}
                rows.append(Row.of(f"{program.columns[j]} {sense} {end:g} of the whole", width, ends, sense))
    low = wide.low.copy()
    low[:count] = 0.0
    return replace(wide, low=low, rows=tuple(rows))


def _tightened(program: Program, count: int) -> Vector:
    """Upper bounds of the columns, those of the fractions as small as single rows make them."""
    return np.concatenate([ceilings(program)[:count], program.high[count:]])


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
