"""An option is declared once: read, refused in words, and put where the command looks for it."""

import argparse

import pytest

from optiform.commands.arguments.options import (
    DAY,
    SHARES,
    add,
    amount,
    money,
    read,
    text,
    whole,
)


def parsed(parser: argparse.ArgumentParser, *words: str) -> argparse.Namespace:
    return parser.parse_args(words)


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
