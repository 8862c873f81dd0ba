"""Formulas of unlike ingredients, ranked: the order is what trying every set of ingredients says."""

import itertools
from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.brief import Brief, Range
from optiform.design.answer import NoFormula
from optiform.design.around import only
from optiform.design.design import best
from optiform.design.unlike import Unlikes, unlike
from optiform.telling.explore import explore as told
from tests.builders import brief_of, ingredient
from tests.sweeps import cases

SHELF = [
    ingredient("water", 1, "water"), ingredient("oil", 4, "oil"), ingredient("fine oil", 5, "oil"),
    ingredient("soft butter", 12, "butter"), ingredient("hard butter", 24, "butter"),
]  # fmt: skip


def wanted() -> Brief:
    return brief_of(SHELF, {"share of butter": (10.0, None), "water phase": (40.0, 60.0)})


def answered(found: Unlikes | NoFormula) -> Unlikes:
    assert isinstance(found, Unlikes)
    return found


def by_enumeration(brief: Brief, count: int) -> list[float]:
    """The best value of each step, over every set of ingredients that holds no set taken before."""
    names = [item.name for item in brief.mix.ingredients]
    values = {}
    for size in range(1, len(names) + 1):
        for some in itertools.combinations(names, size):
            answer = best(only(brief, frozenset(some)))
            if not isinstance(answer, NoFormula):
                values[frozenset(some)] = (
                    answer.value,
                    frozenset(line.ingredient.name for line in answer.formula.lines),
                )
    ranked: list[float] = []
    taken: list[frozenset[str]] = []
    while len(ranked) < count:
        open_sets = [values[some] for some in values if not any(before <= values[some][1] for before in taken)]
        if not open_sets:
            break
        value, used = min(open_sets, key=lambda way: way[0])
        ranked.append(value)
        taken.append(used)
    return ranked


def test_each_formula_does_without_something_of_each_before_and_none_is_better_than_the_one_before() -> None:
    answer = answered(unlike(wanted(), 4))
    sets = [{line.ingredient.name for line in option.formula.lines} for option in answer.options]
    assert sets[0] == {"water", "oil", "soft butter"}
    assert [option.without for option in answer.options[:2]] == [(), ("oil",)]
    assert all(not before <= after for before, after in itertools.combinations(sets, 2))
    values = [option.value for option in answer.options]
    assert values == sorted(values)
    assert values == pytest.approx(by_enumeration(wanted(), 4), abs=1e-6)


@pytest.mark.parametrize("seed", cases(range(6), 2, 4))
def test_the_ranking_is_what_every_set_of_ingredients_says(seed: int) -> None:
    rng = np.random.default_rng(seed)
    shelf = [ingredient(item.name, float(rng.uniform(1, 20)), item.functions[0]) for item in SHELF]
    low = float(rng.uniform(5, 30))
    brief = brief_of(shelf, {"share of butter": (low, low + 10), "water phase": (30.0, float(rng.uniform(40, 60)))})
    answer = answered(unlike(brief, 5))
    assert [option.value for option in answer.options] == pytest.approx(by_enumeration(brief, 5), abs=1e-6)


def test_it_says_where_there_are_no_more() -> None:
    answer = answered(unlike(brief_of(SHELF[:4], {"share of butter": (10.0, None), "water phase": (40.0, 60.0)}), 9))
    assert answer.all_there_are
    assert len(answer.options) < 9
    assert "There are no more." in " ".join(told("a brief", [answer]).sentences)


def test_a_line_that_the_brief_fixes_stands_in_each() -> None:
    brief = brief_of(SHELF, {"water phase": (40.0, 60.0)}, {"hard butter": Range(0.1, 0.1, "brief")})
    answer = answered(unlike(brief, 4))
    assert all(option.formula.fraction("hard butter") == pytest.approx(0.1) for option in answer.options)


def test_with_few_ingredients_asked_for_each_is_as_short() -> None:
    answer = answered(unlike(replace(wanted(), most_ingredients=3), 3))
    assert all(len(option.formula.lines) <= 3 for option in answer.options)


def test_it_is_told_with_what_each_does_without() -> None:
    telling = told("a brief", [answered(unlike(wanted(), 3))])
    assert telling.title == "a brief: what else it can be made of"
    assert telling.table.rows[1][3:] == ("oil", "fine oil")
