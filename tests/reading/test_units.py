"""Numbers and quantities as people write them."""

import math
import re
from collections.abc import Callable

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from optiform.reading import units
from optiform.reading.units import PARTS, one_of, parse_number, parse_quantity
from tests.every import every


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("12.5", 12.5),
        ("12,5", 12.5),
        ("-0,5", -0.5),
        (",5", 0.5),
        ("0,123", 0.123),
        ("12,3456", 12.3456),
        ("1.234,5", 1234.5),
        ("1,234.5", 1234.5),
        ("1.234.567,8", 1234567.8),
        ("1 234,5", 1234.5),
        ("1\u00a0234.5", 1234.5),
        ("1.234", 1.234),
        ("+3", 3.0),
        ("2e3", 2000.0),
        ("  7 ", 7.0),
    ],
)
def test_a_number_is_read_where_it_can_mean_one_thing(text: str, value: float) -> None:
    assert parse_number(text) == pytest.approx(value)


@pytest.mark.parametrize("text", ["1,234", "12,345", "-1,234", "1,234,567", "1,2,3"])
def test_a_comma_that_could_be_either_is_refused_with_words(text: str) -> None:
    with pytest.raises(ValueError, match="decimal comma"):
        parse_number(text)


@pytest.mark.parametrize(
    "text",
    ["", " ", "x", "1_000", "1.2.3", "1.234.567", "12 5", "1 2,5", "1.23,45.6", "12.34,5", "--1", "0x10", "1e", "½"],
)
def test_what_is_no_number_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="number"):
        parse_number(text)


@pytest.mark.parametrize("text", ["nan", "inf", "-inf", "infinity", "NaN", "1e308", "1e13", "1" + "0" * 400])
def test_a_number_without_an_ordinary_size_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="a number"):
        parse_number(text)


@every(
    "given, unit, value",
    [
        (15, "%", 15.0),
        (0.25, "kg", 0.25),
        ("15", "%", 15.0),
        ("15 %", "%", 15.0),
        ("15%", "%", 15.0),
        ("15 parts per 100", "%", 15.0),
        ("15 per 100", "%", 15.0),
        ("15 g per 100 g", "%", 15.0),
        ("15 percent", "%", 15.0),
        ("5 g/kg", "%", 0.5),
        ("2 kg", "g", 2000.0),
        ("250 g", "kg", 0.25),
        ("2,5 kg", "kg", 2.5),
        ("1 lb", "kg", 0.45359237),
        ("50 degF", "degC", 10.0),
        ("32 °F", "degC", 0.0),
        ("-4 degF", "degC", -20.0),
        ("283.15 K", "degC", 10.0),
        ("20 °C", "degC", 20.0),
        ("4.20 EUR/kg", "EUR/kg", 4.2),
        ("4.20 EUR per kg", "EUR/kg", 4.2),
        ("USD 4 per lb", "USD/lb", 4.0),
        ("0.42 EUR/g", "EUR/kg", 420.0),
        ("500 ml", "L", 0.5),
        ("970 kg/m^3", "g/mL", 0.97),
    ],
)
def test_a_quantity_comes_out_in_the_unit_asked_for(given: object, unit: str, value: float) -> None:
    assert parse_quantity(given, unit) == pytest.approx(value, rel=1e-12, abs=1e-9)


@every(
    "given, unit, value",
    [
        ("20 gr", "g", 20.0),  # to the library of units a grain, 1.3 g
        ("20 GR", "g", 20.0),
        ("20 Gr", "kg", 0.02),
        ("250 ML", "mL", 250.0),  # a megalitre
        ("250 ML", "L", 0.25),
        ("500 Mg", "g", 0.5),  # a megagram
        ("20 G", "g", 20.0),
        ("5 KG", "kg", 5.0),
        ("5 Kg", "g", 5000.0),
        ("2 kilos", "kg", 2.0),
        ("10 grammes", "g", 10.0),
        ("10 gm", "g", 10.0),
        ("3 OZ", "g", 85.048569375),
        ("4 EUR/KG", "EUR/kg", 4.0),
        ("4 eur/kg", "EUR/kg", 4.0),
        ("4 eur", "EUR", 4.0),
        ("20 degc", "degC", 20.0),
        ("20 c", "degC", 20.0),
        ("68 °f", "degC", 20.0),
        ("5 % w/w", "%", 5.0),
        ("5 %(w/w)", "%", 5.0),
        ("5 per cent", "%", 5.0),
        ("5 Percent", "%", 5.0),
        ("50 PPM", "%", 0.005),
        ("5 MIN", "min", 5.0),
    ],
)
def test_a_unit_as_makers_write_it_is_what_they_mean(given: str, unit: str, value: float) -> None:
    assert parse_quantity(given, unit) == pytest.approx(value, rel=1e-9)


@pytest.mark.parametrize(("text", "degrees"), [("32 degF", 0), ("41 degF", 5), ("113 degF", 45), ("212 degF", 100)])
def test_the_ends_of_a_table_are_met_from_fahrenheit_too(text: str, degrees: float) -> None:
    assert parse_quantity(text, "degC") == degrees


@pytest.mark.parametrize(
    ("given", "unit"),
    [
        ("5 kg", "degC"),
        ("10 degC", "kg"),
        ("10 EUR/kg", "GBP/kg"),
        ("10 USD", "EUR"),
        ("1 L", "kg"),
        ("5 g", "%"),
        ("5 mL/L", "%"),
        ("5 degrees", "%"),
        ("3 dB", "%"),
        ("2 rad", "-"),
        ("5 bananas", "kg"),
        ("1 km", "kg"),
    ],
)
def test_a_unit_of_another_kind_is_refused_and_named(given: str, unit: str) -> None:
    written = given.split(" ", 1)[1]
    with pytest.raises(ValueError, match=rf"a (quantity in|number).*not in '{re.escape(written)}'"):
        parse_quantity(given, unit)


@pytest.mark.parametrize(
    "given",
    [
        True,
        False,
        None,
        "",
        " ",
        "kg",
        [],
        [1],
        {},
        {"low": 1},
        math.nan,
        math.inf,
        -math.inf,
        1e308,
        10**400,
        "1 2 kg",
    ],
)
def test_what_is_no_quantity_is_refused(given: object) -> None:
    with pytest.raises(ValueError, match=r"number|quantity in kg"):
        parse_quantity(given, "kg")


def test_a_quantity_that_leaves_ordinary_size_by_its_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="ordinary size"):
        parse_quantity("1e12 g*Qm/qm*Qm/qm*Qm/qm*Qm/qm*Qm/qm", "kg")


@pytest.mark.parametrize("text", ["1 kg^9^9^9^9", "1 %*9**9**9", "1 kg**99999999", "1 " + "a" * 39 + "!"])
def test_a_unit_made_to_keep_the_reader_busy_is_refused_at_once(text: str) -> None:
    with pytest.raises(ValueError, match="quantity"):
        parse_quantity(text, "kg")


WHOLE = st.floats(-1e9, 1e9, allow_nan=False)


@given(WHOLE)
def test_a_number_survives_being_written(value: float) -> None:
    assert parse_number(repr(value)) == value
    assert parse_quantity(value, "kg") == value


@given(WHOLE)
def test_a_decimal_comma_reads_as_a_point(value: float) -> None:
    text = f"{value:.2f}"  # two decimals are never a group of three
    assert parse_number(text.replace(".", ",")) == float(text)


@pytest.mark.parametrize(("there", "back"), [("g", "kg"), ("lb", "kg"), ("degF", "degC"), ("EUR/g", "EUR/kg")])
@given(value=st.floats(-1e6, 1e6, allow_nan=False))
def test_there_and_back_gives_the_same(there: str, back: str, value: float) -> None:
    converted = parse_quantity(f"{value!r} {back}", there)
    assert parse_quantity(f"{converted!r} {there}", back) == pytest.approx(value, rel=1e-9, abs=1e-9)


def outcome(read: Callable[[], float]) -> float | str:
    """The number read, or the words of the refusal; anything else is a crash."""
    try:
        return read()
    except ValueError as error:
        return str(error)


def sound(found: float | str) -> bool:
    return bool(found.strip()) if isinstance(found, str) else math.isfinite(found)


UNIT_LIKE = st.text("kgmLlEURdegCF%°µ/*^() 0123456789.,e-+_", max_size=30)


@pytest.mark.parametrize("unit", ["kg", "%", "degC", "-", "EUR/kg"])
@given(text=st.one_of(st.text(max_size=30), UNIT_LIKE, UNIT_LIKE.map("1 {}".format)))
@example(text="1 kg^9^9^9^9")
@example(text="1\x00kg")
@example(text="1 lambda")
@example(text="1 None")
@example(text="1 degC/m")
def test_no_text_whatever_does_anything_but_read_or_refuse(unit: str, text: str) -> None:
    assert sound(outcome(lambda: parse_quantity(text, unit)))


@given(st.text(max_size=40))
def test_no_text_whatever_as_a_number_does_anything_but_read_or_refuse(text: str) -> None:
    found = outcome(lambda: parse_number(text))
    assert sound(found)
    assert not isinstance(found, str) or found.startswith("a number")


@pytest.mark.parametrize("written", ["22 parts per 100", "22 parts", "22 %", 22, "22", "22 g per 100 g"])
def test_parts_per_hundred_of_something_else(written: object) -> None:
    assert parse_quantity(written, PARTS) == 22
    assert one_of(PARTS) == "part"


def test_what_is_known_without_the_registry_is_what_the_registry_says() -> None:
    assert {pair: units._line(*pair) for pair in units._METRIC} == units._METRIC
