"""What is known of the most that a declared name can have: by law, as usually bought and dosed, and as stated."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import get_close_matches
from functools import cache

import numpy as np

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.ingredient import Ingredient, Value
from optiform.ingredients.names import resolve
from optiform.ingredients.spelling import fold
from optiform.program.build import Demand, Kind, constant
from optiform.program.linear import Vector
from optiform.properties.base import Side, Terms
from optiform.reading.faults import Inspection
from optiform.rules.law import MARKETS, Rule, Scope, rules

COLOUR_INDEX = re.compile(r"\bc\.? ?i\.? ?\d{5}\b", re.IGNORECASE)


def spelling_of(name: str) -> str:
    """What two spellings of a declared name have in common."""
    spelling = resolve(name)
    return fold(spelling.inci if spelling.certain and spelling.inci else name)


@cache
def _carriers() -> dict[str, list[tuple[Ingredient, Value]]]:
    """Constituent to the shipped ingredients that bring it, with its share."""
    carriers: dict[str, list[tuple[Ingredient, Value]]] = {}
    for item in read_catalogue().ingredients.values():
        for part in item.constituents:
            carriers.setdefault(part.inci, []).append((item, part.share))
    return carriers


@cache
def _counted() -> frozenset[str]:
    """Every name that the catalogue brings or a rule counts."""
    return frozenset((*_carriers(), *(name for rule in rules() for name in rule.factors)))


def carriers(name: str) -> list[tuple[Ingredient, Value]]:
    """The shipped ingredients that bring a declared name, with its share; none for a name that is not known."""
    return _carriers().get(canonical(name) or "", [])


def canonical(name: str) -> str | None:
    """The name as the tables spell it; None where it is none of theirs for certain."""
    spelling = resolve(name)
    return spelling.inci if spelling.certain and spelling.inci in _counted() else None


def is_colourant(name: str) -> bool:
    """Whether a name is a colourant: a colour index number, or only ever bought first of all as a colourant."""
    if COLOUR_INDEX.search(name):
        return True
    carriers = _carriers().get(canonical(name) or "", [])
    return bool(carriers) and all(item.functions[:1] == ("colourant",) for item, _ in carriers)


def _usual(inci: str) -> float | None:
    """The most one ingredient at its usual maximum brings of a constituent, %; None if any has no such maximum."""
    ends = [(item.value("maximum use"), share) for item, share in _carriers().get(inci, [])]
    parts = [most.figure * _most(share) / 100 for most, share in ends if most]
    return max(parts) if parts and len(parts) == len(ends) else None


def _most(share: Value) -> float:
    return share.figure if share.high is None else share.high


def single(names: Sequence[str], j: int, side: Side, target: float, kind: Kind, reason: str) -> Demand:
    """The demand that one name has at least or at most `target` %."""
    numerator = np.zeros(len(names))
    numerator[j] = 100.0
    return _demand(names[j], side, target, kind, numerator, reason)


def _demand(name: str, side: Side, target: float, kind: Kind, numerator: Vector, reason: str) -> Demand:
    terms = Terms.exact(numerator)
    return Demand(name, "%", side, target, kind, constant(terms), reason=reason)


def laws(names: Sequence[str], scope: Scope) -> Iterator[Demand]:
    """Legal maxima that count declared names; what is prohibited and declared all the same is told, not counted."""
    for rule in hard_rules(scope):
        numerator = np.array([100 * rule.factors.get(canonical(name) or "", 0.0) for name in names])
        if numerator.any() and rule.limit:
            yield _demand(rule.group, "high", rule.limit, "law", numerator, f"{rule.market}, {rule.reference}")


def hard_rules(scope: Scope) -> list[Rule]:
    """The legal limits that bind in this scope."""
    return [rule for rule in rules() if rule.applies(scope) and rule.hard]


def strictest(names: Sequence[str], scope: Scope) -> Vector:
    """The most that any market lets a product like this have of each name, %; 100 where none has a limit on it."""
    anywhere = hard_rules(replace(scope, markets=MARKETS))
    return np.array([min((_alone(rule, canonical(name)) for rule in anywhere), default=100.0) for name in names])


def _alone(rule: Rule, name: str | None) -> float:
    """How much of one name a rule allows by itself, %; what is prohibited and declared all the same is not judged."""
    factor = rule.factors.get(name or "", 0.0)
    return min(100.0, rule.limit / factor) if rule.limit and factor else 100.0


def advice(names: Sequence[str]) -> Iterator[Demand]:
    """The usual maxima of the catalogue, as demands on single names."""
    for j, name in enumerate(names):
        usual = _usual(canonical(name) or "")
        if usual is not None:
            yield single(names, j, "high", usual, "advice", "usual maximum of the catalogue, not law")


def stated(names: Sequence[str], caps: Mapping[str, float]) -> Iterator[Demand]:
    """Caps stated by whoever asks.

    Raises:
        BadInput: with every cap that is on no declared name or no percentage.
    """
    inspection, keys = Inspection("caps"), [spelling_of(name) for name in names]
    limits = []
    for name, cap in caps.items():
        if spelling_of(name) not in keys:
            near = get_close_matches(spelling_of(name), keys, n=3, cutoff=0.6)
            words = "; ".join(names[keys.index(key)] for key in near)
            inspection.fault(name, f"{cap:g}", f"a name of the list; near: {words}" if near else "a name of the list")
        elif not 0 < cap <= 100:
            inspection.fault(name, f"{cap:g}", "more than 0 and at most 100 %")
        else:
            limits.append(single(names, keys.index(spelling_of(name)), "high", cap, "limit", "stated"))
    inspection.finish()
    yield from limits
