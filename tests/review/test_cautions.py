"""Cautions: which triggers a formula sets off, and that joined triggers need every part."""

import datetime

import pytest

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.review.measures import Setting
from optiform.review.report import report
from optiform.rules.law import Scope
from tests.builders import ingredient

CATALOGUE = read_catalogue()
DAY = datetime.date(2026, 11, 25)
RINSED = Scope("rinse-off", "body", (), DAY)
LEFT_ON = Scope("leave-on", "body", (), DAY)
LIP_SCRUB = Scope("rinse-off", "lips", (), DAY)
LIP_BALM = Scope("leave-on", "lips", (), DAY)

BALM = {"beeswax": 20.0, "sweet almond oil": 80.0}
LOTION = {"water": 78.0, "sweet almond oil": 15.0, "emulsifying wax NF": 6.0, "phenoxyethanol": 1.0}
CHELATOR = "tetrasodium glutamate diacetate, 40 %"  # holds some sodium hydroxide
LYE = "sodium hydroxide, 10 % solution"


def told(shares: dict[str, float], scope: Scope | None = None, kind: str = "") -> list[str]:
    total = sum(shares.values())
    items = {name: CATALOGUE.ingredients[name.casefold()] for name in shares}
    lines = tuple(Line(items[name], share / total, items[name].phase) for name, share in shares.items())
    return [caution.text for caution in report(Formula("test", lines), Setting(kind, scope)).cautions]


def hears(words: str, shares: dict[str, float], scope: Scope | None = None, kind: str = "") -> bool:
    return any(words in text for text in told(shares, scope, kind))


@pytest.mark.parametrize("words", ["shower floor", "No glass jars in the shower"])
def test_the_shower_is_spoken_of_only_for_what_is_rinsed_off(words: str) -> None:
    assert hears(words, BALM, RINSED)
    assert not hears(words, BALM, LEFT_ON)
    assert not hears(words, BALM)


def test_a_floor_gets_slippery_only_from_fat() -> None:
    assert not hears("shower floor", {"water": 90.0, "glycerin": 10.0}, RINSED)


@pytest.mark.parametrize("scope", [LIP_BALM, LIP_SCRUB])
def test_hands_and_jars_are_left_out_for_lips(scope: Scope) -> None:
    assert hears("wet hands", BALM, LEFT_ON)
    assert not hears("wet hands", BALM, scope)
    assert hears("does not cover what use brings in", BALM, scope)
    assert hears("clean hands", LOTION, LEFT_ON)
    assert not hears("clean hands", LOTION, scope)
    assert hears("Discard it", LOTION, scope)


@pytest.mark.parametrize("name", ["menthol", "peppermint", "eucalyptus", "rosemary"])
def test_what_can_take_the_breath_of_a_small_child_is_told_for_every_area(name: str) -> None:
    shares = {**BALM, name if name == "menthol" else f"{name} essential oil": 1.0}
    texts = told(shares, LEFT_ON)
    assert len([text for text in texts if "take their breath" in text]) == 1
    assert not hears("take their breath", {**BALM, "lavender essential oil": 1.0}, LEFT_ON)


def test_near_the_eyes_the_limits_are_stricter_and_fragrance_does_not_belong() -> None:
    eyes = Scope("leave-on", "eyes", (), DAY)
    scented = {**BALM, "lavender essential oil": 1.0}
    assert hears("area of the eyes have stricter microbial limits", BALM, eyes)
    assert hears("do not belong near the eyes", scented, eyes)
    assert not hears("do not belong near the eyes", BALM, eyes)
    assert not hears("near the eyes", scented, LEFT_ON)


def test_an_unknown_area_is_not_taken_for_lips() -> None:
    assert hears("wet hands", BALM)
    assert not hears("what use brings in", BALM)


def test_lye_is_told_only_where_it_is_bought_to_adjust_the_ph() -> None:
    words = "Sodium hydroxide is there only to adjust the pH"
    assert hears(words, {"water": 99.0, LYE: 1.0})
    assert not hears(words, {"water": 99.0, CHELATOR: 1.0})
    # each part of the trigger holds, but for two ingredients
    assert not hears(words, {"water": 98.0, CHELATOR: 1.0, "citric acid": 1.0})


def test_water_and_no_water() -> None:
    assert hears("ISO 29621", BALM)
    assert not hears("ISO 29621", LOTION)
    assert hears("challenge test", LOTION)
    assert not hears("challenge test", BALM)


def test_water_that_is_not_known_is_not_taken_for_none() -> None:
    """An own liquid surfactant without a figure for its water: nothing is known about the water of the whole."""
    lines = (
        Line(ingredient("own wash base", 5, "liquid surfactant"), 0.5, "water phase"),
        Line(CATALOGUE.ingredients["sweet almond oil"], 0.5, "oil phase"),
    )
    texts = [caution.text for caution in report(Formula("test", lines), Setting()).cautions]
    assert any("challenge test" in text for text in texts)
    assert not any("ISO 29621" in text for text in texts)


def test_water_without_a_preservative() -> None:
    assert not hears("no preservative", LOTION)
    assert hears("no preservative", {"water": 100.0})


def test_a_drain_is_spoken_of_only_for_grit_that_does_not_dissolve() -> None:
    assert hears("collects in drains", {"sweet almond oil": 50.0, "pumice, fine": 50.0})
    assert not hears("collects in drains", {"sweet almond oil": 50.0, "sea salt, fine": 50.0})
    assert not hears("collects in drains", {"sea salt, fine": 50.0, "sweet almond oil": 50.0}), "oil is no grit"


def test_only_what_is_melted_is_hot() -> None:
    assert hears("water bath", BALM)
    assert not hears("water bath", {"water": 90.0, "glycerin": 10.0})


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("sesame oil", "sesame"),
        ("soybean oil", "soy"),
        ("soy wax", "soy"),
        ("lecithin", "soy"),
        ("ground oats", "oat"),
        ("colloidal oatmeal", "oat"),
        ("hydrolyzed oat protein", "oat"),
        ("coconut oil", "a nut"),
        ("shea butter, refined", "a nut"),
    ],
)
def test_an_allergen_of_food_is_named(name: str, words: str) -> None:
    assert hears(f"Made from {words}", {name: 50.0, "sunflower oil, high oleic": 50.0})
    assert not hears(f"Made from {words}", {"sunflower oil, high oleic": 100.0})


def test_each_text_once() -> None:
    texts = told({**BALM, "soybean oil": 10.0, "soy wax": 10.0, "table salt": 10.0, "sea salt, fine": 10.0}, RINSED)
    assert len(texts) == len(set(texts))
    assert sum(text.startswith("Made from soy") for text in texts) == 1


def test_a_trace_of_salt_in_a_surfactant_stings_nobody() -> None:
    """Betaine brings salt of its making: only what is bought as salt is told of."""
    assert not hears("Salt stings", {"water": 80.0, "cocamidopropyl betaine, 30 %": 20.0})
    assert hears("Salt stings", {"water": 80.0, "table salt": 20.0})
    assert hears("Salt stings", {"sweet almond oil": 50.0, "epsom salt": 50.0})


@pytest.mark.parametrize("kind", ["solid cleansing bar", "solid scrub bar", "stick and lip balm"])
def test_what_is_in_no_jar_is_not_told_to_close_it(kind: str) -> None:
    for shares in (BALM, LOTION):
        assert hears("jar", shares, RINSED, "cream scrub")
        using = [text for text in told(shares, RINSED, kind) if "Discard it" in text]
        assert len(using) == 1
        assert "jar" not in using[0]
    assert hears("Let it dry between uses", LOTION, RINSED, kind) == kind.endswith("bar")
