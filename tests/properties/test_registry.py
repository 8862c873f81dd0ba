"""From words to properties: temperatures, near names, own columns, cost."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.base import Mix, Property, fractions
from optiform.properties.registry import AT_TEMPERATURE, PLAIN, find_property, own_columns
from optiform.review.measures import measure
from tests.builders import ingredient
from tests.every import every

GREEN = ingredient("green", 4, "oil", {"carbon": 2.5, "iodine value": 90})
GREY = ingredient("grey", 6, "butter", {"carbon": -1.0})
BARE = ingredient("bare", 8, "oil")


def formula(*lines: tuple[Ingredient, float]) -> Formula:
    return Formula("f", tuple(Line(item, share, item.phase) for item, share in lines))


@pytest.mark.parametrize(
    "words",
    [
        "solid fat at 10 degC",
        "Solid Fat  at 10 DEGC",
        "solid fat at 10 °C",
        "solid fat at 10 C",
        "solid fat at 10",
        "solid fat at 10.0 degC",
        "solid fat at 50 degF",
        "solid fat at 50 °F",
        "solid fat at 50 F",
    ],
)
def test_a_temperature_however_it_is_written(words: str) -> None:
    assert find_property(words, "EUR").name == "solid fat at 10 degC"


def test_fahrenheit_means_the_same_model() -> None:
    fat = ingredient("fat", 9, "butter", curve={10: 60, 20: 40})
    found = formula((fat, 1.0))
    assert find_property("solid fat at 59 degF", "EUR").of(found) == pytest.approx(50)
    assert find_property("solid fat at 15 degC", "EUR").of(found) == pytest.approx(50)


@pytest.mark.parametrize("words", ["solid fat at noon", "solid fat at 5 kg", "solid fat at 1,234 degC", "solid fat at"])
def test_a_temperature_that_is_none_is_refused(words: str) -> None:
    with pytest.raises(ValueError, match=r"degC|a number|a property"):
        find_property(words, "EUR")


@every("words", [*PLAIN, *(f"{name} at 20 degC" for name in AT_TEMPERATURE), "cost", "oil phase"])
def test_every_property_answers_to_the_name_it_bears(words: str) -> None:
    found = find_property(words, "EUR")
    assert found.name == words
    assert find_property(words.upper(), "EUR").name == words
    assert found.unit
    assert found.basis


@pytest.mark.parametrize(
    ("words", "near"),
    [
        ("oil fase", "oil phase"),
        ("iodine valu", "iodine value"),
        ("carbn", "carbon"),
        ("solid fat", "solid fat at 20 degC"),
    ],
)
def test_an_unknown_name_gets_near_ones(words: str, near: str) -> None:
    with pytest.raises(ValueError, match=f"near: .*{near}"):
        find_property(words, "EUR", [GREEN])


def test_a_name_like_nothing_gets_the_list() -> None:
    with pytest.raises(ValueError, match="a property: `optiform guide words` lists them"):
        find_property("qqqqqqqqqqqq", "EUR")


def outcome(words: str) -> Property | str:
    """The property, or the words of the refusal; anything else is a crash."""
    try:
        return find_property(words, "EUR", [GREEN])
    except ValueError as error:
        return str(error)


@given(st.one_of(st.text(max_size=30), st.text(max_size=12).map("solid fat at {}".format)))
def test_any_words_whatever_are_a_property_or_a_refusal(words: str) -> None:
    found = outcome(words)
    assert isinstance(found, Property) or found.strip()


# -- own columns -------------------------------------------------------------------------------------------------------


def test_an_own_column_is_an_amount_in_the_whole() -> None:
    # 0.4 * 2.5 - 0.6 * 1.0
    found = formula((GREEN, 0.4), (GREY, 0.6))
    assert find_property("Carbon", "EUR", [GREEN, GREY]).of(found) == pytest.approx(0.4)


def test_an_own_column_needs_every_ingredient_in_use() -> None:
    found = formula((GREEN, 0.4), (BARE, 0.6))
    told = measure(find_property("carbon", "EUR", [GREEN, BARE]), Mix.of(found), fractions(found))
    assert told.value is None
    assert told.lacking == ("bare",)
    assert find_property("carbon", "EUR", [GREEN]).of(formula((GREEN, 1.0))) == 2.5


def test_stored_properties_are_no_own_columns() -> None:
    assert own_columns([GREEN, GREY, BARE]) == {"carbon": "-"}


def test_an_own_column_unknown_to_these_ingredients_is_refused() -> None:
    with pytest.raises(ValueError, match="a property"):
        find_property("carbon", "EUR", [BARE])


# -- cost --------------------------------------------------------------------------------------------------------------


def test_cost_is_the_sum_of_price_times_share() -> None:
    # 0.25 * 4 + 0.75 * 8
    found = formula((GREEN, 0.25), (BARE, 0.75))
    assert find_property("cost", "EUR").of(found) == pytest.approx(7)
    assert find_property("cost", "EUR").unit == "EUR/kg"


def test_a_price_in_another_currency_is_missing_and_named() -> None:
    found = formula((GREEN, 0.25), (BARE, 0.75))
    told = measure(find_property("cost", "GBP"), Mix.of(found), fractions(found))
    assert told.value is None
    assert told.lacking == ("green", "bare")


# -- terms -------------------------------------------------------------------------------------------------------------


def test_a_span_runs_from_all_low_to_all_high_and_the_weakest_evidence_counts() -> None:
    def oil(name: str, low: float, high: float, evidence: Evidence) -> Ingredient:
        value = Value(low, None, high, "g I2/100 g", "made up", evidence)
        return Ingredient(name, ("oil",), "oil phase", values={("iodine value", None): value})

    found = formula((oil("a", 80, 90, Evidence.PUBLISHED), 0.5), (oil("b", 100, 120, Evidence.PRACTICE), 0.5))
    told = measure(find_property("iodine value", "EUR"), Mix.of(found), fractions(found))
    assert told.value == pytest.approx(97.5)
    assert told.span == pytest.approx((90, 105))
    assert told.evidence is Evidence.PRACTICE
