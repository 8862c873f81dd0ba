"""Formulas: reading, bases, merging, writing."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optiform.ingredients.catalogue import Catalogue, read_catalogue
from optiform.ingredients.formula import Basis, Formula, Line, Reading, mixed, read_formula
from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient, Value
from optiform.reading.faults import BadInput, Fault
from optiform.reading.tables import HIDDEN
from optiform.rules.forms import TRACE

CATALOGUE = read_catalogue()
USED = ("water", "glycerin", "shea butter, refined", "sweet almond oil", "sea salt, fine", "sugar, granulated")
BASE, GRAINS = USED[:4], USED[4:]


def read(folder: Path, text: str, basis: Basis | None = None, name: str = "f.csv") -> Reading:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_formula(path, CATALOGUE, basis)


def table(amounts: dict[str, float], column: str = "percent") -> str:
    return f"ingredient,{column}\n" + "".join(f'"{name}",{amount!r}\n' for name, amount in amounts.items())


def fractions(formula: Formula) -> dict[str, float]:
    return {line.ingredient.name: line.fraction for line in formula.lines}


def faults(folder: Path, text: str, basis: Basis | None = None, name: str = "f.csv") -> list[str]:
    with pytest.raises(BadInput) as caught:
        read(folder, text, basis, name)
    return [f"{fault.place}: read {fault.read}, expected {fault.expected}" for fault in caught.value.faults]


# -- bases -------------------------------------------------------------------------------------------------------------


def test_percent_of_the_whole(tmp_path: Path) -> None:
    found = read(tmp_path, table({"water": 60, "glycerin": 40}))
    assert fractions(found.formula) == pytest.approx({"water": 0.6, "glycerin": 0.4})
    assert (found.basis, found.total, found.rescaled, found.notes) == (Basis.WHOLE, 100, False, ())
    assert found.formula.name == "f"


def test_percent_of_the_base_with_grains_on_top(tmp_path: Path) -> None:
    # 100 of base and 60 of grains make 160: water 70 / 160, salt 60 / 160
    text = table({"water": 70, "glycerin": 30, "sea salt, fine": 60})
    found = read(tmp_path, text, Basis.BASE)
    assert fractions(found.formula) == pytest.approx({"water": 0.4375, "glycerin": 0.1875, "sea salt, fine": 0.375})
    assert (found.total, found.rescaled) == (100, False)


@pytest.mark.parametrize(("column", "basis"), [("parts", Basis.PARTS), ("grams", Basis.GRAMS)])
def test_parts_and_grams_have_no_total_to_miss(tmp_path: Path, column: str, basis: Basis) -> None:
    found = read(tmp_path, table({"water": 3, "glycerin": 1}, column))
    assert fractions(found.formula) == pytest.approx({"water": 0.75, "glycerin": 0.25})
    assert (found.basis, found.total, found.rescaled, found.notes) == (basis, 4, False, ())


def test_grams_take_units(tmp_path: Path) -> None:
    found = read(tmp_path, "ingredient;grams\nwater;1,5 kg\nglycerin;500\n")
    assert fractions(found.formula) == pytest.approx({"water": 0.75, "glycerin": 0.25})


def test_a_total_that_is_not_100_is_said_and_rescaled(tmp_path: Path) -> None:
    found = read(tmp_path, table({"water": 60, "glycerin": 38}))
    assert fractions(found.formula) == pytest.approx({"water": 60 / 98, "glycerin": 38 / 98})
    assert (found.total, found.rescaled) == (98, True)
    assert found.notes == ("The percentages of the whole sum to 98, not 100: each was multiplied by 1.0204.",)


def test_a_base_that_is_not_100_is_said_and_the_grains_stay_per_100_of_base(tmp_path: Path) -> None:
    found = read(tmp_path, table({"water": 50, "sea salt, fine": 60}), Basis.BASE)
    assert fractions(found.formula) == pytest.approx({"water": 0.625, "sea salt, fine": 0.375})
    assert (found.total, found.rescaled) == (50, True)
    assert "of the base sum to 50, not 100" in found.notes[0]


def test_a_base_read_as_whole_gets_a_hint_but_is_not_reread(tmp_path: Path) -> None:
    text = table({"water": 70, "glycerin": 30, "sea salt, fine": 60})
    found = read(tmp_path, text)
    assert found.basis is Basis.WHOLE
    assert any("--basis base" in note for note in found.notes)
    assert read(tmp_path, text, Basis.WHOLE).notes == found.notes[:1], "no hint to one who said so"


def test_without_grains_nothing_is_said_of_a_base(tmp_path: Path) -> None:
    notes = read(tmp_path, table({"water": 95.5, "glycerin": 5})).notes
    assert notes == ("The percentages of the whole sum to 100.5, not 100: each was multiplied by 0.99502.",)
    (_, hint) = read(tmp_path, table({"water": 95.5, "glycerin": 5, "sea salt, fine": 60})).notes
    assert hint.startswith("All but the grains sum to 100.5: ")


def test_an_ingredient_on_several_lines_of_a_phase_is_added_up_and_said_so(tmp_path: Path) -> None:
    lines = "ingredient,percent\nwater,80\nglycerin,5\nglycerol,10\nglycerin,5\n"
    reading = read(tmp_path, lines)
    assert reading.notes == ("On more than one line, and added up: glycerin.",)
    assert fractions(reading.formula) == pytest.approx({"water": 0.8, "glycerin": 0.2})


def test_rounding_of_a_written_total_is_not_remarked_on(tmp_path: Path) -> None:
    assert not read(tmp_path, table({"water": 60.002, "glycerin": 40.002})).rescaled


def test_a_base_of_grains_alone_is_refused(tmp_path: Path) -> None:
    expected = "total: read 'grains only', expected a base for the percentages to be a share of"
    assert faults(tmp_path, table({"sea salt, fine": 60}), Basis.BASE) == [expected]
    assert faults(tmp_path, table({"water": 0, "sea salt, fine": 60}), Basis.BASE) == [expected]


AMOUNT = st.floats(0.01, 1000)
BASES = st.dictionaries(st.sampled_from(BASE), AMOUNT, min_size=1)
TOPS = st.dictionaries(st.sampled_from(GRAINS), AMOUNT)
quick = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)


@quick
@given(base=BASES, grains=TOPS)
def test_whole_to_base_and_back_is_the_same_formula(
    tmp_path: Path, base: dict[str, float], grains: dict[str, float]
) -> None:
    whole = read(tmp_path, table({**base, **grains}, "parts")).formula
    below = sum(line.fraction for line in whole.lines if line.phase != "grains")
    of_base = {name: 100 * share / below for name, share in fractions(whole).items()}
    again = read(tmp_path, table(of_base), Basis.BASE)
    assert not again.rescaled
    assert fractions(again.formula) == pytest.approx(fractions(whole), abs=1e-12)


@quick
@given(amounts=BASES, column=st.sampled_from(["parts", "grams"]), factor=st.floats(1e-3, 1e3))
def test_scaling_parts_or_grams_changes_nothing(
    tmp_path: Path, amounts: dict[str, float], column: str, factor: float
) -> None:
    first = read(tmp_path, table(amounts, column)).formula
    second = read(tmp_path, table({name: factor * amount for name, amount in amounts.items()}, column)).formula
    assert fractions(second) == pytest.approx(fractions(first), abs=1e-12)


@quick
@given(base=BASES, grains=TOPS, basis=st.sampled_from(Basis))
def test_fractions_sum_to_one_on_every_basis(
    tmp_path: Path, base: dict[str, float], grains: dict[str, float], basis: Basis
) -> None:
    found = read(tmp_path, table({**base, **grains}), basis)
    assert sum(line.fraction for line in found.formula.lines) == pytest.approx(1, abs=1e-12)
    assert all(line.fraction > 0 for line in found.formula.lines)


# -- lines -------------------------------------------------------------------------------------------------------------


def test_the_same_ingredient_in_the_same_phase_is_one_line(tmp_path: Path) -> None:
    text = "ingredient,percent,phase\nwater,50,\nglycerin,20,\naqua,20,Water Phase\nwater,10,cool-down\n"
    found = read(tmp_path, text).formula
    assert [(line.ingredient.name, line.phase, round(line.fraction, 12)) for line in found.lines] == [
        ("water", "water phase", 0.7),
        ("glycerin", "water phase", 0.2),
        ("water", "cool-down", 0.1),
    ]
    assert found.fraction("water") == pytest.approx(0.8)
    assert found.fraction("shea butter, refined") == 0


def test_a_row_of_totals_is_passed_over(tmp_path: Path) -> None:
    found = read(tmp_path, "ingredient,percent\nwater,100\nTotal,100\nsum,\n")
    assert fractions(found.formula) == {"water": 1.0}


@pytest.mark.parametrize("header", ["%", "% w/w", "wt %", "per cent", "share (%)", "Amount (%)"])
def test_percent_is_read_however_spreadsheets_head_it(tmp_path: Path, header: str) -> None:
    found = read(tmp_path, f"ingredient,{header}\nwater,80\nglycerin,20\n")
    assert (fractions(found.formula), found.basis) == ({"water": 0.8, "glycerin": 0.2}, Basis.WHOLE)


def test_a_weight_in_grams_is_no_percent(tmp_path: Path) -> None:
    assert read(tmp_path, "ingredient,weight (g)\nwater,30\nglycerin,10\n").basis is Basis.GRAMS


def test_every_fault_of_a_table_is_told_at_once_with_near_names(tmp_path: Path) -> None:
    text = "ingredient,percent,phase\nwatr,50,\nglycerin,-5,\nwater,lots,hot phase\nwater,5 g,\n,3,\n"
    phases = "water phase, oil phase, cool-down, grains"
    assert faults(tmp_path, text) == [
        "row 2, ingredient: read 'watr', expected a known ingredient; near: water",
        "row 3, percent: read '-5', expected an amount of zero or more",
        f"row 4, phase: read 'hot phase', expected one of the phases: {phases}",
        "row 4, percent: read 'lots', expected a quantity in %",
        "row 5, percent: read '5 g', expected a quantity in %, not in 'g'",
        "row 6, ingredient: read nothing, expected its name, or total where the row sums up the others",
    ]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("ingredient,amount\nwater,5\n", "header: read 'ingredient, amount', expected one column percent, parts"),
        ("ingredient,percent,grams\nwater,5,9\n", "header: read 'ingredient, percent, grams', expected one column"),
        ("ingredient,percent\n", "file: read 'a header alone', expected a row for each ingredient"),
        ("ingredient,percent\nwater,0\n", "total: read '0', expected amounts that sum to more than nothing"),
        ("ingredient,percent\ntotal,100\n", "total: read '0', expected amounts that sum to more than nothing"),
        ("percent\n5\n", "header: read 'percent', expected a column 'ingredient'"),
        ('ingredient,percent\nwater,"1,234"\n', "row 2, percent: read '1,234', expected a number whose comma"),
    ],
)
def test_a_table_without_amounts_to_use_is_refused(tmp_path: Path, text: str, expected: str) -> None:
    (told,) = faults(tmp_path, text)
    assert told.startswith(expected)


# -- TOML --------------------------------------------------------------------------------------------------------------


def test_a_formula_in_toml(tmp_path: Path) -> None:
    text = """
name = "foot polish"
[lines]
water = 60
glycerin = "30 %"
"shea butter, refined" = { percent = 10, phase = "cool-down" }
"""
    found = read(tmp_path, text, name="f.toml")
    assert found.formula.name == "foot polish"
    assert [(line.ingredient.name, line.phase) for line in found.formula.lines] == [
        ("water", "water phase"),
        ("glycerin", "water phase"),
        ("shea butter, refined", "cool-down"),
    ]
    assert [line.fraction for line in found.formula.lines] == pytest.approx([0.6, 0.3, 0.1])


def test_every_fault_of_a_toml_is_told_at_once(tmp_path: Path) -> None:
    text = """
[lines]
watr = 50
glycerin = -5
water = true
"cocoa butter" = { percent = 5, phase = 3 }
"coconut oil" = { percnt = 5 }
"palm oil" = { percent = 5, grams = 9 }
"castor oil" = { percent = 5, phse = "oil phase" }
"rice bran oil" = [5]
"sweet almond oil" = nan
"""
    told = faults(tmp_path, text, name="f.toml")
    places = [line.split(": read ")[0] for line in told]
    assert sorted(places) == sorted(
        [
            "[lines] coconut oil, percnt",
            "[lines] palm oil",
            "[lines] castor oil, phse",
            "[lines] watr, ingredient",
            "[lines] glycerin, percent",
            "[lines] water, percent",
            "[lines] cocoa butter, phase",
            "[lines] rice bran oil, percent",
            "[lines] sweet almond oil, percent",
        ]
    )


@pytest.mark.parametrize(
    "text",
    ["", "lines = 5", "[lines]", "not toml", "a = " + "[" * 5000, "a = " + "9" * 5000, "[lines]\nwater = 1\nwater = 2"],
)
def test_what_is_no_formula_is_refused(tmp_path: Path, text: str) -> None:
    (told,) = faults(tmp_path, text, name="f.toml")
    assert told.startswith(("file: read ", "[lines]: read ", "line 1: read ", "line 3: read "))


def test_units_of_amount_are_not_mixed(tmp_path: Path) -> None:
    (told,) = faults(tmp_path, "[lines]\nwater = 5\nglycerin = { parts = 3 }\n", name="f.toml")
    assert told == "[lines]: read 'percent, parts and grams mixed', expected one of them throughout"


def test_missing_and_unreadable_files_are_refused(tmp_path: Path) -> None:
    for name in ("none.csv", "none.toml"):
        with pytest.raises(BadInput, match="there is no such file"):
            read_formula(tmp_path / name, CATALOGUE)
    (tmp_path / "f.toml").write_bytes(b'name = "karit\xc3\xa9\xff"')
    with pytest.raises(BadInput, match="UTF-8"):
        read_formula(tmp_path / "f.toml", CATALOGUE)


# -- writing -----------------------------------------------------------------------------------------------------------


def formula(name: str, shares: dict[str, float]) -> Formula:
    total = sum(shares.values())
    found = [(CATALOGUE.ingredients[key], share / total) for key, share in shares.items()]
    return Formula(name, tuple(Line(item, share, item.phase) for item, share in found))


@quick
@given(base=BASES, grains=TOPS, suffix=st.sampled_from([".csv", ".toml"]))
def test_what_is_written_is_what_is_read(
    tmp_path: Path, base: dict[str, float], grains: dict[str, float], suffix: str
) -> None:
    before = formula("f", {**base, **grains})
    path = tmp_path / f"f{suffix}"
    path.write_text(before.text(suffix), encoding="utf-8")
    after = read_formula(path, CATALOGUE)
    assert not after.rescaled
    assert after.formula.name == "f"
    assert fractions(after.formula) == pytest.approx(fractions(before), abs=1e-7)
    assert [line.phase for line in after.formula.lines] == [line.phase for line in before.lines]


@quick
@given(name=st.text(min_size=1, max_size=20).filter(lambda name: not HIDDEN.search(name)))
def test_any_name_survives_toml(tmp_path: Path, name: str) -> None:
    before = formula(name, {"water": 1.0, "sea salt, fine": 1.0})
    (tmp_path / "f.toml").write_text(before.text(".toml"), encoding="utf-8")
    assert read_formula(tmp_path / "f.toml", CATALOGUE).formula.name == name


def test_a_phase_that_is_not_the_usual_one_is_written_too(tmp_path: Path) -> None:
    glycerin = CATALOGUE.ingredients["glycerin"]
    Formula("f", (Line(glycerin, 1.0, "cool-down"),)).save(tmp_path / "f.csv")
    assert (tmp_path / "f.csv").read_text() == "ingredient,percent,phase\nglycerin,100.00,cool-down\n"


@pytest.mark.parametrize("ending", [".csv", ".toml"])
def test_what_is_saved_comes_back_within_what_a_rule_takes_for_rounding(tmp_path: Path, ending: str) -> None:
    shares = {"water": 3.0, "glycerin": 1.0, "sweet almond oil": 1.0, "beeswax": 1.0, "sea salt, fine": 1.0}
    before = formula("f", shares)  # sevenths, as the edge of a rule that counts one line per another
    path = tmp_path / f"f{ending}"
    before.save(path)
    after = read_formula(path, CATALOGUE).formula
    off = [abs(after.fraction(name) - before.fraction(name)) for name in shares]
    assert sum(off) < TRACE


def test_the_declaration_sums_constituents_over_ingredients() -> None:
    # water 50 with glycerin 50, which holds 0.5 % of water itself
    found = formula("f", {"water": 50, "glycerin": 50}).declaration()
    assert [name for name, _ in found] == ["Aqua", "Glycerin"]
    assert [share for _, share in found] == pytest.approx([0.5025, 0.4975])


def test_names_of_the_declaration_that_differ_in_case_are_one() -> None:
    whole = Value(None, 100.0, None, "%", "test", Evidence.OWN)
    one, other = (Ingredient(name, ("oil",), "oil phase", constituents=(Constituent(name, "", whole),))
                  for name in ("Squalane", "SQUALANE"))  # fmt: skip
    found = Formula("f", (Line(one, 0.25, "oil phase"), Line(other, 0.75, "oil phase"))).declaration()
    assert found == [("Squalane", 1.0)]


def test_the_table_of_a_formula() -> None:
    rows = formula("f", {"water": 75, "glycerin": 25}).table().to_dict("records")
    assert rows == [
        {"ingredient": "water", "phase": "water phase", "percent": 75.0},
        {"ingredient": "glycerin", "phase": "water phase", "percent": 25.0},
    ]


# -- whatever ----------------------------------------------------------------------------------------------------------


@quick
@given(text=st.one_of(st.text(max_size=60), st.text('ingredient,percentwater0123456789\n"', max_size=60)), suffix=...)
def test_any_text_whatever_gives_a_formula_or_faults(tmp_path: Path, text: str, suffix: bool) -> None:
    path = tmp_path / ("f.toml" if suffix else "f.csv")
    path.write_text(text, encoding="utf-8")
    found, told = outcome(path, CATALOGUE)
    assert (found is None) == bool(told)


def outcome(path: Path, catalogue: Catalogue) -> tuple[Reading | None, tuple[Fault, ...]]:
    """The reading, or the faults; anything else is a crash."""
    try:
        return read_formula(path, catalogue), ()
    except BadInput as bad:
        return None, bad.faults


def test_a_formula_of_parts_says_every_name_that_is_not_known() -> None:
    assert mixed({"water": 3, "glycerin": 1}).fraction("water") == 0.75
    with pytest.raises(BadInput) as bad:
        mixed({"wter": 3, "glycerine oil": 1, "water": 1})
    assert len(bad.value.faults) == 2
    with pytest.raises(BadInput, match="above nothing"):
        mixed({"water": 0})


@pytest.mark.parametrize("word", ["Total", "total:", "TOTALS", "Sum :", "sum="])
def test_a_row_that_sums_up_is_no_ingredient(tmp_path: Path, word: str) -> None:
    path = tmp_path / "f.csv"
    path.write_text(f"ingredient,percent\nwater,70\nglycerin,30\n{word},100\n", encoding="utf-8")
    assert [line.ingredient.name for line in read_formula(path, CATALOGUE).formula.lines] == ["water", "glycerin"]


def test_a_row_without_a_name_is_told_what_it_may_be(tmp_path: Path) -> None:
    path = tmp_path / "f.csv"
    path.write_text("ingredient,percent\nwater,70\nglycerin,30\n,100\n", encoding="utf-8")
    with pytest.raises(BadInput, match=r"nothing is written here\. Write its name, or total where") as bad:
        read_formula(path, CATALOGUE)
    assert len(bad.value.faults) == 1
