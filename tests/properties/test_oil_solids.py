"""Crystals left undissolved, against the balance of each substance worked by itself."""

from itertools import pairwise, product

import numpy as np
import pytest

from optiform.ingredients.formula import mixed
from optiform.properties.base import Mix, fractions
from optiform.properties.oil_solids import dissolved, dissolved_here, waxes
from optiform.properties.oil_solubility import OIL, limits
from optiform.properties.registry import find_property
from optiform.properties.texture import melted_oil, oil_phase_solids, structuring_solids
from tests.every import every

NAMES = ("lauric acid", "myristic acid", "stearic acid", "cetearyl alcohol", "beeswax", "sunflower oil")


def by_iteration(shares: dict[str, float], temperature: float) -> float:
    """Mass dissolved, by going round the balance until it rests: liquid from what is dissolved and back."""
    mix = Mix.of(mixed(shares))
    x = fractions(mixed(shares))
    held = waxes(mix)
    amounts = held.moles @ x
    soluble = np.array([limits(kind, temperature)[1] for kind in held.kinds])
    masses = np.array([kind.molar_mass for kind in held.kinds])
    oil = shares["sunflower oil"] / sum(shares.values()) / OIL
    liquid = oil + float(amounts.sum())
    for _ in range(20_000):
        before, liquid = liquid, oil + float(np.minimum(amounts, soluble * liquid).sum())
        if liquid == before:  # to the last digit: it would stay there
            break
    return float(masses @ np.minimum(amounts, soluble * liquid))


@every("temperature, seed", list(product((15.0, 25.0, 35.0), range(25))))
def test_the_least_of_the_sums_is_what_the_balance_gives(seed: int, temperature: float) -> None:
    draws = np.random.default_rng(seed).uniform(0.0, 10.0, len(NAMES))
    shares = dict(zip(NAMES, draws.tolist(), strict=True))
    shares["sunflower oil"] += 20
    mix, x = Mix.of(mixed(shares)), fractions(mixed(shares))
    found = min(float(part.figure @ x) for part in dissolved(mix, temperature))
    assert found == pytest.approx(by_iteration(shares, temperature), abs=1e-9)
    assert float(dissolved_here(mix, x, temperature).figure @ x) == pytest.approx(found, abs=1e-12)


@pytest.mark.parametrize("seed", range(10))
def test_more_dissolves_at_the_high_end_and_less_at_the_low_one(seed: int) -> None:
    draws = np.random.default_rng(seed).uniform(0.0, 10.0, len(NAMES))
    shares = dict(zip(NAMES, draws.tolist(), strict=True)) | {"sunflower oil": 40.0}
    mix, x = Mix.of(mixed(shares)), fractions(mixed(shares))
    part = dissolved_here(mix, x, 25.0)
    assert float(part.least @ x) <= float(part.figure @ x) <= float(part.most @ x) + 1e-12
    if seed:  # with the first draws all of it melts away
        assert float(part.least @ x) < float(part.most @ x) - 1e-3


def test_solids_fall_with_temperature_and_never_below_nothing() -> None:
    jar = mixed({"cetyl alcohol": 10, "stearic acid": 5, "sunflower oil": 85})
    shares = [structuring_solids(at).of(jar) or 0.0 for at in np.arange(10.0, 45.0, 1.0)]
    assert all(warmer <= colder for colder, warmer in pairwise(shares))
    assert shares[-1] >= -1e-12


def test_the_oil_dissolves_none_of_a_wax_it_cannot() -> None:
    """Sunflower wax: a gel of 0.5 % melts at 47 degC (read); 0.1 % crystallises at 25 degC."""
    assert structuring_solids(35.0).of(mixed({"sunflower wax": 1, "sunflower oil": 99})) == pytest.approx(1.0)


def test_a_brief_knows_the_solids_of_the_oil_phase() -> None:
    jar = mixed({"water": 50, "cetyl alcohol": 10, "sunflower oil": 40})
    assert find_property("solids of the oil phase at 20 degC", "EUR").name == oil_phase_solids(20.0).name
    whole, phase = structuring_solids(20.0).of(jar), oil_phase_solids(20.0).of(jar)
    assert whole is not None
    assert phase == pytest.approx(2 * whole)


def test_beeswax_holds_in_the_heat_what_cetyl_alcohol_lets_run() -> None:
    """At 35 degC an oil dissolves 13.5 % of cetyl alcohol and 4.7 % of beeswax."""
    base = {"sugar, granulated": 50, "sunflower oil": 44}
    waxed, alcohol = mixed({**base, "beeswax": 6}), mixed({**base, "cetyl alcohol": 6})
    assert (structuring_solids(35.0).of(alcohol) or 0.0) == pytest.approx(0, abs=1e-9)
    assert (structuring_solids(35.0).of(waxed) or 0.0) > 3.5
    assert (melted_oil(35.0).of(alcohol) or 0.0) > (melted_oil(35.0).of(waxed) or 0.0) + 5
