"""Firmness on a relative scale: the formula made today is 100 at 20 degC.

    F = S^n  sqrt((1 - phi) (1 - phi / phi_m)^(-2.5 phi_m))

S: structuring solids in the base (everything but the undissolved grains), a mass share, each as the solid fat that it
stands for at equal firmness (`structurants.csv`: 2.8 g for a gram of beeswax); phi: volume fraction of the undissolved
grains. The first factor is the power law of networks of fat and wax crystals, the second the yield-stress
ratio of grains in a yield-stress paste (Chateau, Ovarlez and Trung 2008, recalled). n and phi_m are assumptions until a
maker's own readings fit them; a firmness is told as a band over their ranges and over the ranges of the solids.

It compares formulas of like make-up, made alike. Where the solids are of other kinds (beeswax for carnauba, butter for
wax), published hardness at equal solids differs by a factor of 4 and more: the band takes the strength of each kind,
where it gels, and how kinds are mixed, over their ranges (`structurants.py`); so does water in one of the two only.
Of 30 published ratios 20 lie in the band as it is without their own source (`tests/published/test_hardness.py`).
Gums, foam and the process are not in it: a fat cooled otherwise, or of another lot, differs by `OTHERWISE`. No
structure, no firmness: without any structuring solids it is 0, and where water or solid surfactant carries the product
there is none (`without_network`).
"""

from collections.abc import Callable
from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from itertools import product

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.base import Bent, Mix, Terms, Vector, fractions
from optiform.properties.structurants import MIXED, gelled, mixing, strength_span, structurant
from optiform.properties.texture import solids_as_fat, solids_by_kind, structuring_solids
from optiform.properties.water_phase import grain_volume_fraction, undissolved, water
from optiform.reading.values import Bound

REFERENCE_TEMPERATURE = 20.0  # degC
LEAST_SOLIDS = 1e-6
#: How far two products of the same structurants, made alike, differ for no reason of composition. Judgement.
ALIKE = 1.4
#: How many times firmer or softer a fat of the same solids is that is of another lot (petrolatum 65 and 280 Pa; 3.0
#: where one lot was cooled otherwise): F-L34. It is told, not in the band.
OTHERWISE = 280 / 65
#: % of the base from which water counts as there: 1 % in a gel of wax, monoglyceride and hard fat made it 2.3 to 3.2
#: times as firm (F-L30).
WET = 0.5
#: % of the base from which another thing than fat and wax carries a product. Drawn between a cream scrub (57 % water)
#: and a lotion (67 %), and below a cleansing bar (50 % solid surfactant): common practice, no source.
CARRIES = {"water": 60.0, "solid surfactant": 25.0}


@dataclass(frozen=True, slots=True)
class Scale:
    """The two assumptions of the scale, each a number of its stated range."""

    n: float = 2.5
    phi_m: float = 0.60


#: Stated ranges: n between loose (1.5) and dense (3.5) crystal networks; phi_m from poured sugar (0.50 to 0.53 by the
#: weights of cups) to a wide sieve cut, tapped (0.66). Recalled from the literature on fat networks and suspensions,
#: the low end read; no measurement of scrubs was found.
CORNERS = tuple(Scale(n, phi_m) for n in (1.5, 3.5) for phi_m in (0.50, 0.66))


@dataclass(frozen=True, slots=True)
class Exponents:
    """What is taken for the scale: the figures, the corners of their ranges, and what they rest on, in words.

    `alike`: by what factor two products made alike differ for no reason of composition.
    """

    typical: Scale
    corners: tuple[Scale, ...]
    words: str
    alike: float = ALIKE


ASSUMED = Exponents(Scale(), CORNERS, "how steeply firmness grows is assumed until you log readings of your own")
#: How far tapping again, or a little fat between the grains, moves a packing that was weighed. Judgement.
WEIGHED = 0.03


@dataclass(frozen=True, slots=True)
class Band:
    """A firmness: the figure, and the lowest and highest it is with every assumption in its range."""

    low: float
    typical: float
    high: float


@dataclass(frozen=True, slots=True)
class State:
    """What the scale needs of a formula at one temperature: solids of the base (low, typical, high) and phi.

    `kinds` are the shares of the solids by what crystallises; `wet`: there is water in the base. `as_fat`: the solids,
    each as the solid fat that it stands for; without it by `kinds`.
    """

    solids: tuple[float, float, float]
    phi: float
    kinds: tuple[tuple[str, float], ...] = ()
    wet: bool = False
    as_fat: float | None = None

    @property
    def body(self) -> float:
        """Solids as the solid fat that they stand for, at their figure."""
        if self.as_fat is not None:
            return self.as_fat
        return sum(structurant(kind).as_fat * amount for kind, amount in self.of_kinds(1).items())

    def of_kinds(self, end: int) -> dict[str, float]:
        """Solids by kind at the low, typical or high end."""
        return {kind: share * self.solids[end] for kind, share in self.kinds or (("fat", 1.0),)}


def grain_factor(phi: float, phi_m: float) -> float:
    """Yield stress with grains over that without: sqrt((1 - phi) (1 - phi / phi_m)^(-2.5 phi_m)).

    Grows without bound as phi nears phi_m, where the grains jam.

    Raises:
        ValueError: at or above phi_m.

    Example:
        >>> round(grain_factor(0.3, 0.57), 4)
        1.4248
    """
    if not 0 <= phi < phi_m:
        raise ValueError(f"grains fill {100 * phi:.0f} % of the volume, more than can move ({100 * phi_m:.0f} %)")
    return float(np.sqrt((1 - phi) * (1 - phi / phi_m) ** (-2.5 * phi_m)))


def packed(reference: Formula, known: Exponents = ASSUMED) -> Exponents:
    """What is assumed, with the packing of the reference's own grains where the maker has weighed all of them.

    A known volume of the grain, tapped full, weighs its `bulk density`; over the density of the grain that is phi_m.
    Several grains: volumes filled add up, as if none went into the gaps of another, which is the least they can pack.
    Exponents that were fitted to readings stay.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> packed(mixed({"sea salt, fine": 60, "coconut oil": 40})) is ASSUMED  # nobody weighed that salt
        True
    """
    grains = [line for line in reference.lines if line.phase == "grains"]
    weighed = [(x.fraction, x.ingredient.density, x.ingredient.value("bulk density")) for x in grains]
    pairs = [(share / own.figure, share / bulk.figure) for share, own, bulk in weighed if own and bulk]
    if known is not ASSUMED or not pairs or len(pairs) < len(grains):
        return known
    phi_m = min(sum(solid for solid, _ in pairs) / sum(filled for _, filled in pairs), 0.9)
    corners = tuple(Scale(n, phi_m + off) for n in (1.5, 3.5) for off in (-WEIGHED, WEIGHED))
    words = "its exponent is assumed until your own readings are fitted; how the grains pack is weighed"
    return Exponents(Scale(known.typical.n, phi_m), corners, words)


def firmness_band(formula: Formula, reference: Formula, temperature: float, known: Exponents = ASSUMED) -> Band | None:
    """Firmness of a formula at a temperature on the reference's scale (100 at 20 degC); None where it is not known.

    The band takes every corner of the assumptions and the solids of both formulas at their low, typical and high ends
    together, because the two share most of their fats; the strength of each kind of crystal in its range; and what
    products made alike differ by, either way for all but the reference itself.

    Raises:
        ValueError: when the grains jam.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> more = mixed({"shea butter, refined": 75, "beeswax": 25})
        >>> band = firmness_band(more, today, 20.0)
        >>> [round(end) for end in (band.low, band.typical, band.high)]  # the reference is 100
        [58, 139, 350]
    """
    here, base = state(formula, temperature), state(reference, REFERENCE_TEMPERATURE)
    if here is None or base is None or base.solids[1] <= 0:
        return None
    same = here == base and formula.lines == reference.lines and temperature == REFERENCE_TEMPERATURE
    beside = state(reference, temperature) or base  # one jar that warms is not mixed in another way
    return band(here, base, packed(reference, known), 1.0 if same else known.alike, beside)


def band(
    here: State, base: State, known: Exponents = ASSUMED, alike: float = ALIKE, beside: State | None = None
) -> Band:
    """The firmness of one state of which another is 100; see `firmness_band`.

    `beside`: the other at the same temperature, where that is another one.

    Example:
        >>> waxed, other = (State((7.0, 7.0, 7.0), 0.0, ((name, 1.0),)) for name in ("beeswax", "carnauba wax"))
        >>> found = band(waxed, other)
        >>> [round(end) for end in (found.low, found.typical, found.high)]  # half as much carnauba is as firm
        [1, 18, 6465]
    """
    typical = _ratio(here, base, known.typical)
    ends = []
    for k in (k for k in range(3) if base.solids[k] > 0):
        ratios = here.solids[k] / base.solids[k], gelled(here.of_kinds(k)) / gelled(base.of_kinds(k))
        ends += [_grained(here, base, ratio, scale) for ratio in ratios for scale in known.corners]
    low, high = strength_span(here.of_kinds(1), base.of_kinds(1))
    apart = alike * (MIXED if here.wet != base.wet else mixing(here.of_kinds(1), (beside or base).of_kinds(1)))
    return Band(min([typical, *(low * end / apart for end in ends)]), typical, max(high * end * apart for end in ends))


def _ratio(here: State, base: State, scale: Scale) -> float:
    solids = (here.body / base.body) ** scale.n
    return float(100 * solids * grain_factor(here.phi, scale.phi_m) / grain_factor(base.phi, scale.phi_m))


def _grained(here: State, base: State, ratio: float, scale: Scale) -> float:
    """Grains that would jam at this end of the range of phi_m count as just before it."""
    return float(100 * max(0.0, ratio) ** scale.n * _grains(here.phi, scale) / _grains(base.phi, scale))


def without_network(formula: Formula) -> str:
    """Why a formula has no firmness of fat and wax, in words; nothing where it has.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> without_network(mixed({"water": 70, "sunflower oil": 20, "cetyl alcohol": 10}))
        'water carries it (70 % of the base), no network of fat and wax'
        >>> without_network(mixed({"beeswax": 20, "olive oil": 80}))
        ''
    """
    mix, x = Mix.of(formula), fractions(formula)
    base = 100 - (undissolved(None, REFERENCE_TEMPERATURE).terms(mix, x).at(x) or 0.0)
    amounts = {
        "water": water().of(formula) or 0.0,
        "solid surfactant": 100 * float(mix.serving("solid surfactant") @ x),
    }
    for name, amount in amounts.items():
        if base > 0 and 100 * amount / base > CARRIES[name]:
            return f"{name} carries it ({100 * amount / base:.0f} % of the base), no network of fat and wax"
    return ""


@lru_cache(maxsize=256)
def state(formula: Formula, temperature: float) -> State | None:
    """Solids of the base and grains of a formula at a temperature.

    None where a figure is missing, all is grains, or no network of fat and wax carries it.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> found = state(mixed({"cocoa butter": 80, "pumice, fine": 20}), 20.0)
        >>> round(found.solids[1], 1), round(found.phi, 3)  # % of the base, volume fraction of the grains
        (74.1, 0.094)
    """
    mix, x = Mix.of(formula), fractions(formula)
    solids, body, left, phi = (
        wanted.terms(mix, x)
        for wanted in (
            structuring_solids(temperature),
            solids_as_fat(temperature),
            undissolved(None, temperature),
            grain_volume_fraction(temperature),
        )
    )
    share, span, grains, volume = solids.at(x), solids.span(x), left.at(x), phi.at(x)
    if share is None or span is None or grains is None or volume is None or grains >= 100 or without_network(formula):
        return None
    base = 1 - grains / 100
    kinds = solids_by_kind(mix, x, temperature)
    wet = (water().of(formula) or 0.0) / base >= WET
    as_fat = (body.at(x) or 0.0) / base
    return State((span[0] / base, share / base, span[1] / base), max(0.0, volume), kinds, wet, as_fat)


class Model:
    """The scale over the lines of a mix at one temperature, ready to be asked for many mass fractions.

    It is the largest of smooth pieces: one for each straight piece of the solids with each of the grains.
    """

    def __init__(self, mix: Mix, reference: Formula, temperature: float, scale: Scale = Scale()) -> None:
        """Look up everything that does not depend on the mass fractions."""
        self.scale = scale
        pieces = solids_as_fat(temperature).pieces(mix)
        self.solids, self._solids = pieces[0], np.array([piece.numerator for piece in pieces])
        self._left = np.array([piece.numerator / 100 for piece in undissolved(None, temperature).pieces(mix)])
        volumes = grain_volume_fraction(temperature).pieces(mix)
        self._filled, self._volume = np.array([piece.numerator for piece in volumes]), volumes[0].denominator
        self.missing = np.maximum(self.solids.missing, volumes[0].missing)
        base = state(reference, REFERENCE_TEMPERATURE)
        self._base = base if base is not None and base.solids[1] > 0 else None

    def pieces(self) -> "tuple[Model, ...]":
        """Each smooth piece as a model of its own."""
        places = product(range(len(self._solids)), range(len(self._filled)))
        return tuple(self._piece(i, j) for i, j in places)

    def _piece(self, i: int, j: int) -> "Model":
        one = copy(self)
        one._solids = self._solids[i : i + 1]
        one._left, one._filled = self._left[j : j + 1], self._filled[j : j + 1]
        return one

    def value(self, x: Vector) -> float:
        """Firmness at mass fractions x; 0 without structuring solids or without a known reference."""
        point = self._point(x)
        return 0.0 if point is None else point[0]

    def plane(self, x: Vector) -> Vector | None:
        """The tangent plane at x as coefficients for fractions that sum to one; None where there is no firmness."""
        point = self._point(x)
        if point is None:
            return None
        here, total, rest, filled, left, grains = point
        solids = self._solids[int(np.argmax(self._solids @ x))]
        bend = _grain_slope(filled, self.scale) * (grains - filled * self._volume) / float(self._volume @ x)
        slope = here * (self.scale.n * (solids / total + left / rest) + bend)
        return np.asarray(slope + (here - slope @ x))

    def _point(self, x: Vector) -> tuple[float, float, float, float, Vector, Vector] | None:
        total, volume = float((self._solids @ x).max()), float(self._volume @ x)
        if self._base is None or total <= LEAST_SOLIDS or volume <= 0:
            return None
        left = self._left[int(np.argmax(self._left @ x))]
        grains = self._filled[int(np.argmax(self._filled @ x))]
        rest, filled = 1 - float(left @ x), float(grains @ x) / volume
        ratio = (total / rest / self._base.body) ** self.scale.n
        here = 100 * ratio * _grains(filled, self.scale) / _grains(self._base.phi, self.scale)
        return here, total, rest, filled, left, grains


def firmness(reference: Formula, temperature: float, known: Exponents = ASSUMED) -> Bent:
    """Firmness at a temperature as a property to limit: 100 is the reference at 20 degC.

    Near a formula it is its tangent plane: d ln F = n d ln S + (d ln G / d phi) d phi.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> round(firmness(today, 20.0).of(today), 6), firmness(today, 20.0).unit
        (100.0, '-')
    """
    taken = packed(reference, known)
    note = f"relative: today's formula is 100 at 20 degC; {taken.words}"
    name = f"firmness at {temperature:g} degC"
    scale = (reference, temperature, taken.typical)
    return Bent(name, "-", "today = 100", Bound(_plane, scale), note, pieces=Bound(_pieces, scale))


def _pieces(mix: Mix, reference: Formula, temperature: float, scale: Scale) -> tuple[Callable[[Vector], Terms], ...]:
    return tuple(Bound(_plane_of, (piece,)) for piece in _model(mix, reference, temperature, scale).pieces())


def _plane(mix: Mix, x: Vector, reference: Formula, temperature: float, scale: Scale) -> Terms:
    return _plane_of(x, _model(mix, reference, temperature, scale))


@lru_cache(maxsize=64)
def _model(mix: Mix, reference: Formula, temperature: float, scale: Scale) -> Model:
    """Looked up once: a search asks at hundreds of points."""
    return Model(mix, reference, temperature, scale)


def _plane_of(x: Vector, model: Model) -> Terms:
    plane, none = model.plane(x), np.zeros(len(x))
    if plane is None:
        return Terms(none, none, none, none, model.missing, model.solids.evidence)
    return Terms(plane, np.ones(len(x)), plane, plane, model.missing, model.solids.evidence)


def _grains(phi: float, scale: Scale) -> float:
    """The grain factor, held at its value just below jamming so that a search can come back from there."""
    return grain_factor(float(np.clip(phi, 0.0, 0.98 * scale.phi_m)), scale.phi_m)


def _grain_slope(phi: float, scale: Scale) -> float:
    """Slope of ln G: d ln G / d phi = (2.5 / (1 - phi / phi_m) - 1 / (1 - phi)) / 2."""
    held = float(np.clip(phi, 0.0, 0.98 * scale.phi_m))
    return 0.5 * (2.5 / (1 - held / scale.phi_m) - 1 / (1 - held))
