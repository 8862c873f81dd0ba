"""Numbers as they are shown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from optiform.ingredients.catalogue import read_catalogue
from optiform.ingredients.formula import Line
from optiform.reading.rounded import outward
from optiform.telling.figures import amount
from optiform.telling.formula import grams_of, percent_of


@given(st.floats(-1e12, 1e12), st.sampled_from(["low", "high"]))
def test_a_repaired_target_is_rounded_to_the_side_that_suffices(target: float, side: str) -> None:
    shown = float(outward(side, target))
    assert shown <= target if side == "low" else shown >= target
    assert shown == pytest.approx(target, rel=1e-2, abs=1e-9)


@pytest.mark.parametrize(("side", "target", "shown"), [("high", 31.5464, "31.6"), ("low", 14.9208, "14.9")])
def test_a_repaired_target_is_a_figure_that_a_maker_writes(side: str, target: float, shown: str) -> None:
    assert outward(side, target) == shown


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


@pytest.mark.parametrize(
    ("value", "decimals", "written"),
    [
        (1.0, 2, "1.00"),
        (100 * 0.6 / 100 * (1 - 1e-12), 2, "0.60"),
        (1.0156, 2, "1.01"),
        (0.1289, 2, "0.128"),
        (0.0015, 2, "0.0015"),
        (0.0, 2, "0.00"),
        (40.0, 1, "40.0"),
        (12.96, 1, "12.9"),
        (0.06, 1, "0.06"),
        (1e-9, 2, "0.00000"),
    ],
)
def test_what_has_a_most_is_never_rounded_up(value: float, decimals: int, written: str) -> None:
    assert amount(value, decimals, capped=True) == written
    assert float(written) <= value + 1e-6


def test_what_has_no_most_is_rounded_as_usual() -> None:
    assert (amount(27.416), amount(1096.57, 1)) == ("27.42", "1096.6")


def test_a_printed_formula_rounds_up_no_preservative() -> None:
    """0.99996 % of a blend that the law limits is no 1.00 on paper; water may go up."""
    items = read_catalogue().ingredients
    blend, water = items["phenoxyethanol + ethylhexylglycerin"], items["water"]
    assert percent_of(Line(blend, 0.0099996, "cool-down")) == "0.99"
    assert percent_of(Line(water, 0.0099996, "water phase")) == "1.00"
    assert grams_of(Line(blend, 0.009, "cool-down"), 1.0) == 9.0
    assert grams_of(Line(blend, 0.00999, "cool-down"), 4.0) == 39.9
    assert grams_of(Line(water, 0.00999, "water phase"), 4.0) == 40.0
