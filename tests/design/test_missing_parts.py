"""A shelf from which no product of its kind comes: what stands in the way is named, and what to buy mends it."""

from dataclasses import replace

import pytest

from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.telling.impossible import impossible
from tests.kind_shelves import bare_brief

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
    assert f"({rule})" in " ".join(part.rules)
    assert part.buy
    assert not set(part.buy) & set(names)
    for bought in part.buy:
        better = answered((*names, bought))
        assert isinstance(better, Designed)
        assert [x.text for x in better.report.warnings if x.level != "note"] == []
        assert 100 * better.report.formula.fraction("water") > 60
    (told,) = [words for words in impossible(answer).sentences if "must have" in words]
    assert told.startswith("These candidates make no lotion: at best ")
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
    assert "not known whether it is allowed as a preservative" in dict(brief.left_out)[unsure]


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
