"""Finding ingredients by name, synonym and word."""

from pathlib import Path

import pytest

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import read_formula
from optiform.ingredients.ingredient import Evidence, Ingredient
from optiform.reading.faults import BadInput


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


@pytest.mark.parametrize("plant", ["lavender", "peppermint", "rosemary", "sweet orange", "tea tree"])
def test_an_essential_oil_is_known_by_the_short_name_it_is_sold_under(catalogue: Catalogue, plant: str) -> None:
    short, whole = catalogue.find(f"{plant} oil"), catalogue.find(f"{plant} essential oil")
    assert short is whole is not None


@pytest.mark.parametrize(
    ("name", "near"),
    [
        ("Lavander oil", "lavender essential oil"),
        ("eucalyptus oil", "eucalyptus essential oil"),  # of several species, so it is asked back
        ("lemongrass oil", "lemongrass essential oil"),
        ("orange oil", "sweet orange essential oil"),
    ],
)
def test_the_essential_oil_that_was_meant_is_offered_first(catalogue: Catalogue, name: str, near: str) -> None:
    assert catalogue.find(name) is None
    assert catalogue.near(name)[0] == near


def test_a_part_of_a_name_gets_the_names_that_hold_it(catalogue: Catalogue) -> None:
    assert set(catalogue.near("castor")) & {item.name for item in catalogue.search("castor")}


@pytest.mark.parametrize("name", ["", " ", "1", "zzzzzzzzzz"])
def test_a_name_like_nothing_gets_no_near_ones(catalogue: Catalogue, name: str) -> None:
    assert catalogue.near(name) == []
    assert catalogue.unknown(name) == "a known ingredient"


def test_a_substance_that_no_ingredient_brings_is_told_as_one(catalogue: Catalogue) -> None:
    assert catalogue.unknown("TRICLOSAN") == (
        "a known ingredient; Triclosan is a substance: give it a row in your own table, with its inci"
    )


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
    assert (row["typical"], row["unit"], row["evidence"]) == (1.26099, "g/mL", "published")
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


# -- by INCI name ------------------------------------------------------------------------------------------------------


def test_an_inci_name_that_is_found_is_taken_by_a_formula_or_asked_back(tmp_path: Path) -> None:
    catalogue, taken, asked = read_catalogue(), 0, 0
    for name in sorted({part.inci for item in catalogue.ingredients.values() for part in item.constituents}):
        assert catalogue.search(name)
        alone = catalogue.declaring(name)
        path = tmp_path / "formula.csv"
        path.write_text(f'ingredient,percent\n"{name}",40\nwater,60\n', encoding="utf-8")
        if catalogue.called(name) or len(alone) == 1:
            assert read_formula(path, catalogue).formula.lines, name
            taken += 1
        elif alone:
            with pytest.raises(BadInput) as caught:
                read_formula(path, catalogue)
            assert alone[0].name in str(caught.value)
            asked += 1
    assert (taken > 150, asked >= 5) == (True, True), (taken, asked)


@pytest.mark.parametrize("name", ["BUTYROSPERMUM PARKII BUTTER", "Butyrospermum Parkii (Shea) Butter"])
def test_a_name_that_several_declare_is_asked_back_with_them(name: str) -> None:
    catalogue = read_catalogue()
    assert catalogue.find(name) is None
    assert catalogue.near(name) == ["shea butter, refined", "shea butter, unrefined"]


def test_a_name_with_a_share_is_not_the_pure_ingredient() -> None:
    assert read_catalogue().find("Theobroma Cacao Seed Butter 50 %") is None
    found = read_catalogue().find("Theobroma Cacao (Cocoa) Seed Butter")
    assert found is not None
    assert found.name == "cocoa butter"


@pytest.mark.parametrize(
    ("asked", "name"), [("emulsifying wax", "emulsifying wax NF"), ("DMDM hydantoin", "DMDM hydantoin, 55 %")]
)
def test_a_near_name_is_spelt_as_it_is_listed(asked: str, name: str) -> None:
    assert name in read_catalogue().near(asked)
