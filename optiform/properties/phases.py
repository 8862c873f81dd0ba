"""Shares by phase, function and ingredient count: arithmetic on the formula's own lines, nothing looked up."""

from dataclasses import replace

import numpy as np

from optiform.ingredients.ingredient import FUNCTIONS, PHASES
from optiform.properties.base import Mix, Property, Terms, Vector
from optiform.reading.units import PARTS

PERCENT = 100.0
#: Of a share of butter: a triglyceride that is solid in the jar counts, whatever its name.
SOLID_OILS = "coconut, palm and babassu oil are butters here"


def phase_share(phase: str) -> Property:
    """Share of one phase in the whole: 100 sum(x_i in phase), in %. Exact."""

    def terms(mix: Mix, _: Vector) -> Terms:
        return Terms.exact(PERCENT * mix.mask(lambda item, at: at == phase))

    return Property(phase, "%", "whole", terms)


def function_share(functions: tuple[str, ...]) -> Property:
    """Share of the ingredients bought for these functions: 100 sum(x_i serving), in %.

    An ingredient counts under the first function of its list only, so that shares add up.
    """

    def terms(mix: Mix, _: Vector) -> Terms:
        return Terms.exact(PERCENT * mix.serving(*functions))

    note = SOLID_OILS if "butter" in functions else ""
    return Property(f"share of {' and '.join(functions)}", "%", "whole", terms, note=note)


def in_base(wanted: Property) -> Property:
    """An amount in the whole per 100 of the base instead: sum(p_i x_i) / sum(x_i that are not grains).

    The grains are per 100 of base as `grains_per_base` says it.

    Raises:
        ValueError: for what is no amount in the whole, or bends.
    """
    if wanted.name == "grains":
        return grains_per_base()
    if wanted.basis != "whole" or wanted.bends:
        raise ValueError(f"an amount in the whole that follows the lines in proportion; {wanted.name} is none")

    def terms(mix: Mix, x: Vector) -> Terms:
        return replace(wanted.terms(mix, x), denominator=mix.mask(lambda item, at: at != "grains"))

    return Property(f"{wanted.name} in the base", wanted.unit, "base", terms, note=wanted.note)


def grains_per_base() -> Property:
    """Grains on top of the base: 100 sum(x grains) / sum(x of everything else), in parts. Exact."""

    def terms(mix: Mix, _: Vector) -> Terms:
        grains = mix.mask(lambda item, at: at == "grains")
        return Terms.exact(PERCENT * grains, 1.0 - grains)

    return Property("grains per 100 of base", PARTS, "base", terms)


def count_ingredients(x: Vector) -> int:
    """How many lines are in use."""
    return int(np.count_nonzero(x > 1e-9))


def find(name: str) -> Property | None:
    """The property of this family that a brief's words name, if any."""
    if name in PHASES:
        return phase_share(name)
    if name == "grains per 100 of base":
        return grains_per_base()
    if not name.startswith("share of "):
        return None
    functions = tuple(name.removeprefix("share of ").split(" and "))
    return function_share(functions) if all(word in FUNCTIONS for word in functions) else None
