"""A draft of a declaration, and what a label can stand for, as plain data."""

from optiform.label.declare import Declaration
from optiform.label.from_label import LabelRanges, NoComposition
from optiform.telling.drafted import content_note, due, statement
from optiform.telling.json.basic import CARRIER, CERTIFICATE, STATED, WARNINGS, evidence
from optiform.telling.json.form import (
    WHOLE,
    Data,
    Either,
    Many,
    answer,
    day,
    key,
    many,
    number,
    record,
    text,
    texts,
    truth,
    whole,
    word,
)  # fmt: skip

_ENTRY = record(
    text("name"), number("percent"), number("least"), number("most"), truth("colourant"), truth("allergen"),
    truth("free"), many("carriers", CARRIER), text("source"), evidence(), evidence("shares_evidence", "shares_known"),
)  # fmt: skip
_ALLERGEN = record(
    text("name"), texts("members"), number("percent"), number("least"), number("threshold", null=True), truth("listed"),
    truth("declared"), truth("prohibited"), many("carriers", CARRIER), evidence("shares_evidence", "known"),
    text("reference"), text("source"), evidence(), text("note"),
)  # fmt: skip
_TOLERANCE = record(number("error"), number("first"), number("second"), text("source"), evidence())
_NET = record(
    text("words"), number("metric"), key("unit", word("g", "mL")), number("ounces", null=True),
    key("tolerance", _TOLERANCE, null=True), text("note", content_note),
)  # fmt: skip
_ITEM = record(
    text("about"),
    text("text", "fact"),
    text("source"),
    evidence(get=lambda item: item.evidence or None, null=True),
)
DECLARED = answer(
    ["drafted"],
    *map(text, ("formula", "market", "use", "area")), day("date"), text("text"), texts("declaration"),
    many("entries", _ENTRY),
    whole("free_from", null=True), whole("colourants_from", null=True), texts("allergens"), truth("allergens_known"),
    many("allergen_details", _ALLERGEN), texts("without_allergen_list"), key("net", _NET, null=True),
    texts("to_settle", "warnings"),
    texts("statements", lambda of: (*map(due, of.due), *map(statement, of.statements))), texts("precautions"),
    key("overruled", WARNINGS, words="what the brief overrules"),
    many("supplier_statements", STATED, "papers"), many("rules", _ITEM), many("decisions", _ITEM), texts("notes"),
)  # fmt: skip
_SHARES = (number(name, words="% of the whole") for name in ("low", "high", "centre"))
RANGES = answer(
    ["ranges"],
    many("ranges", record(text("inci"), *_SHARES, text("place"), texts("caps"))), key("first_below", Many(WHOLE)),
    whole("centre_for"), number("residual"), texts("notes"),
)  # fmt: skip
NO_COMPOSITION = answer(["infeasible"], texts("conflict"), key("certificate", CERTIFICATE), texts("notes"))
FROM_LABEL = Either((RANGES, NO_COMPOSITION), lambda of: int(isinstance(of, NoComposition)))


def declared(of: Declaration) -> Data:
    """The draft for a market, a use, an area and a date."""
    return DECLARED.said(of)


def from_label(of: LabelRanges | NoComposition) -> Data:
    """What each name on a label can have; or why no composition has these names in this order."""
    said: Data = FROM_LABEL.said(of)
    return said
