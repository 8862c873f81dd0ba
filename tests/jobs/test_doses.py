"""A small dose is diluted in another line so that both can be weighed, and nothing of the formula changes."""

import pytest

from optiform.catalogue import read_catalogue
from optiform.formula import Line
from optiform.jobs.doses import FEWEST_STEPS, premix

CATALOGUE = read_catalogue()


def lines(*names: str) -> list[Line]:
    items = [CATALOGUE.ingredients[name.casefold()] for name in names]
    return [Line(item, 0.1 * (k + 1), item.phase) for k, item in enumerate(items)]


@pytest.mark.parametrize("steps", range(1, FEWEST_STEPS))
def test_what_is_taken_holds_the_dose_and_the_carrier_left_out(steps: int) -> None:
    made = lines("mixed tocopherols", "sweet almond oil")
    found = premix(made[0], steps, {"sweet almond oil": 500}, made)
    assert found is not None
    strength = found.dose / (found.dose + found.carrier)
    assert found.taken * strength == pytest.approx(steps)
    assert found.taken == steps + found.less
    assert found.taken >= FEWEST_STEPS
    assert found.dose >= FEWEST_STEPS
    assert found.taken <= found.dose + found.carrier


def test_it_goes_into_what_it_mixes_with() -> None:
    made = lines("xanthan gum", "mixed tocopherols", "disodium EDTA", "water", "glycerin", "sweet almond oil")
    enough = {line.ingredient.name: 1000 for line in made}
    into = [found.into for line in made[:3] if (found := premix(line, 5, enough, made))]
    assert into == ["glycerin", "sweet almond oil", "glycerin"]


def test_no_premix_without_a_carrier_or_with_too_little_of_it() -> None:
    made = lines("mixed tocopherols", "sweet almond oil")
    assert premix(made[0], 5, {"sweet almond oil": 14}, made) is None
    assert premix(made[0], 5, {"sweet almond oil": 15}, made) is not None
    assert premix(made[0], 5, {"water": 500}, lines("mixed tocopherols", "water")) is None
    assert premix(made[0], 0, {"sweet almond oil": 500}, made) is None
