"""Which whole packs to buy so that nothing is lacking, at the least money.

    minimise  sum_o (price_o + shipping_o) n_o + sum_s charge_s u_s - sum_i worth_i over_i,
              over_i = sum_{o of i} pack_o n_o - lacking_i

    sum_{o of i} pack_o n_o >= lacking_i                 for every ingredient i
    n_o <= N_o (u_s + f_s),   u_s + f_s <= 1             for every offer o of supplier s
    sum_{o of s} price_o n_o >= free_s f_s               where supplier s sends large orders free

n_o packs of offer o are whole; u_s = 1 is an order that pays its postage, f_s = 1 one that is sent free. More packs
than cover what is lacking can only pay where they save the postage, so N_o is what covers it plus what the charge
would buy. Of all ways that cost the least, one with the fewest packs is taken (a second solve with the cost held).

The answer is recomputed from the offers and the rules of the suppliers, without the program; no way can be cheaper
than `bound`, which is the solver's by branch and bound. Small cases are enumerated in the tests.
"""

import math
from collections.abc import Sequence

import numpy as np

from optiform.program.certificate import Certificate, NotCertified
from optiform.program.integer import WholeSolution, solve_whole
from optiform.program.linear import Program, Row, Sense, Vector
from optiform.program.solver import SolverName
from optiform.reading.frozen import frozen

GRAMS = 1000.0  # rows are in g: the solver's tolerance is then far below the mg to which masses are given
MG = 1e-6  # kg
CENT = 1e-6  # money that counts as the same cost


@frozen
class Pack:
    """A pack on offer: ingredient and supplier by number, kg, price above 0, and the shipping each pack bears."""

    ingredient: int
    supplier: int
    kg: float
    price: float
    shipping: float = 0.0

    @property
    def landed(self) -> float:
        """Price with shipping."""
        return self.price + self.shipping


@frozen
class Postage:
    """What an order costs beside its goods, and the value of goods from which it costs nothing; None for never."""

    charge: float = 0.0
    free_from: float | None = None

    def of(self, goods: float) -> float:
        """The postage of an order of goods of this value."""
        return 0.0 if self.free_from is not None and goods >= self.free_from - CENT else self.charge


@frozen
class Shopping:
    """What is lacking and what is on offer.

    Attributes:
        lacking: kg of each ingredient, to the milligram; 0 where the stock is enough.
        worth: what a kg left over counts for, less than any offer asks for it.
    """

    lacking: tuple[float, ...]
    packs: tuple[Pack, ...]
    suppliers: tuple[Postage, ...]
    worth: tuple[float, ...]

    def bought(self, counts: Sequence[int]) -> list[float]:
        """Kg bought of each ingredient with so many of each pack."""
        mass = [0.0] * len(self.lacking)
        for pack, count in zip(self.packs, counts, strict=True):
            mass[pack.ingredient] += count * pack.kg
        return mass

    def goods(self, counts: Sequence[int]) -> list[float]:
        """The value of the goods ordered of each supplier."""
        value = [0.0] * len(self.suppliers)
        for pack, count in zip(self.packs, counts, strict=True):
            value[pack.supplier] += count * pack.price
        return value

    def money(self, counts: Sequence[int]) -> float:
        """What so many of each pack cost, shipping and postage included, by the suppliers' own rules."""
        packs = math.fsum(count * pack.landed for pack, count in zip(self.packs, counts, strict=True))
        goods = self.goods(counts)
        return packs + math.fsum(each.of(goods[s]) for s, each in enumerate(self.suppliers) if goods[s] > 0)

    def value(self, counts: Sequence[int]) -> float:
        """Money less what is left over counts for: what is made least."""
        over = zip(self.bought(counts), self.lacking, self.worth, strict=True)
        return self.money(counts) - math.fsum(worth * (mass - lacking) for mass, lacking, worth in over)

    def covers(self, counts: Sequence[int]) -> bool:
        """Whether nothing is lacking with so many of each pack."""
        bought = zip(self.bought(counts), self.lacking, strict=True)
        return all(count >= 0 for count in counts) and all(mass >= lacking - MG / 2 for mass, lacking in bought)

    def most(self) -> list[int]:
        """The most of each pack that a cheapest way can need."""
        return [self._most(pack) for pack in self.packs]

    def _most(self, pack: Pack) -> int:
        cover = math.ceil((self.lacking[pack.ingredient] - MG / 2) / pack.kg)
        postage = self.suppliers[pack.supplier]
        net = pack.landed - self.worth[pack.ingredient] * pack.kg
        spare = 0 if postage.free_from is None else math.floor(postage.charge / net + MG)
        return max(0, cover) + spare


@frozen
class Chosen:
    """The packs that cost the least.

    Attributes:
        counts: of each pack on offer.
        money: what they cost, postage included.
        value: money less the worth of what is left over; `bound`: no way has less.
        certificate: of the linear program left when the counts are fixed.
    """

    counts: tuple[int, ...]
    money: float
    value: float
    bound: float
    certificate: Certificate

    @property
    def gap(self) -> float:
        """Value less bound, relative; 0 is proven best."""
        return (self.value - self.bound) / (1 + abs(self.value))


def choose(shopping: Shopping, solver: SolverName = "highs") -> Chosen | None:
    """The packs to buy; None where what is lacking cannot be had.

    Raises:
        SolverFailed: when the solver stops without a verdict.
        NotCertified: when its packs leave something lacking or cost something else.
    """
    if not any(lacking > 0 for lacking in shopping.lacking):
        none = tuple(0 for _ in shopping.packs)
        return Chosen(none, 0.0, 0.0, 0.0, Certificate(0.0, 0.0, 0.0, 0.0))
    program = program_of(shopping)
    best = solve_whole(program, solver)
    if best is None:
        return None
    fewest = solve_whole(_fewest(program, best, len(shopping.packs)), solver)
    constant = math.fsum(worth * lacking for worth, lacking in zip(shopping.worth, shopping.lacking, strict=True))
    return _checked(shopping, fewest or best, best.bound + constant)


def _checked(shopping: Shopping, best: WholeSolution, bound: float) -> Chosen:
    """The answer, recomputed from the offers themselves."""
    counts = tuple(round(n) for n in best.x[: len(shopping.packs)])
    if not shopping.covers(counts):
        raise NotCertified("the packs the solver chose leave something lacking")
    value = shopping.value(counts)
    if abs(value - bound) > 2 * CENT * (1 + abs(value)):
        raise NotCertified(f"the packs the solver chose cost {value:.6f}, its bound is {bound:.6f}")
    return Chosen(counts, shopping.money(counts), value, bound, best.certificate)


def program_of(shopping: Shopping) -> Program:
    """Columns: packs of each offer, then for each supplier an order that pays postage, then one sent free."""
    packs, suppliers, most = shopping.packs, shopping.suppliers, shopping.most()
    first, free = len(packs), len(packs) + len(suppliers)
    width = free + len(suppliers)
    cost = np.zeros(width)
    cost[:first] = [pack.landed - shopping.worth[pack.ingredient] * pack.kg for pack in packs]
    cost[first:free] = [each.charge for each in suppliers]
    high = np.array([*most, *(1 for _ in suppliers), *(each.free_from is not None for each in suppliers)], dtype=float)
    rows = [_covered(shopping, i, width) for i, lacking in enumerate(shopping.lacking) if lacking > 0]
    for o, pack in enumerate(packs):
        switch = {o: 1.0, first + pack.supplier: -float(most[o]), free + pack.supplier: -float(most[o])}
        rows.append(Row.of(f"packs of offer {o} only in an order", width, switch, Sense.AT_MOST))
    for s, each in enumerate(suppliers):
        rows.append(Row.of(f"one order of supplier {s}", width, {first + s: 1.0, free + s: 1.0}, Sense.AT_MOST, 1.0))
        if each.free_from is not None:
            goods = {o: pack.price for o, pack in enumerate(packs) if pack.supplier == s}
            words = f"goods for a free order of supplier {s}"
            rows.append(Row.of(words, width, {**goods, free + s: -each.free_from}, Sense.AT_LEAST))
    names = [f"packs of offer {o}" for o in range(first)]
    names += [f"{kind} order of supplier {s}" for kind in ("paid", "free") for s in range(len(suppliers))]
    return Program(tuple(names), cost, np.zeros(width), high, tuple(rows), frozenset(range(width)))


def _covered(shopping: Shopping, i: int, width: int) -> Row:
    masses = {o: GRAMS * pack.kg for o, pack in enumerate(shopping.packs) if pack.ingredient == i}
    return Row.of(f"enough of ingredient {i}", width, masses, Sense.AT_LEAST, GRAMS * (shopping.lacking[i] - MG / 2))


def _fewest(program: Program, best: WholeSolution, packs: int) -> Program:
    """The same with the cost held and the number of packs made least."""
    held = Row("the least cost", program.cost, Sense.AT_MOST, best.value + CENT)
    count: Vector = np.where(np.arange(len(program.columns)) < packs, 1.0, 0.0)
    return program.with_rows([*program.rows, held]).with_cost(count)
