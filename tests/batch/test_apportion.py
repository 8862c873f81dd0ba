"""Whole steps in place of shares."""

from math import ceil, floor, inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.batch.apportion import NoRoom, apportion

SHARES = st.lists(st.floats(1e-4, 1.0), min_size=1, max_size=15)


@pytest.mark.parametrize(("seats", "expected"), [(10, (4, 4, 2)), (11, (5, 5, 1))])
def test_the_usual_example_of_largest_remainders(seats: int, expected: tuple[int, ...]) -> None:
    """Three states of 6, 6 and 2 million; with one seat more the smallest loses one. Recalled from texts on voting."""
    assert apportion([6, 6, 2], seats) == expected


@given(SHARES, st.integers(0, 10**7))
def test_the_sum_is_exact_and_no_line_is_a_step_off(shares: list[float], total: int) -> None:
    steps = apportion(shares, total)
    assert sum(steps) == total
    quotas = [total * share / sum(shares) for share in shares]
    assert all(abs(n - quota) < 1 + 1e-6 for n, quota in zip(steps, quotas, strict=True))


@given(SHARES, st.integers(1, 10**6), st.data())
def test_no_line_is_rounded_above_its_cap(shares: list[float], total: int, data: st.DataObject) -> None:
    quotas = [total * share / sum(shares) for share in shares]
    caps = [inf, *(data.draw(st.floats(max(0.0, quota - 2), quota + 2)) for quota in quotas[1:])]
    steps = apportion(shares, total, caps)
    assert sum(steps) == total
    for n, quota, cap in zip(steps, quotas, caps, strict=True):
        assert floor(min(quota, cap)) <= n <= cap + 1e-8


def test_the_step_a_cap_refuses_goes_to_the_next_line() -> None:
    assert apportion([0.16, 0.42, 0.42], 10) == (2, 4, 4)
    assert apportion([0.16, 0.42, 0.42], 10, [1, inf, inf]) == (1, 5, 4)


def test_a_step_that_no_line_can_take() -> None:
    with pytest.raises(NoRoom):
        apportion([0.5, 0.5], 3, [1, 1])


def test_what_a_line_needs_is_taken_from_who_was_dealt_most_above_his_share() -> None:
    assert apportion([0.16, 0.42, 0.42], 10, least=[2, 0, 0]) == (2, 4, 4)
    assert apportion([0.11, 0.43, 0.46], 10, least=[1.05, 0, 0]) == (2, 4, 4)
    assert apportion([0.11, 0.11, 0.78], 10, least=[2, 2, 0]) == (2, 2, 6)
    assert apportion([0.11, 0.89], 10, [1, inf], [2, 0]) == (1, 9), "the cap goes first"
    with pytest.raises(NoRoom):
        apportion([0.5, 0.5], 1, least=[1, 1])


@given(SHARES, st.integers(1, 10**6), st.data())
def test_no_line_is_rounded_below_what_it_needs(shares: list[float], total: int, data: st.DataObject) -> None:
    quotas = [total * share / sum(shares) for share in shares]
    least = [0.0, *(data.draw(st.floats(0.0, quota)) for quota in quotas[1:])]
    try:
        steps = apportion(shares, total, least=least)
    except NoRoom:
        assert sum(map(ceil, least)) > total
        return
    assert sum(steps) == total
    assert all(n >= low - 1e-8 for n, low in zip(steps, least, strict=True))


def test_a_dose_of_exactly_its_limit_keeps_its_last_step() -> None:
    """0.3 of 10 is 2.9999999999999996 in floating point for some ways to write it, and still 3 steps."""
    assert apportion([0.1 + 0.2, 0.7], 10, [2.9999999999999996, inf]) == (3, 7)
