"""Grains in a yield-stress paste against the golden numbers of the reference on water, worked examples, section 9.

The equation is that of Chateau, Ovarlez and Trung (Journal of Rheology, 2008), recalled from memory: check before
relying on it. The values are derived from it by hand in the reference, not measured on a scrub.
"""

import numpy as np
import pytest

from optiform.properties.firmness import CORNERS, grain_factor

DERIVED = {0.1: 1.0885, 0.2: 1.2169, 0.3: 1.4248, 0.4: 1.8342, 0.5: 3.1507}  # phi_m 0.57


@pytest.mark.parametrize("phi", DERIVED)
def test_yield_stress_ratio(phi: float) -> None:
    assert grain_factor(phi, 0.57) == pytest.approx(DERIVED[phi], abs=5e-5)


def test_few_grains_thicken_as_the_dilute_limit_says() -> None:
    # Einstein's 2.5 phi on viscosity makes the stiffness g = 1 + 2.5 phi; the yield stress goes as sqrt((1 - phi) g),
    # so its first slope is (2.5 - 1) / 2 = 0.75 whatever phi_m (same paper, recalled).
    for scale in CORNERS:
        assert (grain_factor(1e-6, scale.phi_m) - 1) / 1e-6 == pytest.approx(0.75, rel=1e-4)


def test_without_grains_nothing_changes_and_packing_closer_thickens_less() -> None:
    assert grain_factor(0.0, 0.57) == 1
    tighter = [grain_factor(0.4, phi_m) for phi_m in np.linspace(0.45, 0.74, 12)]
    assert tighter == sorted(tighter, reverse=True)


@pytest.mark.parametrize("phi", [0.57, 0.6, 1.0, -0.01])
def test_jammed_grains_have_no_factor(phi: float) -> None:
    with pytest.raises(ValueError, match="more than can move"):
        grain_factor(phi, 0.57)
