"""Parts that a product of a brief's kind must have to be one, and that nothing on its shelf serves."""

from collections.abc import Iterator

import numpy as np

from optiform.brief.brief import Brief
from optiform.brief.leftout import Out
from optiform.brief.usual import UsualLimit
from optiform.ingredients.ingredient import Ingredient
from optiform.properties.base import Vector
from optiform.reading.frozen import frozen
from optiform.rules.claims import against
from optiform.rules.forms import Rule
from optiform.rules.positive import not_allowed
from optiform.rules.usual import PARTS, first_choices

NAMED = 3  # ingredients to buy that are named
WITHIN = 1e-6  # of the property's unit


@frozen
class Lacking:
    """A part that no candidate serves, or too little of it where each stays in its usual use.

    Attributes:
        part: in a brief's words.
        low: how much is usual at least, in `unit`.
        high: None where the brief sets that end itself.
        buy: what makers of the kind take, the usual one first; empty where no list says it.
        reached: how much the candidates give beside the rules and the other parts; None where nothing serves it.
        rules: each of which, left away, would let the parts come together.
        most: how much all candidates together bring, each within its usual use.
    """

    part: str
    low: float
    high: float | None
    unit: str
    buy: tuple[str, ...]
    reached: float | None = None
    rules: tuple[Rule, ...] = ()
    most: float = 0.0


def lacking(brief: Brief) -> tuple[Lacking, ...]:
    """The parts that a brief's shelf lacks; a part of parts is told once, by the ingredients that serve it.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> lacking(read_brief(DEMO / "brief.toml"))
        ()
    """
    parts = [part for limit in brief.usual if (part := _lacking(brief, limit))]
    served = [part for part in parts if part.buy]
    return tuple(_once(served or parts))


def _once(parts: list[Lacking]) -> Iterator[Lacking]:
    bought: set[tuple[str, ...]] = set()
    for part in parts:
        if not part.buy or part.buy not in bought:
            bought.add(part.buy)
            yield part


def _most(brief: Brief, brings: Vector) -> float:
    """The most of a share of the whole that a formula can hold within usual use; what the brief sets does not count."""
    left, most = 1.0, 0.0
    for j in np.argsort(-brings, kind="stable"):
        span = brief.ranges[j]
        taken = min(left, 1.0 if span.source == "brief" else span.high)
        most, left = most + taken * float(brings[j]), left - taken
    return most


def _lacking(brief: Brief, limit: UsualLimit) -> Lacking | None:
    """The part that this limit is of, if it is needed and a formula can hold too little of it only."""
    if not limit.needed or limit.low is None:
        return None
    terms = limit.property.everywhere(brief.mix)
    if not terms.whole or (most := _most(brief, terms.numerator)) > limit.low - WITHIN:
        return None
    name = limit.property.name
    makers = first_choices(brief.kind, serving(name))
    buy = tuple(one for one in makers if (item := brief.catalogue.find(one)) is None or suits(brief, item))
    return Lacking(name, limit.low, limit.high, limit.property.unit, buy[:NAMED], most=most)


def suits(brief: Brief, item: Ingredient) -> bool:
    """Whether the brief would take an ingredient that is bought: neither its claims nor its law nor it leave it out.

    Example:
        >>> from optiform.brief.file import read_brief
        >>> from optiform.reading.paths import DEMO
        >>> brief = read_brief(DEMO / "brief.toml")
        >>> [suits(brief, brief.catalogue.find(name)) for name in ("stearic acid", "cetyl alcohol")]
        [False, True]
    """
    excluded = dict(brief.left_out).get(item.name) is Out.EXCLUDED
    return not (excluded or not_allowed(item, brief.scope) or any(against(claim, item) for claim in brief.claims))


def serving(part: str) -> tuple[str, ...]:
    """The functions that serve a part, in a brief's words.

    Example:
        >>> serving("share of oil and ester"), serving("humectant active")
        (('oil', 'ester'), ('humectant',))
    """
    return PARTS.get(part) or tuple(part.removeprefix("share of ").removesuffix(" in the base").split(" and "))
