"""What a maker is told of a formula's chemistry: two dozen made wrong on purpose, eight that are sound.

The formulas are ours, made for these tests; none was made in a kitchen.
"""

import datetime
import random
from dataclasses import replace

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, mixed
from optiform.review.answer import ABOUT, FormulaWarning
from optiform.review.chemistry import clashes
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.forms import LEVELS, Level
from optiform.rules.law import Scope
from optiform.telling.facts import in_words
from tests.every import every
from tests.sweeps import enough, is_whole, sweep

GOOD = {"phenoxyethanol + ethylhexylglycerin": 1.0}
LOTION = {
    "water": 72.0, "glycerin": 3, "glyceryl stearate + PEG-100 stearate": 5, "cetyl alcohol": 3,
    "sunflower oil, high oleic": 15, "mixed tocopherols": 0.2,
}  # fmt: skip
GEL = {"water": 94.0, "glycerin": 3, **GOOD}
WASH = {"water": 70.0, "cocamidopropyl betaine, 30 %": 15, "glycerin": 3, **GOOD}

Parts = dict[str, float]
#: What each is, its kind, its lines, and the rule that has to speak, at its level.
WRONG: dict[str, tuple[str, Parts, str, Level]] = {
    "a cationic emulsifier with a sulfate": (
        "", {**WASH, "sodium lauryl sulfate, powder": 5, "behentrimonium methosulfate blend, 25 %": 4},
        "anionic-cationic-sulfate", "stop",
    ),
    "a cationic emulsifier with isethionate": (
        "", {**WASH, "sodium cocoyl isethionate": 4, "behentrimonium methosulfate blend, 50 %": 3},
        "anionic-cationic-sulfate", "stop",
    ),
    "a cationic emulsifier with sarcosinate": (
        "", {**WASH, "sodium lauroyl sarcosinate, 30 %": 10, "behentrimonium methosulfate blend, 25 %": 4},
        "anionic-cationic-carboxylate", "mind",
    ),
    "carbomer that nobody neutralised": ("", {**GEL, "carbomer": 0.4}, "carbomer-base", "stop"),
    "carbomer with epsom salt": (
        "", {**GEL, "carbomer": 0.4, "triethanolamine": 0.5, "epsom salt": 2}, "carbomer-polyvalent", "stop",
    ),
    "carbomer with lactate": (
        "", {**GEL, "carbomer": 0.4, "triethanolamine": 0.5, "sodium lactate, 60 %": 4}, "carbomer-salt", "mind",
    ),
    "a soap emulsion with epsom salt": (
        "lotion", {**LOTION, "glyceryl stearate SE": 5, "epsom salt": 2, **GOOD}, "soap-hard-ions", "stop",
    ),
    "a soap emulsion with acid": (
        "lotion", {**LOTION, "glyceryl stearate SE": 5, "lactic acid, 88 %": 1, **GOOD}, "soap-acid", "stop",
    ),
    "a soap emulsion kept by benzoate": (
        "lotion", {**LOTION, "glyceryl stearate SE": 5, "sodium benzoate": 0.5}, "soap-acid-preservative", "stop",
    ),
    "acid with bicarbonate in water": (
        "", {**GEL, "citric acid": 2, "sodium bicarbonate": 2}, "acid-carbonate", "stop",
    ),
    "benzoate without acid": ("", {"water": 96, "glycerin": 3, "sodium benzoate": 0.5}, "benzoate-acid", "mind"),
    "isethionate with benzoate": (
        "", {"water": 60, "sodium cocoyl isethionate": 10, "cocamidopropyl betaine, 30 %": 20, "sodium benzoate": 0.5,
             "citric acid": 0.3}, "acidity-mind", "mind",
    ),
    "bentonite with isethionate's partner, an acid preservative": (
        "", {"water": 90, "bentonite": 5, "gluconolactone + sodium benzoate": 1.5}, "acidity-mind", "mind",
    ),
    "a lotion without a preservative": ("lotion", LOTION, "water-needs-preservative", "stop"),
    "a lotion of much self-emulsifying stearate, of which a little is soap": (
        "lotion", {"water": 70, "glyceryl stearate SE": 22, "sweet almond oil": 8}, "water-needs-preservative", "stop",
    ),
    "oil and water and nothing else": (
        "lotion", {"water": 75, "sunflower oil, high oleic": 24, **GOOD}, "oil-water-needs-emulsifier", "stop",
    ),
    "a lotion of sorbitan oleate alone": (
        "lotion", {"water": 70, "sweet almond oil": 20, "sorbitan oleate": 5, "cetyl alcohol": 3, **GOOD},
        "water-in-oil-alone", "stop",
    ),
    "a lotion with a tenth of the emulsifier it needs": (
        "lotion", {"water": 74, "sunflower oil, high oleic": 24, "emulsifying wax NF": 1, **GOOD},
        "emulsifier-dose", "mind",
    ),
    "ultramarine with citric acid": (
        "", {**GEL, "ultramarine blue": 0.1, "citric acid": 0.5}, "ultramarine-acid", "stop",
    ),
    "a dry scrub kept by benzoate": (
        "anhydrous emulsified scrub",
        {"sugar, granulated": 60, "sunflower oil, high oleic": 34, "emulsifying wax NF": 5, "sodium benzoate": 0.5,
         "mixed tocopherols": 0.2}, "water-soluble-preservative-dry", "stop",
    ),
    "a lotion of glyceryl stearate alone": (
        "lotion", {"water": 72, "sunflower oil, high oleic": 16, "glyceryl stearate": 5, "cetyl alcohol": 3, **GOOD},
        "emulsifier-partner", "mind",
    ),
    "polysorbate with a fatty acid that nobody neutralised": (
        "lotion", {"water": 72, "sunflower oil, high oleic": 16, "polysorbate 60": 5, "stearic acid": 3, **GOOD},
        "emulsifier-partner", "mind",
    ),
    "dehydroacetic acid beside an alkaline chelator": (
        "", {"water": 95, "glycerin": 3, "benzyl alcohol + dehydroacetic acid": 1, "tetrasodium EDTA": 0.2},
        "acid-preservative-alkaline", "mind",
    ),
    "sorbate alone with a chelator": (
        "", {"water": 96, "glycerin": 3, "potassium sorbate": 0.3, "disodium EDTA": 0.1, "citric acid": 0.2},
        "sorbate-alone", "mind",
    ),
    "hempseed balm without an antioxidant": (
        "balm", {"hempseed oil": 80, "beeswax": 18}, "oil-needs-antioxidant", "mind",
    ),
}  # fmt: skip

SOUND: dict[str, tuple[str, Parts]] = {
    "a lotion": ("lotion", {**LOTION, **GOOD}),
    "a balm": ("balm", {"beeswax": 18, "sunflower oil, high oleic": 66, "shea butter, refined": 15,
                        "mixed tocopherols": 0.4}),
    "a gel": ("", {**GEL, "hydroxyethylcellulose": 0.6}),
    "a carbomer gel": ("", {**GEL, "carbomer": 0.4, "triethanolamine": 0.5}),
    "a wash": ("", {**WASH, "sodium cocoyl isethionate": 5, "disodium EDTA": 0.1}),
    "a cationic cream": ("", {"water": 85, "behentrimonium methosulfate blend, 25 %": 5, "cetearyl alcohol": 3,
                              "glycerin": 3, "coco-caprylate/caprate": 3, **GOOD}),
    "a lotion of glyceryl stearate and polysorbate": (
        "lotion", {"water": 72, "sunflower oil, high oleic": 15, "glyceryl stearate": 4, "polysorbate 60": 1,
                   "cetyl alcohol": 3, "glycerin": 3, "mixed tocopherols": 0.2, **GOOD}),
    "an acid toner": ("", {"water": 94, "glycerin": 3, "sodium benzoate": 0.4, "potassium sorbate": 0.2,
                           "lactic acid, 88 %": 0.3, "disodium EDTA": 0.1}),
    "a salt scrub": ("", {"sea salt, fine": 70, "sunflower oil, high oleic": 22, "polysorbate 80": 5,
                          "mixed tocopherols": 0.3}),
}  # fmt: skip


def told(formula: Formula, setting: Setting) -> dict[str, FormulaWarning]:
    return {warning.rule: warning for warning in report(formula, setting).warnings}


@every("name", WRONG)
def test_what_is_made_wrong_on_purpose_is_told(name: str) -> None:
    kind, parts, rule, level = WRONG[name]
    warnings = told(mixed(parts), Setting(kind=kind))
    assert rule in warnings, sorted(warnings)
    assert warnings[rule].level == level
    assert warnings[rule].lines, "the lines at fault are named"
    assert warnings[rule].text[0].isupper()


@pytest.mark.parametrize("name", SOUND)
def test_what_is_sound_draws_no_stop_and_nothing_to_mind(name: str) -> None:
    kind, parts = SOUND[name]
    warnings = report(mixed(parts), Setting(kind=kind)).warnings
    chemical = [x for x in warnings if x.level != "note" and x.about not in ("usual", "dose")]
    assert [str(x) for x in chemical] == []
    assert not [x for x in warnings if x.level == "stop"]


@every("name", WRONG)
def test_every_warning_says_what_it_is_about_how_grave_it_is_and_how_sure(name: str) -> None:
    kind, parts, *_ = WRONG[name]
    for warning in report(mixed(parts), Setting(kind=kind)).warnings:
        assert warning.about in ABOUT
        assert warning.level in LEVELS
        assert warning.rule


def test_the_lines_at_fault_are_those_that_clash_and_not_the_water() -> None:
    (warning,) = [
        x for x in report(mixed(WRONG["acid with bicarbonate in water"][1]), Setting()).warnings if x.about == "gas"
    ]
    assert warning.lines == ("citric acid", "sodium bicarbonate")
    assert "from memory" not in warning.text
    assert "(read; its amounts custom)" in warning.text


def test_of_substances_that_a_rule_names_only_those_in_the_formula_are_told() -> None:
    butters = {"shea butter, refined": 40.0, "mango butter": 25.0, "sunflower oil": 35.0}
    both = in_words(told(mixed(butters), Setting())["many-fats-grain"].fact)
    assert "(Butyrospermum Parkii Butter and Mangifera Indica Seed Butter 65 % of the jar)" in both
    one = in_words(told(mixed(butters | {"mango butter": 0.0}), Setting())["many-fats-grain"].fact)
    assert "(Butyrospermum Parkii Butter 53.3 % of the jar)" in one


def test_a_rule_that_the_brief_overrules_is_told_as_overruled() -> None:
    parts = WRONG["acid with bicarbonate in water"][1]
    before, after = (told(mixed(parts), Setting(overrule=ids))["acid-carbonate"] for ids in ((), ("acid-carbonate",)))
    assert (before.level, before.overruled) == ("stop", False)
    assert (after.level, after.overruled) == ("note", True)
    assert after.text.startswith("Overruled in the brief (acid-carbonate): ")
    assert before.text in after.text


def test_a_graver_warning_of_the_same_lines_stands_alone() -> None:
    parts = {**GEL, "xanthan gum": 0.5, "behentrimonium methosulfate blend, 25 %": 5}
    rules = told(mixed(parts), Setting())
    assert "cationic-anionic-gum" in rules
    assert "cationic-little-anionic-gum" not in rules


def test_the_ph_of_the_brief_decides_where_it_is_given() -> None:
    toner = mixed(SOUND["an acid toner"][1])
    assert "acidity-mind" not in told(toner, Setting(ph=4.5))
    warning = told(toner, Setting(ph=6.5))["acidity-mind"]
    assert "pH 6.5 does not suit all of it" in warning.text
    assert set(warning.lines) == {"sodium benzoate", "potassium sorbate"}


def test_no_text_promises_what_no_calculation_can() -> None:
    texts = [x.text for _, parts, *_ in WRONG.values() for x in report(mixed(parts), Setting()).warnings]
    assert not [text for text in texts for word in (" safe", "stable.", "preserved") if word in text]


def test_a_brine_with_glycerin_is_asked_about_and_not_stopped() -> None:
    brine = mixed({"sea salt, fine": 70, "water": 20, "glycerin": 10})
    warning = told(brine, Setting())["water-needs-preservative"]
    assert warning.level == "note"
    assert "water activity" in warning.text
    assert "ISO 29621" in warning.text


def test_the_shipped_table_is_not_needed_to_name_a_substance() -> None:
    """A maker's own ingredient with another name is known by what it declares."""
    catalogue = read_catalogue()
    benzoate = catalogue.ingredients["sodium benzoate"]
    own = replace(benzoate, name="our keeper")
    formula = mixed({"water": 96, "glycerin": 3, "sodium benzoate": 0.5})
    lines = tuple(replace(x, ingredient=own) if x.ingredient is benzoate else x for x in formula.lines)
    assert "benzoate-acid" in told(replace(formula, lines=lines), Setting())


#: Rules of which one says to add what the other says to leave out.
AGAINST = {
    "benzoate-acid": ("soap-acid-preservative", "neutralised-acid-preservative", "bicarbonate-preservative"),
    "glucoside-acid": ("soap-acid", "neutralised-acid-acid", "acid-carbonate"),
    "chelator-helps": ("chelator-magnesium",),
    "water-needs-preservative": ("water-soluble-preservative-dry",),
    "emulsifier-dose": ("oil-water-needs-emulsifier",),
}


@pytest.mark.sweep
def test_warnings_that_contradict_each_other_do_not_stand_together() -> None:
    chance = random.Random(14)
    names = sorted(
        name
        for name, item in read_catalogue().ingredients.items()
        if item.has("preservative", "ph adjuster", "chelator", "emulsifier", "fatty acid", "liquid surfactant", "oil")
    )
    seen: set[str] = set()
    for _ in sweep(range(1500)):
        parts = {name: chance.choice([0.05, 0.3, 1, 3, 10]) for name in chance.sample(names, 7)}
        parts |= {"epsom salt": chance.choice([0.1, 2]), "water": chance.choice([1, 20, 80])}
        rules = {x.rule for x in clashes(mixed(parts), Setting()) if x.level != "note"}
        seen |= rules
        for add, leave_out in AGAINST.items():
            assert add not in rules or rules.isdisjoint(leave_out), (parts, rules)
    assert len(seen) >= enough(21)
    assert not is_whole() or {"benzoate-acid", "glucoside-acid", "soap-acid-preservative"} <= seen


def areas(parts: dict[str, float], area: str) -> list[str]:
    scope = Scope("leave-on", area, ("EU",), datetime.date(2026, 11, 26))
    return [x.rule for x in report(mixed(parts), Setting(kind="balm", scope=scope)).warnings if x.level == "mind"]


def test_what_stings_or_harms_where_it_is_used_is_to_be_minded_there_and_nowhere_else() -> None:
    balm = {"beeswax": 17.0, "sweet almond oil": 82.7, "mixed tocopherols": 0.3}
    mint = {**balm, "sweet almond oil": 82.4, "peppermint essential oil": 0.3}
    assert "eyes-scent" in areas(mint, "eyes")
    assert "baby-menthol" in areas(mint, "baby")
    assert not {"eyes-scent", "baby-menthol"} & {*areas(mint, "body"), *areas(balm, "eyes"), *areas(balm, "baby")}


def test_a_sulfate_is_to_be_minded_at_the_eyes() -> None:
    wash = {"water": 80.0, "sodium coco-sulfate": 10.0, "glycerin": 9.0, "phenoxyethanol + ethylhexylglycerin": 1.0}
    assert "eyes-sulfate" in areas(wash, "eyes")
    assert "eyes-sulfate" not in areas(wash, "hair")
