"""The rules of chemistry: a table that can be read, disjunctions that mean what the table says, and few of them."""

import csv
import random
from collections import Counter
from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, mixed
from optiform.ingredients.ingredient import Constituent, Evidence, Ingredient, Value
from optiform.reading.paths import DATABASE
from optiform.review.answer import ABOUT
from optiform.review.chemistry import clashes
from optiform.review.measures import Setting
from optiform.rules.acidity import windows, windows_of
from optiform.rules.chemistry import Chemistry, chemistry, eithers, merged, rule_ids
from optiform.rules.forms import LEVELS, Either
from optiform.rules.packs import USUAL
from optiform.rules.quantities import WORDS, Amounts, amount, keyed, outer_phase
from optiform.telling.explained import explained, matching
from tests.every import every
from tests.sweeps import is_long

CATALOGUE = read_catalogue()
ITEMS = list(CATALOGUE.ingredients.values())
TABLES = (
    "chemistry", "charge", "acidity", "solution_ph", "acids", "partition", "oxidation", "emulsifiers", "preservation",
    "iso29621",
)  # fmt: skip


def rows(table: str) -> list[dict[str, str]]:
    with (DATABASE / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def known(*names: str) -> list[Ingredient]:
    return [CATALOGUE.ingredients[name.casefold()] for name in names]


def random_formula(chance: random.Random, items: list[Ingredient]) -> Formula:
    lines = chance.sample(items, chance.randint(2, 9))
    return mixed({item.name: chance.choice([0.02, 0.1, 0.4, 1, 3, 8, 20, 50]) for item in lines})


# -- the tables --------------------------------------------------------------------------------------------------------


def test_there_are_sixty_rules_and_more_than_half_were_read() -> None:
    read = [row for row in chemistry() if row.rule.evidence is Evidence.PUBLISHED]
    assert len(chemistry()) >= 60
    assert 2 * len(read) > len(chemistry())


def test_a_hundred_and_ten_ingredients_have_a_window_of_acidity() -> None:
    assert sum(bool(windows_of(item)) for item in ITEMS) >= 110


@pytest.mark.parametrize("table", TABLES)
def test_every_row_names_known_sources_and_how_it_is_known(table: str) -> None:
    sources = {row["id"] for row in rows("sources")}
    for row in rows(table):
        assert row["evidence"] in set(Evidence) - {"own"}, row
        assert set(row["source"].split("; ")) <= sources, row


def test_ids_are_unique_and_words_are_those_of_a_warning() -> None:
    ids = Counter(x.rule.id for x in explained())
    assert [name for name, count in ids.items() if count > 1] == []
    assert {x.rule.about for x in explained()} <= set(ABOUT)
    assert set(ids) <= rule_ids()
    assert all(row.form in ("need", "clash", "level") for row in chemistry())


def test_every_group_charge_and_quantity_that_a_rule_names_is_known() -> None:
    for row in chemistry():
        for term in (term for way in row.ways for term in way):
            for quantity in filter(None, (term.what, term.of)):
                amount(ITEMS[0], quantity)  # raises for one that is none
    assert {row["charge"] for row in rows("charge")} >= {"anionic", "cationic", "zwitterionic", "nonionic", "salt"}


def test_a_quantity_that_is_none_is_refused() -> None:
    for words in ("no such thing", "group:no such group", "water with nonsense", "speed:fast"):
        with pytest.raises(ValueError, match=r"quantity|group|narrows"):
            amount(CATALOGUE.ingredients["water"], words)


def test_every_name_of_a_table_is_a_substance_or_an_ingredient_of_ours() -> None:
    declared = {part.inci.casefold() for item in ITEMS for part in item.constituents}
    for table in ("acidity", "emulsifiers", "preservation"):
        unknown = [name for name in keyed(table) if name not in declared and name not in CATALOGUE.ingredients]
        assert unknown == [], table


def test_what_a_stop_or_a_mind_advises_is_said() -> None:
    silent = [row.rule.id for row in chemistry() if row.rule.level != "note" and not row.advice]
    assert silent == []


def substance(name: str) -> Ingredient:
    share = Value(None, 100.0, None, "%", "own file", Evidence.OWN)
    return Ingredient(name.casefold(), ("active",), "cool-down", constituents=(Constituent(name, "", share),))


FOREIGN = [
    substance(name)
    for name in ("Sodium Borate", "Bronopol", "Hydrogen Peroxide", "Calcium Chloride", "Polyquaternium-10", "Vanillin")
]


@every("row", chemistry(), ids=lambda row: row.rule.id)
def test_every_rule_can_be_broken_and_is_compiled(row: Chemistry) -> None:
    kind = next(iter(row.kinds), "") if not row.but else ""
    exposure = next(iter(row.exposures), USUAL)
    area = next(iter(row.areas), "")
    ids = [x.rule.id for x in eithers([*ITEMS, *FOREIGN], kind, levels=LEVELS, exposure=exposure, area=area)]
    assert row.rule.id in ids


# -- the disjunctions --------------------------------------------------------------------------------------------------


def test_only_what_these_ingredients_can_break_is_compiled() -> None:
    assert eithers(known("sweet almond oil", "beeswax", "mixed tocopherols"), "balm") == ()
    ids = [x.rule.id for x in eithers(known("water", "glycerin"))]
    assert ids == ["water-needs-preservative"]


def test_a_kind_has_its_own_rules() -> None:
    items = known("water", "sorbitan oleate", "sweet almond oil")
    for kind, id in (("lotion", "water-in-oil-alone"), ("", "water-in-oil-watery")):
        assert id in [x.rule.id for x in eithers(items, kind)]
    assert "water-in-oil-watery" not in [x.rule.id for x in eithers(items, "lotion")]


def test_what_a_brief_overrules_is_not_compiled() -> None:
    items = known("water", "citric acid", "sodium bicarbonate", "sodium benzoate", "sodium cocoyl isethionate")
    every = {x.rule.id for x in eithers(items)}
    assert {"acid-carbonate", "acidity-mind"} <= every
    less = {x.rule.id for x in eithers(items, overrule=["acid-carbonate", "ph sodium benzoate"])}
    assert every - less == {"acid-carbonate", "acidity-mind"}
    assert not [id for id in {x.rule.id for x in eithers(items, overrule=["acidity"])} if id.startswith("acidity")]


@pytest.mark.sweep
def test_merged_rules_are_broken_by_the_same_formulas() -> None:
    chance, shelves = random.Random(14), range(40 if is_long() else 10)
    broken, tried = 0, 25 * len(shelves)
    for _ in shelves:
        items = chance.sample(ITEMS, 60)
        apart = eithers(items, chance.choice(["", "lotion", "balm", "whipped foaming base"]))
        together = merged(apart)
        assert len(together) <= len(apart)
        for _ in range(25):
            formula = random_formula(chance, items)
            each, all_at_once = (any(x.broken(formula) for x in rules) for rules in (apart, together))
            assert each == all_at_once
            broken += each
    assert 0.1 * tried < broken < tried, "both happen"


def test_what_is_proposed_has_to_keep_few_disjunctions() -> None:
    """Some forty for a hundred and twenty ingredients, and no more than a dozen ways in any."""
    chance = random.Random(14)
    for _ in range(10):
        rules = merged(eithers(chance.sample(ITEMS, 120), "lotion"))
        assert len(rules) <= 55
        assert max(len(x.ways) for x in rules) <= 16


def test_the_same_question_is_compiled_once() -> None:
    items = known("water", "glycerin", "xanthan gum")
    assert eithers(items) is eithers(items)


# -- one pH for all ----------------------------------------------------------------------------------------------------


def acidity(*names: str, ph: float | None = None) -> dict[str, Either]:
    return {
        x.rule.level: x
        for x in eithers(known("water", *names), ph=ph)
        if x.rule.about == "acidity" and "acidity-" in x.rule.id
    }


def of(*names: str, water: float = 90.0) -> Formula:
    return mixed({"water": water, **dict.fromkeys(names, 1.0), "glycerin": 100 - water - len(names)})


def test_windows_that_share_a_stretch_are_kept_and_others_broken() -> None:
    pair = ("sodium cocoyl isethionate", "sodium benzoate")  # 5 to 8, and 2 to 5: they touch
    rules = acidity(*pair)
    assert rules["mind"].broken(of(*pair))
    assert set(rules) == {"mind"}, "only one of the two is a stop"
    assert not any(x.broken(of(name)) for x in rules.values() for name in pair)
    sorbate = ("sodium cocoyl isethionate", "potassium sorbate")  # 5 to 8, and 2 to 5.5
    assert not any(x.broken(of(*sorbate)) for x in acidity(*sorbate).values())


def test_two_stops_that_do_not_meet_are_a_stop() -> None:
    pair = ("glyceryl stearate citrate", "ultramarine blue", "bentonite")  # 5 to 7, from 6.5, from 6
    assert not any(x.broken(of(*pair)) for x in acidity(*pair).values())
    assert acidity("ultramarine blue", "bentonite", ph=6.2)["stop"].broken(of("ultramarine blue", "bentonite"))


def test_a_product_without_water_has_no_ph() -> None:
    pair = ("sodium cocoyl isethionate", "sodium benzoate")
    assert not acidity(*pair)["mind"].broken(of(*pair, water=4.0))


def test_the_maker_s_own_window_goes_before_ours() -> None:
    item = CATALOGUE.ingredients["sodium benzoate"]
    own = replace(item, values={**item.values, ("ph window", None): Value(2, None, 6.2, "-", "own.csv", Evidence.OWN)})
    (window,) = windows_of(own)
    assert (window.low, window.high) == (2, 6.2)
    assert len(windows()) > 100


# -- what ingredients bring --------------------------------------------------------------------------------------------


def test_what_an_emulsifier_likes_outside_is_read_or_taken_from_its_hlb() -> None:
    items = dict(
        zip(
            ("in", "out", "none"), known("sorbitan oleate", "emulsifying wax NF", "olive oil PEG-7 esters"), strict=True
        )
    )
    assert {name: outer_phase(item) for name, item in items.items()} == {"in": "oil", "out": "water", "none": "none"}


def test_shares_of_substances_are_those_of_the_ingredient() -> None:
    (wax,) = known("behentrimonium methosulfate blend, 50 %")
    assert amount(wax, "charge:cationic with surface-active") == pytest.approx(0.5)
    assert amount(wax, "carrying") == pytest.approx(100 / 8)
    assert set(WORDS) >= {"water", "oil", "oxidation"}


def test_what_is_alkaline_is_so_by_its_own_solution() -> None:
    names = ("tetrasodium EDTA", "disodium EDTA", "decyl glucoside, 50 %", "kaolin")
    shares = [amount(item, "alkaline") for item in known(*names)]
    assert shares[0] > 0.9
    assert shares[1] == shares[3] == 0
    assert shares[2] == pytest.approx(0.52), "the glucoside in it"


def test_a_trace_of_preservative_is_below_its_dose_and_none_at_all_is_told_once() -> None:
    """Both rules are about too little of it: what is graver says it."""
    (low,) = (x for x in eithers(known("water", "sodium benzoate")) if x.rule.id == "preservative-low")
    assert low.broken(mixed({"water": 99.97, "sodium benzoate": 0.03}))
    assert not low.broken(mixed({"water": 1}))
    rules = [x.rule for x in clashes(mixed({"water": 99.98, "sodium benzoate": 0.02}), Setting())]
    assert "water-needs-preservative" in rules
    assert "preservative-low" not in rules


# -- explained ---------------------------------------------------------------------------------------------------------


def test_a_rule_is_found_by_its_id_by_what_it_is_about_and_by_words() -> None:
    assert [x.rule.id for x in matching("PH Carbomer")] == ["ph carbomer"]
    assert {x.rule.about for x in matching("gas")} == {"gas"}
    assert matching("sulfonate")
    assert matching("carbomer lactate")
    assert matching("sugar on the moon") == ()
    assert matching("") == explained()


def test_glycerin_without_water_is_told_where_nothing_carries_it() -> None:
    def told(shares: dict[str, float], kind: str) -> list[str]:
        broken = [x.rule for x in eithers(known(*shares), kind) if x.broken(mixed(shares))]
        return [rule.id for rule in broken if rule.about == "water"]

    butter = {"shea butter, refined": 70.0, "sweet almond oil": 25.0, "glycerin": 5.0}
    kinds = ("body butter", "balm", "stick and lip balm")
    assert [told(butter, kind) for kind in kinds] == 3 * [["humectant-anhydrous"]]
    assert [told({**butter, "glyceryl stearate": 5.0}, kind) for kind in kinds] == 3 * [[]]
    assert told(butter, "lotion") == told(butter, "anhydrous emulsified scrub") == []


def test_what_ingredients_bring_together_is_what_each_brings_alone() -> None:
    """Every quantity of the table, on all ingredients and on a few that hold little of it."""
    quantities = {what for row in chemistry() for way in row.ways for term in way for what in (term.what, term.of)} - {
        ""
    }
    assert len(quantities) > 100
    for items in (ITEMS, known("water", "glycerin", "cetyl alcohol"), []):
        brought = Amounts(items)
        for quantity in quantities:
            assert brought.of(quantity) == [amount(item, quantity) for item in items], quantity


@pytest.mark.parametrize(("alkali", "parts"), [("sodium hydroxide, 10 % solution", 2.7), ("triethanolamine", 1.02)])
def test_carbomer_wants_as_much_alkali_as_neutralises_it_by_what_each_weighs(alkali: str, parts: float) -> None:
    known = read_catalogue().ingredients
    items = [known[name] for name in ("water", "carbomer", alkali)]
    (rule,) = [x for x in eithers(items, levels=LEVELS) if x.rule.id == "carbomer-base"]
    gel = {"water": 99.0, "carbomer": 0.4}
    assert rule.broken(mixed({**gel, alkali: 0.4 * parts * 0.95}))
    assert not rule.broken(mixed({**gel, alkali: 0.4 * parts * 1.05}))
