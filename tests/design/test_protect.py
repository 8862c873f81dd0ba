"""The demo protected against wrong figures, and small briefs by hand."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import optiform
from optiform.brief.brief import Brief, Limit
from optiform.brief.file import read_brief
from optiform.brief.goal import Highest
from optiform.design.answer import Designed, NoFormula
from optiform.design.design import design
from optiform.design.protect import AtWorst, Protected, protect
from optiform.ingredients.ingredient import Evidence, Value
from optiform.properties.base import Mix, Piecewise, fractions
from optiform.properties.registry import find_property
from optiform.reading.faults import BadInput
from optiform.telling.facts import in_words
from optiform.telling.noted import against
from tests.builders import brief_of, ingredient

DEMO = read_brief(Path(optiform.__file__).parent / "demo" / "brief.toml")


@cache
def protected(brief: Brief, budget: int | None = None) -> Protected:
    answer = protect(brief, budget)
    assert isinstance(answer, Protected), answer.reason if isinstance(answer, NoFormula) else ""
    return answer


def fulfilled(limit: AtWorst) -> bool:
    assert limit.worst is not None
    slack = limit.worst - limit.demand.target if limit.demand.side == "low" else limit.demand.target - limit.worst
    return slack >= -1e-6 * (1 + abs(limit.demand.target))


def active(low: float, typical: float, high: float) -> Value:
    return Value(low, typical, high, "-", "own file", Evidence.OWN)


def by_hand(least: float) -> Brief:
    """A strong dear active of 8 to 10 to 12, a weak cheap one of exactly 6, and water; at least so much of it."""
    strong, weak = ingredient("strong", 20.0), ingredient("weak", 13.0, figures={"power": 6.0})
    strong = replace(strong, values={**strong.values, ("power", None): active(8.0, 10.0, 12.0)})
    return brief_of([strong, weak, ingredient("water", 0.0, "water", {"power": 0.0})], {"power": (least, None)})


# -- by hand -----------------------------------------------------------------------------------------------------------


def test_a_doubtful_active_gives_way_to_a_sure_one() -> None:
    """3 of power: at 20/10 the strong one, 0.3 x 20 = 6.00. At worst 20/8 is dearer than 13/6: 0.5 x 13 = 6.50."""
    answer = protected(by_hand(3.0))
    assert answer.unprotected.objective == pytest.approx(6.0)
    assert answer.objective == pytest.approx(6.5)
    assert answer.price == pytest.approx(0.5)
    assert answer.report.formula.fraction("weak") == pytest.approx(0.5)
    assert against(answer.budget) == "every figure at the worse end of its range"
    assert answer.limits[0].before == pytest.approx(0.3 * 8)
    assert answer.limits[0].broken_before


def test_what_cannot_be_kept_names_the_protected_limit() -> None:
    """9 of power is there with the strong one at 10, not at 8."""
    assert isinstance(design(by_hand(9.0)), Designed)
    answer = protect(by_hand(9.0))
    assert isinstance(answer, NoFormula)
    assert [demand.words for demand in answer.conflict] == [
        "power at least 9 (with every figure at the worse end of its range)"
    ]
    assert answer.certificate is not None
    assert answer.certificate.holds
    assert "typical figures allow one" in in_words(answer.reason)


def test_what_cannot_be_kept_at_all_is_the_plain_conflict() -> None:
    answer = protect(by_hand(11.0))
    assert isinstance(answer, NoFormula)
    assert answer.reason == ""
    assert answer.repairs


def test_a_goal_that_is_the_highest_loses_value() -> None:
    brief = replace(by_hand(3.0), goal=Highest(find_property("share of water", "EUR")))
    answer = protected(brief)
    assert answer.unprotected.objective == pytest.approx(70.0)
    assert answer.objective == pytest.approx(100 * (1 - 3 / 8))
    assert answer.price == pytest.approx(7.5)


def test_a_negative_budget_is_refused() -> None:
    with pytest.raises(BadInput, match="zero or more"):
        protect(DEMO, -1)


# -- the demo ----------------------------------------------------------------------------------------------------------


def test_a_budget_of_none_at_all_is_the_demo_s_answer() -> None:
    answer = protected(DEMO, 0)
    assert answer.objective == pytest.approx(answer.unprotected.objective, rel=1e-9)
    assert answer.price == pytest.approx(0.0, abs=1e-9)


def test_the_demo_survives_any_one_wrong_figure() -> None:
    answer = protected(DEMO, 1)
    assert answer.certificate.holds
    assert answer.price > 0.01
    assert answer.limits
    assert all(fulfilled(limit) for limit in answer.limits)
    assert any(limit.broken_before for limit in answer.limits)
    assert not [warning for warning in map(str, answer.report.warnings) if "outside the brief's" in warning]


def test_each_worst_value_is_the_worst_of_one_figure_tried_in_turn() -> None:
    """Computed again from the property itself, one line's figure at its worse end at a time."""
    answer = protected(DEMO, 1)
    formula = answer.report.formula
    mix, x = Mix.of(formula), fractions(formula)
    for limit in answer.limits:
        wanted = find_property(limit.demand.name, "EUR", mix.ingredients)
        pieces = wanted.pieces(mix) if isinstance(wanted, Piecewise) else (wanted.terms(mix, x),)
        low = limit.demand.side == "low"
        assert limit.value is not None
        worst = []
        for terms in (terms for terms in pieces if terms.at(x) == pytest.approx(limit.value, rel=1e-6)):
            moved = ((terms.low if low else terms.high) - terms.numerator) * x / float(terms.denominator @ x)
            worst.append(limit.value + float(moved.min(initial=0.0) if low else moved.max(initial=0.0)))
        assert any(limit.worst == pytest.approx(value, rel=1e-6) for value in worst)  # in the way that is kept


def test_the_demo_cannot_survive_everything_and_says_what_clashes() -> None:
    answer = protect(DEMO)
    assert isinstance(answer, NoFormula)
    words = [demand.words for demand in answer.conflict]
    assert sum("worse end" in each for each in words) >= 1
    assert answer.certificate is not None
    assert answer.certificate.holds


@pytest.mark.exhaustive
def test_a_model_without_a_range_is_told() -> None:
    """Firmness bends and its terms carry no range: the limit is kept, and the answer says how far that goes."""
    firm = Limit(find_property("firmness at 20 degC", "EUR", (), DEMO.reference), 95.0, None)
    answer = protected(replace(DEMO, limits=(*DEMO.limits, firm)), 1)
    value = firm.property.of(answer.report.formula)
    assert value is not None
    assert value >= 95 - 1e-4
    assert tuple(map(in_words, answer.notes)) == (
        "firmness at 20 degC met with typical figures only: the model gives no range",
    )
    assert protected(DEMO, 1).notes == ()


def test_with_the_clash_dropped_the_demo_survives_everything() -> None:
    """Without the limits on solid fat, whose figures are the least sure, every figure may be wrong at once."""
    limits = tuple(limit for limit in DEMO.limits if not limit.property.name.startswith(("solid fat", "structuring")))
    answer = protected(replace(DEMO, limits=limits))
    assert all(fulfilled(limit) for limit in answer.limits)
    assert answer.price >= -1e-7 * (1 + abs(answer.objective))
    names = [item.name for item in DEMO.mix.ingredients]
    x = np.array([answer.report.formula.fraction(name) for name in names])
    for limit in limits:
        terms = limit.property.terms(DEMO.mix, x)
        span = terms.span(x)
        assert span is not None
        assert limit.low is None or min(span) >= limit.low - 1e-6 * (1 + limit.low) or limit.property.bends
        assert limit.high is None or max(span) <= limit.high + 1e-6 * (1 + limit.high) or limit.property.bends
