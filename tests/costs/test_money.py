"""Money against the decimal module's own rounding of the written number."""

from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.costs.money import rounded, shown


@pytest.mark.parametrize(
    ("value", "text"),
    [(2.675, "2.68"), (2.665, "2.66"), (0.125, "0.12"), (0.135, "0.14"), (-0.001, "0.00"), (5, "5.00")],
)
def test_half_goes_to_even_as_the_number_is_written(value: float, text: str) -> None:
    assert shown(value) == text


def test_what_is_not_known_is_not_zero() -> None:
    assert shown(None) == "not known"


@given(st.integers(-(10**9), 10**9), st.integers(0, 4))
def test_any_number_of_four_decimals(tenths: int, places: int) -> None:
    written = Decimal(tenths).scaleb(-4)
    assert rounded(float(written), places) == written.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
