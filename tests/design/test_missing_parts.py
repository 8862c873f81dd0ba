"""A shelf from which no product of its kind comes: what stands in the way is named, and what to buy mends it."""

from dataclasses import replace
from typing import Any

import pytest

from optiform.brief.brief import Brief
from optiform.costs.plan import Plan, Product
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.explore import explore_limit
from optiform.design.planned import NoRange
from optiform.design.range import range_design
from optiform.design.weigh import weigh
from optiform.ingredients.formula import Formula
from optiform.telling.impossible import impossible
from tests.builders import reasons
from tests.costs.test_buy import DAY
from tests.kind_shelves import bare_brief
from tests.sweeps import cases

BASE = (
    "water", "glycerin", "sunflower oil, high oleic", "shea butter, refined", "stearic acid", "mixed tocopherols",
    "citric acid", "xanthan gum",
)  # fmt: skip
READY, KEPT = "glyceryl stearate + PEG-100 stearate", "phenoxyethanol + ethylhexylglycerin"
#: Each has something of every part: what it is, and the rule that keeps the parts apart.
SHELVES = {
    "an emulsifier that carries nothing alone": ((*BASE, KEPT, "polysorbate 60"), "emulsifier-partner"),
    "a preservative that is weak alone": ((*BASE, READY, "gluconolactone + sodium benzoate"), "gram-negative"),
}


def answered(names: tuple[str, ...]) -> Designed | NoFormula:
    return design(bare_brief("lotion", dict.fromkeys(names, 5.0)))


@pytest.mark.parametrize("what", SHELVES)
def test_what_is_in_the_way_is_named_and_each_purchase_mends_it(what: str) -> None:
    names, rule = SHELVES[what]
    answer = answered(names)
    assert isinstance(answer, NoFormula)
    (part,) = answer.lacking
    assert part.reached is not None
    assert rule in [each.id for each in part.rules]
    assert part.buy
    assert not set(part.buy) & set(names)
    for bought in part.buy:
        better = answered((*names, bought))
        assert isinstance(better, Designed)
        assert [x.text for x in better.report.warnings if x.level != "note"] == []
        assert 100 * better.report.formula.fraction("water") > 60
    (told,) = [words for words in impossible(answer).sentences if "it needs" in words]
    assert told.startswith("These candidates make no lotion: it needs ")
    assert "In the way: " in told
    assert f"Buy for instance {part.buy[0]}" in told


def test_a_trace_of_preservative_is_no_way_round_a_rule() -> None:
    """Benzoate without a partner may stay below its dose as far as one rule goes: then water needs another."""
    answer = answered((*BASE, READY, "sodium benzoate"))
    assert isinstance(answer, NoFormula)


def test_what_may_not_be_allowed_is_left_out_of_a_bare_brief() -> None:
    """None of its substances stands in Annex V, and all of them have other uses: nobody knows."""
    unsure = "caprylhydroxamic acid + caprylyl glycol + glycerin"
    brief = bare_brief("lotion", dict.fromkeys((*BASE, READY, KEPT, unsure), 5.0))
    assert unsure not in [item.name for item in brief.mix.ingredients]
    assert "not known whether it is allowed as a preservative" in reasons(brief)[unsure]


def test_what_hangs_on_a_supplier_statement_is_proposed_once_there_is_one() -> None:
    shelf = dict.fromkeys(("petrolatum", "paraffin wax", "beeswax", "sweet almond oil", "mixed tocopherols"), 5.0)
    why = reasons(bare_brief("balm", shelf))
    assert why["petrolatum"].endswith("no supplier statement is known of its refining history")
    assert why["paraffin wax"]
    assert "beeswax" not in why
    named = bare_brief("balm", shelf, lines={"petrolatum": {"low": "5 %"}})
    assert "petrolatum" in [item.name for item in named.mix.ingredients]
    warned = bare_brief("balm", shelf, usual="warn")
    assert "petrolatum" in [item.name for item in warned.mix.ingredients]


def test_of_emulsifiers_the_ready_made_goes_before_a_pair_and_a_pair_before_polysorbate_with_fatty_acid() -> None:
    shelf = (*BASE, KEPT, "glyceryl stearate", "polysorbate 60")
    pair = answered(shelf)
    assert isinstance(pair, Designed)
    assert pair.report.formula.fraction("glyceryl stearate") > pair.report.formula.fraction("polysorbate 60") > 0
    ready = answered((*shelf, "emulsifying wax NF"))
    assert isinstance(ready, Designed)
    emulsifiers = {x.ingredient.name for x in ready.report.formula.lines if x.ingredient.functions[0] == "emulsifier"}
    assert emulsifiers == {"emulsifying wax NF"}


def test_what_the_brief_would_not_take_is_not_named_to_buy() -> None:
    natural = replace(bare_brief("lotion", dict.fromkeys((*BASE, READY), 5.0)), claims=("natural origin",))
    answer = design(natural)
    assert isinstance(answer, NoFormula)
    (part,) = answer.lacking
    assert part.part == "share of preservative"
    assert not any("phenoxyethanol" in name for name in part.buy)


#: What else a lotion's brief may say: a goal, limits, a line.
ASKED: dict[str, dict[str, Any]] = {
    "cheapest": {"goal": {"lowest": "cost"}},
    "cheapest of much oil": {"goal": {"lowest": "cost"}, "limits": {"oil phase": {"low": "45 %"}}},
    "the most butter": {"goal": {"highest": "share of butter"}},
    "cheapest with a line": {"goal": {"lowest": "cost"}, "lines": {"glycerin": "3 %"}},
}
UNPRESERVED = (*BASE, READY)
CHEAP_WATER = {"water": 0.1}


def lotion(names: tuple[str, ...], **more: Any) -> Brief:
    return bare_brief("lotion", dict.fromkeys(names, 5.0) | CHEAP_WATER, **more)


@pytest.mark.parametrize("what", ASKED)
def test_no_goal_is_answered_without_a_part_that_the_kind_must_have(what: str) -> None:
    """The cheapest oil phase of 45 % without a preservative would be hardly any water: warned of, so not proposed."""
    answer = design(lotion(UNPRESERVED, **ASKED[what]))
    assert isinstance(answer, NoFormula)
    (part,) = answer.lacking
    assert part.part == "share of preservative"
    assert part.buy


@pytest.mark.parametrize("what", ASKED)
@pytest.mark.parametrize("shelf", cases(tuple(SHELVES), 1))
def test_no_goal_is_answered_where_rules_leave_too_little_of_a_part(shelf: str, what: str) -> None:
    names, _ = SHELVES[shelf]
    answer = design(lotion(names, **ASKED[what]))
    assert isinstance(answer, NoFormula)
    (part,) = answer.lacking
    for bought in part.buy:
        better = design(lotion((*names, bought), **ASKED[what]))
        assert isinstance(better, Designed)
        assert [x.text for x in better.report.warnings if x.level != "note"] == []


def test_a_claim_that_takes_the_preservative_away_says_what_keeps_it() -> None:
    answer = design(lotion((*BASE, READY, KEPT), claims=["natural origin"], **ASKED["cheapest of much oil"]))
    assert isinstance(answer, NoFormula)
    assert "share of emulsifier" in [part.part for part in answer.lacking]


def test_what_the_maker_says_is_the_makers_word() -> None:
    """Usual ranges that only warn, a limit or today's formula on the part itself, and a formula's own lines."""
    cheapest = ASKED["cheapest"]
    warned = lotion(UNPRESERVED, usual="warn", **cheapest)
    assert isinstance(design(warned), Designed)
    none = lotion(UNPRESERVED, **cheapest, limits={"share of preservative": {"high": "0 %"}})
    assert "share of preservative" not in [part.part for part in getattr(design(none), "lacking", ())]


def test_a_limit_that_asks_for_much_is_answered_and_what_had_to_give_is_named() -> None:
    """45 % of oil phase leave no room for the usual water: the limit's doing, and no part is missing."""
    answer = design(lotion((*BASE, READY, KEPT), **ASKED["cheapest of much oil"]))
    assert isinstance(answer, Designed)
    assert [x.text for x in answer.report.warnings if x.level != "note"] == []
    assert answer.report.formula.fraction("water") > 0.5
    assert {"water", "share of oil and ester"} <= {end.demand.name for end in answer.gave}


def test_every_other_job_that_makes_a_formula_says_so_too() -> None:
    brief = lotion(UNPRESERVED, **ASKED["cheapest"])
    curve = explore_limit(brief, "humectant active", "low", 1.0, 5.0)
    assert isinstance(curve, NoFormula)
    assert curve.lacking
    weighed = weigh(brief)
    assert isinstance(weighed, NoFormula)
    assert weighed.lacking
    plan = Plan("a day", DAY, "EUR", (Product("lotion", brief, Formula("lotion", ()), 10, 0.1, 0.0),), {}, 0.0)
    made = range_design(plan, (), ())
    assert isinstance(made, NoRange)
    ((name, why),) = made.products
    assert (name, why is not None and why.lacking == curve.lacking) == ("lotion", True)


def test_the_part_that_is_explored_is_the_makers_word() -> None:
    brief = lotion(UNPRESERVED, **ASKED["cheapest"])
    answer = explore_limit(brief, "share of preservative", "low", 0.0, 1.0)
    assert not (isinstance(answer, NoFormula) and answer.lacking)


def test_a_shelf_that_brings_too_little_of_a_part_is_told_how_much_it_brings() -> None:
    """Coco-sulfate is there, and at most 30 % of a bar: that no candidate brings surfactant would not be so."""
    names = ("sodium coco-sulfate", "cocamidopropyl betaine, 30 %", "stearic acid", "corn starch", KEPT)
    answer = design(bare_brief("solid cleansing bar", dict.fromkeys(names, 5.0)))
    assert isinstance(answer, NoFormula)
    (told,) = [words for words in impossible(answer).sentences if "needs share of solid surfactant" in words]
    assert "and the candidates bring at most 30 % within their usual use" in told


def test_a_cream_with_shells_takes_the_full_dose_and_not_fewer_shells() -> None:
    """Grains of plants need it; round beads of wax do not."""
    for grain, dose in (("ground apricot shell", 0.012), ("jojoba ester beads", 0.01)):
        names = (*BASE, READY, "phenoxyethanol + caprylyl glycol", "disodium EDTA", grain)
        answer = design(bare_brief("cream scrub", dict.fromkeys(names, 5.0)))
        assert isinstance(answer, Designed)
        assert answer.report.formula.fraction(grain) == pytest.approx(0.1)
        assert answer.report.formula.fraction("phenoxyethanol + caprylyl glycol") == pytest.approx(dose)
        assert [x.text for x in answer.report.warnings if x.level != "note"] == []


def test_an_ester_that_no_list_names_is_no_better_than_an_oil_that_one_does() -> None:
    names = ("caprylic/capric triglyceride", "squalane", "beeswax", "shea butter, refined", "mixed tocopherols")
    answer = design(bare_brief("balm", dict.fromkeys(names, 5.0)))
    assert isinstance(answer, Designed)
    assert answer.report.formula.fraction("squalane") == 0
    assert answer.report.formula.fraction("caprylic/capric triglyceride") > 0.6
