"""Every answer of a page can be taken along as the data that its command writes with `--json`."""

import json
from typing import Any

import pytest
from workbench.state import Key

from optiform.reading.plain import SCHEMA
from tests.telling.test_schemas import validator
from tests.ui.test_pages import page, variant

DRAFTS: dict[str, Any] = {Key.VARIANTS: [variant("one", 1.0), variant("two", -1.0)]}
#: Page, what it has in its state, the schema of its answer, a key that only a whole answer has.
ANSWERS: dict[str, tuple[str, dict[str, Any], str, str]] = {
    "As typed": ("check", {}, "check", "warnings"),
    "Cheaper": ("cheaper", {}, "cheaper", "options"),
    "Substitute": ("substitute", {}, "substitute", "options"),
    "Firmer or softer": ("texture", {}, "texture", "options"),
    "Nearly as good": ("nearly", {}, "explore", "alternatives"),
    "Weighable": ("weigh", {}, "weigh", "formula"),
    "Drafts": ("variants", DRAFTS, "compare", "formulas"),
    "Batch": ("batch", {}, "batch", "phases"),
    "Declaration": ("declaration", {}, "declare", "entries"),
    "Costs": ("costs", {}, "costs", "full"),
    "Buying": ("buying", {}, "buy", "orders"),
    "Range": ("range", {}, "range", "products"),
    "Ingredients": ("ingredients", {}, "ingredients", "ingredients"),
    "Stock": ("stock", {"stock-tab": "On the shelf"}, "stock", "shelves"),
    "Stock, a batch": ("stock", {"stock-tab": "Batches"}, "saved-batch", "lines"),
    "Trials": ("trials", {"trials-tab": "Log"}, "trials", "trials"),
    "Trials, what they teach": ("trials", {"trials-tab": "What they teach"}, "fit", "trials"),
    "Trials, the next": ("trials", {"trials-tab": "Next trial"}, "next", "proposals"),
    "Trials, between two": ("trials", {"trials-tab": "Between two"}, "between", "prediction"),
}

QUICK = ("As typed", "Weighable", "Batch", "Declaration", "Costs", "Stock", "Trials")


@pytest.mark.parametrize("of", [of if of in QUICK else pytest.param(of, marks=pytest.mark.long) for of in ANSWERS])
def test_an_answer_goes_along_as_data_by_its_schema(of: str, given: dict[str, str]) -> None:
    name, state, schema, part = ANSWERS[of]
    page(name, state=state)
    data = json.loads(given["json"])
    validator(schema).validate(data)
    assert data["schema"] == SCHEMA
    assert data[part]
