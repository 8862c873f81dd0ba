"""Quantiles of a mixture are found in a few steps, as a page asks for many."""

import numpy as np
import pytest

from optiform.trials.mixture import Mixture


class Counted(Mixture):
    """Counts how often it is asked."""

    asked = 0

    def below(self, value: float) -> float:
        type(self).asked += 1
        return super().below(value)


@pytest.mark.parametrize("probability", [0.05, 0.5, 0.95])
def test_a_quantile_takes_few_steps(probability: float) -> None:
    Counted.asked = 0
    weights = np.linspace(1.0, 2.0, 40)
    mixed = Counted(weights / weights.sum(), np.linspace(-0.4, 0.9, 40), np.linspace(0.2, 0.5, 40))
    at = mixed.quantile(probability)
    steps = Counted.asked
    assert mixed.below(at) == pytest.approx(probability, abs=1e-12)
    assert steps <= 8
