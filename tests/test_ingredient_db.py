"""The tables of ingredients keep the schema of ingredient_db/README.md, and the checks see it when they do not."""

import datetime
from collections.abc import Callable
from dataclasses import dataclass

import pytest

from optiform.rules.law import AREAS
from tests import tables as schema
from tests.every import every
from tests.tables import CHECKS, COLUMNS, EVIDENCE, Check, Row, Tables, functions, parts, rows


@pytest.fixture(scope="module")
def shipped() -> Tables:
    return {table: rows(table) for table in (*COLUMNS, "solubility")}


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.__name__)
def test_shipped_tables(check: Check, shipped: Tables) -> None:
    assert check(shipped) == []


# -- every check can fail ----------------------------------------------------------------------------------------------

Spoil = Callable[[Tables], Tables]


def changed(table: str, match: Row, cells: Row) -> Spoil:
    """The tables with other cells in the first row that matches."""

    def spoil(tables: Tables) -> Tables:
        index = _first(tables[table], match)
        spoiled = [*tables[table]]
        spoiled[index] = {**spoiled[index], **cells}
        return {**tables, table: spoiled}

    return spoil


def doubled(table: str, match: Row, cells: Row | None = None) -> Spoil:
    """The tables with the first row that matches once more, with these cells."""

    def spoil(tables: Tables) -> Tables:
        row = tables[table][_first(tables[table], match)]
        return {**tables, table: [*tables[table], {**row, **(cells or {})}]}

    return spoil


def dropped(table: str, match: Row) -> Spoil:
    """The tables without the rows that match."""

    def spoil(tables: Tables) -> Tables:
        _first(tables[table], match)
        return {**tables, table: [row for row in tables[table] if not _matches(row, match)]}

    return spoil


def _first(table: list[Row], match: Row) -> int:
    return next(index for index, row in enumerate(table) if _matches(row, match))


def _matches(row: Row, match: Row) -> bool:
    return all(row[column] == cell for column, cell in match.items())


@dataclass(frozen=True)
class Case:
    """A fault, the check that must see it and words that its complaint must hold."""

    check: Check
    words: str
    spoil: Spoil


GLYCERIN = {"name": "glycerin"}
OF_GLYCERIN = {"ingredient": "glycerin"}
DENSITY = {**OF_GLYCERIN, "property": "density"}
COCOA = {"ingredient": "cocoa butter"}
COCOA_FAT = {**COCOA, "property": "solid fat", "temperature": "20"}
BLEND = {"ingredient": "emulsifying wax NF", "property": "density"}
OLEIC = {"fatty acid": "C18:1"}

CASES = {
    "column too many": Case(schema.columns_exact, "glycerin", changed("ingredients", GLYCERIN, {"price": "3"})),
    "empty table": Case(schema.columns_exact, "values: empty", dropped("values", {})),
    "blanks": Case(schema.columns_exact, "blanks", changed("values", DENSITY, {"unit": "g/mL "})),
    "no number": Case(schema.numbers_read, "glycerin", changed("values", DENSITY, {"typical": ""})),
    "words for a number": Case(schema.numbers_read, "1,26", changed("values", DENSITY, {"typical": "1,26"})),
    "not a number": Case(schema.numbers_read, "nan", changed("fatty_acids", COCOA, {"typical": "nan"})),
    "low above typical": Case(schema.numbers_in_order, "glycerin", changed("values", DENSITY, {"low": "1.3"})),
    "typical above high": Case(
        schema.numbers_in_order,
        "cocoa",
        changed("fatty_acids", {**COCOA, "fatty acid": "C18:0"}, {"low": "", "high": "1"}),
    ),
    "low above high": Case(
        schema.numbers_in_order, "glycerin", changed("values", DENSITY, {"low": "2", "typical": "", "high": "1"})
    ),
    "figure twice": Case(schema.rows_once, "2 times", doubled("values", DENSITY)),
    "same temperature": Case(schema.rows_once, "2 times", doubled("values", DENSITY, {"temperature": "20.0"})),
    "constituent twice": Case(schema.rows_once, "glycerin", doubled("constituents", OF_GLYCERIN)),
    "fatty acid twice": Case(schema.rows_once, "cocoa", doubled("fatty_acids", COCOA)),
    "constant twice": Case(schema.rows_once, "c18:1", doubled("fatty_acid_constants", OLEIC)),
    "source twice": Case(schema.rows_once, "sources", doubled("sources", {"id": "W-M11"})),
    "name twice": Case(schema.names_once, "glycerin", doubled("ingredients", GLYCERIN, {"synonyms": ""})),
    "synonym is a name": Case(schema.names_once, "honey", changed("ingredients", GLYCERIN, {"synonyms": "a; Honey"})),
    "no name": Case(schema.names_once, "''", changed("ingredients", GLYCERIN, {"name": ""})),
    "unknown function": Case(schema.words_known, "functions", changed("ingredients", GLYCERIN, {"functions": "glue"})),
    "no function": Case(schema.words_known, "functions", changed("ingredients", GLYCERIN, {"functions": ""})),
    "unknown phase": Case(schema.words_known, "phase", changed("ingredients", GLYCERIN, {"phase": "wet"})),
    "unknown origin": Case(schema.words_known, "origin", changed("ingredients", GLYCERIN, {"origin": "moon"})),
    "unknown solute": Case(
        schema.words_known, "solute", changed("ingredients", {"name": "table salt"}, {"solute": "salt"})
    ),
    "solute, no grain": Case(schema.words_known, "solute", changed("ingredients", GLYCERIN, {"solute": "sucrose"})),
    "ingredient misspelt": Case(
        schema.ingredients_exist, "glicerin", changed("values", DENSITY, {"ingredient": "glicerin"})
    ),
    "constituents of nothing": Case(schema.ingredients_exist, "honey", dropped("ingredients", {"name": "honey"})),
    "unknown source": Case(schema.sources_named, "X-1", changed("values", DENSITY, {"source": "X-1"})),
    "source without title": Case(schema.sources_named, "W-M19", changed("sources", {"id": "W-M19"}, {"title": ""})),
    "unknown evidence": Case(schema.sources_named, "hearsay", changed("constituents", COCOA, {"evidence": "hearsay"})),
    "own figure": Case(schema.sources_named, "own", changed("fatty_acids", COCOA, {"evidence": "own"})),
    "constant without source": Case(
        schema.sources_named, "C18:1", changed("fatty_acid_constants", OLEIC, {"source": ""})
    ),
    "bare shelf": Case(schema.enough_ingredients, "fewer", dropped("ingredients", {"solute": ""})),
    "wrong unit": Case(schema.units_right, "kg/m3", changed("values", DENSITY, {"unit": "kg/m3"})),
    "unknown property": Case(schema.units_right, "weight", changed("values", DENSITY, {"property": "weight"})),
    "density anywhere": Case(
        schema.temperatures_where_due, "glycerin", changed("values", DENSITY, {"temperature": ""})
    ),
    "water at 20 degC": Case(
        schema.temperatures_where_due, "water", changed("values", {"property": "water"}, {"temperature": "20"})
    ),
    "in kelvin": Case(schema.temperatures_where_due, "493", changed("values", DENSITY, {"temperature": "493"})),
    "density in kg/m3": Case(schema.figures_in_range, "1260", changed("values", DENSITY, {"typical": "1260"})),
    "share above 100": Case(schema.figures_in_range, "glycerin", changed("constituents", OF_GLYCERIN, {"high": "101"})),
    "share below 0": Case(schema.figures_in_range, "cocoa", changed("fatty_acids", COCOA, {"low": "-1"})),
    "constituents sum to 99": Case(
        schema.constituents_complete, "honey", changed("constituents", {"ingredient": "honey"}, {"typical": "99"})
    ),
    "no constituents": Case(schema.constituents_complete, "honey", dropped("constituents", {"ingredient": "honey"})),
    "no typical share": Case(
        schema.constituents_complete, "honey", changed("constituents", {"ingredient": "honey"}, {"typical": ""})
    ),
    "acids sum to less": Case(schema.acids_complete, "cocoa", dropped("fatty_acids", {**COCOA, "fatty acid": "C18:2"})),
    "unknown acid": Case(schema.acids_complete, "C17:0", changed("fatty_acids", COCOA, {"fatty acid": "C17:0"})),
    "one digit off": Case(
        schema.cas_numbers_valid, "check digit", changed("constituents", COCOA, {"cas": "84649-99-1"})
    ),
    "digits swapped": Case(
        schema.cas_numbers_valid, "check digit", changed("constituents", COCOA, {"cas": "86449-99-0"})
    ),
    "not a CAS number": Case(
        schema.cas_numbers_valid, "check digit", changed("constituents", COCOA, {"cas": "84649990"})
    ),
    "butter not solid at 30": Case(
        schema.solid_fat_falls, "at 30", dropped("values", {**COCOA_FAT, "temperature": "30"})
    ),
    "solid fat rises": Case(schema.solid_fat_falls, "rises", changed("values", COCOA_FAT, {"typical": "99"})),
    "middle of a range rises": Case(
        schema.solid_fat_falls,
        "illipe butter: solid fat rises",
        changed(
            "values", {"ingredient": "illipe butter", "typical": "", "temperature": "35"}, {"low": "60", "high": "80"}
        ),
    ),
    "molar mass": Case(
        schema.acid_constants_add_up, "C18:1", changed("fatty_acid_constants", OLEIC, {"molar mass": "284"})
    ),
    "double bonds": Case(
        schema.acid_constants_add_up, "C18:1", changed("fatty_acid_constants", OLEIC, {"double bonds": "2"})
    ),
    "iodine factor": Case(
        schema.acid_constants_add_up,
        "C18:1",
        changed("fatty_acid_constants", OLEIC, {"iodine factor triglyceride": "0.90"}),
    ),
    "mix does not add up": Case(schema.mixed_densities_add_up, "wax NF", changed("values", BLEND, {"typical": "0.95"})),
    "mix of the unknown": Case(
        schema.mixed_densities_add_up, "None", changed("values", BLEND, {"note": f"{schema.MIX}100 % moon dust"})
    ),
}
LACKING = {
    ("sodium cocoyl isethionate", "active surfactant"),
    ("sodium laureth sulfate, 28 %", "active surfactant"),
    ("sodium laureth sulfate, 28 %", "water"),
    ("glycerin", "humectant active"),
    ("pumice, fine", "density"),
    ("phenoxyethanol", "usual use"),
    ("shea butter, refined", "solid fat"),
}
CASES |= {
    f"{name} without {figure}": Case(
        schema.needed_figures, f"{name}: no {figure}", dropped("values", {"ingredient": name, "property": figure})
    )
    for name, figure in sorted(LACKING)
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_a_fault_is_seen(case: Case, shipped: Tables) -> None:
    assert case.words not in "\n".join(case.check(shipped))
    assert case.words in "\n".join(case.check(case.spoil(shipped)))


def test_every_check_is_seen_to_fail() -> None:
    assert {case.check for case in CASES.values()} == set(CHECKS)


@pytest.mark.parametrize("name", schema.PROPERTIES)
def test_a_figure_out_of_range_is_seen(name: str, shipped: Tables) -> None:
    _, low, high = schema.PROPERTIES[name]
    for figure in (low - 0.02, high + 0.02):
        cells = {"low": "", "typical": str(figure), "high": ""}
        spoiled = changed("values", {"property": name}, cells)(shipped)
        assert any(name in complaint for complaint in schema.figures_in_range(spoiled))


def test_every_function_that_needs_a_figure_is_seen_to() -> None:
    assert {figure for _, figure in LACKING} == {figure for figures in schema.NEEDED.values() for figure in figures}


@pytest.mark.parametrize("name", ["petrolatum", "lanolin"])
def test_a_soft_wax_is_never_all_solid(name: str, shipped: Tables) -> None:
    """Their melting range alone would make them wholly solid up to 38 degC."""
    found = [row for row in shipped["values"] if row["ingredient"] == name and row["property"] == "solid fat"]
    assert {int(row["temperature"]) for row in found} == set(schema.CURVE)
    assert all(float(row["high"]) < 100 for row in found)
    assert {row["evidence"] for row in found} == {"recalled"}
    assert all("from memory, check" in row["note"] for row in found)


# -- the tables of the label -------------------------------------------------------------------------------------------


def test_no_name_counts_towards_two_allergens() -> None:
    named = [word for row in rows("allergens") for word in {row["name"].casefold(), *members(row)}]
    assert len(named) == len(set(named))


def members(row: Row) -> list[str]:
    return [word.casefold() for word in parts(row["inci"])]


@every("row", rows("allergens"), ids=lambda row: row["name"])
def test_allergen_row(row: Row) -> None:
    assert parts(row["cas"])
    assert all(map(valid_cas, parts(row["cas"])))
    assert row["list"] in ("first", "long", "prohibited")
    assert row["group"] in ("", "yes")
    limits = [float(row[use]) for use in ("leave-on", "rinse-off") if row[use]]
    assert limits == ([] if row["list"] == "prohibited" else [0.001, 0.01])
    assert bool(row["from"]) == (row["list"] == "long")
    assert not row["from"] or datetime.date.fromisoformat(row["from"])


def valid_cas(text: str) -> bool:
    return schema.cas_numbers_valid({"constituents": [{"ingredient": "", "cas": text}]}) == []


def test_the_check_digit_of_an_allergen_is_looked_at() -> None:
    assert valid_cas("5989-27-5")
    assert not valid_cas("5989-27-6")


@every("row", rows("colourants"), ids=lambda row: f"{row['inci']} {row['ci']}")
def test_colourant_row(row: Row) -> None:
    assert row["us name"]
    assert not row["cas"] or valid_cas(row["cas"])
    assert not row["ci"] or (row["ci"].isdigit() and len(row["ci"]) == 5)
    assert not row["ci"] or row["eu name"] in ("", f"CI {row['ci']}")
    areas = [row[f"us {area}"] for area in ("eyes", "lips", "external")]
    assert all(area in ("yes", "no") or set(area.split("; ")) <= set(AREAS) for area in areas)
    assert row["us reference"] or set(areas) == {"no"}
    assert row["us source"] in {each["id"] for each in rows("sources")}
    assert row["us evidence"] in EVIDENCE


def test_every_colour_of_the_catalogue_has_a_row_or_is_known_not_to() -> None:
    colours = [row["name"] for row in rows("ingredients") if parts(row["functions"])[0] == "colourant"]
    known = {word for row in rows("colourants") for word in parts(row["inci"])}
    declared = {name: {row["inci"] for row in rows("constituents") if row["ingredient"] == name} for name in colours}
    assert [name for name, names in declared.items() if not names & known] == ["charcoal powder"]


def test_no_spelling_stands_for_two_names_of_a_label() -> None:
    spelled = [word.casefold() for row in rows("label_names") for word in parts(row["names"])]
    assert len(spelled) == len(set(spelled))
    assert all({row["eu"], row["us"]} <= set(parts(row["names"])) for row in rows("label_names"))


@every("row", rows("label_items"), ids=lambda row: row["id"])
def test_label_item(row: Row) -> None:
    assert parts(row["markets"])
    assert set(parts(row["markets"])) <= {"EU", "GB", "US"}
    assert row["part"] in ("rule", "decision")
    family, _, function = row["trigger"].partition(":")
    assert row["trigger"] == "always" or (family == "function" and function in functions())
    assert row["about"]
    assert row["text"].endswith((".", ")."))


def test_the_british_text_is_not_called_read_where_the_european_one_was() -> None:
    """Rows that say the same for both markets were read in the European text only."""
    read = {row["text"] for row in rows("label_items") if row["markets"] == "EU"}
    shared = [row for row in rows("label_items") if row["markets"] == "GB" and row["text"] in read]
    assert shared
    assert {row["evidence"] for row in shared} <= {"recalled", "derived"}


def test_package_tolerances_join_without_a_gap() -> None:
    table = rows("package_tolerances")
    assert [row["up to"] for row in table[:-1]] == [row["above"] for row in table[1:]]
    assert table[-1]["up to"] == ""
    assert {row["unit"] for row in table} == {"%", "g or mL"}
