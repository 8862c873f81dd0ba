"""From a small batch to a large one: steps in between, cooling that takes longer, what to compare."""

from itertools import pairwise

import pytest

from optiform.batch.acts import Cool
from optiform.batch.pots import Step
from optiform.batch.scale_up import STEP, scale_up

COOL = Step(Cool(43.0), 43.0, 30.0, (), "", ())


@pytest.mark.parametrize(("seen", "made"), [(200, 8000), (100, 350), (500, 2100), (50, 51)])
def test_no_step_is_larger_than_four_times(seen: float, made: float) -> None:
    grown = scale_up(seen, made, ())
    assert grown is not None
    masses = [seen, *grown.between, made]
    assert max(after / before for before, after in pairwise(masses)) <= STEP * 1.01
    assert len(grown.between) == (0 if made <= STEP * seen else len(grown.between))


def test_eight_times_the_mass_cools_twice_as_long_stirred_and_four_times_at_rest() -> None:
    grown = scale_up(1000, 8000, (COOL,))
    assert grown is not None
    (slower,) = grown.cooling
    assert (slower.to, slower.seen) == (43.0, 30.0)
    assert (slower.low, slower.high) == pytest.approx((60.0, 120.0))


def test_no_larger_batch_asks_nothing() -> None:
    assert scale_up(1000, 1000, (COOL,)) is None
