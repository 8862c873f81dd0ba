"""At most so many ingredients: the best of every choice of them, told where none is short enough."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.design.alternatives import alternatives
from optiform.design.answer import NoFormula
from optiform.design.around import only
from optiform.design.cheaper import cheaper
from optiform.design.design import best, formula_of
from optiform.design.entry import why_not
from optiform.design.price_lists import for_all_prices
from optiform.design.price_moves import price_uncertainty
from optiform.design.protect import protect
from optiform.design.steps import Weighed
from optiform.design.weigh import weigh
from optiform.ingredients.price_lists import PriceList
from optiform.reading.faults import BadInput
from optiform.review.measures import setting_of
from optiform.review.report import report
from optiform.telling.facts import in_words
from tests.builders import brief_of, ingredient, random_brief
from tests.sweeps import cases


def by_trying(brief: Brief, most: int) -> float | None:
    """The best value over every choice of so many candidates, each brief solved by itself."""
    names = [item.name for item in brief.mix.ingredients]
    insisted = {n for n, span in zip(names, brief.ranges, strict=True) if span.low > 0}
    choices = [c for c in combinations(names, min(most, len(names))) if insisted <= set(c)]
    answers = [best(only(brief, frozenset(choice))) for choice in choices]
    return min((answer.value for answer in answers if not isinstance(answer, NoFormula)), default=None)


SMALL = [seed for seed in range(60) if len(random_brief(seed).mix.ingredients) <= 8][:20]


@pytest.mark.parametrize("seed", cases(SMALL, 5))
@pytest.mark.parametrize("most", [2, 3])
def test_it_is_the_best_of_every_choice(seed: int, most: int) -> None:
    brief = random_brief(seed)
    answer, value = best(replace(brief, most_ingredients=most)), by_trying(brief, most)
    if value is None:
        assert isinstance(answer, NoFormula)
        return
    assert not isinstance(answer, NoFormula)
    assert len(answer.formula.lines) <= most
    assert answer.value == pytest.approx(value, abs=1e-6)


OIL, BUTTER, WAX = ingredient("oil", 4, "oil"), ingredient("butter", 12, "butter"), ingredient("wax", 20, "active")


def three() -> Brief:
    """Oil, butter and wax, of each of which the brief insists on some."""
    ranges = {"oil": Range(0.1, 1.0, "brief"), "butter": Range(0.1, 1.0, "brief"), "wax": Range(0.1, 1.0, "brief")}
    return brief_of([OIL, BUTTER, WAX], ranges=ranges)


def test_too_few_are_told_with_the_least_number() -> None:
    answer = best(replace(three(), most_ingredients=2))
    assert isinstance(answer, NoFormula)
    assert in_words(answer.reason) == (
        "at most 2 ingredients are asked for, and the rest of the brief needs at least 3"
    )  # fmt: skip


def test_weigh_keeps_it_too() -> None:
    brief = brief_of([OIL, BUTTER, WAX], {"share of butter": (20.0, None)}, {"wax": Range(0.0, 0.3, "brief")})
    answer = weigh(replace(brief, most_ingredients=2))
    assert isinstance(answer, Weighed)
    assert len(answer.lines) == 2


def test_check_counts() -> None:
    brief = replace(three(), most_ingredients=2)
    every = formula_of(brief, np.full(3, 1 / 3), "every")
    told = [x.text for x in report(every, setting_of(brief)).warnings]
    assert "It has 3 ingredients, and the brief asks for at most 2." in told


def test_jobs_that_do_not_look_at_it_refuse_it() -> None:
    today = formula_of(three(), np.array([0.5, 0.5, 0.0]), "today")
    brief = replace(three(), most_ingredients=2, reference=today)
    spring = PriceList("spring", {})
    for job in (
        cheaper,
        lambda asked: alternatives(asked, 2.0),
        lambda asked: protect(asked, 1),
        lambda asked: price_uncertainty(asked, 0.1, scenarios=10),
        lambda asked: for_all_prices(asked, [spring]),
        lambda asked: why_not(asked, asked.mix.ingredients[0]),
        lambda asked: why_not(asked, today),
    ):
        with pytest.raises(BadInput, match="most_ingredients: only design, weigh, explore --unlike and check"):
            job(brief)
