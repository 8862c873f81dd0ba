"""One resolver of names: what is taken, what is offered, what is asked back, and that the tables agree with it."""

import re
from collections import Counter

import pytest

from optiform.ingredients.ingredient import Constituent, Evidence, Value
from optiform.ingredients.names import canonical, resolve, several, share_behind
from optiform.ingredients.spelling import fold
from optiform.reading.tables import shipped
from optiform.rules.law import MARKETS, known

ALL = Value(None, 100.0, None, "%", "own.csv", Evidence.OWN)


@pytest.mark.parametrize(
    "spelling",
    [
        "PHENOXYETHANOL",
        "phenoxyethanol",
        "Phenoxyethanol 100",
        "Phenoxyethanol 70 %",
        "Phenoxyethanol (99,5%)",
        "Phenoxyethanol min. 99 %",
        "Phenoxy-ethanol",
        "Phenoxy ethanol",
        "Phenoxyethanol (preservative)",
        "Phenoxyethanol, cosmetic grade",
        "Phenoxyethanol*",
        "2-Phenoxyethanol",
        "122-99-6",
        "CAS no. 122-99-6",
        "Phenoxyethanol (CAS 122-99-6)",
    ],
)
def test_one_substance_in_many_spellings_is_taken(spelling: str) -> None:
    found = resolve(spelling)
    assert (found.inci, found.certain) == ("Phenoxyethanol", True)
    assert Constituent(spelling, "", ALL).inci == "Phenoxyethanol", "no other spelling gets into a formula"


@pytest.mark.parametrize(
    ("spelling", "inci"),
    [
        ("Helianthus Annuus (Sunflower) Seed Oil", "Helianthus Annuus Seed Oil"),
        ("Water (Aqua)", "Aqua"),
        ("Aqua/Water/Eau", "Aqua"),
        ("sodium lauryl sulphate", "Sodium Lauryl Sulfate"),
        ("Magnesium Aluminium Silicate", "Magnesium Aluminum Silicate"),
        ("\N{GREEK SMALL LETTER ALPHA}-isomethyl ionone", "Alpha-Isomethyl Ionone"),
        ("PEG\N{NON-BREAKING HYPHEN}100 Stearate", "PEG-100 Stearate"),
        ("Glyceryl Stearate (SE)", "Glyceryl Stearate SE"),
        ("CI77891", "Titanium Dioxide"),
        ("C.I. 77491", "CI 77491"),
        ("shea butter", "Butyrospermum Parkii Butter"),
        ("d-limonene", "D-Limonene"),
        ("limonene", "Limonene"),
        ("Benzophenone 3", "Benzophenone-3"),
        ("Lilial", "Butylphenyl Methylpropional"),
    ],
)
def test_forms_of_markets_and_of_the_trade_are_taken(spelling: str, inci: str) -> None:
    assert (resolve(spelling).inci, resolve(spelling).certain) == (inci, True)


@pytest.mark.parametrize(
    ("spelling", "near"),
    [
        ("Phenoxyethanl", "Phenoxyethanol"),
        ("Cocamide MEA", "Cocamide DEA"),
        ("(+)-limonene", "D-Limonene"),  # not the racemate: a sign of rotation is no bracketed word
        ("Cetearyl Alcohol (Ceteareth-20)", "Ceteareth-20"),
        ("Phenoxyethanol (and) Ethylhexylglycerin", "Ethylhexylglycerin"),
        ("emulsifying wax", "Cetearyl Alcohol"),
        ("9004-99-3", "PEG-40 Stearate"),  # of a whole family
        ("DEA", "Diethanolamine"),
        ("Glycerin, Aqua", "Aqua"),
    ],
)
def test_what_is_only_near_or_has_several_meanings_is_asked_back(spelling: str, near: str) -> None:
    found = resolve(spelling)
    assert (found.inci, found.certain) == (None, False)
    assert near in found.near


@pytest.mark.parametrize(
    ("spelling", "inci"), [("E415", "Xanthan Gum"), ("Balsam of Peru", "Myroxylon Pereirae Resin")]
)
def test_a_spelling_from_memory_is_offered_not_taken(spelling: str, inci: str) -> None:
    found = resolve(spelling)
    assert (found.inci, found.certain, found.near[0]) == (inci, False, inci)
    assert canonical(spelling) == spelling


@pytest.mark.parametrize("spelling", ["", "   ", "moon dust", "%", "((((", "x" * 5000, "1-2-3"])
def test_what_is_no_name_is_none(spelling: str) -> None:
    assert resolve(spelling).inci is None


@pytest.mark.parametrize(
    "word",
    [
        "Tocopherol (Acetate)",
        "Tocopherol (succinate)",
        "Sodium Lauryl (Ether) Sulfate",
        "Glycerin (ethoxylated)",
        "Propylene Glycol (1,3)",
    ],
)
def test_a_bracket_that_makes_another_substance_is_not_dropped(word: str) -> None:
    outside = word.partition(" (")[0] if word.endswith(")") else "Sodium Lauryl Sulfate"
    found = resolve(word)
    assert not (found.certain and found.inci == outside)


@pytest.mark.parametrize(
    ("text", "name", "share"),
    [
        ("Polysorbate 20", "Polysorbate 20", None),
        ("Polysorbate 20 80", "Polysorbate 20", 80.0),
        ("CI 77491", "CI 77491", None),
        ("DMDM Hydantoin 55", "DMDM Hydantoin", 55.0),  # also goods of that strength in the catalogue
        ("Glycerin 99,5 %", "Glycerin", 99.5),
        ("Benzophenone 7", "Benzophenone 7", None),  # a relative of Benzophenone-3, not a share of Benzophenone
        ("moon dust 20", "moon dust 20", None),
    ],
)
def test_a_number_behind_a_name_is_a_share_only_where_the_name_is_whole_without_it(
    text: str, name: str, share: float | None
) -> None:
    assert share_behind(text) == (name, share)


def test_a_blend_is_told_from_one_name() -> None:
    assert several("Phenoxyethanol (and) Ethylhexylglycerin") == ("Phenoxyethanol", "Ethylhexylglycerin")
    assert several("Phenoxyethanol, Ethylhexylglycerin") == ("Phenoxyethanol", "Ethylhexylglycerin")
    assert several("Caprylic/Capric Triglyceride") == several("1,2-Hexanediol") == several("Aqua/Water") == ()


# -- the tables --------------------------------------------------------------------------------------------------------


def cells(table: str, column: str) -> list[str]:
    return [name for row in shipped(table) for name in row[column].split("; ")]


@pytest.mark.parametrize(("table", "column"), [("limits", "inci"), ("constituents", "inci"), ("substances", "inci")])
def test_the_tables_spell_each_substance_as_it_is_read(table: str, column: str) -> None:
    """Rules compare to the letter with what `Constituent` makes of a name."""
    assert [name for name in cells(table, column) if canonical(name) != name or not resolve(name).certain] == []


def test_every_other_name_of_an_allergen_or_a_colour_leads_back_into_its_row() -> None:
    for row in shipped("allergens"):
        names = {row["name"], *row["inci"].split("; ")}
        assert {canonical(name).casefold() for name in names} <= {name.casefold() for name in names}, row
    for row in shipped("colourants"):
        names = {*row["inci"].split("; "), *([f"CI {row['ci']}"] if row["ci"] else [])}
        assert {canonical(name) for name in names} <= names, row


@pytest.mark.parametrize("market", MARKETS)
def test_what_law_knows_under_one_name_it_knows_under_the_one_that_is_read(market: str) -> None:
    assert [name for name in known(market) if canonical(name) not in known(market)] == []


def test_no_folded_spelling_has_two_rows() -> None:
    keys = Counter(fold(row["spelling"]) for row in shipped("names"))
    assert [key for key, count in keys.items() if count > 1 or not key] == []
    assert len({fold(row["inci"]) for row in shipped("substances")}) == len(shipped("substances"))


def test_every_spelling_leads_to_a_substance_that_a_table_has() -> None:
    named = {*cells("substances", "inci"), *cells("limits", "inci"), *cells("constituents", "inci")}
    named |= {*cells("allergens", "name"), *cells("allergens", "inci"), *cells("colourants", "inci")}
    assert {row["inci"] for row in shipped("names")} <= named


def test_no_spelling_from_memory_is_taken_unless_a_table_of_ours_has_it() -> None:
    trade = {fold(word) for row in shipped("ingredients") for word in (row["name"], *row["synonyms"].split(";"))}
    trade |= {fold(word) for row in shipped("label_names") for word in (*row["names"].split(";"), row["us"])}
    trade |= {fold(row["name"].partition(",")[0]) for row in shipped("ingredients")}
    constituents = [row["inci"] for table in ("limits", "positive_lists", "unlisted") for row in shipped(table)]
    trade |= {fold(word.partition(":")[0]) for cell in constituents for word in cell.split(";")}
    built = re.compile(r"[()\[\]/,&+;%]| and |[0-9]$")  # several names, remarks and shares are read by rule
    memory = [row["spelling"] for row in shipped("names") if row["evidence"] == "recalled"]
    memory = [name for name in memory if not built.search(name)]
    taken = [name for name in memory if fold(name) not in trade and resolve(name).certain]
    assert len(memory) > 1000
    assert taken == []


def test_numbers_of_substances_pass_their_check_digits() -> None:
    for row in shipped("substances"):
        if cas := row["cas"].replace("-", ""):
            assert sum(k * int(digit) for k, digit in enumerate(reversed(cas[:-1]), 1)) % 10 == int(cas[-1]), row
        if ec := row["ec"].replace("-", ""):
            assert sum(k * int(digit) for k, digit in enumerate(ec[:-1], 1)) % 11 == int(ec[-1]), row


HOSTILE = ["(a)" * 100, "a," * 150, "glycerin (water) " * 20, "x, y (z) 5 % " * 15, "1 " * 150, "a " * 1000 + "5 %"]


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: text[:8])
def test_a_text_of_many_brackets_and_commas_is_answered(text: str) -> None:
    assert resolve(text).name == text
    assert not several(text) or len(several(text)) > 1


def test_a_colour_number_is_near_colours_with_one_digit_other_and_nothing_else() -> None:
    assert resolve("CI 99999").near == ()
    assert "CI 77491" in resolve("CI 77481").near
    assert all(name.startswith("CI 77") for name in resolve("CI 77481").near)
