"""What is ranked by a figure: a solver's last digits decide nothing."""

from dataclasses import replace

import numpy as np
import pytest

from optiform.brief.file import read_brief
from optiform.design.answer import Designed
from optiform.design.design import formula_of
from optiform.design.wishes import wishes
from optiform.reading.order import largest_first, ranked
from optiform.reading.paths import DEMO
from tests.answers import design

LAST_DIGITS = (0.0, 1e-16, -1e-16, 3e-12, -3e-12)


@pytest.mark.parametrize("digit", LAST_DIGITS)
def test_equal_figures_go_by_name_whatever_the_last_digit(digit: float) -> None:
    figures = {"b": 0.003 * (1 + digit), "a": 0.003, "c": 0.004}
    assert sorted(figures, key=lambda name: largest_first(figures[name], name)) == ["c", "a", "b"]


def test_what_differs_in_the_sixth_digit_is_ranked_by_it() -> None:
    assert ranked(0.30000) < ranked(0.300001)
    assert ranked(-0.0) == ranked(1e-13) == 0.0


@pytest.mark.parametrize("digit", LAST_DIGITS)
def test_lines_of_equal_share_stand_in_a_formula_by_name(digit: float) -> None:
    brief = read_brief(DEMO / "brief.toml")
    oils = [j for j, item in enumerate(brief.mix.ingredients) if brief.mix.phases[j] == "oil phase"][:3]
    x = np.zeros(len(brief.mix.ingredients))
    x[oils] = np.array([1.0, 1.0 + digit, 1.0 - digit]) / 3
    names = [line.ingredient.name for line in formula_of(brief, x, "equal").lines]
    assert names == sorted(names)
    assert len(names) == 3


@pytest.mark.parametrize("digit", LAST_DIGITS)
def test_limits_that_cost_as_much_are_told_by_name(digit: float) -> None:
    answer = design(read_brief(DEMO / "brief.toml"))
    assert isinstance(answer, Designed)
    binding = answer.binding
    one = next(bound for bound in binding if wishes([bound]))
    twin = replace(one, demand=replace(one.demand, name="a twin"), price=one.price * (1 + digit))
    told = [wish.bound.demand.words for wish in wishes([one, twin])]
    assert told == sorted(told)
