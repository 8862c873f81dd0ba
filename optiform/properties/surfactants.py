"""Active surfactant, and emulsifiers against the oil phase they have to hold."""

import numpy as np

from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Bent, Mix, Ratio, Terms, Vector
from optiform.properties.bent import Case, Cases, Edge, Mean, Part, reach_of
from optiform.properties.curve import STRAIGHT
from optiform.properties.water_phase import carried
from optiform.reading.units import PARTS


def active_surfactant() -> Ratio:
    """Active surfactant matter in the whole, in %: sum(a_i x_i), a_i the active share as supplied.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(active_surfactant().of(mixed({"water": 1, "cocamidopropyl betaine, 30 %": 1})), 2)
        15.0

    Source: a report on cocamidopropyl betaine (W-S43): about 30 % active as supplied, so 15 where half is that.
    """
    return carried("active surfactant", "active surfactant", ("solid surfactant", "liquid surfactant"))


def humectant_active() -> Ratio:
    """Humectant matter in the whole, in %: sum(h_i x_i); a 70 % sorbitol counts 70 %.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(humectant_active().of(mixed({"sorbitol, 70 %": 10, "water": 90})), 2)
        7.0

    Source: USP 28, sorbitol solution (FR-USP28-SORB): 28.5 to 31.5 % water, so 6.85 to 7.15 in a tenth of it.
    """
    return carried("humectant active", "humectant active", ("humectant",))


def emulsifier_per_oil() -> Ratio:
    """Emulsifier as supplied per 100 of the rest of the oil phase: 100 sum(x emulsifier) / sum(x oil phase), in parts.

    Every ingredient bought as emulsifier counts, in whatever phase it is weighed; the oil phase counts without them.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(emulsifier_per_oil().of(mixed({"water": 70, "cocoa butter": 25, "polysorbate 60": 5})), 2)
        20.0

    Source: none: bookkeeping, exact.
    """
    note = "per 100 of the rest of the oil phase"
    return Ratio("emulsifier per 100 of oil phase", PARTS, "oil phase without its emulsifiers", _per_oil, note)


def _per_oil(mix: Mix) -> Terms:
    return Terms.exact(100 * mix.serving("emulsifier"), _oil_phase(mix))


def required_hlb() -> Ratio:
    """Required HLB (oil in water) of the oil phase: mass mean over it without its emulsifiers.

    Griffin's convention. The additivity of required HLB is not demonstrated (Pasquali et al. 2008): a starting point
    for trials, not a property of the product.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> oils = {"beeswax": 1.5, "isopropyl myristate": 7.5, "stearic acid": 12.5}
        >>> mean = required_hlb().of(mixed(oils))  # 1.5 x 12, 7.5 x 11.5 and 12.5 x 15, over 21.5
        >>> round(mean, 2), round(21.5 * mean / 34, 2)  # of 34 % of oils, OCL 2022 ocl210096, F1: 0.53 + 2.54 + 5.51
        (13.57, 8.58)

    Source: OCL 2022, ocl210096 (F-WS22), cream F1: 0.53, 2.54 and 5.51 of 34 % of oils, 8.58 in sum.
    """
    return Ratio("required hlb", "-", "oil phase without its emulsifiers", _required)


def _required(mix: Mix) -> Terms:
    oil = _oil_phase(mix)
    return Terms.known([item.value("required hlb") for item in mix.ingredients], oil, oil)


def emulsifier_hlb() -> Ratio:
    """HLB of the emulsifiers: mass mean over those that have one.

    Ionic emulsifiers and ready-made emulsifying waxes have none: the mean leaves them out, and `outside_hlb` names
    them. Griffin 1949, 1954.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> pair = mixed({"polysorbate 80": 62.6, "sorbitan oleate": 37.4})  # PMC3969497, Table I: HLB 11
        >>> round(emulsifier_hlb().of(pair), 1)
        11.0

    Source: PMC3969497, Table I: HLB 11 of 62.6 parts and 37.4.
    """
    return Ratio("hlb of the emulsifiers", "-", "emulsifiers", _of_emulsifiers)


def _of_emulsifiers(mix: Mix) -> Terms:
    group = _with_hlb(mix)
    return Terms.known([item.value("hlb") for item in mix.ingredients], group, group)


def hlb_difference() -> Bent:
    """HLB of the emulsifiers less the required HLB of the oil phase. Zero is the usual aim.

    A difference of two means, so it bends: near a formula it is replaced by its tangent plane there. Where no
    emulsifier with an HLB or no oil phase is in use it does not apply and asks nothing.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> pair = {"polysorbate 80": 6.26, "sorbitan oleate": 3.74}  # HLB 11.0, PMC3969497, Table I
        >>> round(hlb_difference().of(mixed({**pair, "isopropyl myristate": 20, "water": 70})), 1)  # wants 11.5
        -0.5

    Source: HLB 11 of that pair by PMC3969497, Table I, less 11.5 for isopropyl myristate by OCL 2022 (F-WS22): -0.5.
    """
    return Bent("hlb difference", "-", "emulsifiers", _difference, cases=_difference_of_means)


def _difference(mix: Mix, x: Vector) -> Terms:
    """The tangent plane at x."""
    present, required = _of_emulsifiers(mix), _required(mix)
    missing = np.maximum(present.missing, required.missing)
    evidence = tuple(a or b for a, b in zip(present.evidence, required.evidence, strict=True))
    hlb, target = _mean_slope(present, x), _mean_slope(required, x)
    if hlb is None or target is None:
        none = np.zeros(len(x))
        return Terms(none, none, none, none, missing, evidence)
    here, slope = hlb[0] - target[0], hlb[1] - target[1]
    plane = slope + (here - slope @ x)  # fractions sum to one, so a constant is a term on every line
    emulsifiers, oil = float(present.denominator @ x), float(required.denominator @ x)
    low = (present.low - present.numerator) / emulsifiers - (required.high - required.numerator) / oil
    high = (present.high - present.numerator) / emulsifiers - (required.low - required.numerator) / oil
    return Terms(plane, np.ones(len(x)), plane + low, plane + high, missing, evidence)


def _difference_of_means(mix: Mix) -> Cases | None:
    """The HLB difference in cases: no emulsifier with an HLB, no oil phase, or both; there a ratio less a mean."""
    hlb, wanted = _of_emulsifiers(mix), _required(mix)
    if hlb.missing.any() or wanted.missing.any():
        return None
    with_hlb, oil = (
        ("emulsifiers with an HLB", hlb.denominator),
        ("oil phase without its emulsifiers", wanted.denominator),
    )
    cases = [Case((Edge(words, 100 * group, "high", 0.0),)) for words, group in (with_hlb, oil)]
    if with_hlb[1].any() and oil[1].any():
        mean = Mean("required hlb", wanted.numerator, oil[1], -1.0, reach_of(wanted.numerator, oil[1]))
        part = Part("hlb of the emulsifiers", hlb.numerator, STRAIGHT, reach_of(hlb.numerator, with_hlb[1]), (mean,))
        cases.append(Case((), (with_hlb, oil), with_hlb[1], (part,)))
    return Cases(tuple(cases))


def _mean_slope(terms: Terms, x: Vector) -> tuple[float, Vector] | None:
    """A mean over a group and its gradient at x; None where the group is empty."""
    group = float(terms.denominator @ x)
    if group <= 1e-9:
        return None
    mean = float(terms.numerator @ x) / group
    return mean, (terms.numerator - mean * terms.denominator) / group


def outside_hlb(item: Ingredient) -> bool:
    """Whether HLB arithmetic does not apply to this emulsifier: ionic, or a ready-made emulsifying wax.

    Example:
        >>> from optiform.ingredients.catalogue import read_catalogue
        >>> [outside_hlb(read_catalogue().ingredients[name]) for name in ("polysorbate 80", "emulsifying wax nf")]
        [False, True]

    Source: none: the model's own.
    """
    return item.has("emulsifier") and item.value("hlb") is None


def _oil_phase(mix: Mix) -> Vector:
    emulsifiers = mix.serving("emulsifier")
    return mix.mask(lambda item, at: at == "oil phase") * (1 - emulsifiers)


def _with_hlb(mix: Mix) -> Vector:
    has = mix.mask(lambda item, _: item.value("hlb") is not None)
    return mix.serving("emulsifier") * has
