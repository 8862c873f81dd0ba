"""What would have to change for an ingredient or a formula, as plain data."""

from optiform.design.changes import WhyNot
from optiform.telling.json.basic import REASON, SIDE, demand_keys, formula
from optiform.telling.json.design import Missed
from optiform.telling.json.form import (
    Data,
    Record,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
)  # fmt: skip

_MISS = record(*demand_keys("demand"), number("value", "worst"))
_MOVE = record(
    text("limit", "demand.name"), key("side", SIDE, "demand.side"), text("unit", "demand.unit"),
    text("kind", "demand.kind"),
    number("target", "now", "today's; null where the brief does not limit that side", null=True), number("new", "to"),
    number("percent", words="of the jar, what the ingredient would be", null=True),
)  # fmt: skip


def form(money: str, unit: str) -> Record:
    """Each change with today's figure and the one it would be; `prices` and `together` do only all at once."""
    price = record(text("ingredient"), quantity("now", f"{money}/kg"), quantity("new", f"{money}/kg", "to"))
    return answer(
        ["explained", "already"],
        text("title", "brief.title"), text("subject"), formula(null=True),
        many("no_candidates", REASON, "brings_in", "looked at as if they were candidates"),
        number("percent", words="of the jar, what the ingredient is already", null=True),
        quantity("value", unit, null=True), quantity("best", unit, null=True),
        many("misses", _MISS, lambda of: [Missed(*pair) for pair in of.misses],
             "what the formula misses, with its value"),
        many("prices", price, words="all to change at once"), many("limits", _MOVE, words="each alone would do"),
        many("together", _MOVE, words="all to change at once"), texts("not_looked_at", "unlooked"),
        status=lambda of: "already" if of.already else "explained",
    )  # fmt: skip


def why_not(answer: WhyNot) -> Data:
    """What would have to change."""
    return form(answer.brief.currency, answer.brief.goal.unit).said(answer)
