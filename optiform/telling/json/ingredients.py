"""Ingredients, and what names mean, as plain data."""

from collections.abc import Iterable

from optiform.ingredients.ingredient import Ingredient
from optiform.ingredients.names import Resolved
from optiform.reading.plain import answered
from optiform.telling.json.basic import Data, value


def ingredients(of: Iterable[Ingredient]) -> Data:
    """Everything known of each ingredient."""
    return answered("listed", ingredients=[_ingredient(item) for item in of])


def _ingredient(item: Ingredient) -> Data:
    return {
        "name": item.name,
        "inci": item.inci,
        "synonyms": list(item.synonyms),
        "functions": list(item.functions),
        "phase": item.phase,
        "origin": list(item.origin),
        "note": item.note,
        "constituents": [{"inci": part.inci, "cas": part.cas, **value(part.share)} for part in item.constituents],
        "values": [{"property": name, "temperature": at, **value(of)} for (name, at), of in item.values.items()],
        "fatty_acids": [{"fatty_acid": acid, **value(of)} for acid, of in item.fatty_acids.items()],
    }


def names(of: Iterable[Resolved]) -> Data:
    """What each name means: `inci` is taken where `certain`, else only offered; `near` is what to ask back."""
    return answered("resolved", names=[_name(meaning) for meaning in of])


def _name(of: Resolved) -> Data:
    return {"name": of.name, "inci": of.inci, "certain": of.certain, "near": list(of.near)}
