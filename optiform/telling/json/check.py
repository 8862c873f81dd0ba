"""A formula checked, and formulas side by side, as plain data."""

from collections.abc import Sequence
from typing import NamedTuple

from optiform.review.answer import Checked
from optiform.review.compare import Comparison
from optiform.telling.json.basic import BAND, KEEPS, REASON, WARNINGS, as_read, costed, report_keys
from optiform.telling.json.form import (
    FIGURE,
    NUMBER,
    TEXTS,
    WHOLE,
    Data,
    Many,
    Maybe,
    Named,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    truth,
)  # fmt: skip


class _Money(NamedTuple):
    """In what the lines of a formula are said: a currency, and a batch in kg."""

    currency: str
    batch: float


class _Checked(NamedTuple):
    """A checked formula with what its lines are said in."""

    answer: Checked
    money: _Money


CHECKED = answer(
    ["checked"],
    text("name", "answer.reading.formula.name"),
    text("basis", "answer.reading.basis"),
    key("total", record(number("read", "total"), truth("rescaled")), "answer.reading"),
    key("keeps", KEEPS, "answer.report"),
    *costed("answer.report.formula", "money"),
    many(
        "against_kind", REASON, "answer.report.against_kind", "lines that the kind of product is usually made without"
    ),
    *report_keys("answer.report", lambda of: list(map(as_read, of.answer.reading.notes))),
)


def checked(answer: Checked, currency: str, batch: float) -> Data:
    """The report on a formula that exists; `batch` in kg."""
    return CHECKED.said(_Checked(answer, _Money(currency, batch)))


class _Compared(NamedTuple):
    """Formulas side by side, and what reading them changed."""

    answer: Comparison
    notes: Sequence[str]


_PROPERTY = record(
    key("values", Many(FIGURE)),
    texts("states", lambda row: [measured.state for measured in row.measured]),
    key("lacking", Many(TEXTS), lambda row: [measured.lacking for measured in row.measured]),
    text("unit"), truth("same"),
)  # fmt: skip
_CAUSE = record(
    text("property", "name"),
    quantity("change", lambda cause: cause.unit),
    many("lines", record(text("ingredient", lambda pair: pair[0]), number("change", lambda pair: pair[1])),
         words="they add up to the change"),
)  # fmt: skip
COMPARED = answer(
    ["compared"],
    texts("formulas", lambda of: [formula.name for formula in of.answer.formulas]),
    quantity("resolution", "%", "answer.resolution"),
    many("lines", record(text("ingredient"), key("percent", Many(NUMBER), "percents"), truth("same")), "answer.lines"),
    key("properties", Named(_PROPERTY), lambda of: {row.name: row for row in of.answer.properties}),
    key("firmness", Many(Maybe(BAND)), "answer.firmness",
        "of each formula at 20 °C, the first being 100; empty where a product has none"),
    many("why", _CAUSE, "answer.causes",
         "of two formulas, what each line has to do with the change of each property that differs"),
    many("declaration", record(text("inci"), key("places", Many(Maybe(WHOLE)))), "answer.label"),
    key("warnings", WARNINGS, lambda of: map(as_read, of.notes)),
    key("formula_warnings", Many(WARNINGS), "answer.warnings", "of each formula, heaviest first"),
)  # fmt: skip


def compared(answer: Comparison, notes: Sequence[str] = ()) -> Data:
    """Formulas side by side; `notes` say what reading them changed."""
    return COMPARED.said(_Compared(answer, notes))
