"""One base for several products, and what each has beside it: a scent, a colour, whatever its plan calls its own.

    z_pi / s_p = z_qi / s_q      for every ingredient i of the base, and products p, q that share it
    z_pj = d_pj                  for every own line j of p,      s_p = 1 - sum_j d_pj

The dose d of an own line is the one of the plan's formula, or the one that the brief fixes; so s_p, the share of the
base in a product, is a number, and the rows are linear.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import combinations

from optiform.brief.brief import Brief
from optiform.costs.plan import Product
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.program.linear import Row, Sense
from optiform.program.shelf import Joined
from optiform.reading.faults import Inspection
from optiform.reading.frozen import frozen

OWN = ("fragrance", "colourant")  # what an assessment lets differ over one base


@frozen
class Sharer:
    """A product that may share a base: with its brief around the plan's formula, and that formula if it has one."""

    product: Product
    brief: Brief
    today: Formula | None

    @cached_property
    def doses(self) -> Mapping[str, float]:
        """The mass fraction of each own line, 0 for those it may have and does not use.

        Raises:
            BadInput: an own line has neither a formula's dose nor one of the brief.
        """
        inspection = Inspection(self.product.name)
        pairs = zip(self.brief.mix.ingredients, self.brief.ranges, strict=True)
        doses = {item.name: self._dose(item, wanted.low, wanted.high, inspection) for item, wanted in pairs
                 if self.is_own(item)}  # fmt: skip
        inspection.finish()
        return doses

    def _dose(self, item: Ingredient, low: float, high: float, inspection: Inspection) -> float:
        if self.today is not None:
            return self.today.fraction(item.name)
        if low < high and low > 0:
            expected = "one dose in [lines] of the brief, or a formula: how much base there is follows from it"
            inspection.fault(item.name, f"{100 * low:g} to {100 * high:g} %", expected)
        return low

    @property
    def base(self) -> float:
        """The share of the base in the product, mass fraction."""
        return 1.0 - sum(self.doses.values())

    def is_own(self, item: Ingredient) -> bool:
        """Whether a line is no part of the base."""
        own = self.product.own
        return item.has(*OWN) if own is None else item.name in own


@frozen
class CommonBase:
    """A base and who shares it.

    Attributes:
        products: that share it, by name; none where no two can.
        base: its lines as fractions of the base.
        shares: of the base in each product, mass fraction.
        own: lines of each product beside it, as fractions of the product.
        free: money for all of the plan with every formula free; None where that is not known.
        tried: groups of products that were tried and proven to have no common base.
        free_used: of a stock to use up, what goes in with every formula free, kg; None where that is not known, or
            nothing is to be used up.
    """

    products: tuple[str, ...]
    base: Formula
    shares: tuple[float, ...]
    own: tuple[tuple[Line, ...], ...]
    free: float | None
    tried: int
    free_used: float | None = None


def groups(count: int) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Places of products that may share a base: all of them, then every group of one less, and so on down to two.

    Example:
        >>> list(groups(3))
        [((0, 1, 2),), ((0, 1), (0, 2), (1, 2))]
    """
    for size in range(count, 1, -1):
        yield tuple(combinations(range(count), size))


def base_rows(together: Joined, sharers: Mapping[int, Sharer], names: Sequence[str]) -> Iterator[Row]:
    """The rows that make some products one base with own lines.

    Args:
        together: the program of all products, none with open jars.
        sharers: place of each product that shares.
        names: of the ingredients, as the shelf numbers them.
    """
    width = len(together.program.columns)
    first, *others = sharers
    columns = {
        p: dict(zip(together.made[p].ingredients, range(together.starts[p], width), strict=False)) for p in sharers
    }
    own = {p: {names.index(name): dose for name, dose in sharer.doses.items()} for p, sharer in sharers.items()}
    for p, doses in own.items():
        for number, dose in doses.items():
            yield Row.of(f"{names[number]}, own", width, {columns[p][number]: 1.0}, Sense.EQUAL, dose)
    for p in others:
        in_base = (set(columns[p]) - set(own[p])) | (set(columns[first]) - set(own[first]))
        for number in sorted(in_base):
            entries = {}
            if number in columns[p] and number not in own[p]:
                entries[columns[p][number]] = sharers[first].base
            if number in columns[first] and number not in own[first]:
                entries[columns[first][number]] = -sharers[p].base
            yield Row.of(f"{names[number]} of the base", width, entries, Sense.EQUAL)


def base_of(formulas: Sequence[Formula], sharers: Sequence[Sharer], free: float | None, tried: int) -> CommonBase:
    """The base of formulas that share one, as it stands in the first of them."""
    if not formulas:
        return CommonBase((), Formula("common base", ()), (), (), free, tried)
    first, sharer = formulas[0], sharers[0]
    lines = [line for line in first.lines if not sharer.is_own(line.ingredient)]
    whole = sum(line.fraction for line in lines)
    base = Formula("common base", tuple(Line(x.ingredient, x.fraction / whole, x.phase) for x in lines))
    own = tuple(
        tuple(line for line in formula.lines if of.is_own(line.ingredient))
        for formula, of in zip(formulas, sharers, strict=True)
    )
    names = tuple(of.product.name for of in sharers)
    return CommonBase(names, base, tuple(of.base for of in sharers), own, free, tried)
