"""What a substitute needs by a rule comes along with it, at its dose, and the rule holds then."""

from collections.abc import Mapping
from dataclasses import replace

import pytest

from optiform.brief.brief import Brief, Range
from optiform.design.substitute import Substitutes, substitute
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from optiform.telling.facts import in_words
from optiform.telling.substitute import substitute as told
from optiform.telling.terminal import terminal
from tests.builders import brief_of

NOTHING = {"share of silicone": 1.0}
BETAINE, GLUCOSIDE = "cocamidopropyl betaine, 30 %", "decyl glucoside, 50 %"
PHENOXY, BENZOATE = "phenoxyethanol + ethylhexylglycerin", "sodium benzoate + potassium sorbate"
WASH = {"water": 0.81, "glycerin": 0.05, BETAINE: 0.13, PHENOXY: 0.01}
GEL = {"water": 0.938, "glycerin": 0.05, "xanthan gum": 0.002, PHENOXY: 0.01}


def of(shelf: tuple[str, ...], parts: Mapping[str, float]) -> Brief:
    """A brief over known ingredients, with no limit; its shelf is what is in the formula, and these."""
    known = read_catalogue().ingredients
    items = {name: known[name.casefold()] for name in (*shelf, *parts)}
    lines = tuple(Line(items[name], share, items[name].phase) for name, share in parts.items())
    return replace(brief_of(list(items.values())), kind="", overrule=(), reference=Formula("today", lines))


def swapped(shelf: tuple[str, ...], parts: Mapping[str, float], gone: str) -> Substitutes:
    return substitute(of(shelf, parts), [gone], weights=NOTHING)


def test_a_glucoside_brings_the_acid_that_it_needs_and_water_makes_room() -> None:
    (swap,) = swapped((GLUCOSIDE, "citric acid"), WASH, BETAINE).swaps
    (acid,) = swap.along
    assert (acid.item.name, acid.of, acid.rule.id) == ("citric acid", GLUCOSIDE, "glucoside-acid")
    assert swap.formula.fraction("citric acid") == pytest.approx(0.002)  # the dose of a pH adjuster that is proposed
    assert sum(line.fraction for line in swap.formula.lines) == pytest.approx(1)
    (water,) = swap.follows
    assert water.after - water.before == pytest.approx(13 - swap.parts[0][1] - 0.2, abs=1e-6)


def test_without_an_acid_on_the_shelf_it_is_not_proposed_and_the_rule_is_told() -> None:
    answer = swapped((GLUCOSIDE,), WASH, BETAINE)
    assert answer.swaps == ()
    ((name, why),) = answer.without_figures
    assert name == GLUCOSIDE
    assert "Glucosides need an acid" in in_words(why)


def test_an_acid_that_is_there_already_is_enough() -> None:
    parts = {**WASH, "water": 0.807, "citric acid": 0.003}
    (swap,) = swapped((GLUCOSIDE,), parts, BETAINE).swaps
    assert swap.along == ()
    assert swap.formula.fraction("citric acid") == pytest.approx(0.003)


def test_benzoate_brings_an_acid_and_what_helps_it_against_gram_negative_bacteria() -> None:
    (swap,) = swapped((BENZOATE, "lactic acid, 88 %", "disodium EDTA"), WASH, PHENOXY).swaps
    assert {x.rule.id: x.item.name for x in swap.along} == {
        "benzoate-acid": "lactic acid, 88 %",
        "gram-negative": "disodium EDTA",
    }
    assert all(swap.formula.fraction(x.item.name) == pytest.approx(x.share, rel=1e-3) for x in swap.along)


def test_carbomer_brings_as_much_alkali_as_its_rule_asks_for() -> None:
    (swap,) = swapped(("carbomer", "sodium hydroxide, 10 % solution"), GEL, "xanthan gum").swaps
    (lye,) = swap.along
    alkali = 0.1 * swap.formula.fraction(lye.item.name)
    assert alkali >= 0.27 * swap.formula.fraction("carbomer") - 1e-6
    assert alkali <= 0.3 * swap.formula.fraction("carbomer")


def test_nothing_comes_along_that_would_draw_another_warning() -> None:
    # bicarbonate makes gas with the only acid there is
    parts = {**WASH, "water": 0.805, "sodium bicarbonate": 0.005}
    answer = swapped((BENZOATE, "citric acid"), parts, PHENOXY)
    assert not any("citric acid" in dict.fromkeys(x.item.name for x in swap.along) for swap in answer.swaps)


def test_what_comes_along_is_told_in_one_sentence_with_its_rule() -> None:
    words = " ".join(terminal(told(swapped((GLUCOSIDE, "citric acid"), WASH, BETAINE))).split())
    assert f"citric acid 0.20 % of the jar comes along: glucosides need an acid ({GLUCOSIDE})." in words
    assert "It is a dose to begin with: measure the pH and set it." in words


def test_the_purchase_brings_along_what_is_on_the_shelf() -> None:
    brief = of(("citric acid",), WASH)
    bought = read_catalogue().ingredients[GLUCOSIDE]
    catalogue = replace(brief.catalogue, ingredients={**brief.catalogue.ingredients, bought.name.casefold(): bought})
    purchase = substitute(replace(brief, catalogue=catalogue), [BETAINE], weights={"water": 2.0}).purchase
    assert purchase is not None
    assert [x.item.name for x in purchase.along] == ["citric acid"]


def test_a_companion_keeps_within_what_the_brief_says_of_it() -> None:
    brief = of((GLUCOSIDE, "citric acid"), WASH)
    place = [item.name for item in brief.mix.ingredients].index("citric acid")

    def most(high: float) -> Brief:
        ranges = list(brief.ranges)
        ranges[place] = Range(0.0, high, "brief")
        return replace(brief, ranges=tuple(ranges))

    (swap,) = substitute(most(0.0005), [BETAINE], weights=NOTHING).swaps
    assert swap.formula.fraction("citric acid") == pytest.approx(0.0005), (
        "less than is proposed, more than the rule asks"
    )
    assert substitute(most(0.0001), [BETAINE], weights=NOTHING).swaps == (), "the rule asks for more"


def test_what_the_brief_fixes_makes_no_room_for_a_companion() -> None:
    parts = {**GEL, "water": 0.768, "glycerin": 0.22}
    brief = of(("carbomer", "sodium hydroxide, 10 % solution"), parts)
    ranges = [Range(0.768, 0.768, "brief") if x.name == "water" else Range() for x in brief.mix.ingredients]
    (swap,) = substitute(replace(brief, ranges=tuple(ranges)), ["xanthan gum"], weights=NOTHING).swaps
    assert swap.along
    assert swap.formula.fraction("water") == pytest.approx(0.768)
