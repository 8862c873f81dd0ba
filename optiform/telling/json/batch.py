"""The sheet to make a batch by, as plain data, with what is saved of the batch."""

from operator import attrgetter
from typing import NamedTuple

from optiform.batch.batch import BatchSheet
from optiform.batch.doses import SmallDose
from optiform.batch.keeping import Recorded
from optiform.review.answer import heaviest_first
from optiform.telling.doses import helps
from optiform.telling.json.basic import WARNINGS, WHERE
from optiform.telling.json.form import (
    NUMBER,
    Data,
    Key,
    Many,
    Shared,
    answer,
    key,
    many,
    number,
    quantity,
    record,
    text,
    texts,
    truth,
    whole,
)  # fmt: skip
from optiform.telling.json.records import RECORD, records
from optiform.telling.method import done, noted, said_by
from optiform.telling.worked import recorded_notes

_PREMIX = record(text("into"), whole("dose"), whole("carrier"), whole("taken"), whole("less"))


def _dose_keys(at: str = "") -> tuple[Key, ...]:
    """The keys of a dose of few steps of the scale; `at` is where in a value it stands."""
    way = f"{at}." if at else ""
    return (
        text("ingredient", f"{way}ingredient"),
        quantity("due", "g", f"{way}due"),
        quantity("weighed", "g", f"{way}weighed"),
        quantity("off", "%", f"{way}off"),
        quantity("finer_step", "g", f"{way}finer"),
        number("times_the_batch", f"{way}larger"),
        key("premix", _PREMIX, f"{way}premix", "in steps of the scale", null=True),
        text("helps", lambda of: helps(attrgetter(at)(of) if at else of)),
    )


SMALL_DOSE = Shared("small_dose", record(*_dose_keys()), "A dose of few steps of the scale.")


class _Small(NamedTuple):
    """A dose of few steps, and the part that it is of."""

    part: str
    dose: SmallDose


class _Batch(NamedTuple):
    """A sheet, and what is saved of the batch."""

    sheet: BatchSheet
    saved: Recorded | None


_AMOUNTS = record(
    number("planned_g"), number("weighed_g"), number("loss"), number("scale_g"), whole("jars", null=True),
    number("jar_g", null=True), number("fill_g", null=True), number("left_g", null=True), whole("retained"),
)  # fmt: skip
_LINE = record(
    text("ingredient"), text("inci"), number("percent"), whole("steps"), number("grams"), text("note", noted),
    text("lot"), key("small", SMALL_DOSE, null=True), truth("capped"),
)  # fmt: skip
_PHASE = record(text("phase"), text("part"), number("grams"), many("lines", _LINE))
_PART = record(
    text("name"), number("share"), number("shared_g"), number("weighed_g"), whole("jars", null=True),
    number("left_g", null=True),
)  # fmt: skip
_STEP = record(
    text("words", done), number("temperature", null=True), number("minutes", null=True), text("source", said_by),
    text("part"), texts("uses"),
)  # fmt: skip
_FILLED = record(text("number"), text("date"), text("maker"), text("room"), text("version"))
_RECORD = record(
    key("batch", RECORD), records("lines"), records("packaging", "counts"), text("version"),
    texts("notes", recorded_notes)
)  # fmt: skip
_SLOWER = record(quantity("to", "°C"), quantity("seen", "min"), quantity("low", "min"), quantity("high", "min"))
_LARGER = record(
    quantity("so_far", "g", "seen"), quantity("at_once", "g", "made"), key("between", Many(NUMBER), words="g"),
    many("cooling", _SLOWER),
)  # fmt: skip
BATCH = answer(
    ["batch"],
    text("title", "sheet.title"),
    text("formula", "sheet.formula"),
    text("called", "sheet.called"),
    key("batch", _AMOUNTS, "sheet.batch"),
    many("phases", _PHASE, "sheet.phases"),
    many("parts", _PART, "sheet.parts"),
    many("steps", _STEP, "sheet.steps"),
    many("small", record(text("part"), *_dose_keys("dose")), lambda of: [_Small(*pair) for pair in of.sheet.small]),
    key("warnings", WARNINGS, lambda of: heaviest_first(of.sheet.warnings)),
    many("cautions", record(key("where", WHERE), text("text"), whole("step")), "sheet.cautions"),
    key("filled", _FILLED, "sheet.filled"),
    texts("short", "sheet.short"),
    key("larger", _LARGER, "sheet.scale_up", "from the batch made so far; null where it is not larger", null=True),
    key("record", _RECORD, "saved", null=True),
)


def batch(sheet: BatchSheet, saved: Recorded | None = None) -> Data:
    """The sheet, and what is saved of the batch, if it is."""
    return BATCH.said(_Batch(sheet, saved))
