"""A small dose is diluted in another line so that both can be weighed, and nothing of the formula changes."""

from decimal import Decimal

import pytest

from optiform.batch.doses import FEWEST_STEPS, SCALES, highest, premix, scale_for, small_doses
from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Formula, Line
from tests.builders import brief_of, ingredient

CATALOGUE = read_catalogue()


def lines(*names: str) -> list[Line]:
    items = [CATALOGUE.ingredients[name.casefold()] for name in names]
    return [Line(item, 0.1 * (k + 1), item.phase) for k, item in enumerate(items)]


ENOUGH = {"sweet almond oil": 500, "glycerin": 500, "water": 500}


@pytest.mark.parametrize("exact", [1.0, 1.9, 2.5, 7.3, 8.18, 12.27, 19.99])
@pytest.mark.parametrize("name", ["mixed tocopherols", "fragrance oil"])
def test_what_is_taken_holds_the_dose(name: str, exact: float) -> None:
    """Within 2.5 %, and for a fragrance never more; the batch weighs what it did."""
    made = lines(name, "sweet almond oil")
    steps = int(exact)
    found = premix(made[0], exact, steps, ENOUGH, made)
    if name == "fragrance oil" and exact < 2:  # 40 steps to take would be more dilute than 1 in 20
        assert found is None
        return
    assert found is not None
    held = found.taken * found.dose / (found.dose + found.carrier)
    assert held == pytest.approx(exact, rel=0.025)
    assert name != "fragrance oil" or held <= exact
    assert found.taken == steps + found.less
    assert found.taken >= FEWEST_STEPS
    assert found.dose >= FEWEST_STEPS
    assert found.taken <= found.dose + found.carrier


def test_it_goes_into_what_it_mixes_with() -> None:
    made = lines("xanthan gum", "mixed tocopherols", "disodium EDTA", "water", "glycerin", "sweet almond oil")
    into = [found.into for line in made[:3] if (found := premix(line, 5.0, 5, ENOUGH, made))]
    assert into == ["glycerin", "sweet almond oil", "glycerin"]


def test_no_premix_without_a_carrier_or_with_too_little_of_it_or_too_dilute() -> None:
    made = lines("mixed tocopherols", "sweet almond oil")
    assert premix(made[0], 5.0, 5, {"sweet almond oil": 14}, made) is None
    assert premix(made[0], 5.0, 5, {"sweet almond oil": 15}, made) is not None
    assert premix(made[0], 5.0, 5, {"water": 500}, lines("mixed tocopherols", "water")) is None
    assert premix(made[0], 0.9, 1, {"sweet almond oil": 500}, made) is None


def test_an_ingredient_in_two_phases_keeps_its_maximum_as_one() -> None:
    wax = ingredient("my wax", 1.0, "wax", {"maximum use": 1.0}, phase="oil phase")
    rest = ingredient("water", 1.0, "water")
    made = Formula("f", (Line(wax, 0.006, "oil phase"), Line(wax, 0.003, "cool-down"), Line(rest, 0.991, "")))
    caps = highest(made, brief_of([wax, rest]))
    assert caps[:2].sum() == pytest.approx(0.01)
    assert caps[0] == pytest.approx(2 * caps[1])
    alone = Formula("f", (Line(wax, 0.009, "oil phase"), Line(rest, 0.991, "")))
    assert highest(alone, brief_of([wax, rest]))[0] == pytest.approx(0.01)


def test_a_gum_goes_into_five_times_its_mass_or_more() -> None:
    """Less is a lump (common practice, no source)."""
    made = lines("xanthan gum", "glycerin")
    for exact in (0.95, 5.0, 12.27, 19.9):
        found = premix(made[0], exact, int(exact), ENOUGH, made)
        assert found is None or found.carrier >= 5 * found.dose
    assert premix(made[0], 12.27, 12, ENOUGH, made) is not None


@pytest.mark.parametrize(
    ("grams", "step"), [(20.0, 1.0), (19.9, 0.1), (2.0, 0.1), (0.6, 0.01), (0.2, 0.01), (0.05, 0.001), (0.01, None)]
)
def test_a_scale_that_can_be_bought(grams: float, step: float | None) -> None:
    """The coarsest that shows the dose in 20 steps; never one such as 0.61 g, that nobody sells."""
    assert scale_for(grams) == step
    assert step is None or step in SCALES


@pytest.mark.parametrize(
    ("percent", "larger", "off", "told"),
    [
        (1.0, 2.0, 0.0, False),  # 10 steps of 1000, twice as many are 20
        (0.97, 2.1, 3.1, True),  # 9.7 steps, as 10 of them 3.1 % more; 20 / 9.7 = 2.06, rounded up
        (1.02, 2.0, -2.0, False),  # within the 2.5 % that a dose of 20 steps can be off
        (1.03, 2.0, -2.9, True),
    ],
)
def test_what_a_small_dose_is_off_by_and_how_much_larger_a_batch_helps(
    percent: float, larger: float, off: float, told: bool
) -> None:
    small, rest = ingredient("small", 1.0, "active"), ingredient("rest", 1.0, "water")
    lines = (Line(small, percent / 100, small.phase), Line(rest, 1 - percent / 100, rest.phase))
    ((_, dose),) = small_doses([(lines[0], 10), (lines[1], 990)], 1000, Decimal(1))
    assert (dose.larger, dose.off, dose.told) == (larger, off, told)
