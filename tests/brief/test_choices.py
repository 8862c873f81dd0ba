"""Which ingredients together: read as a maker writes it, kept by `design`, looked for by `check`."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.brief.choices import asked
from optiform.brief.file import read_brief
from optiform.design.answer import NoFormula
from optiform.design.design import best, design
from optiform.ingredients.formula import mixed
from optiform.reading.faults import BadInput
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.rules.forms import Bound, Either, absent
from optiform.telling.impossible import impossible
from optiform.telling.unused import left_out
from tests.builders import random_brief
from tests.sweeps import cases

BRIEF = """
kind = "body butter"
usual = "warn"
own_files = ["shelf.csv"]
"""
SHELF = """ingredient,price (EUR/kg)
cocoa butter,9
mango butter,12
"shea butter, refined",14
"sunflower oil, high oleic",4
beeswax,20
candelilla wax,30
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "shelf.csv").write_text(SHELF, encoding="utf-8")
    return tmp_path


def brief_with(folder: Path, more: str) -> Brief:
    (folder / "brief.toml").write_text(BRIEF + more, encoding="utf-8")
    return read_brief(folder / "brief.toml")


def shares(brief: Brief) -> dict[str, float]:
    answer = best(brief)
    assert not isinstance(answer, NoFormula)
    return {line.ingredient.name: round(100 * line.fraction, 4) for line in answer.formula.lines}


BUTTERS = '["cocoa butter", "mango butter", "shea butter, refined"]'


def test_exactly_one_of_several(folder: Path) -> None:
    brief = brief_with(folder, f'[lines]\n"cocoa butter" = {{ high = "5 %" }}\n"sunflower oil, high oleic" = '
                               f'{{ high = "50 %" }}\n"beeswax" = 0\n"candelilla wax" = 0\n'
                               f'[[choose]]\nof = {BUTTERS}\nexactly = 1\n')  # fmt: skip
    assert shares(brief) == {"mango butter": 50.0, "sunflower oil, high oleic": 50.0}


def test_one_that_is_chosen_has_its_dose(folder: Path) -> None:
    brief = brief_with(folder, f'[[choose]]\nof = {BUTTERS}\nexactly = 2\ndose = "3 %"\n')
    assert shares(brief) == {"cocoa butter": 3.0, "mango butter": 3.0, "sunflower oil, high oleic": 94.0}


def test_at_least_one_and_at_most_one(folder: Path) -> None:
    assert shares(brief_with(folder, f"[[choose]]\nof = {BUTTERS}\nleast = 1\n"))["cocoa butter"] == 0.1
    oil = '[lines]\n"sunflower oil, high oleic" = { high = "40 %" }\n"cocoa butter" = { high = "30 %" }\n'
    waxes = '"beeswax" = 0\n"candelilla wax" = 0\n'
    most = brief_with(folder, f"{oil}{waxes}[[choose]]\nof = {BUTTERS}\nmost = 1\n")
    assert shares(most) == {"mango butter": 60.0, "sunflower oil, high oleic": 40.0}


def test_where_there_is_one_there_is_enough_of_the_other(folder: Path) -> None:
    when = '[[when]]\nuses = "beeswax"\nabove = "1 %"\nalso = "candelilla wax"\nat_least = "2 %"\n'
    assert "candelilla wax" not in shares(brief_with(folder, f'[lines]\n"beeswax" = "1 %"\n{when}'))
    assert shares(brief_with(folder, f'[lines]\n"beeswax" = "1.5 %"\n{when}'))["candelilla wax"] == 2.0


def test_none_or_at_least_a_dose(folder: Path) -> None:
    used = '"cocoa butter" = { if_used = "8 %" }\n'
    assert "cocoa butter" not in shares(brief_with(folder, f"[lines]\n{used}"))
    butter = '[limits]\n"share of butter" = { low = "6 %" }\n'
    assert shares(brief_with(folder, f"[lines]\n{used}{butter}"))["cocoa butter"] == 8.0


def test_what_cannot_go_together_is_told_in_the_words_of_the_choice(folder: Path) -> None:
    fixed = '[lines]\n"cocoa butter" = "5 %"\n"mango butter" = "5 %"\n'
    answer = best(brief_with(folder, f"{fixed}[[choose]]\nof = {BUTTERS}\nexactly = 1\n"))
    assert isinstance(answer, NoFormula)
    assert any("exactly 1 of cocoa butter, mango butter" in demand.words for demand in answer.conflict)


def test_a_need_is_told_once_and_to_leave_out_what_needs_it_is_told_as_none_of_it(folder: Path) -> None:
    lines = '[lines]\n"beeswax" = { low = "3 %" }\n"candelilla wax" = { high = "2 %" }\n'
    need = '[[when]]\nuses = "beeswax"\nalso = "candelilla wax"\nat_least = "4 %"\n'
    answer = best(brief_with(folder, lines + need))
    assert isinstance(answer, NoFormula)
    words = " ".join(impossible(answer).sentences)
    assert "candelilla wax at least 4 % where there is beeswax" in words
    assert "candelilla wax at least 4 % (candelilla" not in words
    assert "lower the minimum beeswax from 3 to 0 % of the jar" in words


def test_check_tells_of_a_choice_that_is_not_kept(folder: Path) -> None:
    brief = brief_with(folder, f"[[choose]]\nof = {BUTTERS}\nexactly = 1\n")
    both = mixed({"cocoa butter": 1, "mango butter": 1})
    told = [x.text for x in report(both, setting_of(brief)).warnings if x.rule == "choice-missed"]
    assert told == [
        "Your brief asks for this, and it is not met: exactly 1 of cocoa butter, mango butter, shea butter, refined."
    ]  # fmt: skip
    assert report(both, setting_of(brief)).keeps_limits is False


def test_what_a_choice_costs_is_explained(folder: Path) -> None:
    answer = design(brief_with(folder, f"[[choose]]\nof = {BUTTERS}\nexactly = 1\n"))
    assert not isinstance(answer, NoFormula)
    assert any(bound.demand.kind == "rule" and bound.price > 0 for bound in answer.binding)


def test_every_fault_is_told_at_its_place(folder: Path) -> None:
    wrong = """
    [lines]
    "beeswax" = { if_used = "120 %" }
    [[choose]]
    of = ["cocoa butter", "none such"]
    exactly = 1
    [[choose]]
    of = ["cocoa butter"]
    most = 2
    [[choose]]
    of = ["cocoa butter", "mango butter"]
    [[choose]]
    of = ["cocoa butter", "cocoa butter"]
    exactly = 1
    colour = 3
    [[when]]
    uses = "beeswax"
    also = []
    """
    with pytest.raises(BadInput) as bad:
        brief_with(folder, wrong)
    assert [fault.place for fault in bad.value.faults] == [
        "[[choose]] 1, of", "[[choose]] 2, most", "[[choose]] 3", "[[choose]] 4, colour", "[[choose]] 4, of",
        "[[when]] 1, at_least", "[[when]] 1, also", "[lines] beeswax, if_used",
    ]  # fmt: skip


# -- against every way of choosing -------------------------------------------------------------------------------------


def ways_to_take(brief: Brief, names: list[str], count: int, dose: float) -> Iterator[Brief]:
    """The brief with just these of some of its candidates, each at its dose, for every choice of so many."""
    for taken in combinations(names, count):
        spans = [
            Range(max(span.low, dose), span.high, "brief") if item.name in taken
            else Range(span.low, 0.0, "brief") if item.name in names else span
            for item, span in zip(brief.mix.ingredients, brief.ranges, strict=True)
        ]  # fmt: skip
        if all(span.low <= span.high for span in spans):
            yield replace(brief, ranges=tuple(spans))


def exactly(names: list[str], count: int, dose: float) -> Either:
    ways = []
    for taken in combinations(names, count):
        none = absent("none", [name for name in names if name not in taken])
        ways.append((none, *(Bound(name, ((name, 1.0),), "low", dose) for name in taken)))
    return asked("a choice", ways)


@pytest.mark.parametrize("seed", cases(range(25), 6, 19))
def test_the_best_choice_is_the_best_of_all_choices(seed: int) -> None:
    brief = random_brief(seed)
    rng = np.random.default_rng(seed)
    names = [str(x) for x in rng.permutation([item.name for item in brief.mix.ingredients])[: int(rng.integers(2, 6))]]
    count, dose = int(rng.integers(1, len(names))), float(rng.uniform(0.01, 0.1))
    answer = best(replace(brief, choices=(exactly(names, count, dose),)))
    tried = [best(way) for way in ways_to_take(brief, names, count, dose)]
    values = [x.value for x in tried if not isinstance(x, NoFormula)]
    if not values:
        assert isinstance(answer, NoFormula)
        return
    assert not isinstance(answer, NoFormula)
    assert answer.value == pytest.approx(min(values), abs=1e-6)


def test_what_a_choice_names_and_is_no_candidate_is_told_with_why(folder: Path) -> None:
    asked_of = '[[choose]]\nof = ["jojoba oil", "beeswax"]\nexactly = 1\n'
    brief = brief_with(folder, f'exclude = ["beeswax"]\n{asked_of}')
    answer = design(brief)
    assert isinstance(answer, NoFormula)
    words = (
        "The brief names these in a choice of ingredients, and they are no candidates: beeswax (excluded by the "
        "brief); jojoba oil (not among the candidates)."
    )
    assert words in impossible(answer).brief().sentences
    assert not [words for words in left_out(brief_with(folder, "")).parts if "choice" in str(words)]
