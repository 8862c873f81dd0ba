"""What to reach for: the lowest or highest value of a property, or the formula nearest to another or to what is usual.

Every goal has its `sign`, 1 where less is better and -1 where more is, its `unit`, its words and `value_at`.
"""

from collections.abc import Mapping
from typing import ClassVar

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, Property, Ratio, Vector
from optiform.reading.frozen import frozen

MOVED = "% moved"  #: unit of what a formula nearest to another is measured in
WIDTHS = "steps from usual"  #: unit of what a formula nearest to what is usual is measured in


@frozen
class _Best:
    """The best value of one property, `wanted`."""

    wanted: Property

    formula: ClassVar[None] = None
    sign: ClassVar[float]
    direction: ClassVar[str]

    @property
    def words(self) -> str:
        """The goal in a brief's words."""
        return f"{self.direction} {self.wanted.name}"

    @property
    def unit(self) -> str:
        """The property's."""
        return self.wanted.unit

    def value_at(self, mix: Mix, x: Vector) -> float | None:
        """The property at mass fractions x of a mix; None where it has no value.

        Raises:
            OutOfRange: where its model does not reach.
        """
        return self.wanted.at(mix, x).at(x)


@frozen
class Lowest(_Best):
    """As little as possible of a property."""

    sign: ClassVar[float] = 1.0
    direction: ClassVar[str] = "lowest"


@frozen
class Highest(_Best):
    """As much as possible of a property."""

    sign: ClassVar[float] = -1.0
    direction: ClassVar[str] = "highest"


@frozen
class Nearest:
    """As few percentage points as possible that change hands between the answer and a formula."""

    formula: Formula

    wanted: ClassVar[None] = None
    sign: ClassVar[float] = 1.0
    unit: ClassVar[str] = MOVED

    @property
    def words(self) -> str:
        """The goal in a brief's words."""
        return f"nearest to {self.formula.name}"

    def value_at(self, mix: Mix, x: Vector) -> float:
        """Percentage points moved at mass fractions x of a mix."""
        return points_moved(mix, x, self.formula)


@frozen
class Aim:
    """A property with its typical value in a kind of product.

    Attributes:
        typical: in the property's unit.
        size: what counts as one half range away, in that unit times the mass fraction that the property is over.
    """

    wanted: Ratio
    typical: float
    size: float

    def away(self, mix: Mix) -> Vector:
        """How many half ranges away each line brings a formula, of its sign; linear in the mass fractions.

        (p_i - t g_i) / size with p and g of the property and its typical value t. Of a ratio the size holds what it is
        over in a usual product, not in this one: less of that brings a formula no nearer to another ratio.
        """
        terms = self.wanted.over(mix)
        known = terms.denominator if terms.whole else terms.denominator * (1 - terms.missing)
        return np.asarray((terms.numerator - self.typical * known) / self.size)


@frozen
class NearestUsual:
    """As near as possible to what is usual in a kind of product: the least sum of half ranges off its typical values.

    Attributes:
        kind: of product.
        aims: what is usual.
        ranks: what a unit of mass of each ingredient adds, by its name: so little that it decides only between formulas
            as near, first by what the kind's makers take, then by cost.
    """

    kind: str
    aims: tuple[Aim, ...] = ()
    ranks: tuple[tuple[str, float], ...] = ()

    wanted: ClassVar[None] = None
    formula: ClassVar[None] = None
    sign: ClassVar[float] = 1.0
    unit: ClassVar[str] = WIDTHS

    @property
    def words(self) -> str:
        """The goal in a brief's words."""
        return "nearest to usual"

    def ranked(self, mix: Mix) -> Vector:
        """What a unit of mass of each line adds. Shape (lines,)."""
        ranks = dict(self.ranks)
        return np.array([ranks.get(item.name, 0.0) for item in mix.ingredients])

    def value_at(self, mix: Mix, x: Vector) -> float:
        """The sum of half ranges off at mass fractions x of a mix, and what decides between formulas as near."""
        return sum(abs(float(aim.away(mix) @ x)) for aim in self.aims) + float(self.ranked(mix) @ x)


Goal = Lowest | Highest | Nearest | NearestUsual

#: The goals that want a property, by their word in a brief.
TOWARDS: Mapping[str, type[Lowest] | type[Highest]] = {"lowest": Lowest, "highest": Highest}


def points_moved(mix: Mix, x: Vector, formula: Formula) -> float:
    """Percentage points that change hands between x and a formula; what is no candidate any more counts as given up.

    50 (sum |x_i - r_i| over the lines of the mix, and what the formula has of anything else).
    """
    names = [item.name for item in mix.ingredients]
    shared = sum(abs(share - formula.fraction(name)) for name, share in zip(names, x, strict=True))
    given_up = sum(line.fraction for line in formula.lines if line.ingredient.name not in names)
    return 50 * float(shared + given_up)
