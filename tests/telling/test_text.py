"""Numbers as they are shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.telling.text import outward


@given(st.floats(-1e12, 1e12), st.sampled_from(["low", "high"]))
def test_a_repaired_target_is_rounded_to_the_side_that_suffices(target: float, side: str) -> None:
    shown = float(outward(side, target))
    assert shown <= target if side == "low" else shown >= target
    assert shown == pytest.approx(target, rel=1e-4, abs=1e-9)


@pytest.mark.parametrize(
    ("side", "target", "shown"),
    [
        ("high", 0.0004, "0.0004"),
        ("low", 0.0006, "0.0006"),
        ("low", 0.0, "0"),
        ("low", -0.0, "0"),
        ("high", -1e-12, "0"),
        ("low", 100.0, "100"),
        ("high", 3e6, "3000000"),
    ],
)
def test_no_more_digits_than_it_takes(side: str, target: float, shown: str) -> None:
    assert outward(side, target) == shown
