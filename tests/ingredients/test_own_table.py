"""The maker's own table: prices, packs, stock, own ingredients, own columns, own figures."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Evidence, Ingredient, Value
from optiform.properties.oil_phase import mean_iodine_value
from optiform.properties.registry import find_property, own_columns
from optiform.reading.faults import BadInput, Fault


def own(folder: Path, text: str, name: str = "own.csv") -> Catalogue:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_catalogue([path])


def item(folder: Path, text: str, name: str = "glycerin") -> Ingredient:
    found = own(folder, text).find(name)
    assert found is not None
    return found


def figure(found: Ingredient, name: str, at: float | None = None) -> tuple[float, str]:
    value = found.value(name, at)
    assert value is not None, f"{found.name} has no {name}"
    return value.figure, value.unit


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(BadInput) as caught:
        own(folder, text)
    return [f"{fault.place}: read {fault.read}, expected {fault.expected}" for fault in caught.value.faults]


# -- prices ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "cell", "price", "unit"),
    [
        ("price", "4.20 EUR/kg", 4.2, "EUR/kg"),
        ("price", "4.20 EUR", 4.2, "EUR/kg"),
        ("price (EUR/kg)", "4.20", 4.2, "EUR/kg"),
        ("price (gbp/kg)", "3", 3.0, "GBP/kg"),
        ("price (EUR/g)", "0.05", 50.0, "EUR/kg"),
        ("price", "2 USD/lb", 2 / 0.45359237, "USD/kg"),
        ("price", "4 USD per lb", 4 / 0.45359237, "USD/kg"),
        ("price", "€4.20 per kg", 4.2, "EUR/kg"),
        ("price", "4 THB per kg", 4.0, "THB/kg"),
        ("price (EUR per g)", "0.05", 50.0, "EUR/kg"),
        ("price EUR per g", "0.05", 50.0, "EUR/kg"),
        ("price (EUR)", "0.05 per g", 50.0, "EUR/kg"),
        ("price (EUR/kg)", "5 GBP/kg", 5.0, "GBP/kg"),  # the cell knows better than its header
        ("price", "0 EUR", 0.0, "EUR/kg"),
    ],
)
def test_a_price_by_mass_with_its_currency_in_cell_or_header(
    tmp_path: Path, header: str, cell: str, price: float, unit: str
) -> None:
    found = item(tmp_path, f"ingredient,{header}\nglycerin,{cell}\n")
    price_read, unit_read = figure(found, "price")
    assert price_read == pytest.approx(price)
    assert unit_read == unit


def test_a_price_with_a_decimal_comma(tmp_path: Path) -> None:
    assert figure(item(tmp_path, "ingredient;price (EUR/kg)\nglycerin;4,25\n"), "price") == (4.25, "EUR/kg")


@pytest.mark.parametrize(
    ("headers", "cells", "price"),
    [
        ("pack price (EUR),pack (kg)", "21,5", 4.2),
        ("pack price (EUR),pack (g)", "6,500", 12.0),
        ("pack price,pack", "6 EUR,500 g", 12.0),
        ("pack price,pack", "6 EUR,0.5", 12.0),
    ],
)
def test_a_pack_by_mass(tmp_path: Path, headers: str, cells: str, price: float) -> None:
    found = item(tmp_path, f"ingredient,{headers}\nglycerin,{cells}\n")
    price_read, unit_read = figure(found, "price")
    assert price_read == pytest.approx(price)
    assert unit_read == "EUR/kg"


def test_a_pack_by_volume_is_weighed_through_the_shipped_density(tmp_path: Path) -> None:
    # glycerin: 1.26099 g/mL, so 2 L weigh 2.52198 kg and 12.6099 EUR make 5 EUR/kg
    found = item(tmp_path, "ingredient,pack price,pack\nglycerin,12.6099 EUR,2 L\n")
    price_read, unit_read = figure(found, "price")
    assert price_read == pytest.approx(5.0)
    assert unit_read == "EUR/kg"


@pytest.mark.parametrize("header", ["density", "density (g/mL)", "density at 20 degC", "density at 68 degF"])
def test_a_pack_by_volume_is_weighed_through_the_makers_own_density(tmp_path: Path, header: str) -> None:
    found = item(tmp_path, f"ingredient,pack price,pack,{header}\nglycerin,12 EUR,2000 ml,1.2\n")
    price_read, unit_read = figure(found, "price")
    assert price_read == pytest.approx(5.0)
    assert unit_read == "EUR/kg"


def test_a_pack_by_volume_is_weighed_through_the_density_nearest_to_20_degc(tmp_path: Path) -> None:
    columns = "density at 80 degC,density at 25 degC,density at 5 degC"
    found = item(tmp_path, f"ingredient,pack price,pack,{columns}\nglycerin,12 EUR,2 L,1.0,1.2,1.5\n")
    assert figure(found, "price")[0] == pytest.approx(5.0)
    assert found.density is not None
    assert found.density.figure == 1.2


def test_an_own_price_per_kg_goes_before_the_price_of_a_pack(tmp_path: Path) -> None:
    found = item(tmp_path, "ingredient,price,pack price,pack\nglycerin,7 EUR,21 EUR,5 kg\n")
    assert figure(found, "price") == (7.0, "EUR/kg")


@pytest.mark.parametrize(
    ("header", "cell", "expected"),
    [
        ("price", "4.20", "its currency"),
        ("price", "cheap", "a price such as 4.20 EUR/kg"),
        ("price", "-1 EUR", "zero or more"),
        ("price", "4.20 EUR/L", "kg, not in 'L'"),
        ("price", "4.20 EURO", "a price such as"),
        ("price", '"1,234 EUR"', "decimal comma"),
        ("price", "4 to 5 EUR", "a price such as"),
    ],
)
def test_a_price_that_cannot_be_used_is_refused(tmp_path: Path, header: str, cell: str, expected: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,{header}\nglycerin,{cell}\n")
    assert told.startswith(f"row 2, column {header}: read ")
    assert expected in told


@pytest.mark.parametrize(
    ("pack", "expected"),
    [
        ("", "row 2, column pack: read nothing, expected the size of the pack, for instance 5 kg"),
        ("0 kg", "row 2, column pack: read 0.0, expected a pack of more than nothing"),
        ("-2 kg", "row 2, column pack: read -2.0, expected a pack of more than nothing"),
    ],
)
def test_a_pack_price_needs_a_pack(tmp_path: Path, pack: str, expected: str) -> None:
    assert faults(tmp_path, f"ingredient,pack price,pack\nglycerin,6 EUR,{pack}\n") == [expected]


def test_a_pack_by_volume_without_any_density_is_refused(tmp_path: Path) -> None:
    text = "ingredient,phase,functions,pack price,pack\nmystery juice,water phase,active,6 EUR,1 L\n"
    (told,) = faults(tmp_path, text)
    assert told.startswith("row 2: read 'mystery juice'")
    assert "a column density" in told


def test_a_density_of_nothing_is_refused(tmp_path: Path) -> None:
    text = "ingredient,pack price,pack,density\nglycerin,6 EUR,1 L,0\n"
    assert faults(tmp_path, text) == ["row 2, column density: read '0', expected a density above zero"]


# -- figures -----------------------------------------------------------------------------------------------------------


def test_an_own_figure_goes_before_the_shipped_one_and_says_whose_it_is(tmp_path: Path) -> None:
    shipped = read_catalogue().ingredients["shea butter, refined"].value("iodine value")
    found = item(tmp_path, 'ingredient,iodine value\n"shea butter, refined",61\n', "shea butter, refined")
    assert shipped is not None
    assert shipped.figure != 61
    assert found.value("iodine value") == Value(None, 61.0, None, "g I2/100 g", "own.csv", Evidence.OWN)


def test_what_an_own_row_does_not_say_stays_as_shipped(tmp_path: Path) -> None:
    before = read_catalogue().ingredients["shea butter, refined"]
    after = item(tmp_path, 'ingredient,iodine value\n"shea butter, refined",61\n', "shea butter, refined")
    assert {**after.values, ("iodine value", None): before.values["iodine value", None]} == before.values
    assert (after.phase, after.functions, after.constituents) == (before.phase, before.functions, before.constituents)


def test_a_range_keeps_its_ends_and_counts_at_its_middle(tmp_path: Path) -> None:
    value = item(tmp_path, "ingredient,humectant active\nglycerin,18 to 22 %\n").value("humectant active")
    assert value is not None
    assert (value.low, value.typical, value.high, value.figure) == (18, None, 22, 20)


@pytest.mark.parametrize("cell", ["22 to 18", "1 to 2 to 3"])
def test_a_range_the_wrong_way_round_is_refused(tmp_path: Path, cell: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,humectant active\nglycerin,{cell}\n")
    assert told.endswith("expected one number, or a range such as 18 to 22")


def test_solid_fat_at_a_temperature_in_either_scale(tmp_path: Path) -> None:
    text = 'ingredient,solid fat at 68 degF,solid fat at 35 °C\n"shea butter, refined",51,2\n'
    found = item(tmp_path, text, "shea butter, refined")
    assert figure(found, "solid fat", 20.0) == (51.0, "%")
    assert figure(found, "solid fat", 35.0) == (2.0, "%")


@pytest.mark.parametrize(
    ("header", "expected"),
    [
        ("solid fat", "a temperature in the header: solid fat at 20 degC"),
        ("iodine value at 20 degC", "iodine value without a temperature"),
    ],
)
def test_a_figure_that_no_model_would_use_is_refused_not_kept_back(tmp_path: Path, header: str, expected: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,{header}\nglycerin,5\n")
    assert told == f"row 2, column {header.lower()}: read '5', expected {expected}"


@pytest.mark.parametrize(
    ("header", "cell"),
    [
        ("water", "250 %"),
        ("water", "-1"),
        ("iodine value", "-3"),
        ("stock", "-2 kg"),
        ("solid fat at 20 degC", "101"),
        ("maximum use", "-1"),
        ("certificate maximum 9", "120"),
    ],
)
def test_a_figure_that_cannot_be_is_refused(tmp_path: Path, header: str, cell: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,{header}\nglycerin,{cell}\n")
    assert f"read {cell!r}" in told


def test_the_maximum_use_of_a_range_is_its_upper_end(tmp_path: Path) -> None:
    assert figure(item(tmp_path, "ingredient,maximum use\nglycerin,5 to 8\n"), "maximum use") == (8.0, "%")


def test_the_same_figure_in_two_columns_is_refused(tmp_path: Path) -> None:
    (told,) = faults(tmp_path, "ingredient,stock,stock (kg)\nglycerin,2,3\n")
    assert told == "row 2, column stock (kg): read '3', expected stock in one column only"


def test_own_columns_become_properties_with_their_unit(tmp_path: Path) -> None:
    text = "ingredient,carbon footprint (kg/kg),drag at 20 degC\nglycerin,1.9,3\nwater,0.1,\n"
    catalogue = own(tmp_path, text)
    columns = own_columns(catalogue.ingredients.values())
    assert columns == {"carbon footprint": "kg/kg", "drag at 20 degc": ""}
    assert find_property("Drag at 20 degC", "EUR", catalogue.ingredients.values()).name == "drag at 20 degc"


def test_a_word_in_a_column_of_numbers_is_refused(tmp_path: Path) -> None:
    assert faults(tmp_path, "ingredient,slip\nglycerin,high\n") == [
        "row 2, column slip: read 'high', expected a number"
    ]


# -- ingredients -------------------------------------------------------------------------------------------------------


def test_a_new_ingredient_with_all_it_declares(tmp_path: Path) -> None:
    text = (
        "ingredient,synonyms,phase,functions,inci,iodine value,note\n"
        "camelina oil,gold of pleasure oil;false flax oil,Oil Phase,oil; active,"
        "Camelina Sativa Seed Oil 99.5 %; Tocopherol 0.5,150,cold pressed\n"
    )
    catalogue = own(tmp_path, text)
    found = catalogue.find("False Flax  oil")
    assert found is not None
    assert (found.name, found.phase, found.functions) == ("camelina oil", "oil phase", ("oil", "active"))
    assert [(part.inci, part.share.figure) for part in found.constituents] == [
        ("Camelina Sativa Seed Oil", 99.5),
        ("Tocopherol", 0.5),
    ]
    assert {part.share.evidence for part in found.constituents} == {Evidence.OWN}
    assert found.inci == "Camelina Sativa Seed Oil, Tocopherol"
    assert found.note == "cold pressed"
    assert figure(found, "iodine value")[0] == 150
    assert mean_iodine_value().of(Formula("alone", (Line(found, 1.0, found.phase),))) == 150
    assert catalogue.sources["own.csv"].title == "the maker's own file own.csv"
    assert "camelina oil" in catalogue.owned


@pytest.mark.parametrize("inci", ["Polysorbate 20", "CI 77491", "Parfum"])
def test_one_name_is_all_of_it_whatever_number_ends_the_name(tmp_path: Path, inci: str) -> None:
    found = item(tmp_path, f"ingredient,inci\nglycerin,{inci}\n")
    assert [(part.inci, part.share.figure) for part in found.constituents] == [(inci, 100.0)]


@pytest.mark.parametrize(
    ("inci", "expected"),
    [
        ("Aqua 70; Glycerin 20", "shares that sum to 100 (they sum to 90)"),
        ("Aqua; Glycerin", "a share in % after each name"),
        ("Aqua 70; Glycerin", "a share in % after each name"),
        ("Aqua 130; Glycerin -30", "a share in % after each name"),
        ("Aqua 1,234; Glycerin 5", "decimal comma"),
        ("Aqua 70 %", "shares that sum to 100 (they sum to 70)"),
    ],
)
def test_a_declaration_that_does_not_add_up_is_refused_not_guessed(tmp_path: Path, inci: str, expected: str) -> None:
    told = faults(tmp_path, f'ingredient;inci\nglycerin;"{inci}"\n')
    assert expected in told[0]
    assert any("sum to 100" in one for one in told) == ("sum to 100" in expected), "no sum of what was not read"


def test_a_new_ingredient_needs_a_phase_and_a_function_and_is_never_guessed(tmp_path: Path) -> None:
    (told,) = faults(tmp_path, "ingredient,price\nglycerrin,4 EUR\n")
    assert told.startswith("row 2: read 'glycerrin', expected a known ingredient; near: ")
    assert "glycerin" in told
    assert told.endswith("a new ingredient also needs the columns phase and functions")


def test_a_synonym_finds_the_shipped_ingredient(tmp_path: Path) -> None:
    catalogue = own(tmp_path, "ingredient,price\nVegetable  Glycerin,4 EUR\n")
    assert catalogue.owned == {"glycerin"}
    assert figure(catalogue.ingredients["glycerin"], "price") == (4.0, "EUR/kg")


@pytest.mark.parametrize("again", ["glycerin", "GLYCERIN", "glycerine"])
def test_the_same_ingredient_twice_is_refused_also_under_a_synonym(tmp_path: Path, again: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,price\nglycerin,4 EUR\n{again},5 EUR\n")
    assert told.startswith("row 3")
    assert told.endswith("once; also in row 2")


def test_a_later_file_goes_before_an_earlier_one(tmp_path: Path) -> None:
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_text("ingredient,price,stock\nglycerin,4 EUR,2\n")
    second.write_text("ingredient,price\nglycerin,5 EUR\n")
    found = read_catalogue([first, second]).ingredients["glycerin"]
    assert figure(found, "price")[0] == 5
    assert figure(found, "stock") == (2.0, "kg")


def test_every_fault_of_every_file_is_told_at_once(tmp_path: Path) -> None:
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_text(
        "ingredient,phase,functions,price,water,inci\n"
        "glycerin,hot phase,sweetener,4,150,Aqua 50; Glycerin 40\n"
        ",,,5 EUR,,\n"
        "water,,,5 EUR/L,x,\n"
        "water,,,5 EUR,,\n"
    )
    second.write_text("price\n5\n")
    with pytest.raises(BadInput) as caught:
        read_catalogue([first, second, tmp_path / "third.csv"])
    places = [(Path(fault.file).name, fault.place) for fault in caught.value.faults]
    assert sorted(places) == sorted(
        [
            ("first.csv", "row 2, column price"),
            ("first.csv", "row 2, column water"),
            ("first.csv", "row 2, column phase"),
            ("first.csv", "row 2, column functions"),
            ("first.csv", "row 2, column inci"),
            ("first.csv", "row 3, column ingredient"),
            ("first.csv", "row 4, column price"),
            ("first.csv", "row 4, column water"),
            ("first.csv", "row 5, column ingredient"),
            ("second.csv", "header"),
            ("third.csv", "file"),
        ]
    )


HEADERS = st.sampled_from(
    ["price", "pack price", "pack", "pack (L)", "stock", "inci", "phase", "density", "solid fat at 20 degC", "x (kg)"]
)
CELLS = st.one_of(
    st.sampled_from(["", "5", "4,2", "1 to 2", "0", "-1", "5 EUR", "5 EUR/kg", "2 L", "oil phase", "Aqua", "Aqua 100"]),
    st.text("0123456789.,-/% EURkgLto;", max_size=12),
    st.text(max_size=8),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(columns=st.dictionaries(HEADERS, CELLS, min_size=1, max_size=5))
def test_any_cells_whatever_give_figures_or_faults(tmp_path: Path, columns: dict[str, str]) -> None:
    quoted = ['"' + text.replace('"', '""') + '"' for text in ["glycerin", *columns.values()]]
    text = ",".join(["ingredient", *columns]) + "\n" + ",".join(quoted) + "\n"
    catalogue, told = outcome(tmp_path, text)
    assert (catalogue is None) == bool(told)
    if catalogue is not None:
        assert all(isinstance(value.figure, float) for value in catalogue.ingredients["glycerin"].values.values())


def outcome(folder: Path, text: str) -> tuple[Catalogue | None, tuple[Fault, ...]]:
    """The catalogue, or the faults; anything else is a crash."""
    try:
        return own(folder, text), ()
    except BadInput as bad:
        return None, bad.faults


def test_a_new_ingredient_without_phase_is_told_together_with_bad_cells(tmp_path: Path) -> None:
    told = faults(tmp_path, "ingredient,price,pack price\nmoon dust,4,\nglycerin,5,9 EUR\n")
    assert [each.split(":")[0] for each in told] == [
        "row 2, column price",
        "row 3, column price",
        "row 3, column pack",
        "row 2",
    ]
    assert "phase and functions" in told[-1]


# -- allergens of a fragrance ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "cell", "share"),
    [
        ("allergen limonene (%)", "4.2", 4.2),
        ("allergen limonene", "4,2", 4.2),
        ("allergen limonene (ppm)", "250", 0.025),
        ("allergen limonene (%)", "250 ppm", 0.025),
        ("Allergen  D-Limonene (%)", "4.2 %", 4.2),
        ("allergen limonene (%)", "0", 0.0),
    ],
)
def test_the_share_of_an_allergen(tmp_path: Path, header: str, cell: str, share: float) -> None:
    found = item(tmp_path, f"ingredient;{header}\nfragrance oil;{cell}\n", "fragrance oil")
    name = "allergen d-limonene" if "D-" in header else "allergen limonene"
    assert figure(found, name)[0] == pytest.approx(share)
    assert figure(found, name)[1] == "%"
    assert own_columns([found]) == {}


def test_the_share_of_an_allergen_may_be_a_range(tmp_path: Path) -> None:
    found = item(tmp_path, "ingredient,allergen coumarin (%)\nfragrance oil,0.8 to 1.2\n", "fragrance oil")
    value = found.value("allergen coumarin")
    assert value is not None
    assert (value.least, value.most) == (0.8, 1.2)


@pytest.mark.parametrize(
    ("header", "cell", "expected"),
    [
        ("allergen limonen (%)", "4", "near: limonene"),
        ("allergen limonene (%)", "104", "0 to 100 %"),
        ("allergen limonene (%)", "-1", "0 to 100 %"),
        ("allergen limonene (%)", "4 to 2", "a range"),
        ("allergen limonene (g)", "4", "a quantity in %"),
        ("allergen limonene (%)", "some", "%"),
    ],
)
def test_a_share_that_cannot_be(tmp_path: Path, header: str, cell: str, expected: str) -> None:
    (told,) = faults(tmp_path, f"ingredient;{header}\nfragrance oil;{cell}\n")
    assert expected in told


@pytest.mark.parametrize("column", ["How much", "How many", "quantity", "stok"])
def test_a_column_by_another_word_is_one_fault_whatever_its_rows_hold(tmp_path: Path, column: str) -> None:
    (told,) = faults(tmp_path, f"ingredient,{column}\nglycerin,20 lb\nwater,3 lb\n")
    assert told.startswith("header: read ")
    assert "expected 'stock'" in told


def test_a_synonym_of_one_own_file_is_known_to_the_next(tmp_path: Path) -> None:
    first, second = tmp_path / "first.csv", tmp_path / "second.csv"
    first.write_text("ingredient,synonyms,phase,functions\nquillmere blend,the blend,oil phase,oil\n")
    second.write_text("ingredient,price\nThe Blend,5 EUR\n")
    catalogue = read_catalogue([first, second])
    assert "the blend" not in catalogue.ingredients
    assert figure(catalogue.ingredients["quillmere blend"], "price") == (5.0, "EUR/kg")


def test_an_origin_is_read_and_kept_where_none_is_given(tmp_path: Path) -> None:
    head = "ingredient,phase,functions,origin\n"
    assert item(tmp_path, head + "tallow,oil phase,butter,Animal; palm\n", "tallow").origin == ("animal", "palm")
    assert item(tmp_path, head + "beeswax,,,\n", "beeswax").origin == ("animal",)
    (told,) = faults(tmp_path, head + "tallow,oil phase,butter,cow\n")
    assert told.startswith("row 2, column origin: read 'cow', expected any of: plant, animal")


# -- names of substances ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("inci", "expected"),
    [
        ("PHENOXYETHANOL", [("Phenoxyethanol", 100.0)]),
        ("Phenoxyethanol 100", [("Phenoxyethanol", 100.0)]),
        ("Polyquaternium-10 100", [("Polyquaternium-10", 100.0)]),  # no name of the tables: the number is its share
        ("phenoxyethanol 70 %; Water (Aqua) 30 %", [("Phenoxyethanol", 70.0), ("Aqua", 30.0)]),
        ("Polysorbate 20 80; Aqua 20", [("Polysorbate 20", 80.0), ("Aqua", 20.0)]),
        ("56-81-5", [("Glycerin", 100.0)]),
        ("Moon  Dust", [("Moon Dust", 100.0)]),
        ("E415", [("E415", 100.0)]),  # from memory: as written, so that it is asked back
    ],
)
def test_a_declared_name_is_read_however_it_is_spelled(
    tmp_path: Path, inci: str, expected: list[tuple[str, float]]
) -> None:
    found = item(tmp_path, f'ingredient,inci\nglycerin,"{inci}"\n')
    assert [(part.inci, part.share.figure) for part in found.constituents] == expected


@pytest.mark.parametrize(
    "inci",
    [
        "Phenoxyethanol (and) Ethylhexylglycerin",
        "Phenoxyethanol, Ethylhexylglycerin",
        "Phenoxyethanol / Ethylhexylglycerin",
        "phenoxyethanol + ethylhexylglycerin",
    ],
)
def test_a_blend_without_shares_is_asked_for_them(tmp_path: Path, inci: str) -> None:
    """Taken for one unknown name it would have switched the law on both off."""
    (told,) = faults(tmp_path, f'ingredient,inci\nglycerin,"{inci}"\n')
    assert "a share in % after each name: Phenoxyethanol ...; Ethylhexylglycerin ..." in told


@pytest.mark.parametrize("header", ["allergen LINALOOL (%)", "allergen d limonene (%)"])
def test_an_allergen_column_is_read_however_its_name_is_spelled(tmp_path: Path, header: str) -> None:
    name = "allergen d-limonene" if "limonene" in header else "allergen linalool"
    assert figure(item(tmp_path, f"ingredient,{header}\nglycerin,2\n"), name) == (2.0, "%")


def test_a_row_under_an_inci_name_is_the_ingredient_that_alone_declares_it(tmp_path: Path) -> None:
    found = own(tmp_path, "ingredient,price (EUR/kg)\nCetyl Esters,7\nTheobroma Cacao Seed Butter,9\n")
    assert found.owned == {"cetyl esters", "cocoa butter"}


def test_a_row_that_stands_for_a_new_ingredient_stays_one(tmp_path: Path) -> None:
    found = own(tmp_path, "ingredient,phase,functions,inci\nTheobroma Cacao Seed Butter,oil phase,butter,Adeps Bovis\n")
    assert found.owned == {"theobroma cacao seed butter"}
    assert found.ingredients["cocoa butter"].constituents[0].inci == "Theobroma Cacao Seed Butter"
