"""What US law, and that of its states, asks of whoever sells cosmetics, beside limits on substances: to be read."""

import datetime
from functools import cache

from optiform.ingredients.ingredient import Evidence
from optiform.reading.frozen import frozen
from optiform.reading.tables import shipped
from optiform.rules.law import day
from optiform.rules.markets import jurisdictions


@frozen
class Duty:
    """A row of duties.csv. `start`: its first day where one is known; `touches`: which goods; `words`: of a label."""

    id: str
    market: str
    title: str
    what: str
    figure: str
    start: datetime.date | None
    free: str
    touches: str
    words: str
    reference: str
    source: str
    evidence: Evidence
    note: str


def duties(market: str) -> tuple[Duty, ...]:
    """The duties of a market, those of its country first; none where the tables hold none.

    Example:
        >>> len(duties("EU")), {duty.market for duty in duties("US-NY")} == {"US", "US-NY"}
        (0, True)
        >>> [duty.figure for duty in duties("US") if duty.title == "mercury compounds"][0].split(",")[0]
        '0.0065 % Hg (65 ppm)'

    Source: 21 CFR 700.13 (L-CFR-700-13): 65 ppm of mercury beside the eye.
    """
    return tuple(duty for duty in _all() if duty.market in jurisdictions(market))


@cache
def _all() -> tuple[Duty, ...]:
    return tuple(
        Duty(
            row["id"], row["market"], row["title"], row["what"], row["figure"], day(row["from"]), row["who is free"],
            row["touches"], row["words"], row["reference"], row["source"], Evidence(row["evidence"]), row["note"],
        )
        for row in shipped("duties")
    )  # fmt: skip
