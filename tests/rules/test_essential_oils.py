"""What an essential oil usually brings is a question to its supplier, asked where a label would have to name it."""

import datetime
from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.reading.tables import shipped
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.allergens import allergens
from optiform.rules.essential_oils import typical_allergens
from optiform.rules.law import Scope

KNOWN = read_catalogue().ingredients
ORANGE = KNOWN["sweet orange essential oil"]


def asked(oil: Ingredient, percent: float, market: str = "EU", use: str = "leave-on") -> list[str]:
    lines = Line(KNOWN["sweet almond oil"], 1 - percent / 100, "oil phase"), Line(oil, percent / 100, "cool-down")
    scope = Scope(use, "body", (market,), datetime.date(2026, 11, 26))
    warnings = report(Formula("test", lines), Setting(scope=scope)).warnings
    return [x.text for x in warnings if x.rule == "essential-oil-allergens"]


def test_what_an_oil_usually_brings_is_told_in_percent_of_the_jar() -> None:
    (words,) = asked(ORANGE, 0.5)
    assert "usually brings Limonene 0.46 to 0.48 %" in words
    assert "% of the jar (read)" in words
    assert "from memory" in asked(KNOWN["lemongrass essential oil"], 0.5)[0]
    assert "ask its supplier for the allergen list" in words


@pytest.mark.parametrize(("percent", "market"), [(0.0005, "EU"), (0.5, "US")])
def test_nothing_is_asked_below_the_threshold_or_where_no_market_wants_names(percent: float, market: str) -> None:
    assert asked(ORANGE, percent, market) == []


def test_a_supplier_s_list_ends_the_question() -> None:
    value = Value(None, 95.0, None, "%", "own file", Evidence.OWN)
    listed = replace(ORANGE, values={**ORANGE.values, ("allergen limonene", None): value})
    assert typical_allergens(listed) == ()
    assert asked(listed, 0.5) == []


def test_every_row_is_of_an_oil_and_an_entry_we_have() -> None:
    names = {part.inci for item in KNOWN.values() for part in item.constituents}
    entries = {entry.name for entry in allergens()}
    for row in shipped("essential_oils"):
        assert row["of"] in names
        assert row["allergen"] in entries
        assert 0 < float(row["low"]) <= float(row["high"]) <= 100
