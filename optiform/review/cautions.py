"""The usual cautions for what is in a formula, shown where the decision is made."""

from collections.abc import Iterator
from functools import cache

import numpy as np

from optiform.properties.base import Mix, Vector
from optiform.properties.water_phase import water
from optiform.reading.tables import shipped
from optiform.review.answer import Caution
from optiform.review.measures import measure
from optiform.rules.law import Scope

ALL_OF = " & "  # joins the parts of a trigger
#: What a kind is held by in use; any other is taken out of a jar. Common practice, no source.
HELD = {"solid scrub bar": "bar", "solid cleansing bar": "bar", "stick and lip balm": "stick"}
MELTED = ("wax", "butter", "fatty alcohol", "fatty acid", "emulsifier")


@cache
def _caution_table() -> tuple[tuple[frozenset[str], Caution], ...]:
    return tuple(
        (frozenset(row["trigger"].split(ALL_OF)), Caution(row["where"], row["text"])) for row in shipped("cautions")
    )


def cautions(mix: Mix, x: Vector, scope: Scope | None, kind: str = "") -> Iterator[Caution]:
    """Each caution of cautions.csv whose trigger a formula of this kind of product sets off, once.

    A trigger of several parts needs all of them. Those that speak of an ingredient must be true of one and the same:
    an alkali in a chelator is not an alkali bought to adjust the pH because there is citric acid as well.
    """
    about = frozenset((HELD.get(kind, "jar"), *_situations(mix, x, scope)))
    cases = [about, *(about | frozenset(_of_line(mix, int(i))) for i in np.flatnonzero(x > 0))]
    told = set()
    for trigger, caution in _caution_table():
        if caution.text not in told and any(trigger <= case for case in cases):
            told.add(caution.text)
            yield caution


def _of_line(mix: Mix, i: int) -> Iterator[str]:
    """What one line of the formula sets off."""
    item = mix.ingredients[i]
    yield from (f"function:{word}" for word in item.functions)
    yield from (f"inci:{part.inci}" for part in item.constituents)
    yield f"ingredient:{item.name}"
    yield f"phase:{mix.phases[i]}"
    if not item.solute:
        yield "insoluble"


def _situations(mix: Mix, x: Vector, scope: Scope | None) -> Iterator[str]:
    """What the formula as a whole sets off, and its use."""
    yield "always"
    if any(mix.ingredients[i].has(*MELTED) for i in np.flatnonzero(x > 0)):
        yield "hot phase"
    share = measure(water(), mix, x).value
    wet = share is None or share >= 1.0  # water that is not known is no reason to leave out its cautions
    yield "water" if wet else "no water"
    if wet and not mix.serving("preservative") @ x > 0:
        yield "no preservative with water"
    if scope is None or scope.area != "lips":
        yield "not on lips"
    if scope is not None:
        yield from (f"use:{scope.use}", f"area:{scope.area}")
