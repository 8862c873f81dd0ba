"""What a property is: a ratio of two weighted sums over the lines of a formula.

    value = sum(p_i x_i) / sum(g_i x_i)

x_i is the mass fraction of line i, p_i what one unit of it brings, g_i the group it is a mean over. A share or an
amount in the whole has g = 1 and is linear, because fractions sum to one. A mean over a group, or a ratio of two
groups, is linear-fractional, and a limit on it is still a linear row: value >= L is sum((p_i - L g_i) x_i) >= 0.
A property that bends (water activity, grains that dissolve) gives p and g that hold near one formula.
"""

from collections.abc import Callable, Hashable, Iterable
from functools import cached_property, lru_cache
from operator import attrgetter
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from optiform.ingredients.formula import Formula
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.bent import Cases
from optiform.properties.bent import Side as Side
from optiform.reading.frozen import frozen
from optiform.reading.values import Comparable

Vector = NDArray[np.float64]

#: Mass fraction that lines without a figure of little weight may make up in all: see `grain_volume_fraction`.
TRACE = 0.005
ROUNDED = 1e-7  # mass fraction by which a row of a program may miss that
#: The figure to calculate with, and both ends of its range.
ENDS: tuple[Callable[[Value], float], ...] = (attrgetter("figure"), attrgetter("least"), attrgetter("most"))


@frozen
class Mix(Comparable):
    """The lines that a vector of mass fractions runs over: ingredients in order, each with its phase."""

    ingredients: tuple[Ingredient, ...]
    phases: tuple[str, ...]

    @staticmethod
    def of(formula: Formula) -> "Mix":
        """The lines of a formula, in its order; the same where formulas differ in amounts only."""
        return _mix(tuple(line.ingredient for line in formula.lines), tuple(line.phase for line in formula.lines))

    @cached_property
    def known(self) -> "dict[Ratio | Piecewise, tuple[Terms, ...]]":
        """Terms that hang on the lines alone, as far as they were asked for: a report asks for each many times.

        Equal mixes share them: a brief is read again and again, on a page at every change.
        """
        return _known(self)

    def vector(self, formula: Formula) -> Vector:
        """The mass fraction that a formula has of each line's ingredient, 0 where it has none. Shape (lines,)."""
        return np.array([formula.fraction(item.name) for item in self.ingredients])

    def mask(self, test: Callable[[Ingredient, str], bool]) -> Vector:
        """1 for each line that passes `test(ingredient, phase)`, else 0. Shape (lines,)."""
        return np.array([float(test(*line)) for line in zip(self.ingredients, self.phases, strict=True)])

    def serving(self, *functions: str) -> Vector:
        """1 for each line whose ingredient is bought first of all for one of these functions."""
        return self.mask(lambda item, _: item.functions[:1] != () and item.functions[0] in functions)


@lru_cache(maxsize=64)
def _known(mix: Mix) -> "dict[Ratio | Piecewise, tuple[Terms, ...]]":  # noqa: ARG001
    return {}


@lru_cache(maxsize=64)
def _mix(ingredients: tuple[Ingredient, ...], phases: tuple[str, ...]) -> Mix:
    return Mix(ingredients, phases)


def fractions(formula: Formula) -> Vector:
    """The mass fractions of a formula's lines, in their order.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> [round(share, 2) for share in fractions(mixed({"water": 3, "glycerin": 1})).tolist()]
        [0.75, 0.25]

    Source: none: bookkeeping, exact.
    """
    return np.array([line.fraction for line in formula.lines])


@frozen  # made by the thousand, which costs more than the class
class Terms(Comparable):
    """p and g of a property over a mix (see the module's formula), with the range of p and what is not known.

    All arrays have shape (lines,). `missing` marks lines whose figure is needed and not known: their p is 0 and any
    value that they enter is not known either. `traces` marks those of them that do no harm, at the figure that their p
    and g were given instead, while they are at most `TRACE` of the whole in all; None where there are no such lines.
    """

    numerator: Vector
    denominator: Vector
    low: Vector
    high: Vector
    missing: Vector
    evidence: tuple[Evidence | None, ...]
    traces: Vector | None = None

    @staticmethod
    def exact(numerator: Vector, denominator: Vector | None = None, evidence: Evidence | None = None) -> "Terms":
        """Terms that rest on the formula's own lines alone, or on one model of this evidence for all of them."""
        whole = np.ones_like(numerator) if denominator is None else denominator
        none = np.zeros_like(numerator)
        return Terms(numerator, whole, numerator, numerator, none, (evidence,) * len(numerator))

    @staticmethod
    def known(
        values: Iterable[Value | None], group: Vector, denominator: Vector | None = None, factor: float = 1.0
    ) -> "Terms":
        """Terms from one figure per line. Lines outside `group` bring nothing; inside it a figure is needed."""
        needed = [value if inside else None for value, inside in zip(values, group, strict=True)]
        p, low, high = (factor * np.array([end(v) if v else 0.0 for v in needed]) for end in ENDS)
        missing = np.array([float(value is None) for value in needed]) * (group > 0)
        whole = np.ones_like(p) if denominator is None else denominator
        return Terms(p, whole, low, high, missing, tuple(v.evidence if v else None for v in needed))

    @property
    def whole(self) -> bool:
        """Whether they are of the whole, g = 1, so that the value is linear."""
        return bool(np.all(self.denominator == 1.0))

    def at(self, x: Vector) -> float | None:
        """The value at mass fractions x; None where the group is empty or a needed figure is missing."""
        return self._ratio(self.numerator, x)

    def span(self, x: Vector) -> tuple[float, float] | None:
        """The value with every figure at its low end, and at its high end; None where there is no value."""
        low, high = self._ratio(self.low, x), self._ratio(self.high, x)
        return None if low is None or high is None else (low, high)

    def lacking(self, x: Vector) -> list[int]:
        """Lines in use whose figure is missing, but for traces."""
        used = [i for i in self._gaps if x[i] > 0]
        if not used or self.traces is None or float(self.traces @ x[: len(self.traces)]) > TRACE + ROUNDED:
            return used
        return [i for i in used if not self.traces[i]]

    def counted(self, x: Vector) -> list[int]:
        """Traces in use, where no figure is missing but theirs: they count by a figure that is not their own."""
        if self.traces is None or self.lacking(x):
            return []
        return [i for i in np.flatnonzero(self.traces).tolist() if x[i] > 0]

    @cached_property
    def _gaps(self) -> list[int]:
        """The lines whose figure is missing: mostly none, and asked for at every node of a search."""
        return np.flatnonzero(self.missing).tolist()

    def evidence_at(self, x: Vector) -> Evidence:
        """The weakest evidence among the figures that enter at x."""
        return Evidence.weakest(e for e, share in zip(self.evidence, x, strict=True) if e and share > 0)

    def _ratio(self, numerator: Vector, x: Vector) -> float | None:
        group = float(self.denominator @ x)
        if group <= 1e-12 or self.lacking(x):
            return None
        return float(numerator @ x) / group


def _shared(*pieces: Terms) -> tuple[Terms, ...]:
    """The same, which nobody can write into: many read them."""
    for piece in pieces:
        for figures in (piece.numerator, piece.denominator, piece.low, piece.high, piece.missing):
            figures.flags.writeable = False
    return pieces


#: What a percentage is of.
BASES = {"whole": "of the jar", "base": "of the base", "fats": "of the fats", "fatty acids": "of the fatty acids"}

#: What a firmness is of: a scale of its own, told in whole numbers.
OF_TODAY = "today = 100"


def possible(end: float, unit: str) -> float:
    """An end of a range brought back to what can be: no share is below 0 or above 100 %.

    Figures each at the end of its range may add to less than nothing, or to more than all.

    Example:
        >>> possible(-0.3, "%"), possible(104.0, "%"), possible(-1.5, "-")
        (0.0, 100.0, -1.5)

    Source: none: bookkeeping, exact.
    """
    return min(max(end, 0.0), 100.0) if unit == "%" else end


def of_what(unit: str, basis: str = "whole") -> str:
    """A unit in words; a percentage with what it is of.

    Example:
        >>> of_what("%", "fats"), of_what("%"), of_what("-"), of_what("g I2/100 g")
        ('% of the fats', '% of the jar', '', 'g I2/100 g')

    Source: none: bookkeeping, exact.
    """
    if unit != "%":
        return "" if unit == "-" else unit
    return f"% {BASES.get(basis, f'of the {basis}')}"


@frozen
class _Measured:
    """Something of a formula that can be measured and limited.

    Attributes:
        name: the words a brief uses.
        unit: unit of its value.
        basis: what it is a share or a mean of.
    """

    name: str
    unit: str
    basis: str

    #: Whether `terms` depend on the mass fractions.
    bends: ClassVar[bool] = True

    def terms(self, mix: Mix, x: Vector) -> Terms:
        """P and g over a mix, valid at or near the mass fractions x."""
        raise NotImplementedError

    def everywhere(self, mix: Mix) -> Terms:
        """P and g where they hang on the lines alone; of what depends on the fractions, those of none at all."""
        return self.terms(mix, np.zeros(len(mix.ingredients)))

    def at(self, mix: Mix, x: Vector) -> Terms:
        """Terms to read the value at x from: right there, and perhaps there only."""
        return self.terms(mix, x)

    def brought(self, mix: Mix) -> bool:
        """Whether any line of a mix brings any of it; a property that bends may always be more than nothing."""
        return self.bends or bool(self.everywhere(mix).numerator.any())

    def of(self, formula: Formula) -> float | None:
        """The value for a formula, in `unit`; None where it is not known or does not apply."""
        x = fractions(formula)
        return self.at(Mix.of(formula), x).at(x)


@frozen
class Ratio(_Measured):
    """A property that is one ratio of two sums over the lines, whatever the formula.

    Attributes:
        over: p and g over a mix.
        note: what a reader of the value must know.
    """

    over: Callable[[Mix], Terms]
    note: str = ""

    bends: ClassVar[bool] = False

    def terms(self, mix: Mix, x: Vector) -> Terms:  # noqa: ARG002
        """The ratio's own, at any x."""
        if self not in mix.known:
            mix.known[self] = _shared(self.over(mix))
        return mix.known[self][0]


@frozen
class Piecewise(_Measured):
    """A property that is the largest (`join` "max") or smallest ("min") of several ratios, its `pieces` over a mix.

    `here` gives the one that counts at a point at once, where there are many.
    """

    pieces: Callable[[Mix], tuple[Terms, ...]]
    join: Literal["max", "min"] = "max"
    note: str = ""
    here: Callable[[Mix, Vector], Terms] | None = None

    def terms(self, mix: Mix, x: Vector) -> Terms:
        """Those of the piece that counts at x."""
        if self.here is not None:
            return self.here(mix, x)
        if self not in mix.known:
            mix.known[self] = _shared(*self.pieces(mix))
        choose = max if self.join == "max" else min
        return choose(mix.known[self], key=lambda piece: float(piece.numerator @ x))


@frozen
class Bent(_Measured):
    """A property that no ratio gives everywhere.

    Attributes:
        near: p and g over a mix that hold near the given mass fractions.
        note: what a reader of the value must know.
        here: terms that are right at the given point only, where those that hold near it take longer.
        holds: for a model that holds only so far, what must stay at or below which value: (words, terms, bound).
        cases: its cases and curves over a mix; None where they are not known there.
        pieces: smooth ones over a mix of which it is the largest; without, it is smooth itself.
    """

    near: Callable[[Mix, Vector], Terms]
    note: Hashable = ""
    here: Callable[[Mix, Vector], Terms] | None = None
    holds: Callable[[Mix], tuple[tuple[str, Terms, float], ...]] | None = None
    cases: Callable[[Mix], Cases | None] | None = None
    pieces: Callable[[Mix], tuple[Callable[[Vector], Terms], ...]] | None = None

    def terms(self, mix: Mix, x: Vector) -> Terms:
        """Those that hold near x."""
        return self.near(mix, x)

    def at(self, mix: Mix, x: Vector) -> Terms:
        """Those that are right at x, which may be quicker."""
        return (self.here or self.near)(mix, x)


Property = Ratio | Piecewise | Bent
