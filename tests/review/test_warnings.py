"""Formulas made wrong on purpose, and sound ones, of each kind of product: what is told of them and how grave it is.

Put together for this project from the custom of the trade; beside those of test_chemistry.py, which go by rule.
"""

import pytest

from optiform.ingredients.formula import mixed
from optiform.review.answer import FormulaWarning
from optiform.review.measures import Setting
from optiform.review.report import report

Parts = dict[str, float]
GOOD = {"phenoxyethanol + ethylhexylglycerin": 0.9}
LOTION = {
    "water": 72, "glycerin": 3, "emulsifying wax NF": 5, "sunflower oil, high oleic": 12, "shea butter, refined": 4,
    "cetyl alcohol": 2, "mixed tocopherols": 0.2, **GOOD,
}  # fmt: skip
BUTTER = {"shea butter, refined": 65, "sweet almond oil": 25, "mixed tocopherols": 0.5}

#: By name: the kind, the parts, and the rule that has to speak, with its level.
WRONG: dict[str, tuple[str, Parts, str, str]] = {
    "a whipped butter with aloe juice": (
        "body butter", {**BUTTER, "aloe vera juice": 9.5}, "water-in-anhydrous", "stop",
    ),
    "a salt scrub with aloe juice": (
        "bath salt scrub", {"sea salt, fine": 65, "sweet almond oil": 20, "aloe vera juice": 14},
        "water-needs-preservative", "stop",
    ),
    "a sugar cream of which all sugar dissolves": (
        "cream scrub",
        {"water": 30, "sugar, granulated": 40, "sunflower oil, high oleic": 16, "emulsifying wax NF": 6,
         "cetyl alcohol": 4, "glycerin": 3, **GOOD}, "usual undissolved sugar at 20 degC", "mind",
    ),
    "a stick that bends": (
        "stick and lip balm", {"beeswax": 5, "sweet almond oil": 75, "shea butter, refined": 19.5,
                               "mixed tocopherols": 0.4}, "usual wax as beeswax", "mind",
    ),
    "a lotion with free caustic": ("lotion", {**LOTION, "sodium hydroxide, 10 % solution": 10}, "caustic-free", "stop"),
    "a lotion with a tenth of lactic acid": ("lotion", {**LOTION, "lactic acid, 88 %": 10}, "usual-use", "mind"),
    "bicarbonate in a butter that stays on": ("body butter", {**BUTTER, "sodium bicarbonate": 14}, "usual-use", "mind"),
    "a balm with glycerin": (
        "balm", {"beeswax": 18, "sweet almond oil": 60, "glycerin": 15, "shea butter, refined": 7},
        "humectant-anhydrous", "mind",
    ),
    "a bar of lauryl sulfate": (
        "solid cleansing bar", {"sodium lauryl sulfate, powder": 80, "cocoa butter": 4, "water": 10, "glycerin": 5,
                                **GOOD}, "usual-use", "mind",
    ),
    "zinc oxide in a carbomer gel": (
        "", {"water": 93, "carbomer": 0.4, "triethanolamine": 0.4, "zinc oxide": 5, **GOOD}, "carbomer-zinc-oxide",
        "stop",
    ),
    "coffee grounds in water with half a dose": (
        "cream scrub",
        {"water": 52, "ground coffee": 18, "sunflower oil, high oleic": 14, "emulsifying wax NF": 6, "cetyl alcohol": 4,
         "glycerin": 4, "phenoxyethanol + ethylhexylglycerin": 0.5, "xanthan gum": 0.5}, "preservative-plant-grains",
        "mind",
    ),
    "sixty of oil on three of wax": (
        "lotion", {"water": 36, "sunflower oil, high oleic": 60, "emulsifying wax NF": 3, **GOOD}, "emulsifier-dose",
        "mind",
    ),
}  # fmt: skip

SOUND: dict[str, tuple[str, Parts]] = {
    "a hand cream": ("hand and foot cream", {
        "water": 67.5, "glycerin": 6, "emulsifying wax NF": 6, "sweet almond oil": 9, "shea butter, refined": 6,
        "cetyl alcohol": 3.9, "mixed tocopherols": 0.2, "disodium EDTA": 0.1, "xanthan gum": 0.3, **GOOD,
    }),
    "a lip balm": ("stick and lip balm", {
        "beeswax": 22, "cocoa butter": 20, "castor oil": 28, "sweet almond oil": 29.5, "mixed tocopherols": 0.5,
    }),
    "a whipped butter": ("body butter", {
        "shea butter, refined": 70, "sweet almond oil": 24.5, "arrowroot powder": 5, "mixed tocopherols": 0.5,
    }),
    "a cleansing bar": ("solid cleansing bar", {
        "sodium cocoyl isethionate": 60, "sodium lauryl sulfoacetate": 10, "cocamidopropyl betaine, 30 %": 11,
        "cetearyl alcohol": 6, "stearic acid": 5, "cocoa butter": 3, "corn starch": 4.1, **GOOD,
    }),
    "a cationic lotion": ("lotion", {
        "water": 76.1, "behentrimonium methosulfate blend, 25 %": 5, "cetearyl alcohol": 2, "sweet almond oil": 8,
        "shea butter, refined": 4, "glycerin": 3.5, "mixed tocopherols": 0.2, "hydroxyethylcellulose": 0.3, **GOOD,
    }),
    "a scrub of brown sugar, which is moist": ("anhydrous emulsified scrub", {
        "sugar, brown": 60, "emulsifying wax NF": 4, "stearic acid": 2.5, "cetyl alcohol": 1, "sweet almond oil": 21.8,
        "shea butter, refined": 6, "cocoa butter": 4, "phenoxyethanol + caprylyl glycol": 0.5, "mixed tocopherols": 0.2,
    }),
    "a scrub of coffee in oil": ("", {
        "ground coffee": 40, "sugar, granulated": 20, "coconut oil": 20, "sweet almond oil": 19.5,
        "mixed tocopherols": 0.5,
    }),
    "a foaming scrub": ("foaming scrub", {
        "glycerin": 13, "sodium cocoyl isethionate": 10, "cocamidopropyl betaine, 30 %": 8, "water": 4,
        "stearic acid": 4, "sugar, granulated": 60, "disodium EDTA": 0.1, **GOOD,
    }),
    "a lotion of natural origin": ("lotion", {
        "water": 71, "cetearyl olivate + sorbitan olivate": 5, "cetyl alcohol": 2.5, "jojoba oil": 10,
        "shea butter, refined": 5, "glycerin": 4, "sodium benzoate + potassium sorbate": 1, "lactic acid, 88 %": 0.3,
        "xanthan gum": 0.3, "sodium phytate, 50 %": 0.1, "mixed tocopherols": 0.2,
    }),
    "an ointment": ("balm", {"petrolatum": 60, "mineral oil": 20, "paraffin wax": 10, "lanolin": 10}),
    "a cream with round wax beads": ("cream scrub", {
        "water": 57, "glycerin": 5, "xanthan gum": 0.5, "disodium EDTA": 0.1, "sweet almond oil": 10,
        "glyceryl stearate + PEG-100 stearate": 5, "shea butter, refined": 4, "cetyl alcohol": 3,
        "mixed tocopherols": 0.2, "jojoba ester beads": 10, **GOOD,
    }),
}  # fmt: skip


def told(kind: str, parts: Parts) -> dict[str, FormulaWarning]:
    return {warning.rule: warning for warning in report(mixed(parts), Setting(kind=kind)).warnings}


@pytest.mark.parametrize("name", WRONG)
def test_what_is_made_wrong_on_purpose_is_told(name: str) -> None:
    kind, parts, rule, level = WRONG[name]
    warnings = told(kind, parts)
    assert rule in warnings, sorted(warnings)
    assert warnings[rule].level == level


@pytest.mark.parametrize("name", SOUND)
def test_what_is_sound_draws_notes_alone(name: str) -> None:
    assert [str(warning) for warning in told(*SOUND[name]).values() if warning.level != "note"] == []


def test_what_does_the_work_of_a_lacking_part_makes_it_a_note_and_too_little_of_it_does_not() -> None:
    def level(alcohol: float) -> str:
        balm = mixed({"sweet almond oil": 100 - alcohol, "cetearyl alcohol": alcohol})
        (warning,) = [x for x in report(balm, Setting(kind="balm")).warnings if x.rule == "usual wax as beeswax"]
        return warning.level

    assert [level(10.0), level(6.0), level(5.5), level(1.0)] == ["note", "note", "mind", "mind"]


#: Kind, parts, what is told, and what would say the opposite of it.
CONTRADICTED: dict[str, tuple[str, Parts, str, str]] = {
    "a light lotion with enough emulsifier for its oil": (
        "lotion", {"water": 88.7, "sunflower oil, high oleic": 5, "emulsifying wax NF": 2.2, "glycerin": 3, **GOOD},
        "usual emulsifier per 100 of oil phase", "usual share of emulsifier",
    ),
    "an emulsifier below its usual use, and enough for its oil": (
        "lotion", {"water": 88.7, "sunflower oil, high oleic": 5, "emulsifying wax NF": 2.2, "glycerin": 3, **GOOD},
        "usual emulsifier per 100 of oil phase", "usual-use",
    ),
    "a lotion with too much oil for all its emulsifier": (
        "lotion", {"water": 27, "sunflower oil, high oleic": 59, "emulsifying wax NF": 10, "glycerin": 3, **GOOD},
        "usual emulsifier per 100 of oil phase", "usual share of emulsifier",
    ),
    "a cream of butter": (
        "cream scrub", {"water": 40, "shea butter, refined": 40, "emulsifying wax NF": 8, "glycerin": 3, **GOOD},
        "usual oil phase", "usual share of oil and ester",
    ),
    "a stick of butter": (
        "stick and lip balm", {"shea butter, refined": 85, "beeswax": 5, "castor oil": 10}, "usual wax as beeswax",
        "usual share of oil and ester",
    ),
    "benzoate in a gel that wants to be neutral": (
        "", {"water": 96.1, "carbomer": 0.3, "sodium benzoate": 0.5, "sodium hydroxide, 10 % solution": 1},
        "acidity-mind", "benzoate-acid",
    ),
    "more sorbate than is usual, alone": (
        "lotion", {"water": 78, "sunflower oil, high oleic": 14, "emulsifying wax NF": 4.2, "glycerin": 3,
                   "potassium sorbate": 0.4, "citric acid": 0.2}, "sorbate-alone", "usual share of preservative",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CONTRADICTED)
def test_of_two_warnings_that_contradict_each_other_one_is_told(name: str) -> None:
    kind, parts, right, wrong = CONTRADICTED[name]
    warnings = told(kind, parts)
    assert right in warnings, sorted(warnings)
    assert wrong not in warnings


def test_a_stop_is_not_left_out_for_a_ph_that_suits_not_all() -> None:
    parts = {"water": 97, "carbomer": 0.3, "sodium benzoate": 0.5}
    assert {"carbomer-base", "acidity-mind"} <= told("", parts).keys()


def test_a_ph_that_the_brief_sets_may_be_what_has_to_change() -> None:
    gel = mixed({"water": 96.5, "sodium benzoate": 0.5, "glycerin": 3})
    texts = [str(warning) for warning in report(gel, Setting(ph=7.5)).warnings]
    assert [text for text in texts if text.startswith("pH 7.5 does not suit") and "Take another pH" in text]
    assert not [text for text in texts if "set the pH below 5" in text]
