"""What an oil dissolves of waxes, fatty alcohols and fatty acids, and the crystals that are left.

    ln x = -(dH / R) (1 / T - 1 / Tm)

x: mole fraction of the crystal's substance in the saturated liquid, dH: its heat of melting, of fatty alcohols with
that of the step from the ordered to the rotator form half a degree below, Tm: melting point. Ideal solubility,
Hildebrand; 54 measured points of palmitic and stearic acid in unsaturated acids lie 0 to 20 % above it.
Crystals are pure: each substance against its own line, all dissolved ones counted among the moles of liquid.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped

Vector = NDArray[np.float64]

GAS_CONSTANT = 8.314462618e-3  # kJ/(mol K)
ZERO_CELSIUS = 273.15
OIL = 885.4  # g/mol, triolein: what every oil is taken for
LEAST_IDEAL = 0.9  # of the ideal mole fraction: the low end of what dissolves
ALL_SETS = 8  # substances up to which every set of them is looked at
SIZE = 3  # beyond: sets of at most so many


@frozen
class Crystal:
    """A substance that crystallises by itself: molar mass in g/mol, melting point in degC, heat in kJ/mol."""

    name: str
    molar_mass: float
    melting_point: float
    heat: float

    def soluble(self, temperature: float) -> float:
        """Mole fraction in the saturated ideal liquid; 1 from the melting point on.

        Example:
            >>> stearic = Crystal("stearic acid", 284.477, 70.6, 63.07)
            >>> round(stearic.soluble(58.5), 3)  # Thermochim Acta 630 (2016) 50: ideal 0.447, measured 0.500
            0.447
        """
        if temperature >= self.melting_point:
            return 1.0
        inverse = 1 / (temperature + ZERO_CELSIUS) - 1 / (self.melting_point + ZERO_CELSIUS)
        return math.exp(-self.heat / GAS_CONSTANT * inverse)

    def most_soluble(self, temperature: float) -> float:
        """The mole fraction with the size term, for a small molecule in a large one: the high end of what dissolves.

        ln phi + (1 - phi) (1 - V / V oil) = ln x ideal, phi a volume fraction, volumes as molar masses (Flory and
        Huggins). Data in oil that decide between the two were not found.
        """
        ideal, ratio = self.soluble(temperature), self.molar_mass / OIL
        if ideal >= 1:
            return 1.0
        phi = ideal
        for _ in range(200):
            phi = ideal * math.exp(-(1 - phi) * (1 - ratio))
        phi = max(phi, ideal * ratio / (ideal * ratio + 1 - ideal))
        moles = phi / ratio
        return moles / (moles + 1 - phi)

    def mass_percent(self, temperature: float) -> float:
        """Mass % of the saturated solution in oil.

        Example:
            >>> cetyl = Crystal("cetyl alcohol", 242.441, 50.0, 55.8)
            >>> round(cetyl.mass_percent(35.0), 1)
            13.5
        """
        x = self.soluble(temperature)
        return 100 * x * self.molar_mass / (x * self.molar_mass + (1 - x) * OIL)


@frozen
class Makeup:
    """What an ingredient crystallises as: substances with their mass shares, and how its figures are known."""

    parts: tuple[tuple[Crystal, float], ...]
    evidence: Evidence


@cache
def crystals() -> Mapping[str, Makeup]:
    """The ingredients of oil_solubility.csv: what each crystallises as.

    Example:
        >>> [(crystal.name, share, crystal.melting_point) for crystal, share in crystals()["stearic acid"].parts]
        [('palmitic acid', 0.5, 63.1), ('stearic acid', 0.5, 70.6)]

    Source: Thermochim Acta 630 (2016) 50-63 (F-L01): the pure acids melt at 63.1 and 70.6 degC. Half and half is
        custom.
    """
    rows: dict[str, list[dict[str, str]]] = {}
    for row in shipped("oil_solubility"):
        rows.setdefault(row["ingredient"], []).append(row)
    return {name: _makeup(parts) for name, parts in rows.items()}


def _makeup(rows: Sequence[Mapping[str, str]]) -> Makeup:
    figures = ("molar mass", "melting point", "heat")
    parts = tuple(
        (Crystal(row["crystal"], *(float(row[name]) for name in figures)), float(row["share"]) / 100) for row in rows
    )
    return Makeup(parts, Evidence.weakest([Evidence.DERIVED, *(Evidence(row["evidence"]) for row in rows)]))


@lru_cache(maxsize=4096)
def limits(crystal: Crystal, temperature: float) -> tuple[float, float, float]:
    """Mole fractions that dissolve: least, ideal, most.

    Example:
        >>> lauric = Crystal("lauric acid", 200.318, 43.82, 36.3)
        >>> [round(x, 3) for x in limits(lauric, 25.0)]
        [0.377, 0.419, 0.571]
        >>> _, (stearic, _) = crystals()["stearic acid"].parts  # liquidus.csv: 0.099 in oleic acid; ideal by hand 0.087
        >>> [round(x, 3) for x in limits(stearic, 36.4)]
        [0.079, 0.087, 0.13]

    Source: Thermochim Acta 630 (2016) 50-63: stearic acid in oleic acid 0.099 at 36.4 degC, which lies between least
        and most; by hand from that paper's heat of melting, ideal: 0.087.
    """
    ideal = crystal.soluble(temperature)
    return LEAST_IDEAL * ideal if ideal < 1 else 1.0, ideal, crystal.most_soluble(temperature)


def sets(count: int) -> Iterator[tuple[int, ...]]:
    """Sets of substances that may be saturated together, the largest first; not all of them where there are many.

    Example:
        >>> list(sets(2))
        [(0, 1), (0,), (1,), ()]

    Source: none: bookkeeping, exact.
    """
    largest = count if count <= ALL_SETS else SIZE
    for size in range(largest, -1, -1):
        yield from combinations(range(count), size)


def saturated(amounts: Vector, soluble: Vector, oil: float) -> tuple[int, ...]:
    """Which substances are saturated, from the moles of each and of oil: those with more than soluble x liquid.

    The liquid L = oil + sum min(amount, soluble L): substances leave the solid in the order of amount / soluble.

    Example:
        >>> saturated(np.array([0.5, 0.01]), np.array([0.1, 0.1]), 1.0)
        (0,)

    Source: none: bookkeeping, exact.
    """
    order = np.argsort(-amounts / soluble)
    chosen: list[int] = []
    for j in order.tolist():
        rest = np.ones(len(amounts), dtype=bool)
        rest[chosen] = False
        room = 1 - float(soluble[chosen].sum())
        liquid = (oil + float(amounts[rest].sum())) / room if room > 0 else np.inf
        if amounts[j] <= soluble[j] * liquid:
            break
        chosen.append(j)
    return tuple(sorted(chosen))
