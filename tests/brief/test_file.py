"""Briefs: every key, every way to get one wrong, all told at once."""

import datetime
from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from optiform.brief.brief import Brief, Range
from optiform.brief.file import KEYS, read_brief
from optiform.brief.leftout import Out
from optiform.properties.base import Mix, fractions
from optiform.reading.faults import BadInput, Fault
from optiform.rules.law import Scope
from tests.builders import reasons

GOAL = '[goal]\nlowest = "oil phase"\n'
TWO = 'candidates = ["water", "glycerin"]\n'


def read(folder: Path, text: str, files: Mapping[str, str] | None = None) -> Brief:
    for name, content in (files or {}).items():
        (folder / name).write_text(content, encoding="utf-8")
    path = folder / "brief.toml"
    path.write_text(text, encoding="utf-8")
    return read_brief(path)


def faults(folder: Path, text: str, files: Mapping[str, str] | None = None) -> dict[str, str]:
    """Place and the rest of every fault."""
    with pytest.raises(BadInput) as caught:
        read(folder, text, files)
    found = [(fault.place, f"read {fault.read}, expected {fault.expected}") for fault in caught.value.faults]
    assert len(dict(found)) == len(found), f"a place is told twice: {found}"
    return dict(found)


def names(brief: Brief) -> list[str]:
    return [item.name for item in brief.mix.ingredients]


def ends(brief: Brief) -> dict[str, tuple[float | None, float | None]]:
    return {limit.property.name: (limit.low, limit.high) for limit in brief.limits}


def range_of(brief: Brief, name: str) -> Range:
    return brief.ranges[names(brief).index(name)]


def phase_of(brief: Brief, name: str) -> str:
    return brief.mix.phases[names(brief).index(name)]


# -- what a brief says -------------------------------------------------------------------------------------------------

FULL = """
title = "Foot polish"
kind = "Cream Scrub"
use = "Leave-On"
area = "feet"
markets = ["eu", "GB"]
date = 2026-03-01
currency = "gbp"
batch = "2,5 kg"
scale = "0.5 g"
own_files = ["shop.csv"]
reference = "today.csv"
candidates = "owned"
exclude = ["sweet almond oil"]
missing = "leave out"
count_as_oil = ["glyceryl stearate"]

[goal]
highest = "oil phase"

[lines]
"glycerin" = { low = "2 %", high = 5 }
"water" = "60 %"

[limits]
"oil phase" = { low = "24 %", high = 32 }
"cost" = { high = "4 GBP/kg" }
"solid fat at 50 degF" = { high = "40 %" }
"""
SHOP = (
    'ingredient,price (GBP/kg),stock\nglycerin,4,1\nwater,0.2,\n"shea butter, refined",11,2\n'
    "sweet almond oil,9,1\nglyceryl stearate,7,1\ncocoa butter,,1\n"
)
TODAY = "ingredient,percent,phase\nwater,60,\nglycerin,5,cool-down\nglyceryl stearate,35,\n"


def test_every_key_is_read(tmp_path: Path) -> None:
    brief = read(tmp_path, FULL, {"shop.csv": SHOP, "today.csv": TODAY})
    assert (brief.title, brief.kind, brief.currency) == ("Foot polish", "cream scrub", "GBP")
    assert brief.scope == Scope("leave-on", "feet", ("EU", "GB"), datetime.date(2026, 3, 1))
    assert (brief.batch, brief.step) == (2.5, 0.5)
    assert sorted(names(brief)) == ["glycerin", "glyceryl stearate", "shea butter, refined", "water"]
    assert reasons(brief) == {
        "sweet almond oil": "excluded by the brief",
        "cocoa butter": "no figure for cost",
    }
    assert ends(brief) == {"oil phase": (24, 32), "cost": (None, 4), "solid fat at 10 degC": (None, 40)}
    assert range_of(brief, "glycerin") == Range(0.02, 0.05, "brief")
    assert range_of(brief, "water") == Range(0.6, 0.6, "brief")
    assert range_of(brief, "water").pinned
    assert brief.goal.words == "highest oil phase"
    assert brief.reference is not None
    assert brief.reference.name == "today"
    assert phase_of(brief, "glycerin") == "cool-down", "today's phase goes before the catalogue's"


def test_a_brief_that_says_little_takes_what_is_usual(tmp_path: Path) -> None:
    brief = read(tmp_path, TWO + GOAL)
    assert (brief.title, brief.kind, brief.currency, brief.batch, brief.step) == ("brief", "", "EUR", 1.0, 0.1)
    assert (brief.scope.use, brief.scope.area, brief.scope.markets) == ("rinse-off", "body", ())
    assert brief.limits == ()
    assert brief.reference is None
    assert read(tmp_path, TWO + 'missing = "leave out"\nexclude = []\n' + GOAL).goal.words == "lowest oil phase"


def test_the_goal_is_the_least_cost_where_nothing_is_said(tmp_path: Path) -> None:
    shop = {"shop.csv": "ingredient,price\nwater,0.2 EUR\n"}
    assert read(tmp_path, 'own_files = ["shop.csv"]\n', shop).goal.words == "lowest cost"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "nearest to usual"),
        ('reference = "today.csv"\n', "nearest to today"),
        ('reference = "today.csv"\nusual = "warn"\n', "nearest to today"),
        ('reference = "today.csv"\n[limits]\n"water phase" = { low = "5 %" }\n', "lowest cost"),
    ],
)
def test_where_nothing_is_wished_todays_formula_stands(tmp_path: Path, text: str, words: str) -> None:
    """What is made today is no wish for the cheapest: before its file was named the brief did not ask for that."""
    shop = {"shop.csv": "ingredient,price\nwater,0.2 EUR\nglycerin,2 EUR\n", "today.csv": TODAY}
    begun = 'kind = "lotion"\nown_files = ["shop.csv"]\nmissing = "leave out"\n'
    assert read(tmp_path, begun + text, shop).goal.words == words


@pytest.mark.parametrize(
    ("goal", "words"),
    [
        ('lowest = "iodine value"', "lowest iodine value"),
        ('highest = "humectant active"', "highest humectant active"),
        ('nearest = "reference"', "nearest to today"),
        ('nearest = "other.csv"', "nearest to other"),
    ],
)
def test_the_kinds_of_goal(tmp_path: Path, goal: str, words: str) -> None:
    files = {"today.csv": TODAY, "other.csv": "ingredient,percent\nwater,100\n"}
    text = f'reference = "today.csv"\n{TWO}[goal]\n{goal}\n'
    assert read(tmp_path, text, files).goal.words == words


# -- every fault at once -----------------------------------------------------------------------------------------------

WRONG = """
title = 5
kind = "soup"
use = "eat"
area = 3
markets = ["EU", "MARS"]
date = "2026-01-01"
currency = 5
batch = "-1 kg"
scale = "one gram"
own_files = "shop.csv"
reference = "none.csv"
candidates = ["watr", "glycerin"]
exclude = "glycerin"
missing = "guess"
count_as_oil = ["glycerol stearat"]
shelf = 1

[goal]
best = "cost"

[lines]
"wter" = 5
"glycerin" = { lo = 3 }
"xanthan gum" = { low = 5, high = 2 }
"water" = "5 kg"
"cocoa butter" = { phase = "hot" }

[limits]
"oil fase" = { low = 5 }
"oil phase" = { low = "40 %", high = "30 %" }
"water phase" = { least = 5 }
"grains" = {}
"solid fat at ten degC" = { low = 1 }
"solid fat at 10 degC" = { low = "3 kg" }
"undissolved sugar at 300 degC" = { low = 1 }
"cool-down" = { low = true }
"""


def test_a_brief_with_many_faults_has_them_all_told_at_once(tmp_path: Path) -> None:
    told = faults(tmp_path, WRONG)
    expected = {
        "title": "a text",
        "kind": "one of: cream scrub",
        "use": "one of: rinse-off, leave-on",
        "area": "one of: body, face",
        "markets": "read 'MARS', expected any of: EU, GB, US",
        "date": "a date such as 2026-11-25, without quotes",
        "currency": "a text",
        "batch": "read '-1 kg', expected more than nothing",
        "scale": "a quantity in g",
        "own_files": "a list of texts",
        "file": "a file of this name",
        "candidates": "read 'watr', expected a known ingredient; near: water",
        "exclude": "a list of texts",
        "missing": "one of: refuse, leave out",
        "count_as_oil": "a known ingredient; near: glyceryl stearate",
        "shelf": "one of the keys: area, batch",
        "[goal] best": "one of the keys: lowest, highest, nearest",
        "[lines] wter": "near: water",
        "[lines] glycerin, lo": "low? one of the keys: low, high, phase",
        "[lines] xanthan gum": "low not above high",
        "[lines] water": "a quantity in %, not in 'kg'",
        "[lines] cocoa butter": "one of the phases",
        "[limits] oil fase": "a property; near: oil phase",
        "[limits] oil phase": "low not above high",
        "[limits] water phase, least": "one of the keys: low, high",
        "[limits] grains": "low, high or both",
        "[limits] solid fat at ten degC": "a quantity in degC",
        "[limits] solid fat at 10 degC, low": "a quantity in %, not in 'kg'",
        "[limits] undissolved sugar at 300 degC": "a condition the tables cover",
        "[limits] cool-down, low": "a quantity in %",
    }
    assert set(told) == set(expected)
    missed = {place: words for place, words in expected.items() if words not in told[place]}
    assert missed == {}


MASSES = ("batch", "scale", "jar")


@pytest.mark.parametrize("ends", ['low = "-0.2"', 'high = "1.4"', 'low = "0"'])
def test_a_water_activity_that_nothing_has_is_refused(tmp_path: Path, ends: str) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[limits]\n"water activity" = {{ {ends} }}\n')
    assert any(place.startswith("[limits] water activity") for place in told), told


@pytest.mark.parametrize(
    "key", sorted(set(KEYS) - {"goal", "lines", "limits", "choose", "when", "ph", "wet_fingers", *MASSES})
)
@pytest.mark.parametrize("value", ["true", "3.5", "[[1]]", "{ a = 1 }"])
def test_every_key_refuses_what_it_cannot_be(tmp_path: Path, key: str, value: str) -> None:
    candidates = "" if key == "candidates" else TWO
    told = faults(tmp_path, f"{key} = {value}\n{candidates}{GOAL}")
    assert any(place == key for place in told)


@pytest.mark.parametrize("value", ["true", '"acid"', "0", "13", "-1", "[5]", "nan"])
def test_a_ph_that_touches_no_skin_is_refused(tmp_path: Path, value: str) -> None:
    assert "ph" in faults(tmp_path, f"ph = {value}\n{TWO}{GOAL}")


def test_the_ph_and_the_rules_that_a_brief_overrules_are_read(tmp_path: Path) -> None:
    brief = read(tmp_path, f'ph = "5.2"\noverrule = ["Acid-carbonate", "ph carbomer"]\n{TWO}{GOAL}')
    assert (brief.ph, brief.overrule) == (5.2, ("acid-carbonate", "ph carbomer"))
    plain = read(tmp_path, TWO + GOAL)
    assert (plain.ph, plain.overrule) == (None, ())


def test_a_rule_that_is_none_is_refused_with_the_one_it_looks_like(tmp_path: Path) -> None:
    told = faults(tmp_path, f'overrule = ["acid-carbonat"]\n{TWO}{GOAL}')
    assert "acid-carbonate?" in told["overrule"]
    assert "optiform rules" in told["overrule"]


@pytest.mark.parametrize("key", MASSES)
@pytest.mark.parametrize("value", ["true", '"x"', "0", "-1", '"1 degC"', "[1]", "nan", "inf", '"1,234 g"'])
def test_a_mass_refuses_what_is_none(tmp_path: Path, key: str, value: str) -> None:
    assert set(faults(tmp_path, f"{key} = {value}\n{TWO}{GOAL}")) == {key}


@pytest.mark.parametrize(
    ("text", "place"), [("goal = 2", "[goal]"), ("lines = 2", "[lines]"), ("limits = 2", "[limits]")]
)
def test_a_table_that_is_none_is_refused(tmp_path: Path, text: str, place: str) -> None:
    told = faults(tmp_path, f"{text}\n{TWO}{'' if 'goal' in text else GOAL}")
    assert set(told) == {place}


@pytest.mark.parametrize("text", ["x", "a = " + "[" * 5000, "a = " + "9" * 5000, 'a = "\\q"'])
def test_what_is_no_toml_is_refused(tmp_path: Path, text: str) -> None:
    assert faults(tmp_path, text).keys() == {"line 1"}


def test_a_missing_brief_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="there is no such file"):
        read_brief(tmp_path / "none.toml")


def test_faults_of_the_files_a_brief_names_are_told_with_its_own(tmp_path: Path) -> None:
    files = {"shop.csv": "ingredient,price\nglycerin,4\n", "today.csv": "ingredient,percent\nwatr,100\n"}
    told = faults(tmp_path, 'own_files = ["shop.csv"]\nreference = "today.csv"\nkind = "soup"\n' + TWO + GOAL, files)
    assert set(told) == {"row 2, column price", "row 2, ingredient", "kind"}


def test_a_datetime_is_no_date(tmp_path: Path) -> None:
    assert set(faults(tmp_path, f"date = 2026-01-01T10:00:00\n{TWO}{GOAL}")) == {"date"}


@pytest.mark.parametrize(
    ("goal", "place"),
    [
        ('lowest = "oil fase"', "[goal]"),
        ('lowest = ["oil phase"]', "[goal]"),
        ('nearest = "reference"', "[goal] nearest"),
        ('nearest = "none.csv"', "file"),
        ('lowest = "oil phase"\nhighest = "oil phase"', "[goal]"),
        ("", "[goal]"),
    ],
)
def test_a_goal_that_is_none_is_refused_and_nothing_else_is_blamed(tmp_path: Path, goal: str, place: str) -> None:
    assert set(faults(tmp_path, f"{TWO}[goal]\n{goal}\n")) == {place}


# -- limits ------------------------------------------------------------------------------------------------------------


def test_a_single_value_is_both_ends(tmp_path: Path) -> None:
    assert ends(read(tmp_path, TWO + GOAL + '[limits]\n"oil phase" = "5 %"\n')) == {"oil phase": (5, 5)}


def test_parts_per_100_of_base_is_a_share_of_the_base(tmp_path: Path) -> None:
    text = """[limits]
"grains" = { low = "60 parts per 100 of base" }
"share of butter" = { low = "5 % of base", high = "15 parts per 100 of base" }
"share of oil" = { high = "15 parts per 100" }
"""
    brief = read(tmp_path, TWO + GOAL + text)
    assert ends(brief) == {
        "grains per 100 of base": (60, None),
        "share of butter in the base": (5, 15),
        "share of oil": (None, 15),
    }


def test_a_share_of_the_base_leaves_the_grains_out(tmp_path: Path) -> None:
    # 20 of butter and 30 of water under 50 of salt: 40 % of the base, and 100 of grains per 100 of base
    text = '[limits]\n"share of butter" = "40 % of base"\n"grains" = "100 parts per 100 of base"\n'
    brief = read(tmp_path, 'candidates = ["shea butter, refined", "water", "sea salt, fine"]\n' + GOAL + text)
    x = np.array([0.2, 0.3, 0.5])
    assert [limit.property.terms(brief.mix, x).at(x) for limit in brief.limits] == pytest.approx([40, 100])


@pytest.mark.parametrize(
    ("name", "share", "value"),
    [
        ("oil phase", "15 parts per 100 of base", 40),
        ("oil phase", "40 % of the base", 40),
        ("water", "60 % of base", 60),
        ("grains per 100 of base", "120 parts per 100 of base", 100),
        ("share of butter in the base", "10 parts per 100 of base", 40),
    ],
)
def test_any_amount_in_the_whole_may_be_asked_of_the_base(tmp_path: Path, name: str, share: str, value: float) -> None:
    # 20 of butter and 30 of water under 50 of salt
    text = f'candidates = ["shea butter, refined", "water", "sea salt, fine"]\n{GOAL}[limits]\n"{name}" = "{share}"\n'
    (limit,) = read(tmp_path, text).limits
    x = np.array([0.2, 0.3, 0.5])
    assert limit.property.terms(read(tmp_path, text).mix, x).at(x) == pytest.approx(value, abs=0.1)
    assert limit.low == limit.high == float(share.split()[0])


def test_a_fault_of_the_base_quotes_what_was_written(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[limits]\n"oil phase" = {{ low = "1O % of base" }}\n')
    assert "'1O % of base'" in told["[limits] oil phase, low"]


def test_a_line_is_of_the_whole_and_a_fault_says_so(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[lines]\n"glycerin" = "5 % of base"\n')
    assert "% of the whole" in told["[lines] glycerin"]


def test_what_is_dosed_stays_in_its_usual_use_unless_a_line_says_otherwise(tmp_path: Path) -> None:
    shelf = 'candidates = ["water", "lavender essential oil", "sorbic acid", "glycerin"]\n'
    brief = read(tmp_path, shelf + GOAL)
    for name in ("lavender essential oil", "sorbic acid"):
        item = brief.catalogue.ingredients[name]
        usual, most = item.value("usual use"), item.value("maximum use")
        assert usual is not None
        assert usual.high is not None
        top = min(usual.high, most.figure if most else 100.0)
        found = range_of(brief, name)
        assert (found.low, found.source) == (0.0, "advice")
        assert found.high == pytest.approx(top / 100)
    assert range_of(brief, "glycerin") == Range(0.0, 0.45, "usual"), "which is not dosed: it gives where it must"
    lined = read(tmp_path, f'{shelf}{GOAL}[lines]\n"lavender essential oil" = {{ high = "4 %" }}\n')
    assert range_of(lined, "lavender essential oil") == Range(0.0, 0.04, "brief")


def test_every_figure_that_a_candidate_lacks_is_told(tmp_path: Path) -> None:
    shop = {"shop.csv": "ingredient,phase,functions,price\nwater,,,1 EUR\nnew oil,oil phase,oil,\n"}
    text = 'own_files = ["shop.csv"]\nmissing = "leave out"\n[limits]\n"iodine value" = { high = 90 }\n'
    brief = read(tmp_path, text, shop)
    assert reasons(brief) == {"new oil": "no figure for iodine value, cost"}
    told = faults(tmp_path, text.replace("leave out", "refuse"), shop)
    assert {place.rsplit("] ", 1)[1] for place in told} == {"iodine value", "cost"}


@pytest.mark.parametrize(
    "limit",
    [
        '"iodine value" = { low = "15 parts per 100 of base" }',  # a mean over the fats already
        '"dissolved salt at 20 degC" = "2 % of base"',  # bends
        '"share of oil" = { low = "2 %", high = "20 % of base" }',  # of the whole, or of the base?
    ],
)
def test_a_basis_that_is_not_clear_is_refused(tmp_path: Path, limit: str) -> None:
    (place,) = faults(tmp_path, f"{TWO}{GOAL}[limits]\n{limit}\n")
    assert place.startswith("[limits] ")


@pytest.mark.parametrize(
    ("name", "near"),
    [("oil fase", "oil phase"), ("iodin value", "iodine value"), ("share of buter", "share of butter")],
)
def test_a_property_that_is_not_known_gets_near_names(tmp_path: Path, name: str, near: str) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[limits]\n"{name}" = 5\n')
    assert near in told[f"[limits] {name}"]


# -- candidates --------------------------------------------------------------------------------------------------------

STOCK = {"shop.csv": "ingredient,price,stock\nwater,0.2 EUR,5\nglycerin,4 EUR,0\npropanediol,9 EUR,\nxanthan gum,,3\n"}


def test_in_stock_leaves_out_what_is_gone_and_keeps_what_is_not_counted(tmp_path: Path) -> None:
    brief = read(tmp_path, f'own_files = ["shop.csv"]\ncandidates = "in stock"\n{GOAL}', STOCK)
    assert sorted(names(brief)) == ["propanediol", "water", "xanthan gum"]
    assert brief.left_out == (("glycerin", Out.OUT_OF_STOCK),)


def test_owned_takes_every_row_of_the_own_files(tmp_path: Path) -> None:
    for text in ('candidates = "owned"\n', ""):
        brief = read(tmp_path, f'own_files = ["shop.csv"]\n{text}{GOAL}', STOCK)
        assert sorted(names(brief)) == ["glycerin", "propanediol", "water", "xanthan gum"]


def test_a_line_asks_for_its_ingredient_even_out_of_stock_or_not_owned(tmp_path: Path) -> None:
    lines = '[lines]\n"glycerin" = 3\n"sorbitol, 70 %" = { low = 1 }\n'
    brief = read(tmp_path, f'own_files = ["shop.csv"]\ncandidates = "in stock"\n{GOAL}{lines}', STOCK)
    assert {"glycerin", "sorbitol, 70 %"} <= set(names(brief))
    assert brief.left_out == ()


def test_an_exclusion_is_said_and_goes_before_everything(tmp_path: Path) -> None:
    for line in ("", '"glycerin" = 0\n', '"glycerin" = { high = "0 %" }\n', '"glycerin" = { phase = "water phase" }\n'):
        brief = read(tmp_path, f'{TWO}exclude = ["Glycerol"]\n{GOAL}[lines]\n{line}')
        assert names(brief) == ["water"]
        assert brief.left_out == (("glycerin", Out.EXCLUDED),)


@pytest.mark.parametrize(
    ("line", "amount"),
    [
        ("3", "fixed at 3"),
        ('{ low = "2 %" }', "at least 2 %"),
        ('{ high = "5 %" }', "at most 5 %"),
        ('{ low = "2 %", high = "5 %" }', "at least 2 %, at most 5 %"),
    ],
)
def test_an_amount_of_what_is_excluded_is_a_fault_that_names_both(tmp_path: Path, line: str, amount: str) -> None:
    told = faults(tmp_path, f'{TWO}exclude = ["Glycerol"]\n{GOAL}[lines]\n"glycerin" = {line}\n')
    assert set(told) == {"[lines] glycerin"}
    assert f"read '{amount}, but exclude names Glycerol'" in told["[lines] glycerin"]
    assert "expected this line taken out, or Glycerol taken off exclude" in told["[lines] glycerin"]


def test_an_amount_of_what_lacks_a_figure_is_a_fault_that_names_both(tmp_path: Path) -> None:
    lines = '[lines]\n"water" = { low = "40 %" }\n'
    told = faults(tmp_path, f'missing = "leave out"\n{WANTS}{lines}', PARTLY)
    assert set(told) == {"[lines] water"}
    assert "at least 40 %, but missing = " in told["[lines] water"]
    assert "no figure for slip" in told["[lines] water"]
    assert "or the figure put into an own file" in told["[lines] water"]


def test_a_list_takes_synonyms_and_each_ingredient_once(tmp_path: Path) -> None:
    assert names(read(tmp_path, f'candidates = ["Aqua", "water", "glycerol"]\n{GOAL}')) == ["water", "glycerin"]


@pytest.mark.parametrize("given", ['"everything"', "[]", "5", '"owned"', '"in stock"'])
def test_candidates_that_are_none_are_refused(tmp_path: Path, given: str) -> None:
    assert set(faults(tmp_path, f"candidates = {given}\n{GOAL}")) == {"candidates"}


def test_a_brief_that_leaves_every_candidate_out_is_refused_with_the_reasons(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}missing = "leave out"\nexclude = ["water"]\n')
    assert told["candidates"].startswith("read 'water: exclude; glycerin: no figure for cost'")


PARTLY = {"shop.csv": "ingredient,price,slip\nwater,0.2 EUR,\nglycerin,4 EUR,3\npropanediol,,2\n"}
WANTS = f'own_files = ["shop.csv"]\n{GOAL}[limits]\n"slip" = {{ low = 1 }}\n"cost" = {{ high = 9 }}\n'


def test_a_missing_figure_is_refused_with_the_ingredient_named(tmp_path: Path) -> None:
    told = faults(tmp_path, WANTS, PARTLY)
    assert "read 'no figure for water'" in told["[limits] or [goal] slip"]
    assert "read 'no figure for propanediol'" in told["[limits] or [goal] cost"]


def test_a_missing_figure_may_leave_its_ingredient_out_and_that_is_said(tmp_path: Path) -> None:
    brief = read(tmp_path, 'missing = "leave out"\n' + WANTS, PARTLY)
    assert names(brief) == ["glycerin"]
    assert reasons(brief) == {"water": "no figure for slip", "propanediol": "no figure for cost"}


def test_a_price_in_another_currency_is_a_missing_one(tmp_path: Path) -> None:
    shop = {"shop.csv": "ingredient,price\nwater,0.2 EUR\nglycerin,4 GBP\n"}
    told = faults(tmp_path, 'own_files = ["shop.csv"]\n', shop)
    assert "no figure for glycerin (only in GBP/kg, not in EUR/kg)" in told["[limits] or [goal] cost"]


# -- lines -------------------------------------------------------------------------------------------------------------


def test_a_line_may_move_its_ingredient_to_another_phase(tmp_path: Path) -> None:
    brief = read(tmp_path, f'{TWO}{GOAL}[lines]\n"glycerin" = {{ phase = "cool-down", high = "5 %" }}\n')
    assert phase_of(brief, "glycerin") == "cool-down"
    assert range_of(brief, "glycerin") == Range(0.0, 0.05, "brief")
    assert phase_of(brief, "water") == "water phase"


def test_a_line_with_a_phase_alone_keeps_the_advised_range(tmp_path: Path) -> None:
    shop = {"shop.csv": "ingredient,maximum use\nglycerin,8\nwater,\n"}
    head = f'own_files = ["shop.csv"]\n{GOAL}'
    advised = read(tmp_path, f'{head}[lines]\n"glycerin" = {{ phase = "cool-down" }}\n', shop)
    assert range_of(advised, "glycerin") == Range(0.0, 0.08, "advice")
    overruled = read(tmp_path, f'{head}[lines]\n"glycerin" = {{ high = "20 %" }}\n', shop)
    assert range_of(overruled, "glycerin") == Range(0.0, 0.2, "brief")


def test_the_same_ingredient_under_two_names_is_refused(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[lines]\n"water" = 5\n"aqua" = 7\n')
    assert told == {"[lines] aqua": "read 'water', expected each ingredient once"}


@pytest.mark.parametrize("given", ['"-1 %"', '"101 %"', "{ low = 5, high = 4 }", "{ low = -1 }", "{ high = 250 }"])
def test_a_share_outside_0_to_100_is_refused(tmp_path: Path, given: str) -> None:
    assert set(faults(tmp_path, f'{TWO}{GOAL}[lines]\n"water" = {given}\n')) == {"[lines] water"}


# -- counting glyceryl stearate ----------------------------------------------------------------------------------------


def test_an_emulsifier_can_be_counted_as_oil_with_its_hlb_as_required_hlb(tmp_path: Path) -> None:
    # glyceryl stearate 3 and polysorbate 60 2 with cetyl alcohol 5: 5 of 5 per 100, or 2 of 8
    text = 'candidates = ["glyceryl stearate", "polysorbate 60", "cetyl alcohol"]\n'
    limit = '[limits]\n"emulsifier per 100 of oil phase" = { low = 1 }\n'
    x = np.array([0.3, 0.2, 0.5])
    plain = read(tmp_path, text + GOAL + limit)
    counted = read(tmp_path, text + 'count_as_oil = ["glyceryl stearate"]\n' + GOAL + limit)
    assert plain.limits[0].property.terms(plain.mix, x).at(x) == pytest.approx(100)
    assert counted.limits[0].property.terms(counted.mix, x).at(x) == pytest.approx(25)
    before, after = plain.mix.ingredients[0], counted.mix.ingredients[0]
    assert before.value("hlb") is not None
    assert after.value("hlb") is None
    assert after.value("required hlb") == (before.value("required hlb") or before.value("hlb"))
    assert not after.has("emulsifier")


def test_counting_as_oil_reaches_the_reference_too(tmp_path: Path) -> None:
    text = f'{TWO}reference = "today.csv"\ncount_as_oil = ["glyceryl stearate"]\n{GOAL}'
    brief = read(tmp_path, text, {"today.csv": TODAY})
    assert brief.reference is not None
    mix = Mix.of(brief.reference)
    assert mix.serving("emulsifier") @ fractions(brief.reference) == 0


# -- whatever ----------------------------------------------------------------------------------------------------------

VALUES = st.sampled_from(
    ["1", "-1", '""', '"5 %"', '"x"', "true", "[]", '["water"]', "[1]", "{}", "{ low = 1 }", "nan", "2026-01-01"]
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(keys=st.dictionaries(st.sampled_from(sorted(KEYS)), VALUES, max_size=6))
def test_any_values_whatever_give_a_brief_or_faults(tmp_path: Path, keys: dict[str, str]) -> None:
    brief, told = outcome(tmp_path, "".join(f"{key} = {value}\n" for key, value in keys.items()))
    assert (brief is None) == bool(told)


def outcome(folder: Path, text: str) -> tuple[Brief | None, tuple[Fault, ...]]:
    """The brief, or the faults; anything else is a crash."""
    try:
        return read(folder, text), ()
    except BadInput as bad:
        return None, bad.faults


OWN = (
    "ingredient,phase,functions,origin,price (EUR/kg)\nquillmere tallow,oil phase,butter,,1\n"
    "quillmere fat,oil phase,butter,plant,2\nbeeswax,,,,9\n"
)


VEGAN = 'own_files = ["own.csv"]\nclaims = ["vegan"]\ncandidates = ["quillmere tallow", "quillmere fat"'


@pytest.mark.parametrize("line", ['"5 %"', '{ high = "5 %" }'])
def test_an_amount_of_what_breaks_a_claim_is_a_fault_that_names_both(tmp_path: Path, line: str) -> None:
    told = faults(tmp_path, f'{VEGAN}]\n[lines]\n"beeswax" = {line}\n', {"own.csv": OWN})
    assert set(told) == {"[lines] beeswax"}
    assert "but the claim vegan leaves it out" in told["[lines] beeswax"]
    assert "expected this line taken out, or the claim taken off claims" in told["[lines] beeswax"]


def test_what_is_not_known_to_keep_a_claim_is_left_out(tmp_path: Path) -> None:
    brief = read(tmp_path, f'{VEGAN}, "beeswax"]\n', {"own.csv": OWN})
    assert names(brief) == ["quillmere fat"]
    assert reasons(brief) == {
        "quillmere tallow": "not known to be vegan: no origin given",
        "beeswax": "not vegan",
    }


@pytest.mark.parametrize("key", ["jar", "batch", "scale"])
def test_a_volume_for_a_mass_is_told_as_that(tmp_path: Path, key: str) -> None:
    assert "a volume does not say what it weighs" in faults(tmp_path, f'{key} = "200 ml"\n{TWO}{GOAL}')[key]
    assert "a volume" not in faults(tmp_path, f'{key} = "20 degC"\n{TWO}{GOAL}')[key]


def test_what_a_bad_currency_or_own_table_brings_with_it_is_not_told(tmp_path: Path) -> None:
    """No price is known then, of any candidate: that is no fault of theirs."""
    (tmp_path / "own.csv").write_text("ingredient,pack prise (EUR)\nwater,4\n")
    limits = '[lines]\nwater = "5 %"\n'
    assert "header" in faults(tmp_path, f'own_files = ["own.csv"]\n{GOAL}{limits}')
    assert set(faults(tmp_path, f'currency = "€"\n{TWO}{GOAL}{limits}')) == {"currency"}


def test_a_lack_that_is_a_fault_is_told_once_and_not_as_something_left_out(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}[goal]\nlowest = "cost"\n[lines]\nwater = "5 %"\n')
    assert set(told) == {"[limits] or [goal] cost"}


def test_a_fault_shows_a_table_as_it_is_written(tmp_path: Path) -> None:
    told = faults(tmp_path, f'{TWO}{GOAL}[lines]\nwater = {{ high = "130 %" }}\n')
    assert told == {"[lines] water": 'read { high = "130 %" }, expected 0 to 100 %, low not above high'}


def test_a_ph_and_a_batch_at_fault_are_told_together(tmp_path: Path) -> None:
    assert set(faults(tmp_path, f'ph = 12\nbatch = "4 L"\n{TWO}{GOAL}')) == {"ph", "batch"}


def test_an_ingredient_among_the_limits_is_told_where_its_amount_goes(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="glycerin is an ingredient: write its amount under") as caught:
        read(tmp_path, f'{TWO}{GOAL}[limits]\n"glycerin" = {{ low = "2 %" }}\n')
    assert len(caught.value.faults) == 1
