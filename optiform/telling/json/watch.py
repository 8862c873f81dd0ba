"""What begins by a day for saved formulas, as plain data."""

from optiform.review.watch import Watch
from optiform.rules.law import AREAS, MARKETS, USES
from optiform.telling.json.basic import evidence
from optiform.telling.json.form import (
    DAY,
    Data,
    Many,
    Shared,
    answer,
    day,
    exactly,
    key,
    many,
    number,
    record,
    text,
    texts,
    truth,
    word,
)  # fmt: skip
from optiform.telling.watch import about

EFFECTS = ("breaks", "label", "not known", "advice", "note")
MARKET, USE, AREA = (
    Shared(name, word(*known)) for name, known in (("market", MARKETS), ("use", USES), ("area", AREAS))
)
_RULE = record(
    text("id"), day("day"), key("market", MARKET), key("effect", word(*EFFECTS)), text("about", about),
    number("content"), number("limit", null=True), key("unit", exactly("%"), lambda _: "%"), text("reference"),
    evidence(), text("note"),
)  # fmt: skip
_DUTY = record(
    text("id"), key("market", MARKET), text("title"), text("what"), key("from", DAY, "start", null=True),
    text("reference"), evidence(),
)  # fmt: skip
AHEAD = answer(
    ["looked ahead"],
    key("markets", Many(MARKET, least=1), "scope.markets"), key("use", USE, "scope.use"),
    key("area", AREA, "scope.area"), day("after", "scope.date"), day("until"),
    many("formulas", record(text("name"), truth("broken"), many("rules", _RULE))),
    many("duties", _DUTY), texts("not_read"), texts("others"),
)  # fmt: skip


def watched(of: Watch) -> Data:
    """Each formula with the rules that begin for it, and what begins for whoever sells there."""
    return AHEAD.said(of)
