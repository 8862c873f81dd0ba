"""Shares by phase, function and ingredient count: arithmetic on the formula's own lines; and the size of its grains."""

from dataclasses import replace

import numpy as np

from optiform.ingredients.ingredient import FUNCTIONS, PHASES
from optiform.properties.base import Mix, Property, Ratio, Terms, Vector
from optiform.reading.units import PARTS
from optiform.reading.values import Bound

PERCENT = 100.0
#: Of a share of butter: a triglyceride that is solid in the jar counts, whatever its name.
SOLID_OILS = "coconut, palm and babassu oil are butters here"


def phase_share(phase: str) -> Ratio:
    """Share of one phase in the whole: 100 sum(x_i in phase), in %. Exact.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(phase_share("oil phase").of(mixed({"water": 70, "cocoa butter": 30})), 2)
        30.0

    Source: none: bookkeeping, exact.
    """
    return Ratio(phase, "%", "whole", Bound(_in_phase, (phase,)))


def _in_phase(mix: Mix, phase: str) -> Terms:
    return Terms.exact(PERCENT * mix.mask(lambda item, at: at == phase))


def function_share(functions: tuple[str, ...]) -> Ratio:
    """Share of the ingredients bought for these functions: 100 sum(x_i serving), in %.

    An ingredient counts under the first function of its list only, so that shares add up.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> balm = mixed({"cocoa butter": 50, "beeswax": 20, "sunflower oil": 30})
        >>> round(function_share(("butter", "wax")).of(balm), 2)
        70.0

    Source: none: bookkeeping, exact.
    """
    note = SOLID_OILS if "butter" in functions else ""
    return Ratio(f"share of {' and '.join(functions)}", "%", "whole", Bound(_serving, (functions,)), note)


def _serving(mix: Mix, functions: tuple[str, ...]) -> Terms:
    return Terms.exact(PERCENT * mix.serving(*functions))


def in_base(wanted: Property) -> Ratio:
    """An amount in the whole per 100 of the base instead: sum(p_i x_i) / sum(x_i that are not grains).

    The grains are per 100 of base as `grains_per_base` says it.

    Raises:
        ValueError: for what is no amount in the whole, or bends.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> scrub = mixed({"water": 40, "cocoa butter": 10, "pumice, fine": 50})
        >>> round(in_base(phase_share("oil phase")).of(scrub), 2), round(phase_share("oil phase").of(scrub), 2)
        (20.0, 10.0)

    Source: none: bookkeeping, exact.
    """
    if wanted.name == "grains":
        return grains_per_base()
    if wanted.basis != "whole" or not isinstance(wanted, Ratio):
        raise ValueError(f"an amount in the whole that follows the lines in proportion; {wanted.name} is none")
    return Ratio(f"{wanted.name} in the base", wanted.unit, "base", Bound(_over_base, (wanted,)), wanted.note)


def _over_base(mix: Mix, wanted: Ratio) -> Terms:
    return replace(wanted.over(mix), denominator=mix.mask(lambda item, at: at != "grains"))


def grains_per_base() -> Ratio:
    """Grains on top of the base: 100 sum(x grains) / sum(x of everything else), in parts. Exact.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> round(grains_per_base().of(mixed({"cocoa butter": 40, "pumice, fine": 60})), 2)
        150.0

    Source: none: bookkeeping, exact.
    """
    return Ratio("grains per 100 of base", PARTS, "base", _grains_over_base)


def _grains_over_base(mix: Mix) -> Terms:
    grains = mix.mask(lambda item, at: at == "grains")
    return Terms.exact(PERCENT * grains, 1.0 - grains)


def mean_grain_size() -> Ratio:
    """Mean size of the grains as bought, by mass, in micrometre: sum(d_i x_i) / sum(x_i) over what is bought as grains.

    What dissolves is not taken off. The range beside a size is that of the grains, no doubt of their middle.

    Example:
        >>> from optiform.ingredients.formula import mixed
        >>> coarse = mixed({"sea salt, fine": 30, "sea salt, coarse": 10, "sunflower oil": 60})
        >>> mean_grain_size().of(coarse)  # 500 and 2000
        875.0

    Source: none: custom of the trade.
    """
    return Ratio("mean grain size", "micrometre", "grains", Bound(_sizes, ()))


def _sizes(mix: Mix) -> Terms:
    group = mix.serving("grain")
    sizes = [item.value("grain size") for item in mix.ingredients]
    return Terms.known(
        [size and replace(size, low=None, typical=size.figure, high=None) for size in sizes], group, group
    )


def count_ingredients(x: Vector) -> int:
    """How many lines are in use.

    Example:
        >>> count_ingredients(np.array([0.7, 0.3, 0.0]))
        2

    Source: none: bookkeeping, exact.
    """
    return int(np.count_nonzero(x > 1e-9))


def find(name: str) -> Ratio | None:
    """The property of this family that a brief's words name, if any.

    Example:
        >>> find("share of butter and wax").name, find("softness")
        ('share of butter and wax', None)

    Source: none: bookkeeping, exact.
    """
    if name in PHASES:
        return phase_share(name)
    if name == "grains per 100 of base":
        return grains_per_base()
    if not name.startswith("share of "):
        return None
    functions = tuple(name.removeprefix("share of ").split(" and "))
    return function_share(functions) if all(word in FUNCTIONS for word in functions) else None
