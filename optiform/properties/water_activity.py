"""An estimate of water activity from what is dissolved in the water."""

import functools
import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping
from types import MappingProxyType

import numpy as np

from optiform.properties.curve import Curve, Interval
from optiform.properties.solubility import OutOfRange
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.reading.values import Bound

WATER = "Aqua"
WATER_MOLAR_MASS = 18.01528  # g/mol

#: degC; every row of the table belongs to it.
TEMPERATURE = 25.0

#: The salts of the table part into two ions each (Na+ Cl-, Mg2+ SO4 2-).
IONS = 2

#: % of the water phase that may be of substances without figures before the estimate says too little.
MOST_UNCOUNTED = 30.0

NOTE = (
    "Estimate at 25 degC from the solutes listed, not a measurement: have the product measured. "
    "It says nothing about how well a formula resists microbes."
)


@frozen
class WaterActivity:
    """An estimated water activity.

    `value` is the estimate (1 for pure water), `temperature` the degC it belongs to. `parts` gives
    the activity of each solute alone in all the water; their product is `value`. `uncounted` names
    the substances without figures: one that dissolves would bring the true value lower.
    """

    value: float
    temperature: float
    parts: Mapping[str, float]
    uncounted: tuple[str, ...]
    note: str = NOTE


class Uncounted(OutOfRange):
    """Too much of the water phase is of substances that the model has no figures for."""

    def __init__(self, share: float, names: Iterable[str]) -> None:
        super().__init__("part of the water phase that the model does not count", share, 0, MOST_UNCOUNTED, "%")
        self.names = tuple(names)

    def __str__(self) -> str:
        return f"{self.read:.3g} % of the water phase is not counted by the model: {', '.join(self.names)}"


@frozen
class Table:
    """Numbers at rising places, read by straight lines between them and level outside."""

    places: tuple[float, ...]
    numbers: tuple[float, ...]

    @staticmethod
    def of(rows: Iterable[tuple[float, float]], scale: float) -> "Table":
        """A table of (place, number), the places counted in another unit."""
        places, numbers = zip(*rows, strict=True)
        return Table(tuple(scale * place for place in places), tuple(numbers))

    def at(self, z: float) -> float:
        """The number at z."""
        k = bisect_right(self.places, z)
        if k in (0, len(self.places)):
            return self.numbers[min(k, len(self.places) - 1)]
        return self.numbers[k - 1] + self._slope(k) * (z - self.places[k - 1])

    def slopes(self, z: float) -> Interval:
        """Its slopes to the left and to the right of z."""
        return self._slope(bisect_left(self.places, z)), self._slope(bisect_right(self.places, z))

    def _slope(self, k: int) -> float:
        """That of the line before the place numbered k."""
        if k in (0, len(self.places)):
            return 0.0
        return (self.numbers[k] - self.numbers[k - 1]) / (self.places[k] - self.places[k - 1])


@frozen
class Solute:
    """The figures of one solute.

    `molar_mass` is in g/mol, `valid_to` in mass % of the solute in its mixture with water alone.
    `norrish` is the constant K of a non-electrolyte, else None. `osmotic` holds (mol/kg, osmotic
    coefficient) in rising order for a salt, else it is empty.
    """

    inci: str
    molar_mass: float
    valid_to: float
    norrish: float | None
    osmotic: tuple[tuple[float, float], ...]

    def activity(self, per_water: float) -> float:
        """Water activity with `per_water` g of this solute per g of water, nothing else there."""
        self._check(per_water)
        molality = 1000 * per_water / self.molar_mass
        if self.norrish is not None:
            return norrish(self.norrish, molality)
        molalities, coefficients = np.array(self.osmotic).T
        return osmotic(float(np.interp(molality, molalities, coefficients)), molality)

    def log_activity(self, most: float | None = None) -> Curve:
        """Ln aw by g of this solute per g of water, never more than `most` of it; for `bent.Case`.

        With u = z Mw / M the mole ratio of z g per g of water, Norrish reads f = -ln(1 + u) - K u^2 / (1 + u)^2 and
        f'' = (Mw / M)^2 (1 / (1 + u)^2 - K t(u)), t = 2 (1 - 2 u) / (1 + u)^4. Both terms fall as u rises to 1, which
        no solute here reaches, so the ends of an interval bound f''. With phi straight between two rows,
        f = -2 phi z Mw / M has f'' = -4 phi' Mw / M there. Beyond `most` the curve is level.
        """
        top = math.inf if most is None else most
        knots = [*(self.table.places if self.norrish is None else ()), *([] if most is None else [most])]
        return Curve(
            Bound(_log_activity, (self, top)),
            Bound(_slopes, (self, top)),
            Bound(_curvature, (self, top)),
            tuple(sorted(knot for knot in knots if 0 < knot <= top)),
        )

    @property
    def ratio(self) -> float:
        """Moles of this solute per mole of water, in a mixture of equal masses."""
        return WATER_MOLAR_MASS / self.molar_mass

    @functools.cached_property
    def table(self) -> "Table":
        """The osmotic coefficient by g per g of water, of a salt."""
        return Table.of(self.osmotic or ((0.0, 1.0),), self.molar_mass / 1000)

    def _check(self, per_water: float) -> None:
        share = 100 * per_water / (1 + per_water)
        # A last digit of rounding in the caller's arithmetic is not a breach.
        if share > self.valid_to * (1 + 1e-9):
            what = f"{self.inci} in its mixture with the water alone"
            raise OutOfRange(what, share, 0, self.valid_to, "mass %")


def _log_activity(z: float, solute: Solute, top: float) -> float:
    """F of `Solute.log_activity`."""
    z = min(z, top)
    u = z * solute.ratio
    if solute.norrish is None:
        return -IONS * solute.table.at(z) * u
    return -math.log1p(u) - solute.norrish * (u / (1 + u)) ** 2


def _slopes(z: float, solute: Solute, top: float) -> Interval:
    """Its slopes to the left and to the right."""
    left, right = (_slope(z, solute, piece) for piece in solute.table.slopes(z))
    return left if z <= top else 0.0, right if z < top else 0.0


def _slope(z: float, solute: Solute, piece: float) -> float:
    ratio, u = solute.ratio, z * solute.ratio
    if solute.norrish is None:
        return -IONS * ratio * (solute.table.at(z) + z * piece)
    return -ratio * (1 / (1 + u) + 2 * solute.norrish * u / (1 + u) ** 3)


def _curvature(a: float, b: float, solute: Solute, top: float) -> Interval:
    """Bounds of its second derivative."""
    if a >= top or b <= a:
        return 0.0, 0.0
    ratio = solute.ratio
    if solute.norrish is None:
        bend = -2 * IONS * ratio * (solute.table.at(b) - solute.table.at(a)) / (b - a)
        return bend, bend
    first, last = a * ratio, b * ratio
    turns = [-solute.norrish * 2 * (1 - 2 * u) / (1 + u) ** 4 for u in (first, last)]
    return ratio**2 * ((1 + last) ** -2 + min(turns)), ratio**2 * ((1 + first) ** -2 + max(turns))


def water_activity(fractions: Mapping[str, float]) -> WaterActivity:
    """Estimate the water activity of a mixture at 25 degC.

    `fractions` gives mass fractions (or any masses in one unit) by INCI name, water as `Aqua`.
    Give only what is dissolved: undissolved grains do not count.

    Each solute i is taken alone with all the water. A non-electrolyte follows Norrish (1966) in
    the natural form, aw_i = Xw exp(-K Xi^2), X being mole fractions; a salt of two ions follows
    aw_i = exp(-2 phi m Mw), m in mol/kg of water, the osmotic coefficient phi read by straight
    lines between the rows of `water_activity.csv`. The mixture is their product (Ross 1975).

    Errors: within 0.001 for sucrose and sodium chloride alone; glycerin alone reads up to 0.005
    high below 45 mass % and 0.010 low at 60. The product is off by a few 0.01 below about 0.85.
    This is an estimate to be measured, and no statement on preservation.

    Raises `OutOfRange` if a solute is above the range its figures were checked in, and
    `ValueError` without water or with a mass that is no number from 0 up.

    >>> round(water_activity({"Aqua": 1, "Sucrose": 1.0268889}).value, 3)  # 3 mol/kg; 0.933 recalled (Robinson, Stokes)
    0.933

    Source: Robinson and Stokes (1965), from memory: 0.93276 of sucrose at 3 mol/kg.
    """
    _refuse_bad_masses(fractions)
    water = fractions.get(WATER, 0.0)
    if water == 0:
        raise ValueError("no Aqua in the mixture: water activity has no meaning without water")
    known = _solutes()
    present = {name: mass for name, mass in fractions.items() if mass > 0 and name != WATER}
    parts = {name: known[name].activity(mass / water) for name, mass in present.items() if name in known}
    return WaterActivity(
        value=math.prod(parts.values()),
        temperature=TEMPERATURE,
        parts=MappingProxyType(parts),
        uncounted=tuple(sorted(set(present) - set(known))),
    )


def norrish(constant: float, molality: float) -> float:
    """Norrish (1966), aw = Xw exp(-K Xs^2) with the NATURAL exponential.

    `molality` in mol per kg of water. The older lists print k for log10: K = 2.3026 k.

    Example:
        >>> round(norrish(6.47, 3.0), 3)  # sucrose, 3 mol/kg; Robinson and Stokes, recalled: 0.933
        0.933

    Source: Robinson and Stokes (1965), from memory: 0.93276 of sucrose at 3 mol/kg.
    """
    water = 1000 / WATER_MOLAR_MASS
    solute = molality / (molality + water)
    return (1 - solute) * math.exp(-constant * solute**2)


def osmotic(coefficient: float, molality: float) -> float:
    """Water activity of a salt of two ions, aw = exp(-2 phi m Mw); `molality` in mol per kg.

    Example:
        >>> round(osmotic(0.9355, 1.0), 4)  # sodium chloride, 1 mol/kg; Steiger (2008): 0.96688
        0.9669

    Source: Steiger (2008): 0.96688 of sodium chloride at 1 mol/kg.
    """
    return math.exp(-IONS * coefficient * molality * WATER_MOLAR_MASS / 1000)


def _refuse_bad_masses(fractions: Mapping[str, float]) -> None:
    bad = [f"{name} {mass}" for name, mass in fractions.items() if not 0 <= mass < math.inf]
    if bad:
        raise ValueError(f"masses must be numbers from 0 up; read {', '.join(bad)}")


def model_ranges() -> Mapping[str, float]:
    """For each solute of the model, the mass % in its mixture with water alone up to which it holds.

    Example:
        >>> model_ranges()["Glycerin"], model_ranges()["Sucrose"]  # mass %
        (60.0, 67.9)

    Source: Mohos (2010), Table A2.2 (W-S07): water holds 211.4 g of sucrose per 100 g at 25 degC, which is 67.89 %.
    """
    return {name: solute.valid_to for name, solute in _solutes().items()}


def log_activity(name: str, most: float | None = None) -> Curve:
    """`Solute.log_activity` of a solute of the table.

    Example:
        >>> round(math.exp(log_activity("Sucrose").value(1.0268889)), 3)  # 3 mol/kg
        0.933

    Source: Robinson and Stokes (1965), from memory: 0.93276 of sucrose at 3 mol/kg.
    """
    return _solutes()[name].log_activity(most)


@functools.cache
def _solutes() -> Mapping[str, Solute]:
    """The solutes of `water_activity.csv` by INCI name."""
    rows: dict[str, list[dict[str, str]]] = {}
    for row in shipped("water_activity"):
        rows.setdefault(row["solute"], []).append(row)
    return MappingProxyType({name: _solute(name, points) for name, points in rows.items()})


def _solute(name: str, rows: list[dict[str, str]]) -> Solute:
    first = rows[0]
    of_salt = first["model"] == "osmotic"
    points = sorted((float(row["molality"]), float(row["value"])) for row in rows if of_salt)
    return Solute(
        inci=name,
        molar_mass=float(first["molar mass"]),
        valid_to=float(first["valid to"]),
        norrish=None if of_salt else float(first["value"]),
        osmotic=tuple(points),
    )
