"""An option is declared once: read, refused in words, and put where the command looks for it."""

import argparse
import datetime

import pytest

from optiform.commands.arguments.options import (
    DAY,
    SHARES,
    add,
    add_field,
    add_fields,
    amount,
    money,
    read,
    record,
    text,
    where,
    whole,
)
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


def test_an_option_that_lacks_what_it_needs_is_told_with_its_own_fault() -> None:
    parser = argparse.ArgumentParser()
    add(parser, "--record", text("NUMBER"))
    add(parser, "--made", DAY, needs={"record": "--record NUMBER"})
    alone = read(parsed(parser, "--made", "soon")).faults
    assert [fault.expected for fault in alone] == ["--record NUMBER beside it", "a date such as 2026-11-25"]
    assert read(parsed(parser, "--made", "2026-11-25", "--record", "Q1")).faults == []


def test_each_of_several_values_is_read() -> None:
    parser = argparse.ArgumentParser()
    add(parser, "--at", amount("degC", None), action="append", default=[])
    options = parsed(parser, "--at", "50 degF", "--at", "hot")
    assert [fault.read for fault in read(options).faults] == ["'hot'"]
    assert options.at == [pytest.approx(10.0), None]


def test_a_default_in_words_is_read_like_what_is_written() -> None:
    parser = argparse.ArgumentParser()
    add(parser, "--change", SHARES, default="100 %")
    add(parser, "--saving", money("/kg"), default="0")
    add(parser, "--days", whole("days", least=0), default=60)
    options = parsed(parser)
    read(options, currency="EUR").finish()
    assert (options.change, options.saving, options.days) == (1.0, 0.0, 60)
