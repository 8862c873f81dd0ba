"""Another emulsifier at the least and the most that is usual of it: what its dose does to the emulsion."""

import numpy as np

from optiform.design.amounts import Weighed, broken
from optiform.design.exchange import Exchange
from optiform.design.function import family_of
from optiform.ingredients.ingredient import Evidence
from optiform.program.linear import Vector
from optiform.properties.base import Mix, fractions
from optiform.properties.registry import find_property
from optiform.reading.frozen import frozen
from optiform.review.measures import measure
from optiform.rules.usual import usual_use

EMULSIFYING = "emulsifying"  #: the family's measure in equivalents.csv
PROPOSED = "as proposed"


@frozen
class AtDose:
    """An emulsifier at one dose, the line that makes room for it taking the difference.

    Attributes:
        which: `least usual`, `as proposed` or `most usual`.
        dose: % of the whole.
        per_oil: g of emulsifiers per 100 g of oil phase; None without oils.
        hlb_difference: HLB of the emulsifiers less the required HLB; None where one of them has none.
        broken: limits of the brief that it does not keep, in words.
        evidence: how well the dose is known; that of a proposed one is worked out.
    """

    which: str
    dose: float
    per_oil: float | None
    hlb_difference: float | None
    broken: tuple[str, ...]
    evidence: Evidence


def dose_span(exchange: Exchange, swap: Weighed) -> tuple[AtDose, ...]:
    """A single emulsifier that takes the place of others at its least, proposed and most usual dose, least first.

    Nothing for a blend, for what is no emulsifier, and where nothing usual is known of it or no line makes room.
    """
    if len(swap.parts) != 1:
        return ()
    place = next(j for j, item in enumerate(exchange.able) if item.name == swap.parts[0][0])
    item = exchange.able[place]
    usual = usual_use(exchange.task.brief.kind, item)
    if family_of(item).equivalent != EMULSIFYING or usual is None or usual.low is None or usual.high is None:
        return ()
    doses = (("least usual", usual.low / 100, usual.evidence), ("most usual", usual.high / 100, usual.evidence))
    ends = [
        (which, x, evidence)
        for which, dose, evidence in doses
        if (x := _moved(exchange, swap.x, place, dose)) is not None
    ]
    rows = [*ends, (PROPOSED, swap.x, Evidence.DERIVED)]
    return tuple(_at(exchange, place, *row) for row in sorted(rows, key=lambda row: float(row[1][place])))


def _moved(exchange: Exchange, x: Vector, place: int, dose: float) -> Vector | None:
    """The fractions with a part at another dose; None where no line that makes room has so much."""
    room = np.flatnonzero(exchange.room)
    if not len(room) or dose <= 0:
        return None
    moved, line = x.copy(), int(room[np.argmax(x[room])])
    moved[line] -= dose - x[place]
    moved[place] = dose
    return moved if moved[line] > 0 else None


def _at(exchange: Exchange, place: int, which: str, x: Vector, evidence: Evidence) -> AtDose:
    formula = exchange.formula(x, which)
    mix, shares = Mix.of(formula), fractions(formula)

    def figure(name: str) -> float | None:
        return measure(find_property(name, exchange.task.brief.currency), mix, shares).value

    return AtDose(
        which, 100 * float(x[place]), figure("emulsifier per 100 of oil phase"), figure("hlb difference"),
        broken(exchange, x), evidence,
    )  # fmt: skip
