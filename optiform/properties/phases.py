"""Shares by phase, function and ingredient count: arithmetic on the formula's own lines, nothing looked up."""

import numpy as np

from optiform.ingredient import FUNCTIONS, PHASES
from optiform.properties.base import Mix, Property, Terms, Vector

PERCENT = 100.0


def phase_share(phase: str) -> Property:
    """Share of one phase in the whole: 100 sum(x_i in phase), in %. Exact."""

    def terms(mix: Mix, _: Vector) -> Terms:
        return Terms.exact(PERCENT * mix.mask(lambda item, at: at == phase))

    return Property(phase, "%", "whole", terms)


def function_share(functions: tuple[str, ...], in_base: bool = False) -> Property:
    """Share of the ingredients bought for these functions: 100 sum(x_i serving), in %.

    An ingredient counts under the first function of its list only, so that shares add up. With `in_base`, it is per
    100 of everything but the grains.
    """
    words = " and ".join(functions)

    def terms(mix: Mix, _: Vector) -> Terms:
        base = mix.mask(lambda item, at: at != "grains") if in_base else None
        return Terms.exact(PERCENT * mix.serving(*functions), base)

    name = f"share of {words} in the base" if in_base else f"share of {words}"
    return Property(name, "%", "base" if in_base else "whole", terms)


def grains_per_base() -> Property:
    """Grains on top of the base: 100 sum(x grains) / sum(x of everything else), in g per 100 g. Exact."""

    def terms(mix: Mix, _: Vector) -> Terms:
        grains = mix.mask(lambda item, at: at == "grains")
        return Terms.exact(PERCENT * grains, 1.0 - grains)

    return Property("grains per 100 of base", "%", "base", terms)


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
    words = name.removeprefix("share of ")
    in_base = words.endswith(" in the base")
    functions = tuple(words.removesuffix(" in the base").split(" and "))
    return function_share(functions, in_base) if all(word in FUNCTIONS for word in functions) else None
