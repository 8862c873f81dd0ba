"""The arithmetic of the least dose: rounding to a scale is off by at most half a step.

House rule: 20 steps at least. Half a step of 20 is 2.5 %. Checked against plain rounding of every dose between 20 and
40 steps by Python's decimal module, which rounds as IEEE 754-2008 says.
"""

from decimal import ROUND_HALF_EVEN, Decimal

import pytest

from optiform.batch.doses import FEWEST_STEPS


@pytest.mark.parametrize("step", ["1", "0.1", "0.01", "0.5"])
def test_rounding_a_dose_of_twenty_steps_or_more_is_off_by_two_and_a_half_per_cent_at_most(step: str) -> None:
    one = Decimal(step)
    doses = [one * FEWEST_STEPS * (1 + Decimal(n) / 2000) for n in range(2001)]
    errors = [abs((dose / one).quantize(Decimal(1), ROUND_HALF_EVEN) * one - dose) / dose for dose in doses]
    assert Decimal("0.02") < max(errors) <= Decimal("0.025")


def test_below_it_rounding_can_be_off_by_more() -> None:
    dose = Decimal("10.5")
    assert abs(dose.quantize(Decimal(1), ROUND_HALF_EVEN) - dose) / dose > Decimal("0.025")
