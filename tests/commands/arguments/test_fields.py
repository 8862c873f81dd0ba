"""An option that is a field of a record: read, refused in words, and told at its place."""

import argparse
import datetime

import pytest

from optiform.commands.arguments.fields import add_field, add_fields, record
from optiform.commands.arguments.options import amount, read, where
from optiform.workshop.records import Lot, Movement


def parsed(parser: argparse.ArgumentParser, *words: str) -> argparse.Namespace:
    return parser.parse_args(words)


@pytest.fixture
def receive() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser()
    add_field(parser, Lot, "ingredient", "INGREDIENT")
    add_field(parser, Movement, "kg", "MASS", form=amount("kg"))
    add_field(parser, Lot, "number", "--lot", required=False, also=("lot",))
    add_fields(parser, Lot, "supplier_lot", "expiry", "currency", "price")
    return parser


def test_texts_become_values_in_the_unit_of_the_field(receive: argparse.ArgumentParser) -> None:
    words = ["--expiry", "2027-11-02", "--price", "4 GBP/kg", "--currency", "gbp"]
    options = parsed(receive, "glycerin", "500 g", *words)
    read(options).finish()
    lot = record(Lot, options, number="G-1")
    assert options.kg == 0.5
    assert lot == Lot(number="G-1", ingredient="glycerin", expiry=datetime.date(2027, 11, 2), price=4.0, currency="GBP")


def test_every_fault_is_told_at_once_each_at_its_place(receive: argparse.ArgumentParser) -> None:
    options = parsed(receive, "glycerin", "0 kg", "--expiry", "soon", "--price", "-1")
    faults = read(options).faults
    assert [(fault.place, fault.expected) for fault in faults] == [
        ("MASS", "more than nothing"),
        ("--expiry", "a date such as 2026-11-25"),
        ("--price", "0 or more"),
    ]
    assert (options.kg, options.expiry, options.price) == (None, None, None)


def test_money_in_a_currency_that_is_none_is_one_fault_not_two(receive: argparse.ArgumentParser) -> None:
    options = parsed(receive, "glycerin", "1 kg", "--currency", "euro", "--price", "4 EUR/kg")
    assert [fault.place for fault in read(options).faults] == ["--currency"]


def test_a_fault_of_a_record_is_told_where_its_field_was_written(receive: argparse.ArgumentParser) -> None:
    place = where(parsed(receive, "glycerin", "1 kg"), sure="--yes")
    assert [place(field)[1] for field in ("kg", "number", "lot", "supplier_lot", "sure", "when")] == [
        "MASS", "--lot", "--lot", "--supplier-lot", "--yes", "when",
    ]  # fmt: skip
