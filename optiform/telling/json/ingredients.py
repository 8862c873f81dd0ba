"""What is known of ingredients and of names, as plain data."""

from collections.abc import Iterable

from optiform.ingredients.ingredient import Ingredient
from optiform.ingredients.names import Resolved
from optiform.telling.json.basic import value_keys
from optiform.telling.json.form import Data, answer, many, number, record, text, texts, truth

_PART = record(text("inci"), text("cas"), *value_keys("share"))
_VALUE = record(
    text("property", lambda row: row[0][0]), number("temperature", lambda row: row[0][1], "°C", null=True),
    *value_keys(lambda row: row[1]),
)  # fmt: skip
_ACID = record(text("fatty_acid", lambda row: row[0]), *value_keys(lambda row: row[1]))
_PAPER = record(text("condition", lambda row: row[0]), text("statement", lambda row: row[1]))
_INGREDIENT = record(
    text("name"), text("inci"), texts("synonyms"), texts("functions"), text("phase"), texts("origin"), text("note"),
    many("constituents", _PART), many("values", _VALUE, lambda item: item.values.items()),
    many("fatty_acids", _ACID, lambda item: item.fatty_acids.items()),
    many("supplier_statements", _PAPER, lambda item: item.statements.items()),
)  # fmt: skip
INGREDIENTS = answer(["listed"], many("ingredients", _INGREDIENT, lambda of: of))
NAMES = answer(
    ["resolved"],
    many("names", record(text("name"), text("inci", null=True), truth("certain"), texts("near")), lambda of: of),
)


def ingredients(of: Iterable[Ingredient]) -> Data:
    """Everything known of each ingredient."""
    return INGREDIENTS.said(of)


def names(of: Iterable[Resolved]) -> Data:
    """What each name means: `inci` is taken where `certain`, else only offered; `near` is what to ask back."""
    return NAMES.said(of)
