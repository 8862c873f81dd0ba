"""Solid fat of a fat estimated from nothing but its fatty acids.

Used where no measured solid fat curve is at hand. Four steps:

1. The acids are spread over glycerol (`distribution`). Lauric fats (acids up to C14 above half of
   the mass): at random. Other vegetable fats: sn-2 takes unsaturated acids until they are used up,
   the rest is random (1,3-random-2-random).
2. Each triglyceride gets the melting point and heat of fusion of its beta form (`melting`).
3. Ideal solubility of pure solids in an ideal liquid (Hildebrand):
   ln x = -(dH / R) (1 / T - 1 / Tm), x = mole fraction in the saturated liquid.
4. The mass balance gives the liquid, exactly and without iteration (`_liquid`).

Sources: heat of fusion by the group parameters of Wesdorp for beta (4.03 n - 24.4 kJ/mol, n = acyl
carbons; -30.2 per oleic and -37.7 per linoleic chain; read in a reprint); T_inf = 401.15 K,
the same source; melting points of pure triglycerides from the reviews of Hagemann and of Small
(from memory, check before relying on them); cocoa butter forms V 33.8 and VI 36.3 degC from Wille
and Lutton (read as quoted). The chain-mismatch terms of Wesdorp are left out: the definition of
their variables could not be checked.

Validity: 10 to 40 degC, well-tempered fats rich in symmetrical saturated-unsaturated-saturated
triglycerides (cocoa, shea, mango, kokum, illipe, sal, cupuacu). No mixed crystals, no minor
components, no memory of cooling. Fractions (stearins, oleins) and hydrogenated fats are outside:
their acids are not spread like this. Lauric fats form mixed crystals of several chain lengths, so
the model keeps far too much solid at 25 degC and above. Found against fats with figures, in
percentage points: cocoa butter +8 to -2 (20 to 35 degC), palm oil +21 to -10, lauric fats -18 to
+31, palm stearin +31 to -27. Table: tests/published/test_solid_fat_estimate.py.

How the method was chosen: pure solids against one mixed crystal per kind, beta against beta prime,
with and without a penalty for unequal chains, all tried on six fats with figures; pure beta was the
least bad over all. The step from form VI to form V was added after cocoa butter came out 10 to 22
points too high without it. It is a measured figure, but of cocoa butter itself, so cocoa butter is
no independent test of it.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

GAS_CONSTANT = 8.314462618e-3  #: kJ/(mol K)
ZERO_CELSIUS = 273.15

_T_INFINITE = 401.15  # K, melting point of an endless chain
_LAURIC_SHARE = 0.5
_FORM_V_BELOW_VI = 36.3 - 33.8  # K, a fat in use is tempered to form V, pure compounds are form VI
_GLYCEROL_RESIDUE = 92.094 - 3 * 18.015  # g/mol, glycerol less the water of three ester bonds

# Pure beta triglycerides, degC.
_SATURATED = {30: 31.5, 36: 46.5, 42: 57.5, 48: 66.0, 54: 73.2}
_SYMMETRICAL = {50: 37.5, 52: 37.5, 54: 43.3}  # POP, POS, SOS
_TRIOLEIN, _TRILINOLEIN, _TRILINOLENIN = 5.1, -13.1, -24.2

_LABEL = re.compile(r"C(\d+):([0-3])")


@dataclass(frozen=True, order=True)
class Acid:
    """A straight-chain fatty acid: acyl carbons and cis double bonds."""

    carbons: int
    double_bonds: int

    @property
    def molar_mass(self) -> float:
        """Molar mass in g/mol of C(n) H(2n - 2d) O2."""
        return 14.02658 * self.carbons + 31.9988 - 2.01588 * self.double_bonds


Triglyceride = tuple[Acid, Acid, Acid]  #: sn-1, sn-2, sn-3; the two ends are interchangeable


def parse_acid(label: str) -> Acid:
    """Read a label such as `C18:1`.

    Raises ValueError for anything else, hydroxy acids (`C18:1-OH`) included: castor oil is outside
    the model.
    """
    found = _LABEL.fullmatch(label)
    if found is None:
        raise ValueError(f"no plain fatty acid of the form C18:1: {label!r}")
    return Acid(int(found[1]), int(found[2]))


def distribution(fatty_acids: Mapping[str, float]) -> dict[Triglyceride, float]:
    """Mole fraction of each triglyceride in a fat.

    `fatty_acids`: label -> share by mass, in any unit. Raises ValueError if no share is positive.
    """
    moles = _mole_fractions(fatty_acids)
    middle = moles if _is_lauric(fatty_acids) else _middle(moles)
    ends = {acid: (3 * share - middle[acid]) / 2 for acid, share in moles.items()}
    fractions: defaultdict[Triglyceride, float] = defaultdict(float)
    for one, two, three in product(moles, repeat=3):
        first, last = sorted((one, three))
        fractions[first, two, last] += ends[one] * middle[two] * ends[three]
    return {kind: fraction for kind, fraction in fractions.items() if fraction > 0}


def melting(triglyceride: Triglyceride) -> tuple[float, float]:
    """Melting point (degC) and heat of fusion (kJ/mol) of the beta form.

    Tm = T_inf (1 + a / n + b / n^2) for three saturated chains, a and b fitted to the monoacid
    triglycerides C10 to C18 (residual below 0.4 K). Unsaturated chains lower it: once for
    the first, and by chain. A single unsaturated chain is taken in form V, 2.5 K below the stable
    form. Linolenic chains have no heat parameter of their own and take the linoleic one; other
    monounsaturated chains take the oleic one.

    Tristearin: 72.9 degC (73.2 measured) and 193.2 kJ/mol (195.8 to 197.6 measured).
    """
    carbons = sum(acid.carbons for acid in triglyceride)
    unsaturated = [acid.double_bonds for acid in triglyceride if acid.double_bonds]
    point = _saturated_point(carbons)
    if unsaturated:
        point -= _FIRST_CHAIN + sum(_PER_CHAIN[bonds] for bonds in unsaturated)
    if len(unsaturated) == 1:
        point -= _FORM_V_BELOW_VI
    heat = 4.03 * carbons - 24.4 - sum(30.2 if bonds == 1 else 37.7 for bonds in unsaturated)
    return point, heat


def estimated_solid_fat(fatty_acids: Mapping[str, float], temperatures: Iterable[float]) -> NDArray[np.float64]:
    """Solid fat in mass % at each temperature (degC); never rises with temperature.

    `fatty_acids`: label -> share by mass. Method, sources, validity: see the module.
    """
    kinds = distribution(fatty_acids)
    fractions = np.array(list(kinds.values()))
    masses = fractions * [_molar_mass(kind) for kind in kinds]
    points, heats = np.array([melting(kind) for kind in kinds]).T

    def solid(temperature: float) -> float:
        inverse = 1 / (temperature + ZERO_CELSIUS) - 1 / (points + ZERO_CELSIUS)
        soluble = np.exp(np.minimum(0.0, -heats / GAS_CONSTANT * inverse))
        dissolved = np.minimum(1.0, soluble * _liquid(fractions, soluble) / fractions)
        return 100 * max(0.0, float(1 - masses @ dissolved / masses.sum()))

    return np.array([solid(temperature) for temperature in temperatures])


def _liquid(fractions: NDArray[np.float64], soluble: NDArray[np.float64]) -> float:
    """Moles of liquid L per mole of fat, from L = sum of min(fraction, soluble L).

    The kinds leave the solid in the order of fraction / soluble. With the first k of them gone,
    L = (their sum) / (1 - sum of soluble over the rest); the right k is the first whose L does not
    reach the next kind.
    """
    needed = fractions / soluble
    order = np.argsort(needed)
    gone = np.concatenate([[0.0], np.cumsum(fractions[order])])
    saturated = np.concatenate([np.cumsum(soluble[order][::-1])[::-1], [0.0]])
    room = 1 - saturated
    liquid = np.divide(gone, room, out=np.full_like(gone, np.inf), where=room > 0)
    following = np.concatenate([needed[order], [np.inf]])
    return float(liquid[np.argmax(liquid <= following)])


def _mole_fractions(fatty_acids: Mapping[str, float]) -> dict[Acid, float]:
    acids = {parse_acid(label): share for label, share in fatty_acids.items() if share > 0}
    if not acids:
        raise ValueError("a fat needs at least one fatty acid with a share above zero")
    moles = {acid: share / acid.molar_mass for acid, share in acids.items()}
    total = sum(moles.values())
    return {acid: amount / total for acid, amount in moles.items()}


def _is_lauric(fatty_acids: Mapping[str, float]) -> bool:
    short = sum(share for label, share in fatty_acids.items() if parse_acid(label).carbons <= 14)
    return short > _LAURIC_SHARE * sum(fatty_acids.values())


def _middle(moles: Mapping[Acid, float]) -> dict[Acid, float]:
    """Acids at sn-2: unsaturated ones first, saturated ones only where those run out."""
    unsaturated = sum(share for acid, share in moles.items() if acid.double_bonds)
    filled = min(1.0, 3 * unsaturated)
    saturated = 1 - unsaturated
    return {
        acid: share * (filled / unsaturated if acid.double_bonds else (1 - filled) / saturated)
        for acid, share in moles.items()
    }


def _molar_mass(triglyceride: Triglyceride) -> float:
    return _GLYCEROL_RESIDUE + sum(acid.molar_mass for acid in triglyceride)


_carbons = np.array(list(_SATURATED))
_reduced = (np.array(list(_SATURATED.values())) + ZERO_CELSIUS) / _T_INFINITE - 1
_SLOPE_B, _SLOPE_A = np.polyfit(1 / _carbons, _reduced * _carbons, 1)


def _saturated_point(carbons: int) -> float:
    fraction = 1 + _SLOPE_A / carbons + _SLOPE_B / carbons**2
    return float(_T_INFINITE * fraction - ZERO_CELSIUS)


# One oleic chain costs _FIRST_CHAIN + _PER_CHAIN[1], three cost _FIRST_CHAIN + 3 _PER_CHAIN[1].
_one = np.mean([_saturated_point(n) - point for n, point in _SYMMETRICAL.items()])
_three = _saturated_point(54) - _TRIOLEIN
_FIRST_CHAIN = float((3 * _one - _three) / 2)
_PER_CHAIN = {
    bonds: (_saturated_point(54) - point - _FIRST_CHAIN) / 3
    for bonds, point in ((1, _TRIOLEIN), (2, _TRILINOLEIN), (3, _TRILINOLENIN))
}
