"""Formulas side by side."""

import pytest

from optiform.ingredients.formula import Formula, Line
from optiform.ingredients.ingredient import Ingredient
from optiform.review.compare import Comparison, PropertyRow, compare
from optiform.review.measures import Setting
from optiform.telling.compare import compared
from optiform.telling.terminal import terminal
from tests.builders import ingredient

WATER = ingredient("water", 0.1, "water", contains={"Aqua": 100})
SYRUP = ingredient("syrup", 4, "humectant", contains={"Glycerin": 80, "Aqua": 20})
OIL = ingredient("oil", 8, "oil", contains={"Oleum": 100})
UNPRICED = Ingredient("unpriced", ("oil",), "oil phase")


def formula(name: str, *lines: tuple[Ingredient, float]) -> Formula:
    return Formula(name, tuple(Line(item, percent / 100, item.phase) for item, percent in lines))


def side_by_side(*formulas: Formula, step: float = 0.1, batch: float | None = 1.0) -> Comparison:
    return compare(formulas, Setting(batch=batch), step)


def row(found: Comparison, name: str) -> PropertyRow:
    (one,) = [one for one in found.properties if one.name == name]
    return one


A = formula("a", (WATER, 60), (SYRUP, 40))


@pytest.mark.parametrize(
    ("step", "batch", "resolution"), [(0.1, 1.0, 0.01), (1.0, 4.0, 0.025), (1.0, 0.1, 1.0), (0.1, None, 0.01)]
)
def test_the_resolution_is_one_step_of_the_scale_in_the_batch(
    step: float, batch: float | None, resolution: float
) -> None:
    assert side_by_side(A, A, step=step, batch=batch).resolution == pytest.approx(resolution)


@pytest.mark.parametrize(("moved", "same"), [(0.0, True), (0.009, True), (0.011, False), (5.0, False)])
def test_a_difference_the_scale_cannot_show_counts_as_none(moved: float, same: bool) -> None:
    found = side_by_side(A, formula("b", (WATER, 60 - moved), (SYRUP, 40 + moved)))
    assert [row.same for row in found.lines] == [same, same]


def test_a_coarser_scale_sees_less() -> None:
    b = formula("b", (WATER, 59.5), (SYRUP, 40.5))
    assert not any(row.same for row in side_by_side(A, b, step=1, batch=1.0).lines)
    assert all(row.same for row in side_by_side(A, b, step=1, batch=0.1).lines)


def test_every_ingredient_of_any_formula_has_a_row_and_absent_is_nothing() -> None:
    found = side_by_side(A, formula("b", (WATER, 90), (OIL, 10)), formula("c", (SYRUP, 100)))
    assert {row.ingredient: row.percents for row in found.lines} == {
        "water": pytest.approx((60, 90, 0)),
        "syrup": pytest.approx((40, 0, 100)),
        "oil": pytest.approx((0, 10, 0)),
    }


def test_cost_and_properties_side_by_side() -> None:
    # 0.6 * 0.1 + 0.4 * 4 = 1.66 and 0.9 * 0.1 + 0.1 * 8 = 0.89
    found = side_by_side(A, formula("b", (WATER, 90), (OIL, 10)))
    assert row(found, "cost").values == pytest.approx((1.66, 0.89))
    assert row(found, "oil phase").values == pytest.approx((0, 10)), "none of it is 0, not unknown"
    assert not row(found, "cost").same
    assert not row(found, "oil phase").same


def test_the_same_formula_differs_in_nothing() -> None:
    found = side_by_side(A, formula("again", (SYRUP, 40), (WATER, 60)))
    assert all(row.same for row in found.lines)
    assert all(row.same for row in found.properties)
    assert found.label == ()


def test_a_cost_that_is_known_on_one_side_only_is_a_difference() -> None:
    found = side_by_side(A, formula("b", (UNPRICED, 100)))
    assert row(found, "cost").values[1] is None
    assert not row(found, "cost").same


def test_only_places_in_the_declaration_that_change_are_listed() -> None:
    # a: Aqua 68, Glycerin 32; b: Glycerin 56, Aqua 34, Oleum 10
    found = side_by_side(A, formula("b", (WATER, 20), (SYRUP, 70), (OIL, 10)))
    assert {row.inci: row.places for row in found.label} == {"Aqua": (1, 2), "Glycerin": (2, 1), "Oleum": (None, 3)}
    stays = side_by_side(A, formula("c", (WATER, 65), (SYRUP, 30), (OIL, 5)))
    assert {row.inci: row.places for row in stays.label} == {"Oleum": (None, 3)}


def test_nothing_of_it_and_no_meaning_and_no_figure_are_three_things() -> None:
    found = side_by_side(A, formula("b", (WATER, 50), (UNPRICED, 50)))
    assert [each.state for each in row(found, "oil phase").measured] == ["known", "known"]
    assert [each.state for each in row(found, "iodine value").measured] == ["does not apply", "not known"]
    assert [each.state for each in row(found, "cost").measured] == ["known", "not known"]
    telling = compared(found)
    told = terminal(telling, 100)
    oil, *_ = [line.split() for line in told.splitlines() if line.strip().startswith("oil phase ")]
    (iodine,) = [line.split() for line in told.splitlines() if line.strip().startswith("iodine value  ")]
    assert oil[2:4] == ["0", "50"]
    assert iodine[2:5] == ["-", "not", "known"]
    assert "cost of b not known: no figure for unpriced." in " ".join(telling.sentences)


FAT = ingredient("fat", 9, "butter", {"density": 0.9}, curve={10: 80, 20: 40, 30: 20, 35: 10})
LIQUID = ingredient("liquid", 5, "oil", {"density": 0.9}, curve={10: 0, 35: 0})


def test_firmness_is_predicted_without_a_trial_the_first_being_100() -> None:
    soft, hard = (formula(name, (FAT, share), (LIQUID, 100 - share)) for name, share in (("soft", 20), ("hard", 30)))
    answer = side_by_side(soft, hard)
    first, other = answer.firmness
    assert first is not None
    assert other is not None
    assert first.typical == pytest.approx(100)
    assert other.typical == pytest.approx(100 * 1.5**2.5)  # a half more solids, n 2.5
    assert other.low < other.typical < other.high
    assert "where soft is 100: 276 for hard" in " ".join(compared(answer).sentences)


def test_firmness_of_a_kind_without_a_network_is_refused_in_a_sentence() -> None:
    soft, hard = (formula(name, (FAT, share), (LIQUID, 100 - share)) for name, share in (("soft", 20), ("hard", 30)))
    answer = compare([soft, hard], Setting(kind="lotion"), 0.1)
    assert answer.firmness == ()
    told = " ".join(compared(answer).sentences)
    assert "no firmness is told of it" in told
    assert "Predicted" not in told


def test_of_equal_formulas_nothing_is_listed_and_no_range_is_told_that_is_none() -> None:
    one, other = (formula(name, (FAT, 20), (LIQUID, 80)) for name in ("today", "first try"))
    told = " ".join(compared(side_by_side(one, other)).sentences)
    assert "No line differs." in told
    assert "The same to" not in told
    assert "where today is 100: 100 for first try." in told
    assert "could be" not in told
    hair = formula("a hair off", (FAT, 20.004), (LIQUID, 79.996))
    told = " ".join(compared(side_by_side(one, hair)).sentences)
    assert "No line differs by more than 0.01 % points, which the scale cannot tell apart." in told
