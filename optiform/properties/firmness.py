"""Firmness on a relative scale: the formula made today is 100 at 20 degC.

    F = S^n  sqrt((1 - phi) (1 - phi / phi_m)^(-2.5 phi_m))

S: structuring solids in the base (everything but the undissolved grains), a mass share, each as the solid fat that it
stands for at equal firmness (`structurants.csv`: 2.8 g for a gram of beeswax); phi: volume fraction of the undissolved
grains. The first factor is the power law of networks of fat and wax crystals, the second the yield-stress
ratio of grains in a yield-stress paste (Chateau, Ovarlez and Trung 2008, recalled). n and phi_m are assumptions until a
maker's own readings fit them; a firmness is told as a band over their ranges and over the ranges of the solids.

Where the solids are of other kinds (beeswax for carnauba, butter for wax), published hardness at equal solids differs
by a factor of 4 and more: the band takes the strength of each kind, where it gels, and how kinds are mixed, over their
ranges (`structurants.py`); so does water in one of the two only. What is left is the model's own error, `OWN_ERROR`: by
so much at most nine in ten published ratios lie outside the band of those ranges, each held to the band without its
own source (conformal ranges: Romano, Patterson, Candes 2019, recalled). A source's rows never count in the error they
are held to; so 28 of 30 lie in it (`tests/published/test_hardness.py`). Among them are fats cooled otherwise and of
other lots, which differ by `OTHERWISE`. A maker's own readings put her own scatter in its place.

Gums, foam and the process are not in the figure. No structure, no firmness: without any structuring solids it is 0, and
where water or solid surfactant carries the product there is none (`without_network`).
"""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from optiform.ingredients.formula import Formula
from optiform.properties.base import Mix, Vector, fractions
from optiform.properties.grounds import Assumption, FittedTo
from optiform.properties.structurants import MIXED, gelled, mixing, strength_span, structurant
from optiform.properties.texture import solids_as_fat, solids_by_kind, structuring_solids
from optiform.properties.water_phase import grain_volume_fraction, undissolved, water
from optiform.reading.frozen import frozen

REFERENCE_TEMPERATURE = 20.0  # degC
LEAST_SOLIDS = 1e-6
ROUNDING = 1e-8  # mass fraction: no more apart, and an answer that changes nothing is the reference itself
#: How many times firmer or softer than the band of all assumptions a product has been read: the 28th of 30 published
#: ratios by how far outside they lie (palm oil against an interesterified one, 0.31 and 1.0 N: F-L29).
OWN_ERROR = 1.0 / 0.31
#: How many times firmer or softer a fat of the same solids is that is of another lot (petrolatum 65 and 280 Pa; 3.0
#: where one lot was cooled otherwise): F-L34. It is told beside the band, which is narrower.
OTHERWISE = 280 / 65
#: % of the base from which water counts as there: 1 % in a gel of wax, monoglyceride and hard fat made it 2.3 to 3.2
#: times as firm (F-L30).
WET = 0.5
#: % of the base from which another thing than fat and wax carries a product. Drawn between a cream scrub (57 % water)
#: and a lotion (67 %), and below a cleansing bar (50 % solid surfactant): common practice, no source.
CARRIES = {"water": 60.0, "solid surfactant": 25.0}


@frozen
class Scale:
    """The two assumptions of the scale, each a number of its stated range."""

    n: float = 2.5
    phi_m: float = 0.60


#: Stated ranges: n between loose (1.5) and dense (3.5) crystal networks; phi_m from poured sugar (0.50 to 0.53 by the
#: weights of cups) to a wide sieve cut, tapped (0.66). Recalled from the literature on fat networks and suspensions,
#: the low end read; no measurement of scrubs was found.
CORNERS = tuple(Scale(n, phi_m) for n in (1.5, 3.5) for phi_m in (0.50, 0.66))


@frozen
class Exponents:
    """What is taken for the scale: the figures, the corners of their ranges, and what they rest on.

    `apart`: by what factor two products differ beside the corners: the model's own error, or how a maker's batches do.
    """

    typical: Scale
    corners: tuple[Scale, ...]
    rests_on: Assumption | FittedTo
    apart: float = OWN_ERROR


ASSUMED = Exponents(Scale(), CORNERS, Assumption.ALL)
#: How far tapping again, or a little fat between the grains, moves a packing that was weighed. Judgement.
WEIGHED = 0.03


@frozen
class Band:
    """A firmness: the figure, and the lowest and highest it is with every assumption in its range."""

    low: float
    typical: float
    high: float


@frozen
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
        >>> round(grain_factor(0.3, 0.57), 4)  # 1.4248 by hand from the equation of Chateau et al. 2008, from memory
        1.4248

    Source: Chateau, Ovarlez and Trung (Journal of Rheology, 2008), equation from memory: by hand 1.4248. Not
        measured on a scrub.
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

    Source: none: the figures are the maker's own.
    """
    grains = [line for line in reference.lines if line.phase == "grains"]
    weighed = [(x.fraction, x.ingredient.density, x.ingredient.value("bulk density")) for x in grains]
    pairs = [(share / own.figure, share / bulk.figure) for share, own, bulk in weighed if own and bulk]
    if known is not ASSUMED or not pairs or len(pairs) < len(grains):
        return known
    phi_m = min(sum(solid for solid, _ in pairs) / sum(filled for _, filled in pairs), 0.9)
    corners = tuple(Scale(n, phi_m + off) for n in (1.5, 3.5) for off in (-WEIGHED, WEIGHED))
    return Exponents(Scale(known.typical.n, phi_m), corners, Assumption.WEIGHED)


def firmness_band(formula: Formula, reference: Formula, temperature: float, known: Exponents = ASSUMED) -> Band | None:
    """Firmness of a formula at a temperature on the reference's scale (100 at 20 degC); None where it is not known.

    The band takes every corner of the assumptions and the solids of both formulas at their low, typical and high ends
    together, because the two share most of their fats; the strength of each kind of crystal in its range; and the
    model's own error, either way for all but the reference itself. A jar that warms gets no firmer, and one that cools
    no softer, than it is at 20 degC.

    Raises:
        ValueError: when the grains jam.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> today = mixed({"shea butter, refined": 80, "beeswax": 20})
        >>> more = mixed({"shea butter, refined": 75, "beeswax": 25})
        >>> band = firmness_band(more, today, 20.0)
        >>> [round(end) for end in (band.low, band.typical, band.high)]  # the reference is 100
        [25, 139, 806]

    Source: none: the model's own.
    """
    here, base = state(formula, temperature), state(reference, REFERENCE_TEMPERATURE)
    if here is None or base is None or base.solids[1] <= 0:
        return None
    same = temperature == REFERENCE_TEMPERATURE and _alike(formula, reference)
    beside = state(reference, temperature) or base  # one jar that warms is not mixed in another way
    ends = band(here, base, packed(reference, known), 1.0 if same else known.apart, beside)
    room = None if temperature == REFERENCE_TEMPERATURE else firmness_band(formula, reference, 20.0, known)
    if room is None:
        return ends
    if temperature > REFERENCE_TEMPERATURE:
        return replace(ends, high=max(ends.typical, min(ends.high, room.high)))
    return replace(ends, low=min(ends.typical, max(ends.low, room.low)))


def _alike(formula: Formula, reference: Formula) -> bool:
    one, other = ({(line.ingredient, line.phase): line.fraction for line in x.lines} for x in (formula, reference))
    return all(abs(one.get(line, 0.0) - other.get(line, 0.0)) <= ROUNDING for line in {*one, *other})


def band(
    here: State, base: State, known: Exponents = ASSUMED, apart: float = OWN_ERROR, beside: State | None = None
) -> Band:
    """The firmness of one state of which another is 100; see `firmness_band`.

    `beside`: the other at the same temperature, where that is another one.

    Example:
        >>> waxed, other = (State((7.0, 7.0, 7.0), 0.0, ((name, 1.0),)) for name in ("beeswax", "carnauba wax"))
        >>> found = band(waxed, other)
        >>> [round(end) for end in (found.low, found.typical, found.high)]  # half as much carnauba is as firm
        [1, 18, 14897]
        >>> shares = {"sunflower wax": 3.0, "beeswax": 7.0}
        >>> three, seven = (State((share,) * 3, 0.0, ((name, 1.0),)) for name, share in shares.items())
        >>> round(band(three, seven).typical, -1)
        100.0

    Source: 7 % beeswax as firm as 3 % sunflower wax, abstract (F-L38): 100 against 100.
    """
    typical = _ratio(here, base, known.typical)
    ends = []
    for k in (k for k in range(3) if base.solids[k] > 0):
        ratios = here.solids[k] / base.solids[k], gelled(here.of_kinds(k)) / gelled(base.of_kinds(k))
        ends += [_grained(here, base, ratio, scale) for ratio in ratios for scale in known.corners]
    low, high = strength_span(here.of_kinds(1), base.of_kinds(1))
    apart *= MIXED if here.wet != base.wet else mixing(here.of_kinds(1), (beside or base).of_kinds(1))
    return Band(min([typical, *(low * end / apart for end in ends)]), typical, max(high * end * apart for end in ends))


def _ratio(here: State, base: State, scale: Scale) -> float:
    solids = (here.body / base.body) ** scale.n
    return float(100 * solids * grain_factor(here.phi, scale.phi_m) / grain_factor(base.phi, scale.phi_m))


def _grained(here: State, base: State, ratio: float, scale: Scale) -> float:
    """Grains that would jam at this end of the range of phi_m count as just before it."""
    return float(
        100 * max(0.0, ratio) ** scale.n * held_grain_factor(here.phi, scale) / held_grain_factor(base.phi, scale)
    )


def without_network(formula: Formula) -> str:
    """Why a formula has no firmness of fat and wax, in words; nothing where it has.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> without_network(mixed({"water": 70, "sunflower oil": 20, "cetyl alcohol": 10}))
        'water carries it (70 % of the base), not a network of fat and wax'
        >>> without_network(mixed({"beeswax": 20, "olive oil": 80}))
        ''

    Source: none: the model's own.
    """
    mix, x = Mix.of(formula), fractions(formula)
    base = 100 - (undissolved(None, REFERENCE_TEMPERATURE).terms(mix, x).at(x) or 0.0)
    amounts = {
        "water": water().of(formula) or 0.0,
        "solid surfactant": 100 * float(mix.serving("solid surfactant") @ x),
    }
    for name, amount in amounts.items():
        if base > 0 and 100 * amount / base > CARRIES[name]:
            return f"{name} carries it ({100 * amount / base:.0f} % of the base), not a network of fat and wax"
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

    Source: Shukla 1995, from memory (F-M08): cocoa butter 74.1 % solid at 20 degC.
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


def no_figure(mix: Mix, temperature: float, x: Vector | None = None) -> dict[str, str]:
    """The lines of a mix that lack a figure that firmness at a temperature needs, each with what is lacking.

    With mass fractions x, what a value there lacks: not the density of a trace.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"shea butter, refined": 59, "sea salt, fine": 40, "rosemary extract": 1})
        >>> no_figure(Mix.of(scrub), 20.0)
        {'rosemary extract': 'density'}

    Source: none: bookkeeping, exact.
    """
    needed = {"density": grain_volume_fraction(temperature), "structuring solids": structuring_solids(temperature)}
    return {
        mix.ingredients[j].name: figure
        for figure, wanted in needed.items()
        for j in (np.flatnonzero(wanted.everywhere(mix).missing) if x is None else wanted.terms(mix, x).lacking(x))
    }


def held_grain_factor(phi: float, scale: Scale) -> float:
    """The grain factor, held at its value just below jamming so that a search can come back from there.

    Example:
        >>> held_grain_factor(0.9, Scale()) == held_grain_factor(0.6, Scale())  # both would jam at 0.60
        True

    Source: none: the model's own.
    """
    return grain_factor(min(max(phi, 0.0), 0.98 * scale.phi_m), scale.phi_m)
