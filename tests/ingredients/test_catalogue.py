"""Finding ingredients by name, synonym and word."""

import pytest

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.ingredient import Evidence, Ingredient


@pytest.fixture(scope="module")
def catalogue() -> Catalogue:
    return read_catalogue()


@pytest.mark.parametrize("name", ["glycerin", "Glycerin", " GLYCERIN ", "glycerol", "Vegetable Glycerin", "glycerine"])
def test_a_name_or_synonym_is_found_whatever_its_case(catalogue: Catalogue, name: str) -> None:
    found = catalogue.find(name)
    assert found is not None
    assert found.name == "glycerin"


def test_every_shipped_synonym_leads_to_its_ingredient(catalogue: Catalogue) -> None:
    astray = [
        (word, item.name)
        for item in catalogue.ingredients.values()
        for word in (item.name, *item.synonyms)
        if catalogue.find(word) is not item
    ]
    assert astray == []


@pytest.mark.parametrize(
    ("name", "near"), [("glycerrin", "glycerin"), ("shea buter, refined", "shea butter, refined"), ("watr", "water")]
)
def test_an_unknown_name_is_never_guessed_but_gets_near_ones(catalogue: Catalogue, name: str, near: str) -> None:
    assert catalogue.find(name) is None
    assert near in catalogue.near(name)
    assert catalogue.unknown(name).startswith("a known ingredient; near: ")


def test_a_part_of_a_name_gets_the_names_that_hold_it(catalogue: Catalogue) -> None:
    assert set(catalogue.near("castor")) & {item.name for item in catalogue.search("castor")}


@pytest.mark.parametrize("name", ["", " ", "1", "zzzzzzzzzz"])
def test_a_name_like_nothing_gets_no_near_ones(catalogue: Catalogue, name: str) -> None:
    assert catalogue.near(name) == []
    assert catalogue.unknown(name) == "a known ingredient"


def test_search_wants_every_word_wherever_it_stands(catalogue: Catalogue) -> None:
    butters = {item.name for item in catalogue.search("butter oil phase")}
    assert {"cocoa butter", "shea butter, refined"} <= butters
    assert [item.name for item in catalogue.search("Tetrasodium Glutamate")] == [
        "tetrasodium glutamate diacetate, 40 %"
    ], "a constituent's name counts"
    assert catalogue.search("butter surely-not-there") == []
    assert len(catalogue.search("")) == len(catalogue.ingredients)


def test_the_table_has_every_figure_and_a_missing_one_stays_missing(catalogue: Catalogue) -> None:
    table = catalogue.table()
    assert len(table) == sum(len(item.values) for item in catalogue.ingredients.values())
    row = table[(table["ingredient"] == "glycerin") & (table["property"] == "density")].iloc[0]
    assert (row["typical"], row["unit"], row["evidence"]) == (1.2607, "g/mL", "recalled")
    assert table["typical"].isna().any(), "a figure that is not known is not zero"


def test_a_figure_names_a_source_that_is_there(catalogue: Catalogue) -> None:
    lost = {
        value.source
        for item in catalogue.ingredients.values()
        for value in item.values.values()
        if value.source not in catalogue.sources
    }
    assert lost == set()


def test_what_is_missing_is_none_and_never_zero() -> None:
    assert Ingredient("nothing known", ("oil",), "oil phase").value("iodine value") is None


def test_the_weakest_evidence_wins() -> None:
    assert Evidence.weakest([Evidence.PUBLISHED, Evidence.RECALLED, Evidence.OWN]) is Evidence.RECALLED
    assert Evidence.weakest([Evidence.PUBLISHED, Evidence.PRACTICE]) is Evidence.PRACTICE
    assert Evidence.weakest([]) is Evidence.OWN
