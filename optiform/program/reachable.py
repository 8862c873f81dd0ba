"""Which branches of a rule a brief's lines leave open, so that nothing is branched on that cannot matter."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.limits import Range
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Mix, Vector
from optiform.rules.chemistry import chemistry, eithers, merged
from optiform.rules.forms import TRACE, Bound, Either, Keeping


def rules_of(brief: Brief) -> tuple[Either, ...]:
    """The rules of chemistry that formulas of a brief's lines keep, those it overrules aside."""
    known = _proposed(brief.mix.ingredients, brief.kind, brief.ph, brief.overrule, brief.exposure, brief.scope.area)
    notes = most_notes(brief) if brief.doses else ()
    return (*known, *(rule for rule in notes if rule.rule.id in brief.doses))


@lru_cache(maxsize=64)
def _proposed(
    items: Sequence[Ingredient], kind: str, ph: float | None, overrule: tuple[str, ...], exposure: str, area: str
) -> tuple[Either, ...]:  # fmt: skip
    """Those that hold for all formulas. No limit says which they are, so they stay while limits are moved."""
    return merged(eithers(items, kind, ph, overrule, exposure=exposure, area=area))


def most_notes(brief: Brief) -> Iterator[Either]:
    """Rules that only note that there is too much of something: a first trial keeps those that it broke before."""
    levels = {row.rule.id for row in chemistry() if row.form == "level"}
    items = brief.mix.ingredients
    for either in eithers(items, brief.kind, brief.ph, brief.overrule, ("note",), brief.exposure, brief.scope.area):
        if either.rule.id in levels:
            yield either


def undosed(brief: Brief) -> Brief:
    """The brief with those of its doses alone that rules look at: what the others leave alone serves all of them."""
    notes = {row.rule.id for row in chemistry()}
    doses = tuple(name for name in brief.doses if name in notes)
    return brief if doses == brief.doses else replace(brief, doses=doses)


def open_branches(brief: Brief, rules: Sequence[Either]) -> Iterator[tuple[Either, tuple[Keeping, ...]]]:
    """Each rule, and each choice of the brief, that some formula between the ends of its lines breaks, with the ways
    that one can go.

    Where no formula can go any of its ways, all of them stay: nothing fits then, and the rule is told.
    """
    low, high = _ends(brief)
    for either in (*rules, *brief.choices):
        ends = {bound: _span(weights(bound, brief.mix), low, high) for way in either.ways for bound in way}
        if not any(all(_always(bound, *ends[bound]) for bound in way) for way in either.ways):
            reachable = tuple(way for way in either.ways if all(_ever(bound, *ends[bound]) for bound in way))
            yield either, reachable or either.ways


def weights(bound: Bound, mix: Mix) -> Vector:
    """How much each line brings of what is bounded. Shape (lines,)."""
    by_name = dict(bound.weights)
    return np.array([by_name.get(item.name, 0.0) for item in mix.ingredients])


def _always(bound: Bound, least: float, most: float) -> bool:
    return most <= bound.target + TRACE if bound.side == "high" else least >= bound.target - TRACE


def _ever(bound: Bound, least: float, most: float) -> bool:
    return least <= bound.target + TRACE if bound.side == "high" else most >= bound.target - TRACE


def _ends(brief: Brief) -> tuple[Vector, Vector]:
    """The low and the high end of each line; what is usual may give way."""
    firm = [Range() if ends.source == "usual" else ends for ends in brief.ranges]
    return np.array([ends.low for ends in firm]), np.array([ends.high for ends in firm])


def _span(brought: Vector, low: Vector, high: Vector) -> tuple[float, float]:
    """The least and the greatest of it among formulas between the ends of the lines."""
    return -_most(-brought, low, high), _most(brought, low, high)


def _most(brought: Vector, low: Vector, high: Vector) -> float:
    """The greatest sum: what the low ends leave of the whole goes to the lines that bring most."""
    order = np.argsort(-brought, kind="stable")
    room = (high - low)[order]
    taken = np.clip(1.0 - float(low.sum()) - (np.cumsum(room) - room), 0.0, room)
    return float(brought @ low + brought[order] @ taken)
