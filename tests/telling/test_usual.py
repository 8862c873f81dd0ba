"""What an answer went by where the brief is silent is told in one sentence each."""

import re
from dataclasses import replace

import pytest

from optiform.brief.goal import Nearest
from optiform.brief.parts import Lacking
from optiform.design.alternatives import Alternatives, alternatives
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import mixed
from optiform.ingredients.ingredient import Ingredient
from optiform.rules.acidity import acidity
from optiform.telling.design import designed
from optiform.telling.document import document
from optiform.telling.explore import explore
from optiform.telling.impossible import impossible
from optiform.telling.terminal import terminal
from optiform.telling.usual import lacking
from tests.kind_shelves import bare_brief

LOTION = (
    "water", "glycerin", "emulsifying wax NF", "cetyl alcohol", "sunflower oil, high oleic",
    "phenoxyethanol + ethylhexylglycerin",
)  # fmt: skip


def answered(*without: str) -> Designed | NoFormula:
    return design(bare_brief("lotion", {name: 5.0 for name in LOTION if name not in without}))


def test_a_bare_brief_says_what_it_was_answered_by_and_prices_nothing() -> None:
    answer = answered()
    assert isinstance(answer, Designed)
    telling = designed(answer)
    text = " ".join(telling.sentences)
    assert "nearest to what is usual in a lotion in round figures, not the cheapest" in text
    assert "no formula within your limits is nearer to what is usual" in text
    assert "saves" not in terminal(telling, 90)
    (short,) = [words for words in telling.only("answer").sentences if words.startswith("Checked")]
    told = re.fullmatch(
        r"Checked: no formula within your limits is nearer to what is usual by more than (\d+) %.", short
    )
    assert told, short
    assert (answer.gap or 0.0) <= int(told[1]) / 100 * answer.objective < (answer.gap or 0.0) + 0.01 * answer.objective
    (exact,) = [words for words in telling.only("proof").sentences if words.startswith("Checked")]
    assert re.search(r"by more than 0\.\d+ steps \(a step is half of a usual range\)\.$", exact)
    assert "A pH from 4 to 9 suits all of it, as far as the windows are known. Measure it and set it." in text
    assert len(terminal(telling.brief(), 90).splitlines()) <= 40
    assert "not the cheapest" in document(telling)


def test_without_limits_it_says_that_todays_formula_stands() -> None:
    first = answered()
    assert isinstance(first, Designed)
    today = first.formula
    answer = design(replace(first.brief, reference=today, goal=Nearest(today)))
    assert isinstance(answer, Designed)
    assert [round(line.fraction, 9) for line in answer.formula.lines] == [round(x.fraction, 9) for x in today.lines]
    (said,) = [words for words in designed(answer).sentences if "stands as far as it can" in words]
    assert said.endswith('For the cheapest write [goal] lowest = "cost" in the brief.')
    limited = replace(answer.brief.with_limit("oil phase", low="15 %"), goal=Nearest(today))
    limits = design(limited)
    assert isinstance(limits, Designed)
    assert not any("stands as far" in words for words in designed(limits).sentences)


@pytest.mark.parametrize("helps", [False, True])
def test_why_todays_formula_cannot_stay_is_named(helps: bool) -> None:
    shares = {"water": 87.5, "glycerin": 5.0, "xanthan gum": 0.5, "citric acid": 1.0, "phenoxyethanol": 1.0}
    today = mixed(shares | {"decyl glucoside, 50 %": 5.0})
    names = [*(line.ingredient.name for line in today.lines), *(("potassium sorbate",) if helps else ())]
    answer = design(replace(bare_brief("", dict.fromkeys(names, 5.0)), reference=today, goal=Nearest(today)))
    assert isinstance(answer, Designed)
    told = designed(answer).sentences
    (why,) = [words for words in told if words.startswith("As it is, ")]
    assert "would be warned of: Phenoxyethanol needs a partner against yeast and mould: phenoxyethanol" in why
    assert (answer.objective < 1) == helps  # with the partner at hand hardly anything changes
    assert ("Put what helps among the candidates, and less has to change." in told) != helps


def test_which_usual_ranges_gave_is_one_sentence() -> None:
    brief = bare_brief("lotion", dict.fromkeys(LOTION, 5.0))
    dry = replace(brief, ranges=tuple(
        replace(span, low=0.0, high=0.5, source="brief") if item.name == "water" else span
        for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True)
    ))  # fmt: skip
    answer = design(dry)
    assert isinstance(answer, Designed)
    (told,) = [words for words in designed(answer).sentences if words.startswith("Unusual, because")]
    assert told.startswith("Unusual, because of your limits and your shelf: ")
    assert re.search(r"water 50(\.\d+)? % of the jar \(usual: at least 60\)", told)


@pytest.mark.parametrize("gone", ["emulsifying wax NF", "phenoxyethanol + ethylhexylglycerin"])
def test_a_lacking_part_is_told_with_what_to_buy(gone: str) -> None:
    answer = answered(gone)
    assert isinstance(answer, NoFormula)
    (told,) = [words for words in impossible(answer).brief().sentences if "no candidate brings it" in words]
    assert "A lotion needs share of " in told
    assert gone in told, "the first three that makers take"


@pytest.mark.parametrize(("ph", "told"), [(2.0, True), (None, False)])
def test_a_ph_in_the_way_is_told_to_be_set_anew(ph: float | None, told: bool) -> None:
    """By what the rule asks, whatever it is called: where the brief names no pH there is none to set anew."""
    rule = replace(next(x.rule for x in acidity(acids(), ph, frozenset(), ("mind",))), title="what it is called")
    part = Lacking("share of preservative", 0.3, None, "%", (), reached=0.1, rules=(rule,))
    (sentence,) = lacking([part], "lotion")
    assert "In the way: what it is called (acidity-mind)." in sentence.text
    assert sentence.text.endswith("Set another pH in the brief.") is told


def acids() -> list[Ingredient]:
    """Water, and two ingredients that no one pH suits."""
    known = read_catalogue().ingredients
    return [known[name] for name in ("water", "sodium cocoyl isethionate", "sodium benzoate")]


def test_what_is_nearly_as_near_to_usual_is_told_in_percent_and_in_steps_with_the_proof() -> None:
    answer = alternatives(bare_brief("lotion", dict.fromkeys(LOTION, 5.0)), 2.0)
    assert isinstance(answer, Alternatives)
    telling = explore("Lotion", (answer,), None)
    count = len(answer.options)
    (first, *_) = telling.only("options").sentences
    assert first.endswith(f"Options 2 to {count} are at most 2 % farther from usual, and differ as much as they can.")
    assert telling.only("proof").sentences[0] == f"2 % is {answer.slack:.3g} steps from usual here."
    best = answer.options[0].value
    assert all(option.value <= 1.02 * best + 1e-6 for option in answer.options), "as it is said"
