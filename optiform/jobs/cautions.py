"""The usual cautions for what is in a formula, shown where the decision is made."""

import csv
from collections.abc import Iterable, Iterator
from functools import cache

import numpy as np

from optiform.jobs.answer import Caution
from optiform.jobs.measures import measure
from optiform.paths import DATABASE
from optiform.properties.base import Mix, Vector
from optiform.properties.rules import Scope
from optiform.properties.water_phase import water


@cache
def _caution_table() -> tuple[tuple[str, Caution], ...]:
    with (DATABASE / "cautions.csv").open(encoding="utf-8", newline="") as table:
        return tuple((row["trigger"], Caution(row["where"], row["text"])) for row in csv.DictReader(table))


def cautions(mix: Mix, x: Vector, scope: Scope | None) -> Iterator[Caution]:
    """Each caution of cautions.csv whose trigger the formula sets off, once."""
    told = set()
    triggers = set(_triggers(mix, x, scope))
    for trigger, caution in _caution_table():
        if trigger in triggers and caution.text not in told:
            told.add(caution.text)
            yield caution


def _triggers(mix: Mix, x: Vector, scope: Scope | None) -> Iterable[str]:
    yield "always"
    for i in np.flatnonzero(x > 0):
        item = mix.ingredients[i]
        yield from (f"function:{word}" for word in item.functions)
        yield from (f"inci:{part.inci}" for part in item.constituents)
        yield f"ingredient:{item.name}"
        yield f"phase:{mix.phases[i]}"
        if item.has("wax", "butter", "fatty alcohol", "fatty acid", "emulsifier"):
            yield "hot phase"
    wet = measure(water(), mix, x).value or 0.0
    yield "water" if wet >= 1.0 else "no water"
    if wet >= 1.0 and not mix.serving("preservative") @ x > 0:
        yield "no preservative with water"
    if scope is not None:
        yield from (f"use:{scope.use}", f"area:{scope.area}")
