"""What the melted oil of a formula dissolves of its waxes, fatty alcohols and acids, as the least of several sums.

With the set A of substances saturated, and L the moles of liquid,

    L = (oil + sum of the others) / (1 - sum of x over A),  dissolved = sum of the others + L sum of M x over A

in mass. The true set is the one that dissolves least: L is the least root of a sum of smallest terms, and the mass that
each substance has dissolved, min(all of it, M x L), is no more than either. So what dissolves is concave, what stays
solid convex, and both are the extreme of sums that are linear in the lines.
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from optiform.ingredients.ingredient import Evidence
from optiform.properties.base import ENDS, Mix, Vector
from optiform.properties.oil_phase import FATS, solid_fat_value
from optiform.properties.oil_solubility import OIL, Crystal, crystals, limits, saturated, sets
from optiform.reading.frozen import frozen

KNOWN_SETS = 64  # mixes whose sums are kept
KNOWN_PARTS = 512  # sets that counted somewhere: those of a mix at some temperatures
Saturated = tuple[int, ...]  #: which substances are


@frozen
class Dissolved:
    """Mass dissolved for each unit of each line, with one set saturated: the figure, and at the least and the most."""

    figure: Vector
    least: Vector
    most: Vector


@frozen
class Waxes:
    """The crystallising substances of a mix: share of each in each line, shape (substances, lines)."""

    kinds: tuple[Crystal, ...]
    shares: Vector

    def weighed(self, weights: Vector) -> Vector:
        """What a unit of each substance counts, of what a unit of each line counts: the most of the lines it is in."""
        return np.array([float(np.max(weights * (row > 0))) for row in self.shares])

    @property
    def moles(self) -> Vector:
        """Moles of each in each line."""
        masses = np.array([kind.molar_mass for kind in self.kinds])
        return np.asarray(self.shares / masses[:, None])


def waxes(mix: Mix) -> Waxes:
    """What crystallises in a mix.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> mix = Mix.of(mixed({"stearic acid": 1, "olive oil": 1}))
        >>> [(kind.name, kind.melting_point) for kind in waxes(mix).kinds]
        [('palmitic acid', 63.1), ('stearic acid', 70.6)]

    Source: Thermochim Acta 630 (2016) 50-63 (F-L01): the pure acids melt at 63.1 and 70.6 degC.
    """
    makeups = [crystals().get(item.name) for item in mix.ingredients]
    kinds = tuple(dict.fromkeys(crystal for makeup in makeups if makeup for crystal, _ in makeup.parts))
    shares = np.zeros((len(kinds), len(makeups)))
    for line, makeup in enumerate(makeups):
        for crystal, share in makeup.parts if makeup else ():
            shares[kinds.index(crystal), line] += share
    return Waxes(kinds, shares)


def wax_mass(mix: Mix) -> Vector:
    """1 for each line that crystallises out of the oil, else 0. Shape (lines,).

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> wax_mass(Mix.of(mixed({"beeswax": 1, "olive oil": 1}))).tolist()
        [1.0, 0.0]

    Source: none: bookkeeping, exact.
    """
    return np.array([float(item.name in crystals()) for item in mix.ingredients])


def wax_evidence(mix: Mix) -> tuple[Evidence | None, ...]:
    """How the figures of each such line are known.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> [str(kind) for kind in wax_evidence(Mix.of(mixed({"beeswax": 1, "cetyl alcohol": 1})))]
        ['derived', 'secondary']

    Source: none: bookkeeping, exact.
    """
    return tuple(crystals()[item.name].evidence if item.name in crystals() else None for item in mix.ingredients)


@lru_cache(maxsize=KNOWN_SETS)
def dissolved(mix: Mix, temperature: float, weights: tuple[float, ...] = ()) -> tuple[Dissolved, ...]:
    """What dissolves, as the least of these: one for each set of substances that can be saturated together.

    With more than eight substances in the mix, sets of more than three are left out. `weights`: what a unit of each
    line counts, one if empty.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> mix = Mix.of(mixed({"cetyl alcohol": 30, "olive oil": 70}))
        >>> [round(min(float(part.figure @ [0.3, 0.7]) for part in dissolved(mix, at)), 3) for at in (25.0, 35.0)]
        [0.041, 0.11]
        >>> gel = Mix.of(mixed({"beeswax": 3, "olive oil": 97}))
        >>> round(100 * min(float(part.figure @ [0.03, 0.97]) for part in dissolved(gel, 25.0)), 2)
        1.38

    Source: Gels 10 (2024) 214: of 3 % beeswax in olive oil 1.16 to 2.27 are solid at 25 degC, so 0.73 to 1.84 dissolve.
    """
    held, oil = waxes(mix), _oil(mix, temperature)
    counts = held.weighed(np.array(weights or (1.0,) * len(mix.ingredients)))
    every = (_dissolved(held, oil, temperature, chosen, counts) for chosen in sets(len(held.kinds)))
    return tuple(part for part in every if part is not None)


def dissolved_here(mix: Mix, x: Vector, temperature: float, weights: tuple[float, ...] = ()) -> Dissolved:
    """The one of `dissolved` that counts at mass fractions x, whatever the number of substances, and at each end.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> mix = Mix.of(mixed({"cetyl alcohol": 30, "olive oil": 70}))
        >>> part = dissolved_here(mix, np.array([0.3, 0.7]), 25.0)
        >>> [round(float(sums @ [0.3, 0.7]), 3) for sums in (part.least, part.figure, part.most)]
        [0.036, 0.041, 0.07]
        >>> gel = dissolved_here(Mix.of(mixed({"beeswax": 3, "olive oil": 97})), np.array([0.03, 0.97]), 25.0)
        >>> round(100 * float(gel.figure @ [0.03, 0.97]), 2)
        1.38

    Source: Gels 10 (2024) 214: of 3 % beeswax in olive oil 1.16 to 2.27 are solid at 25 degC, so 0.73 to 1.84 dissolve.
    """
    melt = _melt(mix, temperature)
    amounts = melt.moles @ x
    ends = zip(melt.soluble, melt.oil, strict=True)
    chosen = (saturated(amounts, soluble, float(oil @ x)) if melt.held.kinds else () for soluble, oil in ends)
    return _part(mix, temperature, weights, tuple(chosen))


@frozen
class _Melt:
    """What dissolves of a mix at a temperature: mole fractions and moles of oil at least, by the figure, at most.

    `moles` are those of each substance in each line, shape (substances, lines).
    """

    held: Waxes
    moles: Vector
    soluble: tuple[Vector, ...]
    oil: tuple[Vector, ...]


@lru_cache(maxsize=KNOWN_SETS)
def _melt(mix: Mix, temperature: float) -> _Melt:
    """Asked for at every point that is looked at."""
    held = waxes(mix)
    soluble = (np.array([limits(kind, temperature)[end] for kind in held.kinds]) for end in range(3))
    return _Melt(held, held.moles, tuple(soluble), _oil(mix, temperature))


@lru_cache(maxsize=KNOWN_PARTS)
def _part(mix: Mix, temperature: float, weights: tuple[float, ...], chosen: tuple[Saturated, ...]) -> Dissolved:
    """What dissolves with these saturated, at least, by the figure and at most: points near each other share it."""
    melt = _melt(mix, temperature)
    counts = melt.held.weighed(np.array(weights or (1.0,) * len(mix.ingredients)))
    ends = zip(melt.oil, melt.soluble, chosen, strict=True)
    least, figure, most = (_sums(melt.held, oil, soluble, at, counts) for oil, soluble, at in ends)
    return Dissolved(figure, least, most)


def _oil(mix: Mix, temperature: float) -> tuple[Vector, Vector, Vector]:
    """Moles of melted fat, oil and ester in each line: with most solid, the figure, with least solid."""
    values = [solid_fat_value(item, temperature) for item in mix.ingredients]
    liquid = mix.serving(*FATS, "wax") * [value is not None for value in values]
    typical, low, high = (np.array([end(value) / 100 if value else 0.0 for value in values]) for end in ENDS)
    return liquid * (1 - high) / OIL, liquid * (1 - typical) / OIL, liquid * (1 - low) / OIL


def _dissolved(
    held: Waxes, oil: Sequence[Vector], temperature: float, chosen: Sequence[int], counts: Vector
) -> Dissolved | None:
    """None where these cannot be saturated together: their mole fractions leave no room for a liquid."""
    soluble = [np.array([limits(kind, temperature)[end] for kind in held.kinds]) for end in range(3)]
    if soluble[1][list(chosen)].sum() >= 1:
        return None
    least, figure, most = (_sums(held, moles, x, chosen, counts) for moles, x in zip(oil, soluble, strict=True))
    return Dissolved(figure, least, most)


def _sums(held: Waxes, oil: Vector, soluble: Vector, chosen: Sequence[int], counts: Vector) -> Vector:
    """Mass dissolved for each unit of each line with the chosen substances saturated; all of it where they melt.

    A unit of each substance counts `counts`.
    """
    if not held.kinds:
        return np.zeros(len(oil))
    at = list(chosen)
    rest = [k for k in range(len(held.kinds)) if k not in chosen]
    room = 1 - float(soluble[at].sum())
    if room <= 0:
        return np.asarray(counts @ held.shares)
    mass = sum(counts[j] * held.kinds[j].molar_mass * soluble[j] for j in at)
    return np.asarray(counts[rest] @ held.shares[rest] + mass / room * (oil + held.moles[rest].sum(axis=0)))
